"""Speeds, meshes, wetted soil, clogging and classes against printed figures, see drip_practice.toml."""

import tomllib
from pathlib import Path

import pytest

from scheduler.drip.clogging import clogging_hazards
from scheduler.drip.filters import FILTER_MESHES
from scheduler.drip.speed import FLUSHING_SPEED, HIGHEST_SPEED, flow_at_speed, flow_speed
from scheduler.drip.uniformity_classes import (
    DESIGN_UNIFORMITY,
    LARGEST_LABEL_ERROR,
    LARGEST_NEW_VARIATION,
    emission_class,
    statistical_class,
    variation_class,
)
from scheduler.drip.wetting import LINE_SPREAD, WETTED_DIAMETERS
from scheduler.garden.units import parse_quantity
from tests.published.printed import half_digit

DATA = tomllib.loads(Path(__file__).with_name("drip_practice.toml").read_text(encoding="utf-8"))
GALLON_A_MINUTE, GALLON_AN_HOUR = (parse_quantity(f"1 gal/{time}", "flow") for time in ("min", "h"))
FOOT_A_SECOND = parse_quantity("1 ft/s", "speed")


def close(printed, tolerance=None):
    return pytest.approx(float(printed), abs=half_digit(printed, tolerance))


def flow(speed, bore):
    return float(flow_at_speed(parse_quantity(speed, "speed"), bore=parse_quantity(bore, "length")))


@pytest.mark.parametrize(("bore", "printed", "exact"), DATA["flushing"]["rows"])
def test_flushing_flow_of_laterals(bore, printed, exact):
    """The printed flows are rounded up, as a least flow should be."""
    needed = flow(FLUSHING_SPEED.text, bore) / GALLON_A_MINUTE
    assert needed == close(exact)
    assert float(printed) - 1 < needed <= float(printed)


@pytest.mark.parametrize(("bore", "printed"), DATA["flushing_by_hand"]["rows"])
def test_flushing_flow_of_garden_tubes(bore, printed):
    assert flow(DATA["flushing_by_hand"]["speed"], bore) / GALLON_A_MINUTE == close(printed)


def test_flushing_flow_of_a_quarter_inch_line():
    bore, printed = DATA["flushing_by_hand"]["quarter_inch"]
    assert flow(DATA["flushing_by_hand"]["speed"], bore) / GALLON_AN_HOUR == close(printed)


@pytest.mark.parametrize(("bore", "printed"), DATA["highest_speed"]["rows"])
def test_flow_at_the_highest_speed(bore, printed):
    assert DATA["highest_speed"]["speed"] == HIGHEST_SPEED.text
    assert flow(HIGHEST_SPEED.text, bore) / GALLON_A_MINUTE == close(printed)


@pytest.mark.parametrize(("bore", "carried", "printed"), DATA["speeds"]["rows"])
def test_speed_of_a_flow(bore, carried, printed):
    speed = flow_speed(parse_quantity(carried, "flow"), bore=parse_quantity(bore, "length"))
    assert float(speed) / FOOT_A_SECOND == close(printed)


@pytest.mark.parametrize(("mesh", "least", "most"), DATA["meshes"]["rows"])
def test_meshes_are_held_at_their_widest_opening(mesh, least, most):
    (held,) = [one for one in FILTER_MESHES if one.mesh == mesh]
    assert least <= most
    assert held.opening == pytest.approx(most * 1e-6)


@pytest.mark.parametrize(("group", "least", "most"), DATA["wetted_diameters"]["rows"])
def test_wetted_diameters(group, least, most):
    known = WETTED_DIAMETERS[group]
    for held, printed in ((known.least, least), (known.most, most)):
        length = parse_quantity(printed, "length")
        assert held == pytest.approx(length, abs=DATA["wetted_diameters"]["tolerance"])


@pytest.mark.parametrize("row", DATA["line_spread"]["rows"], ids=lambda row: row[0])
def test_spacing_and_width_of_wetted_strips(row):
    group, *printed = row
    for held, (spacing, width) in zip(LINE_SPREAD[group], printed, strict=True):
        tolerance = DATA["line_spread"]["tolerance"]
        assert held.spacing == pytest.approx(parse_quantity(spacing, "length"), abs=tolerance)
        assert held.width == pytest.approx(parse_quantity(width, "length"), abs=tolerance)
        # Printed spacings are eight tenths of the widths, to a tenth of a foot.
        assert held.spacing == pytest.approx(0.8 * held.width, abs=0.03)


def test_measured_diameters_lie_within_those_of_their_soil():
    trial = DATA["emitter_trial"]
    for group, measured in (("coarse", trial["coarse"]), ("medium", trial["finer"])):
        for diameter in measured:
            assert WETTED_DIAMETERS[group].least <= diameter <= WETTED_DIAMETERS[group].most


@pytest.mark.parametrize("item", DATA["clogging"]["rows"])
def test_clogging_classes(item):
    moderate, severe = DATA["clogging"]["rows"][item]
    cases = [
        (moderate * 0.99, "slight"),
        (moderate, "moderate"),
        (severe, "moderate"),
        (severe * 1.01, "severe"),
    ]
    for value, grade in cases:
        (hazard,) = clogging_hazards({item: value})
        assert (hazard.grade, hazard.limit.source != "") == (grade, True), value


@pytest.mark.parametrize("item", DATA["clogging_elsewhere"]["rows"])
def test_a_stricter_source_is_told(item):
    moderate, severe = DATA["clogging_elsewhere"]["rows"][item]
    agreed_moderate, agreed_severe = DATA["clogging"]["rows"][item]
    values = {
        (moderate + agreed_moderate) / 2: "moderate" if moderate < agreed_moderate else "",
        (severe + agreed_severe) / 2: "severe" if severe < agreed_severe else "",
        agreed_severe * 1.5: "",
    }
    for value, grade in values.items():
        (hazard,) = clogging_hazards({item: value})
        assert hazard.elsewhere.startswith(grade), value
        assert bool(hazard.elsewhere) == bool(grade), value


@pytest.mark.parametrize(
    ("name", "grade"), [("statistical", statistical_class), ("emission", emission_class)]
)
def test_classes_of_uniformity_and_their_gaps(name, grade):
    rows = DATA["uniformity_classes"][name]
    above = None
    for label, least, most in rows:
        for percent in (least, (least + most) / 2, most):
            found = grade(percent / 100.0)
            assert (found.name, found.between) == (label, False), percent
        if above is not None and above > most:
            found = grade((most + above) / 200.0)
            assert (found.name, found.between) == (label, True)
        above = least


@pytest.mark.parametrize("kind", ["point", "line"])
def test_classes_of_new_emitters(kind):
    least = 0.0
    for label, most in DATA["uniformity_classes"][kind]:
        for percent in (least, (least + most) / 2, most * 0.999):
            assert variation_class(percent / 100.0, emitters=kind).name == label, percent
        least = most


def test_recommended_design_uniformity():
    held = [[one.emitters, one.ground, 100 * one.least, 100 * one.most] for one in DESIGN_UNIFORMITY]
    assert held == [
        [*row[:2], pytest.approx(row[2]), pytest.approx(row[3])] for row in DATA["design_uniformity"]["rows"]
    ]


def test_what_a_sound_new_emitter_may_be_off():
    printed = DATA["new_emitters"]
    held = [100 * share for share in (LARGEST_LABEL_ERROR, LARGEST_NEW_VARIATION)]
    assert held == pytest.approx([printed["label"], printed["variation"]])
