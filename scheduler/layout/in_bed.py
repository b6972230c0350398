"""Header, runs, rings and emitters of one bed -> nodes and pieces of the layout."""

from __future__ import annotations

import math
from collections.abc import Sequence

from scheduler.garden.places import on_sketch
from scheduler.garden.plan import Bed
from scheduler.garden.shapes import ShapeError
from scheduler.layout.bed_lines import BedLines, Ring, Run, bed_lines
from scheduler.layout.graph import Draft, Edge, EdgeKind, Node, NodeKind

__all__ = ["lay_bed"]

Point = tuple[float, float]
# Points closer than this are one [m].
_SAME = 1e-6


class _BedDraft:
    """The bed that is being laid: it knows how a point of the bed becomes a node of the layout."""

    def __init__(self, draft: Draft, bed: Bed, height: float) -> None:
        if bed.place is None or bed.drip.inside_diameter is None:
            raise ShapeError(f'nothing says where bed "{bed.name}" lies, or how wide its line is')
        self.draft, self.bed, self.height, self.place = draft, bed, height, bed.place
        self.line_bore = bed.drip.inside_diameter
        self.lines: BedLines = bed_lines(bed)

    def node(self, kind: NodeKind, point: Point, name: str) -> int:
        """Add a node at a point of the bed as it lies before it is turned."""
        x, y = on_sketch(self.place, point)
        placed = self.place.position is not None
        name = f"{self.bed.name}: {name}"
        return self.draft.add_node(Node(name, kind, x, y, self.height, self.bed.zone, self.bed.name, placed))

    def edge(self, kind: EdgeKind, start: int, end: int, length: float, *, line: str, bore: float) -> int:
        """Add a piece of tube in the bed."""
        return self.draft.add_edge(
            Edge(kind, start, end, length, bore, f"{self.bed.name}: {line}", self.bed.zone, self.bed.name)
        )


def lay_bed(draft: Draft, bed: Bed, *, rim: int) -> None:
    """Add what lies in a bed behind the node of its rim.

    Raises
    ------
    ShapeError
        If the plan does not say where the bed lies, or its line does not fit.
    """
    laying = _BedDraft(draft, bed, draft.nodes[rim].height)
    header = _lay_header(laying, rim)
    for number, run in enumerate(laying.lines.runs, start=1):
        _lay_run(laying, run, header, f"run {number}")
    for number, ring in enumerate(laying.lines.rings, start=1):
        _lay_ring(laying, ring, header, f"ring {number}")


def _lay_header(laying: _BedDraft, rim: int) -> list[int]:
    """Add the header from the rim outwards from where it is entered; return its nodes in order."""
    lines, bore = laying.lines, laying.place.header_diameter
    joined: dict[int, NodeKind] = {run.header: "run start" for run in lines.runs}
    joined |= {ring.header: "ring start" for ring in lines.rings}
    stub = math.dist(lines.inlet, lines.header[lines.entry])
    nodes = [-1] * len(lines.header)
    for number, point in enumerate(lines.header):
        if number == lines.entry and stub < _SAME:
            nodes[number] = rim
            continue
        nodes[number] = laying.node(joined.get(number, "header tee"), point, f"header {number + 1}")
    if nodes[lines.entry] != rim:
        laying.edge("header", rim, nodes[lines.entry], stub, line="header", bore=bore)
    upwards = range(lines.entry, len(nodes) - 1)
    downwards = range(lines.entry, 0, -1)
    for step, begin in [(1, number) for number in upwards] + [(-1, number) for number in downwards]:
        length = math.dist(lines.header[begin], lines.header[begin + step])
        laying.edge("header", nodes[begin], nodes[begin + step], length, line="header", bore=bore)
    return nodes


def _lay_run(laying: _BedDraft, run: Run, header: Sequence[int], name: str) -> None:
    start = laying.lines.header[run.header]
    length = math.dist(start, run.end)

    def at(along: float) -> Point:
        share = along / length
        return start[0] + (run.end[0] - start[0]) * share, start[1] + (run.end[1] - start[1]) * share

    before, reached = header[run.header], 0.0
    for number, along in enumerate(run.emitters, start=1):
        node = laying.node("emitter", at(along), f"{name} emitter {number}")
        laying.edge("run", before, node, along - reached, line=name, bore=laying.line_bore)
        before, reached = node, along
    end = laying.node("end", run.end, f"{name} end")
    laying.edge("run", before, end, length - reached, line=name, bore=laying.line_bore)


def _lay_ring(laying: _BedDraft, ring: Ring, header: Sequence[int], name: str) -> None:
    start = laying.lines.header[ring.header]
    begin = math.atan2(start[1] - ring.centre[1], start[0] - ring.centre[0])
    before, reached = header[ring.header], 0.0
    length = 2 * math.pi * ring.radius
    # A ring that is too short for an emitter still comes back by way of another point.
    kind: NodeKind = "emitter" if ring.emitters else "junction"
    for number, along in enumerate(ring.emitters or (length / 2,), start=1):
        angle = begin + along / ring.radius
        point = (
            ring.centre[0] + ring.radius * math.cos(angle),
            ring.centre[1] + ring.radius * math.sin(angle),
        )
        node = laying.node(kind, point, f"{name} {kind} {number}")
        laying.edge("ring", before, node, along - reached, line=name, bore=laying.line_bore)
        before, reached = node, along
    laying.edge("ring", before, header[ring.header], length - reached, line=name, bore=laying.line_bore)
