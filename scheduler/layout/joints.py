"""Which fittings the tubes that meet at a node ask for."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.layout.graph import Draft, Fitting, FittingKind, Loss, Node, Role

__all__ = ["SMALL_BORE", "add_joints"]

#: Between quarter-inch line, some 4 mm wide inside, and half-inch tube, some 15 mm [m].
SMALL_BORE = 0.008
#: A tube this share as wide as another, or less, is pushed into its wall by a barb.
BARB_SHARE = 0.6
# Bores that differ by less are one size.
_SAME_BORE = 0.99
# Cosine of 30 degrees: a soft tube takes a gentler bend without a fitting.
_STRAIGHT = 0.866


@dataclass(frozen=True, slots=True)
class _Tube:
    """One tube at a node: its piece, and its direction away from the node (None if that is unknown)."""

    edge: int
    bore: float
    leaves: tuple[float, float, float] | None
    arrives: bool


def add_joints(draft: Draft) -> None:
    """Add the fittings of all nodes at which tubes end, turn, part or change their size.

    Tubes of one size make an elbow where they turn by more than 30 degrees, a tee where they part (two where
    four meet), a coupling where two segments meet straight on. A thin line is pushed into a wide tube by a
    barb, and a ring's two ends first meet in a tee of their own size. A wide tube that goes no further is
    closed by an end cap, a thin one by an end plug. Where a tube goes on as another size there is a reducer.
    """
    tubes: dict[int, list[_Tube]] = {}
    for number, edge in enumerate(draft.edges):
        if edge.kind == "head":
            continue
        start, end = draft.nodes[edge.start], draft.nodes[edge.end]
        tubes.setdefault(edge.start, []).append(_Tube(number, edge.bore, _way(start, end), False))
        tubes.setdefault(edge.end, []).append(_Tube(number, edge.bore, _way(end, start), edge.kind != "ring"))
    for node, meeting in sorted(tubes.items()):
        draft.fittings.extend(_joints(draft.nodes[node], node, meeting))


def _way(here: Node, there: Node) -> tuple[float, float, float] | None:
    step = (there.x - here.x, there.y - here.y, there.height - here.height)
    length = math.hypot(*step)
    if not math.isfinite(length) or length == 0 or here.placed != there.placed:
        return None
    return step[0] / length, step[1] / length, step[2] / length


def _joints(node: Node, number: int, tubes: Sequence[_Tube]) -> list[Fitting]:
    """Return the fittings of one node."""
    if node.kind == "emitter":
        return []
    widest = max(tube.bore for tube in tubes)
    thin = [tube for tube in tubes if tube.bore <= BARB_SHARE * widest]
    wide = [tube for tube in tubes if tube.bore > BARB_SHARE * widest]

    def fitting(kind: FittingKind, joined: Sequence[_Tube], *losses: Loss) -> Fitting:
        bores = tuple(sorted((tube.bore for tube in joined), reverse=True))
        return Fitting(kind, bores, node.zone, node.bed, number, losses=losses)

    if len(wide) == len(thin) == 1 and _straight(node, wide[0], thin[0]):
        return [fitting("reducer", tubes, Loss(thin[0].edge, "reducer"))]
    found = []
    if len(thin) == 2:
        found.append(fitting("tee", (*thin, thin[0])))
        found.append(fitting("barb", (wide[0], thin[0]), *(Loss(tube.edge, "barb to ring") for tube in thin)))
    else:
        found += [fitting("barb", (wide[0], tube), Loss(tube.edge, "barb")) for tube in thin]
    if len(wide) == 1:
        if node.kind != "outlet":
            found.append(fitting("end plug" if widest < SMALL_BORE else "end cap", wide))
    elif len(wide) == 2:
        found += _two(node, number, wide)
    else:
        found += _parting(node, number, wide)
    return found


def _two(node: Node, number: int, tubes: Sequence[_Tube]) -> list[Fitting]:
    """Return the fittings where two tubes of about one size meet."""
    bores = tuple(sorted((tube.bore for tube in tubes), reverse=True))
    onward = next((tube for tube in tubes if not tube.arrives), tubes[1])
    kinds: list[FittingKind] = []
    if not _straight(node, *tubes):
        kinds.append("elbow")
    if bores[1] < _SAME_BORE * bores[0]:
        kinds.append("reducer")
    if not kinds and node.kind == "junction":
        kinds.append("coupling")
    roles: dict[FittingKind, Role] = {"elbow": "elbow", "reducer": "reducer", "coupling": "coupling"}
    return [
        Fitting(kind, bores, node.zone, node.bed, number, losses=(Loss(onward.edge, roles[kind]),))
        for kind in kinds
    ]


def _parting(node: Node, number: int, tubes: Sequence[_Tube]) -> list[Fitting]:
    """Return the tees where three tubes or more meet; the losses are told by the first of them."""
    first = next((tube for tube in tubes if tube.arrives), tubes[0])
    losses = tuple(
        Loss(tube.edge, "tee line" if first.arrives and _goes_on(first, tube) else "tee branch")
        for tube in tubes
        if tube is not first
    )
    bores = sorted((tube.bore for tube in tubes), reverse=True)
    tees = []
    for extra in range(len(tubes) - 2):
        joined = (bores[0], bores[1], bores[min(2 + extra, len(bores) - 1)])
        tees.append(Fitting("tee", joined, node.zone, node.bed, number, losses=losses if extra == 0 else ()))
    return tees


def _goes_on(first: _Tube, other: _Tube) -> bool:
    """Return True if a tube goes straight on from another; where a way is unknown, it does not."""
    if first.leaves is None or other.leaves is None:
        return False
    return -sum(a * b for a, b in zip(first.leaves, other.leaves, strict=True)) > _STRAIGHT


def _straight(node: Node, one: _Tube, other: _Tube) -> bool:
    """Return True if two tubes make one straight line; at a rim the tube always bends over the boards."""
    if node.kind == "rim":
        return False
    return one.leaves is None or other.leaves is None or _goes_on(one, other)
