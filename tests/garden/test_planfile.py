"""A right plan becomes the garden it says, in either unit system, and a file that is no plan is refused."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, time
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import PlanError
from scheduler.garden.describe import describe_plan
from scheduler.garden.plan import BillBlock, Household, Planning, Sewer, StageLengths
from scheduler.garden.planfile import load_plan, parse_plan

from .conftest import PLAN

FOOT = 0.3048
GALLON = 3.785411784


def test_garden_holds_what_the_plan_says(changed, garden_of):
    garden = garden_of(changed())
    bed = garden.beds[0]
    assert (garden.name, garden.site.latitude, garden.site.timezone) == ("Test garden", 44.6, "Etc/GMT+1")
    assert garden.site.elevation == pytest.approx(230 * FOOT)
    assert bed.shape_text == "rectangle 10 ft by 4 ft"
    assert bed.area == pytest.approx(40 * FOOT**2)
    # Two runs of 9.5 ft at 6 in hold 19 emitters each.
    assert (bed.emitters, bed.emitters_counted) == (38, False)
    assert bed.line_length == pytest.approx(19 * FOOT)
    assert bed.pressure == bed.drip.at_pressure == pytest.approx(137.895, abs=5e-4)
    assert garden.water_source.flow == pytest.approx(300 * GALLON)
    assert garden.windows[0].begin == time(5)
    assert garden.windows[0].days == ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    assert garden.timer.shortest_run == garden.timer.step == 1
    assert garden.household == Household(use_per_day=pytest.approx(180 * GALLON), meter_reading=0.0)


def test_every_default_is_told(changed, garden_of):
    garden = garden_of(changed())
    assert garden.planning == Planning(0.2, 0.5, 0.5, 0.3)
    assert garden.water_source.usable_share == 0.75
    plantings = [f"{p.crop}: {note}" for bed in garden.beds for p in bed.plantings for note in p.notes]
    text = "\n".join([*map(str, garden.assumed), *plantings])
    for told in (
        'bed "tall bed": end gaps of 3 in are assumed',
        'bed "tall bed": the pressure at the emitters is assumed',
        'bed "tall bed": the need of its crops is weighted by area',
        "planning > reserve: 20 %",
        "planning > forecast_rain: 50 %",
        "planning > normal_rain: 50 %",
        "planning > bare_soil_coefficient: 30 %",
        "water_source > usable: 75 %",
        "timer > shortest_run",
        "timer > day_choices",
        "timer > longest_interval",
        "tariff > sewer: none",
        "household > meter_reading",
        "tomato: stages 30/40/45/30 days",
        "tomato: rooting depth 70.0 cm",
    ):
        assert told in text


def test_stages_of_the_table_are_scaled_to_the_stay(changed, garden_of):
    planting = garden_of(changed()).beds[0].plantings[0]
    stay = (date(2026, 10, 2) - date(2026, 5, 12)).days
    stages = planting.stages
    assert stages.initial + stages.development + stages.mid + stages.late == pytest.approx(stay)
    # FAO-56 Table 11, tomato, Mediterranean, April/May: 30/40/45/30.
    assert stages == StageLengths(*(pytest.approx(days * stay / 145) for days in (30, 40, 45, 30)))


def test_own_figures_stand_before_the_table(changed, garden_of):
    own = 'share = "60 %"\nheight = "5 ft"\nroot_depth = "12 in"\ndepletion_fraction = 0.3\nstaked = true'
    planting = garden_of(changed(('share = "60 %"', own))).beds[0].plantings[0]
    assert planting.height == pytest.approx(5 * FOOT)
    assert planting.root_depth == pytest.approx(FOOT)
    # FAO-56 Table 12, footnote on stakes: tomato 1.20.
    assert (planting.depletion_fraction, planting.kc_mid) == (0.3, 1.2)


def test_borrowed_crop_is_told(changed, garden_of):
    planting = garden_of(changed(('crop = "lettuce"', 'crop = "kale"'))).beds[0].plantings[1]
    assert planting.borrowed_from
    assert any(note.startswith("borrowed:") for note in planting.notes)


@pytest.mark.parametrize(
    ("shape", "line", "area", "emitters"),
    [
        ('"circle"\ndiameter = "6 ft"', 'rings = ["54 in", "26 in"]', math.pi * 9, 28 + 13),
        ('"rounded ends"\nlength = "9 ft"\nwidth = "3 ft"', "runs = 2", 18 + math.pi * 2.25, 34),
        (
            '"polygon"\ncorners = [["0 ft", "0 ft"], ["6 ft", "0 ft"], ["0 ft", "4 ft"]]',
            'line_length = "6 ft"',
            12,
            12,
        ),
        ('"rectangle"\nlength = "10 ft"\nwidth = "4 ft"', "emitters = 40", 40, 40),
        ('"rectangle"\nlength = "10 ft"\nwidth = "4 ft"', 'runs = 2\nemitter_spacing = "12 in"', 40, 18),
        ('"rectangle"\nlength = "10 ft"\nwidth = "4 ft"', 'runs = 3\nend_gap = "0 ft"', 40, 60),
    ],
)
def test_shapes_and_lines(changed, garden_of, shape, line, area, emitters):
    text = changed(('"rectangle"\nlength = "10 ft"\nwidth = "4 ft"', shape), ("runs = 2", line))
    bed = garden_of(text).beds[0]
    assert bed.area == pytest.approx(area * FOOT**2)
    assert (bed.emitters, bed.emitters_counted) == (emitters, "emitters =" in line)


def test_own_spacing_stays_with_its_bed(changed, garden_of):
    text = changed(("runs = 2", 'runs = 2\nemitter_spacing = "12 in"'))
    assert garden_of(text).beds[0].drip.emitter_spacing == pytest.approx(FOOT)


def test_count_that_differs_from_the_line_is_told(changed, garden_of):
    garden = garden_of(changed(("runs = 2", "runs = 2\nemitters = 20")))
    assert garden.beds[0].emitters == 20
    assert 'bed "tall bed": 20 emitters counted, its line would hold 38' in map(str, garden.assumed)


def test_newest_cup_test_counts(changed, garden_of):
    test = (
        '[[cup_test]]\nbed = "tall bed"\non = {}\nminutes = "1 min"\n'
        'volumes = ["38 mL", "36 mL", "39 mL", "{} mL"]\n'
    )
    garden = garden_of(changed() + test.format("2026-06-01", 37) + test.format("2026-05-01", 20))
    cups = garden.beds[0].cup_test
    assert cups is not None
    assert (cups.on, cups.volumes[-1]) == (date(2026, 6, 1), pytest.approx(0.037))
    assert any("4 cups tell little of evenness" in note for note in map(str, garden.assumed))


def test_texture_takes_the_middle_of_the_table_and_tells(changed, garden_of):
    text = changed(('field_capacity = "32 %"\nwilting_point = "13 %"', 'texture = "sandy loam"'))
    garden = garden_of(text)
    # FAO-56 Table 19, sandy loam: 0.18-0.28 and 0.06-0.16.
    assert (garden.beds[0].soil.field_capacity, garden.beds[0].soil.wilting_point) == (0.23, 0.11)
    told = 'soil "mix": field capacity and wilting point (23.0 % and 11.0 %) are assumed'
    assert any(note.startswith(told) for note in map(str, garden.assumed))


def test_bill_is_held_exactly_in_its_unit(changed, garden_of):
    sewer = (
        '[tariff.sewer]\nrule = "cap"\nprice = "3.40 per CCF"\nwinter_average = "6 CCF"\ncap = "150 %"\n'
        'averaging_months = ["Dec", "Jan", "Feb"]\n'
    )
    tariff = garden_of(
        changed(('fixed_charge = "9.40"', 'fixed_charge = "9.40"\ntax = "5 %"')) + sewer
    ).tariff
    assert tariff is not None
    assert tariff.blocks == (BillBlock(Decimal(7), Decimal("2.10")), BillBlock(None, Decimal("3.64")))
    assert (tariff.period, tariff.period_months, tariff.period_days) == ("1 month", 1, None)
    assert (tariff.fixed_charge, tariff.tax) == (Decimal("9.40"), Decimal("0.05"))
    assert tariff.sewer == Sewer("cap", Decimal("3.40"), Decimal(0), Decimal(6), Decimal("1.5"), (12, 1, 2))


@pytest.mark.parametrize(
    ("unit", "price", "up_to", "per_unit", "width"),
    [
        ("kgal", "4.20 per 1000 gal", "3000 gal", Decimal("4.20"), Decimal(3)),
        ("gal", "4.20 per 1000 gal", "3 kgal", Decimal("0.0042"), Decimal(3000)),
        ("m3", "0.0015 per L", "20 m3", Decimal("1.5"), Decimal(20)),
        ("CCF", "2 per 1 CCF", "5 ccf", Decimal(2), Decimal(5)),
    ],
)
def test_prices_come_per_billing_unit(changed, garden_of, unit, price, up_to, per_unit, width):
    text = changed(('unit = "CCF"', f'unit = "{unit}"'), ("2.10 per CCF", price), ("7 CCF", up_to))
    tariff = garden_of(text).tariff
    assert tariff is not None
    assert (tariff.blocks[0].price, tariff.blocks[0].up_to) == (per_unit, width)


def test_price_in_another_unit_is_exact_to_the_last_digit_of_a_decimal(changed, garden_of):
    tariff = garden_of(changed(("2.10 per CCF", "2.10 per kgal"))).tariff
    assert tariff is not None
    # 1 CCF is 100 ft3 of 1728 in3, 1 kgal is 1000 times 231 in3.
    exact = Fraction("2.10") * Fraction(172800, 231000)
    assert abs(Fraction(tariff.blocks[0].price) - exact) < Fraction(1, 10**25)


def test_plan_without_a_tariff_tells_that_water_is_not_priced(changed, garden_of):
    garden = garden_of(changed().split("[tariff]")[0])
    assert (garden.tariff, garden.household) == (None, None)
    assert any(note.startswith("tariff: none is given") for note in map(str, garden.assumed))


def test_weather_choice_and_restrictions(changed, garden_of):
    more = (
        '[weather.columns]\ndate = { column = "DATE" }\ntmax = { column = "TX", unit = "degF" }\n'
        '[weather.fill]\nhumidity = "dew point from tmin"\ndew_point_below_tmin = "3.6 degF"\n'
        'wind = "2 m/s"\n'
        "[[restriction]]\nbegins = 2026-07-01\nends = 2026-07-01\nfrom = 20:00:00\nto = 06:00:00\n"
    )
    garden = garden_of(changed() + more)
    assert garden.weather.columns == {"date": ("DATE", ""), "tmax": ("TX", "degF")}
    assert garden.weather.dew_point_below_tmin == pytest.approx(2.0)
    assert (garden.weather.gaps, garden.weather.wind) == ("refuse", 2.0)
    assert garden.restrictions[0].exempt == "unknown"
    assert any("exempt is unknown" in note for note in map(str, garden.assumed))


def test_the_day_a_restriction_was_asked_about(changed, garden_of):
    rule = '[[restriction]]\nbegins = 2026-07-01\nends = 2026-09-15\ndays = ["Tue", "Sat"]\nexempt = "no"\n'
    garden = garden_of(changed() + rule + "asked_on = 2026-06-20\n")
    assert garden.restrictions[0].asked_on == date(2026, 6, 20)
    told = [line for line in describe_plan(garden) if line[0] == "restriction 1"]
    assert told[0][2] == "Tue Sat, all hours; exempt: no, asked or read on 2026-06-20"
    assert not any("ask" in note.text for note in garden.assumed if note.where.startswith("restriction"))
    assert garden_of(changed() + rule).restrictions[0].asked_on is None


def test_an_answer_more_than_a_year_old_is_worth_a_second_look(changed, garden_of):
    rule = '[[restriction]]\nbegins = 2026-07-01\nends = 2026-09-15\nexempt = "yes"\nasked_on = '
    old = garden_of(changed() + rule + "2025-06-29\n")
    assert any("more than a year before it begins" in note.text for note in old.assumed)
    fresh = garden_of(changed() + rule + "2025-07-02\n")
    assert not any("more than a year before it begins" in note.text for note in fresh.assumed)


def test_elevation_below_the_sea(changed, garden_of):
    assert garden_of(changed(('"230 ft"', '"-100 ft"'))).site.elevation == pytest.approx(-100 * FOOT)


lengths = st.integers(min_value=36, max_value=400)  # inches
US_TO_METRIC = {"in": ("cm", Fraction("2.54")), "gal/h": ("L/h", Fraction("3.785411784"))}


def spelled(number: int, unit: str, *, metric: bool) -> str:
    """Write a whole number of a US unit in that unit, or exactly in its metric neighbour."""
    if not metric:
        return f'"{number} {unit}"'
    name, factor = US_TO_METRIC[unit]
    exact = Decimal((number * factor).numerator) / Decimal((number * factor).denominator)
    return f'"{exact} {name}"'


@given(
    length=lengths,
    width=lengths,
    depth=st.integers(4, 40),
    spacing=st.integers(3, 24),
    flow=st.integers(60, 3600),
)
def test_us_and_metric_spellings_are_one_garden(length, width, depth, spacing, flow):
    gardens = []
    for metric in (False, True):
        text = (
            PLAN.replace(
                '"10 ft"\nwidth = "4 ft"',
                f"{spelled(length, 'in', metric=metric)}\nwidth = {spelled(width, 'in', metric=metric)}",
            )
            .replace('"14 in"', spelled(depth, "in", metric=metric))
            .replace('_spacing = "6 in"', "_spacing = " + spelled(spacing, "in", metric=metric))
            .replace('"5 gal/min"', spelled(flow, "gal/h", metric=metric))
            .replace("runs = 2", "runs = 1")
            .replace('"0.6 gal/h"', '"0.1 gal/h"' if not metric else '"0.3785411784 L/h"')
        )
        garden, faults = parse_plan(text, source="garden.toml")
        assert faults == []
        assert garden is not None
        gardens.append(garden)
    us, metric_one = (garden.beds[0] for garden in gardens)
    assert replace(metric_one, shape_text=us.shape_text, plantings=us.plantings) == replace(
        us,
        area=pytest.approx(us.area, rel=1e-12),
        soil_depth=pytest.approx(us.soil_depth, rel=1e-12),
        line_length=pytest.approx(us.line_length, rel=1e-12),
        drip=replace(
            us.drip,
            emitter_flow=pytest.approx(us.drip.emitter_flow, rel=1e-12),
            emitter_spacing=pytest.approx(us.drip.emitter_spacing, rel=1e-12),
        ),
    )
    assert gardens[0].water_source.flow == pytest.approx(gardens[1].water_source.flow, rel=1e-12)


def test_syntax_error_names_its_line(changed, faults_of):
    faults = faults_of(changed(('length = "10 ft"', "length = 10 ft")))
    line = changed().splitlines().index('length = "10 ft"') + 1
    assert len(faults) == 1
    assert faults[0].where.startswith(f"line {line}, column")
    assert "`length = 10 ft` cannot be read" in faults[0].found
    assert "quotes" in faults[0].wanted


@pytest.mark.parametrize(
    "text",
    [
        'name = "unfinished',
        "a = 1\na = 2\n",
        "on = 2026-02-30\n",
        "a = " + "[" * 5000,
        "a = " + "9" * 5000,
        "\x00",
        "{}",
    ],
)
def test_text_that_is_not_toml_is_one_fault(faults_of, text):
    assert len(faults_of(text)) == 1


@pytest.mark.parametrize("text", ["", "\n# only a remark\n", "\ufeff"])
def test_empty_plan_is_said_to_be_empty(faults_of, text):
    faults = faults_of(text)
    assert [(fault.where, fault.found) for fault in faults] == [("", "the plan is empty")]


def test_plan_of_one_key_is_told_every_missing_table(faults_of):
    places = {fault.where for fault in faults_of("format = 1\n")}
    tables = {"site", "weather", "soil", "water_source", "drip", "zone", "bed", "soil_state", "timer"}
    assert places == tables | {"name", "watering_window"}


@pytest.mark.parametrize("value", ["3", '"x"', "[]", "[1]", "{}", "true", "2026-01-01", "[[1]]", "[{}]"])
@pytest.mark.parametrize(
    "name",
    [
        "site",
        "weather",
        "soil",
        "water_source",
        "drip",
        "zone",
        "bed",
        "cup_test",
        "flow_test",
        "soil_state",
        "planning",
        "timer",
        "watering_window",
        "restriction",
        "tariff",
        "household",
    ],
)
def test_no_shape_of_a_table_breaks_the_reader(name, value):
    garden, faults = parse_plan(f"format = 1\n{name} = {value}\n", source="garden.toml")
    assert garden is None
    assert faults


KEYS = [line for line in PLAN.splitlines() if " = " in line]
ODD_VALUES = [
    *("0", "-1", "1e308", "nan", "inf", "true", '""', '" "', '"8 ft"', '"0 ft"', '"8 gal"', '"1/0 ft"', "[]"),
    *("[[]]", '["8 ft"]', "{}", "{ a = 1 }", "0001-01-01", "9999-12-31", "05:00:00", '"circle"', '"tomato"'),
    *("9" * 400, '"' + "x" * 900 + '"', '"120 %"', '"full"', '"2 months"', '"3 per gal"', '"1e400 ft"'),
]


# The first odd unit loads the table of rare units, which takes longer than one example may.
@settings(deadline=None)
@given(changes=st.dictionaries(st.sampled_from(KEYS), st.sampled_from(ODD_VALUES), min_size=1, max_size=4))
def test_odd_values_give_faults_or_a_garden_and_never_a_crash(changes):
    text = PLAN
    for line, value in changes.items():
        text = text.replace(line, f"{line.split(' = ')[0]} = {value}")
    garden, faults = parse_plan(text, source="garden.toml")
    assert (garden is None) == bool(faults)
    if garden is not None:
        assert all(value for _, _, value in describe_plan(garden))


def test_load_accepts_a_byte_order_mark(tmp_path, changed):
    path = tmp_path / "garden.toml"
    path.write_text(changed(), encoding="utf-8-sig")
    assert load_plan(path).name == "Test garden"


def test_load_lists_all_faults(tmp_path, changed):
    path = tmp_path / "garden.toml"
    path.write_text(
        changed(("outlet = 1", "outlet = 9"), ('crop = "tomato"', 'crop = "tomatl"')), encoding="utf-8"
    )
    with pytest.raises(PlanError, match="2 faults") as caught:
        load_plan(path)
    assert caught.value.exit_code == 1
    assert 'zone "north" > outlet' in str(caught.value)
    assert "planting 1 (tomatl) > crop" in str(caught.value)


def test_load_refuses_what_is_no_plan(tmp_path):
    large, binary = tmp_path / "large.toml", tmp_path / "binary.toml"
    large.write_bytes(b"#" * 1_000_001)
    binary.write_bytes(b"format = 1\nname = \xff\xfe\n")
    for path, found in (
        (large, "larger than 1 MB"),
        (binary, "line 2: holds bytes that are not text"),
        (tmp_path / "absent.toml", "cannot be opened"),
        (tmp_path, "cannot be opened"),
    ):
        with pytest.raises(PlanError, match=found):
            load_plan(path)


def test_every_quantity_is_told_back_in_both_systems(changed, garden_of):
    lines = describe_plan(garden_of(changed()))
    told = {(place, what): value for place, what, value in lines}
    assert told["site", "elevation"] == "70.10 m (230.0 ft)"
    assert told['bed "tall bed"', "area"] == "3.72 m² (40.0 ft²)"
    assert told['drip "line"', "flow of one emitter"] == "2.3 L/h (0.6 gal/h)"
    # 38 emitters of 0.6 gal/h on 40 ft2: 0.91 in/h.
    assert told['bed "tall bed"', "application rate"] == "23.2 mm/h (0.91 in/h)"
    assert told["household", "use a day"] == "681 L (180 gal)"
    assert told["tariff > block 1", "up to 7 CCF"] == "2.10 USD per CCF"
