"""The layout as a graph: nodes with their places, pieces of tube between them, fittings at them.

Lengths, heights and bores in metres. The sketch grid has x to the right and y upwards; heights are above the
tap outlet.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Literal

from scheduler.garden.plan import HeadPart, Takeoff

__all__ = [
    "Draft",
    "Edge",
    "EdgeKind",
    "Fitting",
    "FittingKind",
    "Layout",
    "Loss",
    "Node",
    "NodeKind",
    "Role",
]

NodeKind = Literal[
    "tap",
    "head part",
    "outlet",
    "elbow",
    "junction",
    "riser foot",
    "rim",
    "header tee",
    "run start",
    "ring start",
    "emitter",
    "end",
]
EdgeKind = Literal["head", "main", "riser", "header", "run", "ring"]
FittingKind = Literal["tee", "elbow", "coupling", "reducer", "barb", "hand valve", "end cap", "end plug"]
#: How the water passes a fitting; each has its own loss.
Role = Literal["tee line", "tee branch", "elbow", "coupling", "reducer", "barb", "barb to ring", "hand valve"]


@dataclass(frozen=True, slots=True)
class Node:
    """One point of the layout.

    Attributes
    ----------
    x, y : float
        On the sketch grid [m]; of a bed without a position in its own frame, of a junction without one NaN.
    placed : bool
        False if `x` and `y` are not on the sketch grid.
    height : float
        Above the tap outlet [m].
    zone, bed : str
        Empty where it belongs to none.
    """

    name: str
    kind: NodeKind
    x: float
    y: float
    height: float
    zone: str = ""
    bed: str = ""
    placed: bool = True


@dataclass(frozen=True, slots=True)
class Edge:
    """One piece between two nodes, from tap to emitters; a ring's last piece comes back to its start.

    Attributes
    ----------
    length, bore : float
        Of the tube [m]; both 0 for a part of the head assembly, and for a timer outlet.
    valve : str
        Bed whose hand valve sits in it; empty for none.
    line : str
        Name of the run, ring, header or main that it is a piece of.
    part : HeadPart or None
        The part of the head assembly that it is.
    """

    kind: EdgeKind
    start: int
    end: int
    length: float
    bore: float
    line: str
    zone: str = ""
    bed: str = ""
    valve: str = ""
    part: HeadPart | None = None


@dataclass(frozen=True, slots=True)
class Loss:
    """A piece of tube whose water passes a fitting, and how."""

    edge: int
    role: Role


@dataclass(frozen=True, slots=True)
class Fitting:
    """One fitting.

    Attributes
    ----------
    bores : tuple of float
        Inside diameters of the tubes that it joins [m], the widest first.
    node : int or None
        Where it sits; None for one that the plan states somewhere along `edge`.
    """

    kind: FittingKind
    bores: tuple[float, ...]
    zone: str = ""
    bed: str = ""
    node: int | None = None
    edge: int | None = None
    losses: tuple[Loss, ...] = ()


@dataclass(frozen=True, slots=True)
class Layout:
    """A whole layout; `notes` tell what in it is worth a second look."""

    nodes: tuple[Node, ...]
    edges: tuple[Edge, ...]
    fittings: tuple[Fitting, ...]
    takeoff: Takeoff
    material: str
    notes: tuple[str, ...] = ()


@dataclass(slots=True)
class Draft:
    """A layout while it grows."""

    nodes: list[Node] = field(default_factory=list)
    edges: list[Edge] = field(default_factory=list)
    fittings: list[Fitting] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def add_node(self, node: Node) -> int:
        """Add a node and return its index."""
        self.nodes.append(node)
        return len(self.nodes) - 1

    def add_edge(self, edge: Edge) -> int:
        """Add a piece and return its index."""
        self.edges.append(edge)
        return len(self.edges) - 1

    def put_valve(self, edge: int, bed: str) -> None:
        """Put the hand valve of a bed into a piece of tube."""
        tube = replace(self.edges[edge], valve=bed)
        self.edges[edge] = tube
        self.fittings.append(
            Fitting(
                kind="hand valve",
                bores=(tube.bore,),
                zone=tube.zone,
                bed=bed,
                edge=edge,
                losses=(Loss(edge, "hand valve"),),
            )
        )
