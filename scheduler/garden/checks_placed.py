"""Checks of the layout as built: lines that do not fit their bed, tubes without length, heights."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from scheduler.errors import Fault
from scheduler.garden.bounds import limit
from scheduler.garden.layout_plan import BedMeasures, LayoutPlan, outlet_name
from scheduler.garden.line_places import comb, run_ordinates
from scheduler.garden.places import inlet_on_sketch, is_inside, outline_middle, outline_of_shape
from scheduler.garden.plan import Bed, Garden
from scheduler.garden.segment_heights import segment_heights
from scheduler.garden.shapes import ShapeError
from scheduler.garden.units import both_systems

__all__ = ["check_placed"]

#: Tubes shorter than this are none [m].
_NOTHING = 1e-3


def check_placed(garden: Garden) -> Iterator[Fault]:
    """Yield what is wrong with the layout of a garden that has one."""
    layout = garden.layout
    if layout is None:
        return
    for bed in garden.beds:
        if bed.measures is not None and bed.place is not None:
            yield from _lines_fit(bed, bed.measures)
    yield from _rims(garden, layout)
    yield from _main_has_length(garden, layout)


def _lines_fit(bed: Bed, measures: BedMeasures) -> Iterator[Fault]:
    """Yield a fault for a ring, run or length of line that the bed cannot hold."""
    where = f'bed "{bed.name}"'
    if measures.rings:
        widest = _widest_ring(bed, measures)
        for number, ring in enumerate(measures.rings, start=1):
            if ring > widest * (1 + 1e-9):
                yield Fault(
                    f"{where} > rings > ring {number}",
                    f"{both_systems(ring, 'length')} across does not fit",
                    f"about the middle of this bed a ring of at most {both_systems(widest, 'length')} lies "
                    "inside: measure both again",
                )
        return
    if measures.runs is not None and bed.shape == "rounded ends" and measures.runs > 1:
        ordinates = run_ordinates(bed.shape, measures)
        even = (measures.width or 0.0) / measures.runs
        if ordinates[1] - ordinates[0] < even / 2:
            yield Fault(
                f"{where} > runs",
                "its outer runs are longer than the bed is there, between its rounded ends",
                'write a larger end_gap, such as "6 in", or fewer runs',
            )
    elif measures.runs is None and bed.shape != "circle":
        length = bed.emitters * bed.drip.emitter_spacing if bed.line_length is None else bed.line_length
        try:
            comb(outline_of_shape(bed.shape, measures), length, gap=measures.end_gap)
        except ShapeError:
            yield Fault(
                f"{where} > {'emitters' if bed.line_length is None else 'line_length'}",
                f"{both_systems(length, 'length')} of line are longer than the bed has room for",
                "measure line and bed again; is the unit right?",
            )


def _widest_ring(bed: Bed, measures: BedMeasures) -> float:
    """Return the diameter of the widest ring about the middle that lies inside a bed [m]."""
    if bed.shape == "circle":
        return measures.diameter or 0.0
    if bed.shape != "polygon":
        return min(measures.length or 0.0, measures.width or 0.0)
    outline = outline_of_shape(bed.shape, measures)
    middle = outline_middle(outline)
    if not is_inside(middle, outline):
        return 0.0
    return 2 * min(_distance(middle, a, b) for a, b in zip(outline, (*outline[1:], outline[0]), strict=True))


def _distance(point: tuple[float, float], a: tuple[float, float], b: tuple[float, float]) -> float:
    """Return how far a point lies from a straight piece [m]."""
    square = math.dist(a, b) ** 2
    along = ((point[0] - a[0]) * (b[0] - a[0]) + (point[1] - a[1]) * (b[1] - a[1])) / square
    share = min(max(along, 0.0), 1.0)
    return math.dist(point, (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share))


def _rims(garden: Garden, layout: LayoutPlan) -> Iterator[Fault]:
    """Yield a fault for a rim whose height and whose segments disagree."""
    start = layout.head_height
    heights = segment_heights(layout.segments, {outlet_name(zone.outlet): start for zone in garden.zones})
    reached = {segment.end for segment in layout.segments}
    for bed in garden.beds:
        rim = None if bed.place is None else bed.place.rim_height
        if rim is None or bed.name not in reached:
            continue
        if abs(heights[bed.name] - rim) > limit("1 cm", "length"):
            yield Fault(
                f'bed "{bed.name}" > rim_height',
                f"{both_systems(rim, 'length')} above the tap outlet, but the segments to it rise to "
                f"{both_systems(heights[bed.name], 'length')}",
                "measure both again; the two must agree, or leave rim_height out",
            )


def _main_has_length(garden: Garden, layout: LayoutPlan) -> Iterator[Fault]:
    """Yield a fault for each piece of the main line, or riser, that has no length."""
    main = layout.main_line
    if main is None:
        return
    reached = {segment.end for segment in layout.segments}
    beds = {bed.name: bed for bed in garden.beds}
    for zone in garden.zones:
        mine = [
            bed
            for name in main.order
            if (bed := beds.get(name)) is not None and bed.zone == zone.name and name not in reached
        ]
        for before, bed in pairwise(mine):
            if math.dist(inlet_on_sketch(before), inlet_on_sketch(bed)) < _NOTHING:
                yield Fault(
                    f'bed "{bed.name}" > inlet',
                    f'its riser comes up where that of bed "{before.name}" does: a tube without length',
                    "choose another side or corner, or check the positions of both",
                )
        if (
            mine
            and math.dist(inlet_on_sketch(mine[0]), main.start) < _NOTHING
            and layout.head_height == main.height
        ):
            yield Fault(
                f'bed "{mine[0].name}" > position',
                "its riser comes up where the main line starts: a tube without length",
                "check its position and the start of the main line",
            )
    for name in main.order:
        place, measures = beds[name].place, beds[name].measures
        if name in reached or place is None or place.rim_height is None or measures is None:
            continue
        if abs(place.rim_height - main.height) < _NOTHING and measures.end_gap < _NOTHING:
            yield Fault(
                f'bed "{name}" > rim_height',
                "level with the main line, and its line reaches the board: a riser without length",
                "give the height of the main line or a larger end_gap",
            )
