"""The main line of each zone: by its own route along the sketch grid, or by named segments."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from scheduler.garden.layout_plan import LayoutPlan, MainLine, Segment, outlet_name
from scheduler.garden.places import bed_outline, inlet_on_sketch, length_inside
from scheduler.garden.plan import Bed, Garden
from scheduler.garden.segment_heights import segment_heights
from scheduler.garden.shapes import ShapeError
from scheduler.layout.graph import Draft, Edge, Fitting, Loss, Node, Role

__all__ = ["lay_mains", "lay_segments"]

Point = tuple[float, float]
# Tubes shorter than this are none [m].
_NOTHING = 1e-6
# A main that passes through less of a bed than this passes along its boards [m].
_ALONG = 0.01


def lay_mains(draft: Draft, garden: Garden, plan: LayoutPlan, outlets: Mapping[str, int]) -> dict[str, int]:
    """Add the main line of every zone along the sketch grid; return the node of each bed's rim.

    From the head assembly to the inlet of the first bed, and from inlet to inlet in the order of the plan: of
    the two ways round a corner the one that passes through less of any bed, else the one along x first. At
    each inlet a riser goes up from the main; on its way to the rim sits the bed's hand valve.
    """
    main = plan.main_line
    if main is None:
        return {}
    named = {segment.end for segment in plan.segments}
    beds = {bed.name: bed for bed in garden.beds if bed.name not in named}
    outlines = {bed.name: bed_outline(bed) for bed in beds.values()}
    rims: dict[str, int] = {}
    for zone in garden.zones:
        order = [beds[name] for name in main.order if name in beds and beds[name].zone == zone.name]
        if order:
            _lay_branch(draft, main, outlets[zone.name], order, rims=rims, outlines=outlines)
    return rims


def _lay_branch(
    draft: Draft,
    main: MainLine,
    outlet: int,
    beds: Sequence[Bed],
    *,
    rims: dict[str, int],
    outlines: Mapping[str, tuple[Point, ...]],
) -> None:
    """Add the main line of one zone and the risers of its beds."""
    zone, node = beds[0].zone, outlet
    line = f"main of {zone}"
    if abs(draft.nodes[outlet].height - main.height) > _NOTHING:
        node = _tube(draft, node, main.start, main.height, line=line, bore=main.inside_diameter)
    for bed in beds:
        route = _route((draft.nodes[node].x, draft.nodes[node].y), inlet_on_sketch(bed), outlines)
        for point in route[1:]:
            node = _tube(draft, node, point, main.height, line=line, bore=main.inside_diameter)
        draft.notes.extend(
            f"the main of {zone} passes through {name} on its way to {bed.name}: choose another inlet, order "
            "or place, or name its segments"
            for name, outline in outlines.items()
            if _inside(route, outline) > _ALONG
        )
        foot = replace(draft.nodes[node], name=f"{bed.name}: riser foot", kind="riser foot", bed=bed.name)
        draft.nodes[node] = foot
        rims[bed.name] = _riser(draft, node, bed)


def _route(start: Point, end: Point, outlines: Mapping[str, tuple[Point, ...]]) -> list[Point]:
    """Return the points of the way along the grid from one point to another, both included."""
    if math.dist(start, end) <= _NOTHING:
        return [start]
    if abs(start[0] - end[0]) <= _NOTHING or abs(start[1] - end[1]) <= _NOTHING:
        return [start, end]
    ways = [[start, corner, end] for corner in ((end[0], start[1]), (start[0], end[1]))]
    return min(ways, key=lambda way: round(sum(_inside(way, outline) for outline in outlines.values()), 6))


def _inside(route: Sequence[Point], outline: Sequence[Point]) -> float:
    """Return how much of a way lies inside an outline [m]."""
    return sum(length_inside(start, end, outline) for start, end in pairwise(route))


def _tube(draft: Draft, start: int, point: Point, height: float, *, line: str, bore: float) -> int:
    """Add a straight piece of main from a node to a point; return the node there."""
    before = draft.nodes[start]
    number = sum(edge.line == line for edge in draft.edges) + 1
    node = draft.add_node(Node(f"{line}: corner {number}", "elbow", *point, height, before.zone))
    length = math.dist((before.x, before.y, before.height), (*point, height))
    draft.add_edge(Edge("main", start, node, length, bore, line, before.zone))
    return node


def _riser(draft: Draft, foot: int, bed: Bed) -> int:
    """Add the riser of a bed; return the node of its rim, which is the foot if they lie level."""
    place, before = bed.place, draft.nodes[foot]
    if place is None or place.rim_height is None:
        raise ShapeError(f'nothing says how high the rim of bed "{bed.name}" lies')
    length = abs(place.rim_height - before.height)
    if length <= _NOTHING:
        return foot
    rim = draft.add_node(
        Node(f"{bed.name}: rim", "rim", before.x, before.y, place.rim_height, bed.zone, bed.name)
    )
    line = f"{bed.name}: riser"
    edge = Edge("riser", foot, rim, length, place.header_diameter, line, bed.zone, bed.name)
    draft.put_valve(draft.add_edge(edge), bed.name)
    return rim


def lay_segments(
    draft: Draft, garden: Garden, plan: LayoutPlan, outlets: Mapping[str, int]
) -> dict[str, int]:
    """Add the named segments; return the node of the rim of each bed that they reach.

    A segment that leads to a bed is its riser, and the bed's hand valve sits in it. A junction lies where the
    plan says, a bed's rim at its inlet.
    """
    beds = {bed.name: bed for bed in garden.beds}
    names = {outlet_name(zone.outlet): zone.name for zone in garden.zones}
    nodes = {name: outlets[zone] for name, zone in names.items()}
    heights = segment_heights(plan.segments, {name: draft.nodes[node].height for name, node in nodes.items()})
    zones = _zones_of(plan.segments, names)
    for name in dict.fromkeys(point for one in plan.segments for point in (one.start, one.end)):
        if name not in nodes:
            nodes[name] = draft.add_node(_point(name, plan, beds, heights[name], zones[name]))
    for segment in plan.segments:
        _add_segment(draft, segment, nodes, beds, zones[segment.start])
    return {name: node for name, node in nodes.items() if name in beds}


def _point(name: str, plan: LayoutPlan, beds: Mapping[str, Bed], height: float, zone: str) -> Node:
    """Return the node of a junction or of a bed's rim."""
    bed = beds.get(name)
    if bed is not None and bed.place is not None:
        x, y = inlet_on_sketch(bed)
        placed = bed.place.position is not None
        return Node(f"{name}: rim", "rim", x, y, height, zone, name, placed)
    at = next((one.at for one in plan.segments if one.end == name and one.at is not None), None)
    x, y = (math.nan, math.nan) if at is None else at
    return Node(name, "junction", x, y, height, zone, placed=at is not None)


def _add_segment(
    draft: Draft, segment: Segment, nodes: Mapping[str, int], beds: Mapping[str, Bed], zone: str
) -> None:
    """Add one segment with its fittings, and with a hand valve if it leads to a bed."""
    bed = segment.end if segment.end in beds else ""
    edge = draft.add_edge(
        Edge(
            kind="riser" if bed else "main",
            start=nodes[segment.start],
            end=nodes[segment.end],
            length=segment.length,
            bore=segment.inside_diameter,
            line=segment.name,
            zone=zone,
            bed=bed,
        )
    )
    if bed:
        draft.put_valve(edge, bed)
    for kind, count in segment.fittings:
        role: Role = "tee line" if kind == "tee" else kind
        one = Fitting(kind, (segment.inside_diameter,), zone, bed, edge=edge, losses=(Loss(edge, role),))
        draft.fittings.extend([one] * count)


def _zones_of(segments: Sequence[Segment], outlets: Mapping[str, str]) -> dict[str, str]:
    """Return the zone of every point: that of the outlet it hangs together with."""
    zones = dict(outlets)
    for _ in segments:
        for segment in segments:
            for here, there in ((segment.start, segment.end), (segment.end, segment.start)):
                if here in zones:
                    zones.setdefault(there, zones[here])
    return zones
