"""Where mains are drawn that lie in one trench: side by side, so that each can be followed."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from scheduler.layout.graph import Edge, Layout, Node

__all__ = ["Tracks", "drawable", "is_upright", "main_tracks"]

Point = tuple[float, float]
# Two mains closer than this lie in one trench, and a piece this short is upright [m].
_SAME = 0.01


@dataclass(frozen=True, slots=True)
class Tracks:
    """Piece of main -> both ends, and node of a main -> point, where they are drawn [m on the sketch]."""

    edges: Mapping[int, tuple[Point, Point]]
    nodes: Mapping[int, Point]


def drawable(layout: Layout, edge: Edge) -> tuple[Node, Node] | None:
    """Return the ends of a piece if both have a place on the sketch."""
    start, end = layout.nodes[edge.start], layout.nodes[edge.end]
    if not (start.placed and end.placed) or not math.isfinite(start.x + start.y + end.x + end.y):
        return None
    return start, end


def is_upright(layout: Layout, edge: Edge) -> bool:
    """Return True for a piece that only goes up or down."""
    ends = drawable(layout, edge)
    return ends is not None and math.dist((ends[0].x, ends[0].y), (ends[1].x, ends[1].y)) < _SAME


def main_tracks(layout: Layout, apart: float) -> Tracks:
    """Return where to draw the mains; those of the first zone in a trench lie in place, others aside."""
    mains = {
        number: ends
        for number, edge in enumerate(layout.edges)
        if edge.kind == "main" and (ends := drawable(layout, edge)) is not None
    }
    moves = {number: apart * _rank(layout, mains, number) for number in mains}
    across: dict[tuple[int, str], float] = {}
    for number, ends in mains.items():
        direction = _direction(*ends)
        for node in (layout.edges[number].start, layout.edges[number].end):
            if direction:
                across.setdefault((node, direction), moves[number])
    edges: dict[int, tuple[Point, Point]] = {}
    nodes: dict[int, Point] = {}
    for number, ends in mains.items():
        direction = _direction(*ends)
        drawn = []
        ids = (layout.edges[number].start, layout.edges[number].end)
        for node, place in zip(ids, ends, strict=True):
            dx = moves[number] if direction == "up" else across.get((node, "up"), 0.0)
            dy = moves[number] if direction == "along" else across.get((node, "along"), 0.0)
            drawn.append((place.x + dx, place.y + dy))
            nodes.setdefault(node, drawn[-1])
        edges[number] = (drawn[0], drawn[1])
    return Tracks(edges, nodes)


def _direction(start: Node, end: Node) -> str:
    """Return "along" for a piece along x, "up" for one along y, nothing for any other."""
    dx, dy = abs(end.x - start.x), abs(end.y - start.y)
    if dx < _SAME and dy < _SAME:
        return ""
    return "along" if dy < _SAME else "up" if dx < _SAME else ""


def _rank(layout: Layout, mains: Mapping[int, tuple[Node, Node]], number: int) -> int:
    """Return how many zones before its own have a main in the trench of a piece."""
    mine = layout.edges[number].zone
    zones = list(dict.fromkeys(layout.edges[other].zone for other in mains))
    before = set(zones[: zones.index(mine)])
    return len(
        {
            layout.edges[other].zone
            for other in mains
            if layout.edges[other].zone in before and _shared(mains[number], mains[other])
        }
    )


def _shared(one: tuple[Node, Node], other: tuple[Node, Node]) -> bool:
    """Return True if two straight pieces lie in one trench for a stretch."""
    direction = _direction(*one)
    if not direction or direction != _direction(*other):
        return False
    (a, b), (c, d) = one, other
    if direction == "along":
        beside, spans = abs(a.y - c.y), ((a.x, b.x), (c.x, d.x))
    else:
        beside, spans = abs(a.x - c.x), ((a.y, b.y), (c.y, d.y))
    overlap = min(max(spans[0]), max(spans[1])) - max(min(spans[0]), min(spans[1]))
    return beside < _SAME and overlap > _SAME
