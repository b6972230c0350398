"""Areas, lengths of line and numbers of emitters, against hand arithmetic in feet and inches."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.errors import RillbookError
from scheduler.garden.shapes import (
    ShapeError,
    circle_area,
    emitter_count,
    polygon_area,
    rectangle_area,
    ring_length,
    rounded_ends_area,
    run_length,
)
from scheduler.garden.units import parse_quantity, to_display

EMITTER_FLOW = parse_quantity("0.6 gal/h", "flow")
lengths = st.floats(0.05, 50)


def metres(text):
    return parse_quantity(text, "length")


def emitters_of_runs(length, spacing):
    return 2 * emitter_count(run_length(metres(length), metres("3 in")), metres(spacing))


def emitters_of_rings(diameters, spacing):
    return sum(emitter_count(ring_length(metres(each)), metres(spacing)) for each in diameters)


# Five beds worked by hand for this project: area, emitters, and in/h = 0.6 gal/h x emitters x 231/144 / ft2.
FIVE_BEDS = {
    "10 x 4 ft": (
        rectangle_area(metres("10 ft"), metres("4 ft")),
        emitters_of_runs("10 ft", "6 in"),
        2 * 19,
        0.91,
    ),
    "6 x 2 ft": (
        rectangle_area(metres("6 ft"), metres("2 ft")),
        emitters_of_runs("6 ft", "12 in"),
        2 * 5,
        0.80,
    ),
    "5 x 3 ft": (
        rectangle_area(metres("5 ft"), metres("3 ft")),
        emitters_of_runs("5 ft", "6 in"),
        2 * 9,
        1.16,
    ),
    "round 6 ft": (circle_area(metres("6 ft")), emitters_of_rings(["54 in", "26 in"], "6 in"), 28 + 13, 1.40),
    "rounded 9 x 3 ft": (
        rounded_ends_area(metres("9 ft"), metres("3 ft")),
        emitters_of_runs("9 ft", "12 in"),
        2 * 8,
        0.61,
    ),
}


@pytest.mark.parametrize("bed", FIVE_BEDS)
def test_emitters_and_rate_of_a_bed(bed):
    area, counted, expected, rate = FIVE_BEDS[bed]
    assert counted == expected
    assert to_display(EMITTER_FLOW * counted / area, "application_rate", "us") == pytest.approx(
        rate, abs=0.005
    )


def test_five_beds_together():
    flow = sum(EMITTER_FLOW * counted for _, counted, _, _ in FIVE_BEDS.values())
    assert to_display(flow, "flow", "us") == pytest.approx(73.8, abs=1e-9)
    area = sum(area for area, *_ in FIVE_BEDS.values())
    # 40 + 12 + 15 + 9 pi + (18 + 2.25 pi) ft2
    assert to_display(area, "area", "us") == pytest.approx(85 + 11.25 * math.pi, rel=1e-12)


def test_round_bed_taken_as_square_is_27_percent_over():
    assert rectangle_area(6, 6) / circle_area(6) == pytest.approx(1.27, abs=0.005)


def test_rounded_ends_of_equal_sides_are_a_circle():
    assert rounded_ends_area(3, 3) == pytest.approx(circle_area(3))


@given(length=lengths, width=lengths)
def test_polygon_of_four_corners_is_the_rectangle(length, width):
    corners = [(0, 0), (length, 0), (length, width), (0, width)]
    assert polygon_area(corners) == pytest.approx(rectangle_area(length, width))
    assert polygon_area(corners[::-1]) == pytest.approx(rectangle_area(length, width))


@given(
    radii=st.lists(st.floats(0.5, 3), min_size=3, max_size=12),
    dx=st.floats(-1e3, 1e3),
    dy=st.floats(-1e3, 1e3),
    turn=st.integers(0, 11),
)
def test_polygon_area_does_not_depend_on_place_or_first_corner(radii, dx, dy, turn):
    corners = [
        (r * math.cos(2 * math.pi * i / len(radii)), r * math.sin(2 * math.pi * i / len(radii)))
        for i, r in enumerate(radii)
    ]
    # A star round the origin is the sum of its triangles.
    angle = math.sin(2 * math.pi / len(radii)) / 2
    expected = sum(a * b * angle for a, b in zip(radii, radii[1:] + radii[:1], strict=True))
    moved = [(x + dx, y + dy) for x, y in corners]
    start = turn % len(moved)
    assert polygon_area(moved[start:] + moved[:start]) == pytest.approx(expected, rel=1e-9)


def test_l_shaped_bed():
    # 6 x 2 and 2 x 4
    assert polygon_area([(0, 0), (6, 0), (6, 2), (2, 2), (2, 6), (0, 6)]) == 20


def test_corner_on_a_straight_side_is_allowed():
    assert polygon_area([(0, 0), (1, 0), (2, 0), (2, 2), (0, 2)]) == 4


@pytest.mark.parametrize(
    ("corners", "says"),
    [
        ([(0, 0), (1, 1)], "at least 3 corners"),
        ([(0, 0), (2, 2), (2, 0), (0, 2)], "side 1 and side 3 cross or touch"),
        ([(0, 0), (4, 0), (4, 4), (2, 0), (0, 4)], "cross or touch"),
        ([(0, 0), (1, 0), (2, 0)], "lie on one line"),
        ([(0, 0), (4, 0), (2, 0), (2, 2)], "cross or touch"),
        ([(0, 0), (1, 0), (1, 0), (0, 1)], "two corners in a row are the same"),
        ([(0, 0), (1, 0), (1, 1), (0, 0)], "two corners in a row are the same"),
        ([(0, 0), (1, 0), (math.nan, 1)], "must be a number"),
        ([(i, i * i) for i in range(201)], "at most 200 corners"),
    ],
)
def test_polygon_that_is_none_is_refused(corners, says):
    with pytest.raises(ShapeError, match=says) as caught:
        polygon_area(corners)
    assert isinstance(caught.value, RillbookError)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize(
    "measure",
    [
        lambda bad: rectangle_area(bad, 1),
        lambda bad: rectangle_area(1, bad),
        circle_area,
        lambda bad: rounded_ends_area(bad, 1),
        ring_length,
        lambda bad: run_length(bad, 0),
        lambda bad: emitter_count(bad, 1),
        lambda bad: emitter_count(1, bad),
    ],
)
def test_measure_that_is_not_above_zero_is_refused(measure, bad):
    with pytest.raises(ShapeError, match="above zero"):
        measure(bad)


def test_rounded_ends_wider_than_long_are_refused():
    with pytest.raises(ShapeError, match="wider than it is long"):
        rounded_ends_area(2, 3)


@pytest.mark.parametrize("gap", [0.5, 1.0, -0.1, math.nan])
def test_gaps_that_leave_no_run_are_refused(gap):
    with pytest.raises(ShapeError, match="no room"):
        run_length(1.0, gap)


@given(
    count=st.integers(1, 500), spacing=st.sampled_from(["6 in", "9 in", "12 in", "15 cm", "30 cm", "0.33 m"])
)
def test_whole_number_of_spacings_holds_that_many_emitters(count, spacing):
    assert emitter_count(count * metres(spacing), metres(spacing)) == count
    assert emitter_count((count + 0.99) * metres(spacing), metres(spacing)) == count
