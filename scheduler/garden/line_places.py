"""Where runs and rings of drip line lie in a bed, as it lies before it is turned; pure, metres."""

from __future__ import annotations

import math
from collections.abc import Sequence

from scheduler.garden.layout_plan import BedMeasures
from scheduler.garden.places import chord
from scheduler.garden.plan import Shape
from scheduler.garden.shapes import ShapeError

__all__ = ["comb", "even_rings", "run_ordinates"]

Point = tuple[float, float]
# Runs closer than 2 cm are no layout any more.
_CLOSEST = 0.02


def run_ordinates(shape: Shape, measures: BedMeasures) -> tuple[float, ...]:
    """Return how far from the lower side each run of a bed lies [m], from the lowest up.

    The width is divided evenly, half a share at both sides. Between rounded ends the outer runs are drawn
    nearer the middle if their ends would else stick out of the bed.
    """
    count, width = _given(measures.runs), _given(measures.width)
    even = tuple(width * (number + 0.5) / count for number in range(int(count)))
    reach = _reach(shape, measures)
    outermost = width / 2 - even[0]
    if outermost <= reach:
        return even
    return tuple(width / 2 + (y - width / 2) * reach / outermost for y in even)


def _reach(shape: Shape, measures: BedMeasures) -> float:
    """Return how far from the middle line a run of full length still fits [m]."""
    half = _given(measures.width) / 2
    if shape != "rounded ends":
        return half
    inner = max(half - measures.end_gap, 0.0)
    # A quarter of the gap stays between the corner of a run and the curved board.
    return math.sqrt(max((half - measures.end_gap / 4) ** 2 - inner**2, 0.0))


def comb(outline: Sequence[Point], length: float, *, gap: float) -> tuple[tuple[float, float, float], ...]:
    """Return how a length of line lies in an outline as parallel runs: (ordinate, begin, end) of each [m].

    The fewest evenly spaced runs that can hold the line between gaps at both sides; all are then shortened
    by one share at both ends, so that together they have exactly the length.

    Raises
    ------
    ShapeError
        If even the closest runs cannot hold it.
    """
    ys = [y for _, y in outline]
    low, span = min(ys), max(ys) - min(ys)
    for count in range(1, max(int(span / _CLOSEST), 1) + 1):
        runs = []
        for number in range(count):
            y = low + span * (number + 0.5) / count
            stretch = chord(outline, y)
            if stretch is not None and stretch[1] - stretch[0] > 2 * gap:
                runs.append((y, stretch[0] + gap, stretch[1] - gap))
        room = sum(end - begin for _, begin, end in runs)
        if room >= length:
            share = length / room
            return tuple((y, *_shortened(begin, end, share)) for y, begin, end in runs)
    raise ShapeError("the bed has no room for so much line")


def _shortened(begin: float, end: float, share: float) -> tuple[float, float]:
    cut = (end - begin) * (1 - share) / 2
    return begin + cut, end - cut


def even_rings(diameter: float, length: float) -> tuple[float, ...]:
    """Return the diameters of the fewest evenly spaced rings in a round bed of a length together [m]."""
    count = max(math.ceil(2 * length / (math.pi * diameter) - 1e-9), 1)
    share = 2 * length / (math.pi * diameter * count)
    return tuple(diameter * (2 * number + 1) / (2 * count) * share for number in range(count))[::-1]


def _given(measure: float | None) -> float:
    if measure is None:
        raise ShapeError("a measure of the bed is missing")
    return measure
