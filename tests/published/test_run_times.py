"""Application rates and run times against printed and hand-worked results, which stand in run_times.toml."""

import tomllib
from pathlib import Path

import pytest

from scheduler.drip.emitters import application_rate
from scheduler.garden.shapes import (
    circle_area,
    emitter_count,
    rectangle_area,
    ring_length,
    rounded_ends_area,
    run_length,
)
from scheduler.garden.units import parse_quantity, to_display
from scheduler.timetable.runtime import applied_depth, run_time
from scheduler.water.need import gross_irrigation_need
from tests.published.printed import half_digit

DATA = tomllib.loads(Path(__file__).with_name("run_times.toml").read_text(encoding="utf-8"))
CLASSES, FOUR_LINES, SHORT = DATA["line_classes"], DATA["four_line_bed"], DATA["short_bed"]
GARDEN = DATA["garden"]
AREAS = {"rectangle": rectangle_area, "circle": circle_area, "rounded ends": rounded_ends_area}


def close(printed, tolerance=None):
    return pytest.approx(float(printed), abs=half_digit(printed, tolerance))


def metres(*texts):
    return [parse_quantity(text, "length") for text in texts]


def depth_of(case):
    return parse_quantity(case["depth"], "water_depth")


def hours(depth, rate):
    """Return the run time in hours [h] for a depth [mm] at a rate [mm/h]."""
    return float(run_time(depth, rate)) / parse_quantity("1 h", "duration")


def gallons(depth, area):
    """Return a depth [mm] on an area [m2] in gallons."""
    return to_display(depth * area, "volume", "us")


def inches_per_hour(rate):
    return to_display(float(rate), "application_rate", "us")


@pytest.mark.parametrize(("kind", "spacing", "gpm", "gph", "printed"), CLASSES["rows"])
def test_hours_for_an_inch_by_class_of_line(kind, spacing, gpm, gph, printed):
    flow = parse_quantity(f"{gph} gph", "flow")
    assert parse_quantity(f"{gpm} gpm", "flow") == pytest.approx(flow, rel=1e-12)
    area = rectangle_area(*metres(CLASSES["bed_length"], CLASSES["bed_width"]))
    assert hours(depth_of(CLASSES), application_rate(flow, area)) == close(printed), (kind, spacing)


def test_hours_for_an_acre_of_beds():
    case = DATA["acre_of_beds"]
    area = rectangle_area(*metres(case["bed_length"], case["bed_width"]))
    rate = application_rate(parse_quantity(case["flow"], "flow"), area)
    assert inches_per_hour(rate) == close(case["exact_rate"])
    assert hours(depth_of(case), rate) == close(case["exact_hours"])
    assert hours(depth_of(case), rate) == close(case["printed_hours"], case["tolerance"])


def test_sprinkler_rate_that_does_not_follow():
    case = DATA["acre_of_sprinklers"]
    (spacing,) = metres(case["spacing"])
    rate = application_rate(parse_quantity(case["flow"], "flow"), rectangle_area(spacing, spacing))
    assert inches_per_hour(rate) == close(case["right_rate"])
    assert inches_per_hour(rate) != close(case["printed_rate"])


def test_gallons_for_an_inch():
    case = DATA["gallons_per_inch"]
    area = parse_quantity(case["area"], "area")
    assert gallons(depth_of(case), area) == close(case["exact"])
    assert gallons(depth_of(case), area) == close(case["printed"], case["tolerance"])
    # At that many gallons an hour, the depth is on after one hour.
    rate = application_rate(parse_quantity(f"{case['exact']} gph", "flow"), area)
    assert hours(depth_of(case), rate) == pytest.approx(1.0, abs=1e-5)


def test_four_line_bed_right_hours_and_not_the_misprint():
    case = FOUR_LINES
    length, width, hundred_feet = metres(case["bed_length"], case["bed_width"], "100 ft")
    area = rectangle_area(length, width)
    flow = parse_quantity(case["flow_per_100_ft"], "flow") * case["lines"] * length / hundred_feet
    assert to_display(flow, "flow", "us") == close(case["right_flow"].removesuffix(" gph"))
    assert gallons(depth_of(case), area) == close(case["right_gallons"])
    right = hours(depth_of(case), application_rate(flow, area))
    assert right == close(case["right_hours"])
    assert right != close(case["printed_hours"])
    # The printed hours come out of the two slips: an inch for 1.05 in, and the flow of too many emitters.
    inch = parse_quantity("1 in", "water_depth")
    assert gallons(inch, area) == close(case["printed_gallons"], case["printed_gallons_tolerance"])
    slipped = application_rate(parse_quantity(case["printed_flow"], "flow"), area)
    assert hours(inch, slipped) == close(case["printed_hours"])


def test_four_line_bed_emitters():
    case = FOUR_LINES
    hundred_feet, spacing, other = metres("100 ft", case["emitter_spacing"], case["spacing_of_printed"])
    assert emitter_count(hundred_feet, spacing) == case["right_emitters"]
    assert emitter_count(hundred_feet, other) == case["printed_emitters"]


def test_tomato_row():
    case = DATA["tomato_row"]
    area = parse_quantity(case["area"], "area")
    volume = gallons(depth_of(case), area)
    assert volume == close(case["printed_gallons"])
    assert volume == close(case["exact_gallons"], case["exact_gallons_tolerance"])
    flow = case["emitters_per_plant"] * parse_quantity(case["emitter_flow"], "flow")
    time = hours(depth_of(case), application_rate(flow, area))
    assert time == close(case["printed_hours"], case["printed_hours_tolerance"])
    assert time == close(case["exact_hours"], case["exact_hours_tolerance"])


def short_bed():
    """Return area [m2], emitters and flow [L/h] of the short bed."""
    length, width, gap, spacing = metres(
        SHORT["length"], SHORT["width"], SHORT["end_gap"], SHORT["emitter_spacing"]
    )
    emitters = SHORT["runs"] * emitter_count(run_length(length, gap), spacing)
    return rectangle_area(length, width), emitters, emitters * parse_quantity(SHORT["emitter_flow"], "flow")


def test_short_bed_rate():
    area, emitters, flow = short_bed()
    assert emitters == SHORT["runs"] * SHORT["emitters_per_run"]
    assert area == close(SHORT["area"])
    assert flow == close(SHORT["flow_litres"])
    assert to_display(flow, "flow", "us") == close(SHORT["flow"])
    rate = application_rate(flow, area)
    assert float(rate) == close(SHORT["rate"])
    assert inches_per_hour(rate) == close(SHORT["rate_inches"])


def test_short_bed_minutes_and_water():
    area, _, flow = short_bed()
    rate = application_rate(flow, area)
    net = parse_quantity(SHORT["net"], "water_depth")
    minutes = run_time(gross_irrigation_need(net, SHORT["efficiency"]), rate)
    assert float(minutes) == close(SHORT["minutes"])
    assert gallons(float(applied_depth(minutes, rate)), area) == close(SHORT["gallons"])
    leached = gross_irrigation_need(net, SHORT["efficiency"], leaching=SHORT["leaching"])
    assert float(run_time(leached, rate)) == close(SHORT["minutes_with_leaching"])


def test_short_bed_rate_is_not_that_of_a_field():
    area, _, flow = short_bed()
    spacing, line_spacing = metres(SHORT["emitter_spacing"], SHORT["line_spacing"])
    one = parse_quantity(SHORT["emitter_flow"], "flow")
    field = application_rate(one, rectangle_area(spacing, line_spacing))
    assert inches_per_hour(field) == close(SHORT["field_rate_inches"])
    assert float(field) / float(application_rate(flow, area)) == pytest.approx(1.05, abs=0.005)


def garden_bed(bed):
    """Return area [m2], flow [L/h] and rate [mm/h] of one of the five beds."""
    size = metres(*bed["size"])
    area = AREAS[bed["shape"]](*size)
    gap, spacing = metres(GARDEN["end_gap"], bed["emitter_spacing"])
    if bed["shape"] == "circle":
        lines = [ring_length(diameter) for diameter in metres(*GARDEN["rings"])]
    else:
        lines = 2 * [run_length(size[0], gap)]
    emitters = sum(emitter_count(line, spacing) for line in lines)
    flow = emitters * parse_quantity(GARDEN["emitter_flow"], "flow")
    return area, flow, float(application_rate(flow, area))


@pytest.mark.parametrize("name", GARDEN["beds"])
def test_garden_bed_rate(name):
    bed = GARDEN["beds"][name]
    assert inches_per_hour(garden_bed(bed)[2]) == close(bed["rate"])


def test_garden_as_a_whole():
    areas, flows, rates = zip(*(garden_bed(bed) for bed in GARDEN["beds"].values()), strict=True)
    assert to_display(sum(areas), "area", "us") == close(GARDEN["total_area"])
    assert to_display(sum(flows), "flow", "us") == close(GARDEN["total_flow"])
    minutes = [float(run_time(depth_of(GARDEN), rate)) for rate in rates]
    assert min(minutes) == close(GARDEN["shortest_minutes"])
    assert max(minutes) == close(GARDEN["longest_minutes"])
    assert max(rates) / min(rates) == close(GARDEN["unevenness"])
