"""Constants, crop rows and soil rows against printed figures, which stand in tables.toml beside this file."""

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

from scheduler.garden.tables import crop_row, soil_names, soil_row
from scheduler.garden.units import convert_volume_units, parse_quantity, to_display

DATA = tomllib.loads(Path(__file__).with_name("tables.toml").read_text(encoding="utf-8"))


def rows_of(table):
    return [(name, *row) for name, row in DATA[table].items() if name not in {"source", "columns"}]


def allowed(case):
    """Return the absolute tolerance: half of the last printed digit unless the case says another."""
    printed = Decimal(case["printed"])
    if case.get("exact", False):
        return 4e-16 * float(printed)
    return case.get("tolerance", 0.5 * 10.0 ** int(printed.as_tuple().exponent) * (1 + 1e-9))


@pytest.mark.parametrize("case", DATA["constant"], ids=lambda c: f"{c['text']} in {c['unit']}")
def test_unit_has_its_published_size(case):
    size = parse_quantity(case["text"], case["dimension"]) / parse_quantity(
        f"1 {case['unit']}", case["dimension"]
    )
    assert abs(size - float(case["printed"])) <= allowed(case)


@pytest.mark.parametrize("case", DATA["rate"], ids=lambda c: f"{c['flow']} over {c['area']}")
def test_flow_over_area_is_the_trade_constant(case):
    rate = parse_quantity(case["flow"], "flow") / parse_quantity(case["area"], "area")
    shown = rate / parse_quantity(f"1 {case['unit']}", "application_rate")
    assert abs(shown - float(case["printed"])) <= allowed(case)


@pytest.mark.parametrize("case", DATA["depth"], ids=lambda c: f"{c['depth']} on {c['area']}")
def test_depth_on_area_is_the_trade_constant(case):
    litres = parse_quantity(case["depth"], "water_depth") * parse_quantity(case["area"], "area")
    assert abs(to_display(litres, "volume", "us") - float(case["printed"])) <= allowed(case)


@pytest.mark.parametrize("unit", sorted(DATA["billing"].keys() - {"source"}))
def test_billing_unit_is_exact(unit):
    assert convert_volume_units(unit) == Decimal(DATA["billing"][unit])


@pytest.mark.parametrize(("name", "capacity", "wilting", "rew", "tew"), rows_of("soils"))
def test_soil_row_is_as_printed(name, capacity, wilting, rew, tew):
    row = soil_row(name)
    assert [row.field_capacity_low, row.field_capacity_high] == capacity
    assert [row.wilting_point_low, row.wilting_point_high] == wilting
    assert [row.rew_low_mm, row.rew_high_mm] == rew
    assert [row.tew_low_mm, row.tew_high_mm] == tew
    # The middle of two figures with two decimals, to the last bit that matters.
    assert row.field_capacity == pytest.approx(sum(capacity) / 2, abs=1e-12)
    assert row.wilting_point == pytest.approx(sum(wilting) / 2, abs=1e-12)
    assert DATA["soils"]["source"] in row.source


def test_every_soil_of_the_published_table_is_offered():
    assert soil_names() == tuple(name for name, *_ in rows_of("soils"))


@pytest.mark.parametrize("case", DATA["soil_example"], ids=lambda c: f"{c['source']}: {c['soil']}")
def test_soils_of_worked_examples_lie_in_the_ranges(case):
    row = soil_row(case["soil"])
    assert row.field_capacity_low <= case["field_capacity"] <= row.field_capacity_high
    assert row.wilting_point_low <= case["wilting_point"] <= row.wilting_point_high


@pytest.mark.parametrize(("name", "kc", "height", "stages", "roots", "p"), rows_of("crops"))
def test_crop_row_is_as_printed(name, kc, height, stages, roots, p):
    row = crop_row(name)
    assert [row.kc_ini, row.kc_mid, row.kc_end] == kc
    assert row.height_m == height
    assert [row.stages.l_ini, row.stages.l_dev, row.stages.l_mid, row.stages.l_late] == stages
    assert [row.root_max_low_m, row.root_max_high_m] == roots
    assert row.depletion_fraction == p
    assert row.source.startswith("FAO-56 (1998) Tables 12 17")
    assert row.borrowed_from == ""


@pytest.mark.parametrize("case", DATA["crop_figure"], ids=lambda c: f"{c['source']}: {c['crop']}")
def test_crop_figures_of_worked_examples(case):
    row = crop_row(case["crop"])
    figures = {key: value for key, value in case.items() if key not in {"source", "crop"}}
    assert {key: getattr(row, key) for key in figures} == figures
