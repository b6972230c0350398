"""What to buy for a layout: tube by kind and bore, fittings by size, stakes, the parts at the tap."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from scheduler.garden.plan import Garden
from scheduler.layout.graph import EdgeKind, FittingKind, Layout

__all__ = ["PartRow", "takeoff_of"]

# Kinds of tube, as they are bought and in the order of the water.
_TUBES: dict[EdgeKind, str] = {
    "main": "main line tube",
    "riser": "riser tube",
    "header": "header tube",
    "run": "drip line",
    "ring": "drip line",
}
_FITTINGS: tuple[FittingKind, ...] = (
    "hand valve",
    "tee",
    "elbow",
    "coupling",
    "reducer",
    "barb",
    "end cap",
    "end plug",
)
# Bores are one size if they agree to a hundredth of a millimetre.
_BORE_DIGITS = 5
# Counts times a share to spare come out of binary fractions.
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class PartRow:
    """One line of the parts list.

    Attributes
    ----------
    part : str
        What it is; of drip line with the name in the plan.
    bores : tuple of float
        Inside diameters of the tubes it belongs to [m], the widest first; empty for parts at the tap.
    count : int or None
        How many are laid; None for tube.
    length : float or None
        How much tube is laid [m]; None for parts.
    buy_count, buy_length : int or None, float or None
        The same with what is to spare.
    where : tuple of str
        Beds that it is for, of mains and parts at the tap the zones; empty for what all share.
    rule : str
        How the amount to buy follows.
    edges, fittings : tuple of int
        Pieces and fittings of the layout that the line counts.
    """

    part: str
    bores: tuple[float, ...]
    count: int | None
    length: float | None
    buy_count: int | None
    buy_length: float | None
    where: tuple[str, ...]
    rule: str
    edges: tuple[int, ...] = ()
    fittings: tuple[int, ...] = ()


def takeoff_of(layout: Layout, garden: Garden) -> tuple[PartRow, ...]:
    """Return the parts list of a layout.

    Returns
    -------
    tuple of PartRow
        Every part at the tap, piece of tube and fitting of the layout stands in exactly one line. The share
        to spare is of tube and small fittings; of valves and parts at the tap as many are bought as are laid.
        Stakes: along drip line one at each end of a run and none further apart than the plan says, round a
        ring at least three; along a main or header one for each such stretch of a straight piece, begun or
        whole.
    """
    return (
        *_head_rows(layout),
        *_tube_rows(layout, garden),
        *_fitting_rows(layout),
        *_stake_rows(layout),
    )


def _head_rows(layout: Layout) -> Iterator[PartRow]:
    """Yield the parts at the tap, equal ones of several outlets together."""
    groups: dict[tuple[str, bool], list[int]] = {}
    for number, edge in enumerate(layout.edges):
        if edge.part is not None:
            groups.setdefault((edge.part.label, bool(edge.zone)), []).append(number)
    for (label, _), numbers in groups.items():
        where = _names(layout.edges[number].zone for number in numbers)
        count = len(numbers)
        rule = "one for each outlet in use" if where else "one at the tap"
        yield PartRow(label, (), count, None, count, None, where, rule, edges=tuple(numbers))


def _tube_rows(layout: Layout, garden: Garden) -> Iterator[PartRow]:
    """Yield the lengths of tube by kind and bore."""
    drips = {bed.name: bed.drip.name for bed in garden.beds}
    groups: dict[tuple[str, float], list[int]] = {}
    for number, edge in enumerate(layout.edges):
        if edge.kind == "head":
            continue
        name = _TUBES[edge.kind]
        name = f'{name} "{drips[edge.bed]}"' if name == "drip line" else name
        groups.setdefault((name, round(edge.bore, _BORE_DIGITS)), []).append(number)
    order = list(_TUBES.values())
    for (name, _), numbers in sorted(
        groups.items(), key=lambda item: (order.index(item[0][0].split(' "')[0]), item[0])
    ):
        edges = [layout.edges[number] for number in numbers]
        length = sum(edge.length for edge in edges)
        where = _names(edge.bed or edge.zone for edge in edges)
        bore = (edges[0].bore,)
        rule = _spare_words(layout)
        buy = length * (1 + layout.takeoff.spare)
        yield PartRow(name, bore, None, length, None, buy, where, rule, edges=tuple(numbers))


def _fitting_rows(layout: Layout) -> Iterator[PartRow]:
    """Yield the fittings by kind and sizes."""
    groups: dict[tuple[int, tuple[float, ...]], list[int]] = {}
    for number, fitting in enumerate(layout.fittings):
        size = tuple(round(bore, _BORE_DIGITS) for bore in fitting.bores)
        groups.setdefault((_FITTINGS.index(fitting.kind), size), []).append(number)
    for (kind, _), numbers in sorted(groups.items()):
        fittings = [layout.fittings[number] for number in numbers]
        spared = fittings[0].kind != "hand valve"
        count = len(numbers)
        yield PartRow(
            part=_FITTINGS[kind],
            bores=fittings[0].bores,
            count=count,
            length=None,
            buy_count=_with_spare(count, layout) if spared else count,
            buy_length=None,
            where=_names(fitting.bed or fitting.zone for fitting in fittings),
            rule=_spare_words(layout) if spared else "one for each bed",
            fittings=tuple(numbers),
        )


def _stake_rows(layout: Layout) -> Iterator[PartRow]:
    """Yield the stakes by the bore of the tube that they hold."""
    counts: dict[float, int] = {}
    where: dict[float, list[str]] = {}
    for kind, bore, length, name in _stretches(layout):
        size = round(bore, _BORE_DIGITS)
        counts[size] = counts.get(size, 0) + _stakes(kind, length, layout.takeoff.stake_spacing)
        where.setdefault(size, []).append(name)
    for size, count in sorted(counts.items(), reverse=True):
        yield PartRow(
            part="stake",
            bores=(size,),
            count=count,
            length=None,
            buy_count=_with_spare(count, layout),
            buy_length=None,
            where=_names(where[size]),
            rule=_spare_words(layout),
        )


def _stretches(layout: Layout) -> Iterator[tuple[EdgeKind, float, float, str]]:
    """Yield what stakes hold: each piece of main, each header, run and ring as a whole."""
    whole: dict[tuple[str, EdgeKind, float, str], float] = {}
    for edge in layout.edges:
        if edge.kind == "main":
            start, end = layout.nodes[edge.start], layout.nodes[edge.end]
            upright = start.x == end.x and start.y == end.y and start.height != end.height
            if not upright:
                yield edge.kind, edge.bore, edge.length, edge.zone
        elif edge.kind in ("header", "run", "ring"):
            key = (edge.line, edge.kind, edge.bore, edge.bed)
            whole[key] = whole.get(key, 0.0) + edge.length
    for (_, kind, bore, bed), length in whole.items():
        yield kind, bore, length, bed


def _stakes(kind: EdgeKind, length: float, spacing: float) -> int:
    stretches = math.ceil(length / spacing - _ROUNDING)
    if kind == "ring":
        return max(stretches, 3)
    return stretches + 1 if kind == "run" else stretches


def _with_spare(count: int, layout: Layout) -> int:
    return math.ceil(count * (1 + layout.takeoff.spare) - _ROUNDING)


def _spare_words(layout: Layout) -> str:
    return f"{layout.takeoff.spare * 100:g} % to spare"


def _names(names: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for name in names if name))
