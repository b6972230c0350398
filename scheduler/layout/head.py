"""The head assembly: from the tap to the timer outlets in use."""

from __future__ import annotations

import math

from scheduler.garden.layout_plan import HeadPart, LayoutPlan, outlet_name
from scheduler.garden.plan import Garden
from scheduler.layout.graph import Draft, Edge, Node

__all__ = ["lay_head"]

Point = tuple[float, float]


def lay_head(draft: Draft, garden: Garden, plan: LayoutPlan) -> dict[str, int]:
    """Add tap, head parts and outlets; return the node of each zone's outlet.

    Parts up to the timer stand once, those after it stand on every outlet in use. Without a timer in the list
    all stand once.
    """
    main = plan.main_line
    place = (math.nan, math.nan) if main is None else main.start
    timer = next((number for number, part in enumerate(plan.head) if part.part == "timer"), len(plan.head))
    shared, own = plan.head[: timer + 1], plan.head[timer + 1 :]
    node = draft.add_node(Node("tap", "tap", *place, 0.0, placed=main is not None))
    for part in shared:
        node = _add(draft, node, part, part.label, "")
    outlets = {}
    for zone in garden.zones:
        name = outlet_name(zone.outlet)
        last = _add(draft, node, None, f"timer port {zone.outlet}", zone.name)
        for part in own:
            last = _add(draft, last, part, f"{name}: {part.label}", zone.name)
        end = draft.nodes[last]
        draft.nodes[last] = Node(name, "outlet", end.x, end.y, end.height, zone.name, placed=end.placed)
        outlets[zone.name] = last
    return outlets


def _add(draft: Draft, before: int, part: HeadPart | None, name: str, zone: str) -> int:
    """Add a part, or the port of a timer outlet, behind a node; return the node behind it."""
    start = draft.nodes[before]
    height = start.height if part is None or part.height is None else part.height
    node = draft.add_node(Node(name, "head part", start.x, start.y, height, zone, placed=start.placed))
    draft.add_edge(Edge("head", before, node, 0.0, 0.0, name, zone, part=part))
    return node
