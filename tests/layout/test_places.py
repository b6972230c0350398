"""Where beds, runs, rings, headers and emitters lie, to the millimetre, and that none is lost."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.garden.places import bed_outline, length_inside, outlines_overlap
from scheduler.garden.shapes import ShapeError
from scheduler.layout.segments import NoLayoutError, layout_of
from tests.layout.plans import BED, FOOT, INCH, garden_of, plan_with

ELL = (
    '"polygon"\ncorners = [["0 ft", "0 ft"], ["6 ft", "0 ft"], ["6 ft", "2 ft"], ["2 ft", "2 ft"], '
    '["2 ft", "6 ft"], ["0 ft", "6 ft"]]'
)
TRIANGLE = '"polygon"\ncorners = [["0 ft", "0 ft"], ["6 ft", "0 ft"], ["0 ft", "6 ft"]]'
ROUND = '"circle"\ndiameter = "6 ft"'
OVAL = '"rounded ends"\nlength = "9 ft"\nwidth = "3 ft"'
# Shape, line, emitters that the bed of the plan has.
BEDS = [
    (BED, "runs = 1", 19),
    (BED, "runs = 2", 38),
    (BED, "runs = 3", 57),
    (BED, "runs = 2\nemitters = 35", 35),
    (BED, "emitters = 40", 40),
    (BED, 'line_length = "18 ft"', 36),
    (BED, 'rings = ["40 in", "20 in"]', 20 + 10),
    (BED, 'rings = ["1 in"]\nemitters = 1', 1),
    (ROUND, 'rings = ["54 in", "26 in"]', 28 + 13),
    (ROUND, 'line_length = "30 ft"', 60),
    (ROUND, "emitters = 7", 7),
    (OVAL, "runs = 3", 51),
    (OVAL, 'line_length = "20 ft"', 40),
    (ELL, 'line_length = "18 ft"', 36),
    (TRIANGLE, 'rings = ["24 in"]', 12),
]


def laid(shape, line, *pairs):
    garden = garden_of(plan_with((BED, shape), ("runs = 2", line), *pairs))
    return garden, layout_of(garden)


def along(layout, line):
    return [edge for edge in layout.edges if edge.line == f"tall bed: {line}"]


def points(layout, kind):
    return [(node.x / FOOT, node.y / FOOT) for node in layout.nodes if node.kind == kind]


@pytest.mark.parametrize("inlet", ["left", "right", "bottom left", "top right"])
@pytest.mark.parametrize(("shape", "line", "emitters"), BEDS)
def test_emitters_are_those_of_the_bed_and_lie_inside(shape, line, emitters, inlet):
    garden, layout = laid(shape, line, ('inlet = "left"', f'inlet = "{inlet}"\nrotation = "30 deg"'))
    found = [node for node in layout.nodes if node.kind == "emitter"]
    assert len(found) == garden.beds[0].emitters == emitters
    outline = bed_outline(garden.beds[0])
    for node in found:
        hand = (node.x + 1e-5, node.y)
        assert length_inside((node.x, node.y), hand, outline) == pytest.approx(1e-5)


@pytest.mark.parametrize(("shape", "line", "emitters"), BEDS)
def test_all_line_of_the_bed_is_laid(shape, line, emitters):
    garden, layout = laid(shape, line)
    bed = garden.beds[0]
    length = sum(edge.length for edge in layout.edges if edge.kind in ("run", "ring"))
    wanted = bed.emitters * bed.drip.emitter_spacing if bed.line_length is None else bed.line_length
    assert length == pytest.approx(wanted)
    assert all(edge.length > 0 for edge in layout.edges if edge.kind != "head")


def test_two_runs_of_a_rectangle():
    """Bed at (3, 2), 10 by 4 ft: runs at 1 and 3 ft from its lower side, 3 in from both ends."""
    _, layout = laid(BED, "runs = 2")
    first = [node for node in layout.nodes if node.name.startswith("tall bed: run 1 emitter")]
    # 19 emitters 6 in apart in 9.5 ft: a quarter foot is left at both ends.
    assert [node.x / FOOT for node in first] == pytest.approx([3.5 + 0.5 * n for n in range(19)])
    assert {round(node.y / FOOT, 9) for node in first} == {3.0}
    assert points(layout, "end") == [(pytest.approx(12.75), pytest.approx(y)) for y in (3, 5)]
    assert points(layout, "run start") == [(pytest.approx(3.25), pytest.approx(y)) for y in (3, 5)]
    # The riser comes up in the middle of the left side, the header is entered between the runs.
    assert points(layout, "riser foot") == [(pytest.approx(3), pytest.approx(4))]
    assert points(layout, "header tee") == [(pytest.approx(3.25), pytest.approx(4))]


def test_corner_inlet_and_a_quarter_turn():
    """Turned by 90 degrees about (3, 2) the bed reaches from x = -1 to 3; its lower left corner stays."""
    _, layout = laid(BED, "runs = 2", ('inlet = "left"', 'inlet = "top left"\nrotation = "90 deg"'))
    assert points(layout, "riser foot") == [(pytest.approx(-1), pytest.approx(2))]
    assert points(layout, "run start") == [(pytest.approx(x), pytest.approx(2.25)) for x in (2, 0)]
    assert points(layout, "end") == [(pytest.approx(x), pytest.approx(11.75)) for x in (2, 0)]


def test_rings_of_a_round_bed():
    """54 and 26 in across about (3, 2); from the left the header goes to 13 in from the middle."""
    _, layout = laid(ROUND, 'rings = ["26 in", "54 in"]')
    emitters = [node for node in layout.nodes if node.name.startswith("tall bed: ring 1 emitter")]
    assert len(emitters) == 28
    radii = {round(math.dist((node.x, node.y), (3 * FOOT, 2 * FOOT)) / INCH, 6) for node in emitters}
    assert radii == {27.0}
    header = along(layout, "header")
    assert [edge.length / INCH for edge in header] == pytest.approx([36 - 27, 27 - 13])
    # What 28 spacings of 6 in leave of the ring lies at the joint, half on either side.
    ring = along(layout, "ring 1")
    assert (ring[0].length, ring[-1].length) == (
        pytest.approx((math.pi * 54 - 27 * 6) / 2 * INCH),
        pytest.approx(ring[0].length),
    )
    assert ring[0].start == ring[-1].end


def test_outer_runs_between_rounded_ends_stay_inside():
    """Half width 18 in, gap 3 in, a quarter of it clear: the run ends may lie sqrt(17.25^2 - 15^2) off."""
    garden, layout = laid(OVAL, "runs = 3")
    off = math.sqrt(17.25**2 - 15**2)
    ys = [(node.y / FOOT - 2) * 12 for node in layout.nodes if node.kind == "end"]
    assert ys == pytest.approx([18 - off, 18, 18 + off])
    assert any("outer runs lie nearer the middle" in note.text for note in garden.assumed)


def test_main_goes_along_the_grid():
    """From (0, 0) to the foot at (3, 4): 3 ft right, then 4 ft up; the riser 1 ft."""
    _, layout = laid(BED, "runs = 2")
    mains = [edge for edge in layout.edges if edge.kind == "main"]
    assert [edge.length / FOOT for edge in mains] == pytest.approx([3, 4])
    assert points(layout, "elbow") == [(pytest.approx(3), 0)]
    (riser,) = [edge for edge in layout.edges if edge.kind == "riser"]
    assert (riser.length / FOOT, riser.valve) == (pytest.approx(1), "tall bed")


def test_main_goes_round_a_bed_where_it_can():
    """To the right end at (13, 4): first along x stays outside, first up the left side would cross."""
    _, layout = laid(BED, "runs = 2", ('inlet = "left"', 'inlet = "right"'))
    assert points(layout, "elbow") == [(pytest.approx(13), 0)]
    assert layout.notes == ()


def test_main_through_a_bed_is_told():
    start = ('start = ["0 ft", "0 ft"]', 'start = ["0 ft", "4 ft"]')
    _, layout = laid(BED, "runs = 2", ('inlet = "left"', 'inlet = "right"'), start)
    (note,) = layout.notes
    assert note.startswith("the main of north passes through tall bed on its way to tall bed")


def test_level_bed_has_its_valve_in_the_header():
    _, layout = laid(BED, "runs = 2", ('rim_height = "12 in"', 'rim_height = "0 in"'))
    assert [edge.kind for edge in layout.edges if edge.valve == "tall bed"] == ["header"]
    assert [edge for edge in layout.edges if edge.kind == "riser"] == []


def test_drop_from_the_head_to_the_ground():
    _, layout = laid(BED, "runs = 2", ('height = "0 ft"', 'height = "-18 in"'))
    assert [edge.length / FOOT for edge in layout.edges if edge.kind == "main"] == pytest.approx([1.5, 3, 4])
    (riser,) = [edge for edge in layout.edges if edge.kind == "riser"]
    assert riser.length / FOOT == pytest.approx(2.5)


def test_plan_without_a_layout_is_refused_in_words():
    garden = garden_of(plan_with())
    with pytest.raises(NoLayoutError, match=r"\[main_line\]"):
        layout_of(replace(garden, layout=None))


def test_bed_without_a_place_is_refused():
    garden = garden_of(plan_with())
    with pytest.raises(ShapeError, match="tall bed"):
        layout_of(replace(garden, beds=(replace(garden.beds[0], place=None),)))


SQUARE = ((0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0))


@pytest.mark.parametrize(
    ("move", "overlap"), [((2.0, 0.0), False), ((1.9, 0.0), True), ((0.0, 0.0), True), ((3.0, 3.0), False)]
)
def test_overlap(move, overlap):
    other = tuple((x + move[0], y + move[1]) for x, y in SQUARE)
    small = tuple((1 + (x - 1) / 4, 1 + (y - 1) / 4) for x, y in SQUARE)
    assert outlines_overlap(SQUARE, other) is overlap
    assert outlines_overlap(SQUARE, small)
    assert outlines_overlap(small, SQUARE)


@settings(deadline=None, max_examples=60)
@given(
    size=st.tuples(st.integers(24, 240), st.integers(24, 72)),
    runs=st.integers(1, 5),
    turn=st.integers(0, 359),
    inlet=st.sampled_from(["left", "right", "top left", "bottom right"]),
    shape=st.sampled_from(["rectangle", "rounded ends"]),
)
def test_every_point_hangs_on_the_tap_once(size, runs, turn, inlet, shape):
    length, width = max(size), min(size)
    bed = f'"{shape}"\nlength = "{length} in"\nwidth = "{width} in"'
    inset = f'end_gap = "{width / 8} in"'
    garden, layout = laid(
        bed, f"runs = {runs}\n{inset}", ('inlet = "left"', f'inlet = "{inlet}"\nrotation = "{turn} deg"')
    )
    reached = {0}
    for edge in layout.edges:
        # From the tap outwards: a tube begins where water already is, and ends where none was yet.
        assert edge.start in reached
        assert edge.end not in reached
        reached.add(edge.end)
    assert len(reached) == len(layout.nodes)
    assert sum(node.kind == "emitter" for node in layout.nodes) == garden.beds[0].emitters
    for edge in layout.edges:
        if edge.kind in ("run", "header", "main"):
            start, end = layout.nodes[edge.start], layout.nodes[edge.end]
            straight = math.dist((start.x, start.y, start.height), (end.x, end.y, end.height))
            assert edge.length == pytest.approx(straight, abs=1e-9)


def test_header_of_uneven_runs_bends_without_a_fitting():
    """The runs of an L begin up to an inch further in: five barbs and more along one soft tube, no elbow."""
    _, layout = laid(ELL, 'line_length = "18 ft"')
    starts = {n for n, node in enumerate(layout.nodes) if node.kind == "run start"}
    at_starts = [fitting.kind for fitting in layout.fittings if fitting.node in starts]
    assert "elbow" not in at_starts
    assert at_starts.count("barb") == len(starts) == 7
