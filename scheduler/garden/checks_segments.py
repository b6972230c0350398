"""Checks of the named segments: every one hangs on an outlet, reaches beds once, and has what it needs."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.errors import Fault
from scheduler.garden.bounds import limit, outside
from scheduler.garden.fields import shown
from scheduler.garden.layout_plan import outlet_name
from scheduler.garden.plantables import PlanTables
from scheduler.garden.schema_layout import SegmentTable
from scheduler.garden.tableread import Read
from scheduler.garden.units import both_systems

__all__ = ["beds_reached", "check_segments"]


def beds_reached(tables: PlanTables) -> frozenset[str]:
    """Return the names of the beds that segments lead to."""
    beds = {entry.bed.table.name for entry in tables.beds if entry.bed.has("name")}
    return frozenset(
        segment.table.end for segment in tables.segments if segment.has("end") and segment.table.end in beds
    )


def check_segments(tables: PlanTables) -> Iterator[Fault]:
    """Yield faults of the segments alone and of what they make together."""
    names: set[str] = set()
    for segment in tables.segments:
        yield from _check_one(segment)
        name = segment.table.name if segment.has("name") else None
        if name in names:
            yield Fault(
                segment.place("name"), f'a second segment is called "{name}"', "give each its own name"
            )
        if name is not None:
            names.add(name)
    whole = [segment for segment in tables.segments if segment.has("start", "end")]
    if not tables.segments or len(whole) < len(tables.segments):
        return
    yield from _check_ends(whole, tables)
    yield from _check_feeding(whole, tables)
    yield from _check_rises(whole)
    yield from _check_covered(tables)


def _check_one(segment: Read[SegmentTable]) -> Iterator[Fault]:
    yield from outside(
        segment, "length", "length", low="1 in", high="1000 ft", ask="one piece of tube; is the unit right?"
    )
    yield from outside(
        segment, "inside_diameter", "bore", low="0.08 in", high="4 in", ask="the inside diameter of the tube"
    )
    if segment.has("start", "end") and segment.table.start == segment.table.end:
        yield Fault(
            segment.place("end"), f"{shown(segment.raw['to'])} is where it begins", "name another point"
        )
    if not segment.has("length", "rise"):
        return
    if abs(segment.table.rise) > segment.table.length * (1 + 1e-9):
        yield Fault(
            segment.place("rise"),
            f"{shown(segment.raw['rise'])} is more than its length of {shown(segment.raw['length'])}",
            "a tube is at least as long as it rises: are the two exchanged?",
        )


def _check_ends(segments: list[Read[SegmentTable]], tables: PlanTables) -> Iterator[Fault]:
    """Yield a fault for water that comes out of a bed, into an outlet, or twice into a bed."""
    beds = {entry.bed.table.name for entry in tables.beds if entry.bed.has("name")}
    zones = {outlet_name(zone.table.outlet) for zone in tables.zones if zone.has("outlet")}
    fed: dict[str, str] = {}
    for segment in segments:
        start, end = segment.table.start, segment.table.end
        if start in beds:
            yield Fault(
                segment.place("start"),
                f'"{start}" is a bed, and the water ends there',
                "begin at the junction where its riser leaves the main",
            )
        if start.startswith("outlet ") and zones and start not in zones:
            known = ", ".join(sorted(zones))
            yield Fault(segment.place("start"), f'no zone is at "{start}"', f"outlets in use: {known}")
        if end in zones:
            yield Fault(
                segment.place("end"), f'"{end}" is where the water comes from', "exchange from and to"
            )
        if end in beds and end in fed:
            yield Fault(
                segment.place("end"),
                f'bed "{end}" already gets its water by {fed[end]}',
                "a bed has one riser with one valve",
            )
        fed.setdefault(end, segment.where)


def _check_feeding(segments: list[Read[SegmentTable]], tables: PlanTables) -> Iterator[Fault]:
    """Yield a fault for segments that no outlet feeds, that two feed, or that a bed's own outlet does not."""
    feeds = _feeds(segments)
    outlets = {
        zone.table.name: outlet_name(zone.table.outlet) for zone in tables.zones if zone.has("name", "outlet")
    }
    homes = {
        entry.bed.table.name: outlets.get(entry.bed.table.zone)
        for entry in tables.beds
        if entry.bed.has("name", "zone")
    }
    for segment in segments:
        end = segment.table.end
        sources = sorted(feeds[end])
        if not sources:
            yield Fault(
                segment.where,
                "no outlet feeds it",
                'a loop needs a source as well: let a segment begin at one, e.g. from = "outlet 1"',
            )
        elif len(sources) > 1:
            yield Fault(
                segment.where,
                f"{' and '.join(sources)} both feed it",
                "the lines of two outlets do not meet: part them",
            )
        elif end in homes and homes[end] not in (None, sources[0]):
            yield Fault(
                segment.place("end"),
                f'bed "{end}" is of the zone at {homes[end]}, this line comes from {sources[0]}',
                "lead the line of its own zone to it",
            )


def _groups(segments: list[Read[SegmentTable]]) -> dict[str, set[str]]:
    """Return point -> all points that hang together with it."""
    groups: dict[str, set[str]] = {}
    for segment in segments:
        ends = (segment.table.start, segment.table.end)
        joined = set().union(ends, *(groups.get(point, set()) for point in ends))
        for point in joined:
            groups[point] = joined
    return groups


def _feeds(segments: list[Read[SegmentTable]]) -> dict[str, set[str]]:
    """Return point -> the outlets that it hangs together with."""
    groups = _groups(segments)
    return {point: {name for name in group if name.startswith("outlet ")} for point, group in groups.items()}


def _check_rises(segments: list[Read[SegmentTable]]) -> Iterator[Fault]:
    """Yield a fault where two ways to one point rise to different heights."""
    if not all(segment.has("rise") for segment in segments):
        return
    heights: dict[str, float] = {}
    waiting = list(segments)
    while waiting:
        known = [s for s in waiting if s.table.start in heights or s.table.end in heights]
        if not known:
            heights[waiting[0].table.start] = 0.0
            continue
        segment = known[0]
        waiting.remove(segment)
        start, end, rise = segment.table.start, segment.table.end, segment.table.rise
        if start not in heights:
            heights[start] = heights[end] - rise
        reached = heights[start] + rise
        # Two unit systems round a ring need not meet to the last digit.
        if abs(heights.setdefault(end, reached) - reached) > limit("5 mm", "length"):
            apart = both_systems(abs(heights[end] - reached), "length")
            yield Fault(
                segment.place("rise"),
                f'the ways to "{end}" differ by {apart} in height',
                "round a ring the rises add up to nothing: measure them again",
            )


def _check_covered(tables: PlanTables) -> Iterator[Fault]:
    """Yield a fault for a bed that neither a segment nor the main line reaches."""
    if tables.main_line is not None:
        return
    reached = beds_reached(tables)
    for entry in tables.beds:
        if entry.bed.has("name") and entry.bed.table.name not in reached:
            yield Fault(
                entry.bed.where,
                "no segment leads to it",
                f'add a [[segment]] with to = "{entry.bed.table.name}", or a [main_line]',
            )
