"""What the plan did not say of the layout and was taken all the same, and what in it looks unusual."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from scheduler.garden import defaults
from scheduler.garden.build_layout import has_layout
from scheduler.garden.checks_segments import beds_reached
from scheduler.garden.fields import percent
from scheduler.garden.line_places import run_ordinates
from scheduler.garden.places import bed_outline, outlines_overlap
from scheduler.garden.plan import Assumption, Bed, Garden
from scheduler.garden.plantables import PlanTables
from scheduler.garden.schema_beds import BedTable
from scheduler.garden.units import both_systems

__all__ = ["layout_notes"]


def layout_notes(tables: PlanTables, garden: Garden) -> Iterator[Assumption]:
    """Yield one line per value of the layout that the plan left open; none for a plan without a layout."""
    if not has_layout(tables) or garden.layout is None:
        return
    if garden.water_source.static_pressure is None:
        yield Assumption(
            "layout",
            "water_source > static_pressure is not given, so printed flows stand where the layout would give "
            "computed ones",
        )
    yield from _head_notes(tables)
    yield from _main_notes(tables)
    reached = beds_reached(tables)
    for entry, bed in zip(tables.beds, garden.beds, strict=True):
        yield from _bed_notes(entry.bed.table, bed, reached=bed.name in reached)
    yield from _overlaps(garden.beds)
    yield from _takeoff_notes(tables)
    if tables.water_source.table.temperature is None:
        usual = both_systems(defaults.WATER_TEMPERATURE, "temperature")
        yield Assumption(
            "layout", f"water of {usual} is assumed in the lines, water_source > temperature says nothing"
        )


def _head_notes(tables: PlanTables) -> Iterator[Assumption]:
    if not tables.head_parts:
        yield Assumption("head", "no part is named, so no loss between tap and main line is counted")
    for part in tables.head_parts:
        if part.table.loss is None:
            yield Assumption(part.where, "no pressure loss is given, so none is counted")


def _main_notes(tables: PlanTables) -> Iterator[Assumption]:
    main = tables.main_line
    if main is None:
        return
    if main.table.order is None:
        yield Assumption("main_line > order", "the main reaches the beds in the order of the plan")
    if main.table.height is None:
        yield Assumption("main_line > height", "the main line is taken to lie level with the tap outlet")


def _bed_notes(table: BedTable, bed: Bed, *, reached: bool) -> Iterator[Assumption]:
    # A place of its own: what concerns the layout alone is no matter of the week's table.
    place, where = bed.place, f'bed "{bed.name}" > layout'
    if place is None or bed.measures is None:
        return
    if table.rim_height is None and place.rim_height is not None:
        yield Assumption(
            where,
            f"its rim is taken to lie its soil depth, {both_systems(place.rim_height, 'length')}, above the "
            "tap outlet",
        )
    if table.inlet is None:
        nearest = ", the nearest side to the head assembly" if place.position is not None else ""
        yield Assumption(where, f"its riser is taken to come up at the {place.inlet}{nearest}")
    if table.header_diameter is None:
        whose = "its last segment" if reached else "the main line"
        bore = both_systems(place.header_diameter, "bore")
        yield Assumption(where, f"riser and header are taken to have the bore of {whose}, {bore}")
    if place.valve_loss is None:
        yield Assumption(where, "its open hand valve is taken for a ball valve of full bore")
    if bed.line_length is None:
        yield Assumption(where, "its line is taken to be as long as its emitters times their spacing")
    if table.runs is not None and _moved_in(bed):
        yield Assumption(
            where, "its outer runs lie nearer the middle, so that their length fits between the rounded ends"
        )


def _moved_in(bed: Bed) -> bool:
    """Return True if the runs do not divide the width of their bed evenly."""
    measures = bed.measures
    if measures is None or measures.runs is None or measures.width is None:
        return False
    even = measures.width / measures.runs / 2
    return abs(run_ordinates(bed.shape, measures)[0] - even) > 1e-6


def _overlaps(beds: tuple[Bed, ...]) -> Iterator[Assumption]:
    """Yield a line for each two beds that share ground on the sketch."""
    placed = [bed for bed in beds if bed.place is not None and bed.place.position is not None]
    outlines = {bed.name: bed_outline(bed) for bed in placed}
    for first, second in combinations(outlines, 2):
        if outlines_overlap(outlines[first], outlines[second]):
            yield Assumption(f'bed "{second}" > position', f'on the sketch it overlaps bed "{first}"')


def _takeoff_notes(tables: PlanTables) -> Iterator[Assumption]:
    takeoff = None if tables.takeoff is None else tables.takeoff.table
    if takeoff is None or takeoff.spare is None:
        yield Assumption(
            "takeoff > spare",
            f"{percent(defaults.SPARE)} of tube and small parts to spare, common practice without a source",
        )
    if takeoff is None or takeoff.stake_spacing is None:
        spacing = both_systems(defaults.STAKE_SPACING, "length")
        yield Assumption(
            "takeoff > stake_spacing", f"a stake every {spacing}, common practice without a source"
        )
