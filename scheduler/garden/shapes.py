"""Plane geometry of beds and of the drip lines in them; pure, any one unit of length throughout."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from scheduler.errors import RillbookError

__all__ = [
    "ShapeError",
    "circle_area",
    "emitter_count",
    "polygon_area",
    "rectangle_area",
    "ring_length",
    "rounded_ends_area",
    "run_length",
]

Point = tuple[float, float]
# Share of a spacing by which a line may fall short of its last emitter through rounding of its length.
_ROUNDING = 1e-9
# Far beyond any bed; keeps the search for crossing sides, which grows with the square, short.
_MOST_CORNERS = 200


class ShapeError(RillbookError, ValueError):
    """Measures that make no shape."""


def rectangle_area(length: float, width: float) -> float:
    """Return the area of a rectangle [length unit squared].

    Raises
    ------
    ShapeError
        If a side is not above zero.
    """
    _require_positive(length=length, width=width)
    return length * width


def circle_area(diameter: float) -> float:
    """Return the area of a circle [length unit squared].

    Raises
    ------
    ShapeError
        If the diameter is not above zero.
    """
    _require_positive(diameter=diameter)
    return math.pi * diameter**2 / 4


def rounded_ends_area(length: float, width: float) -> float:
    """Return the area of a rectangle whose short ends are half circles; `length` is overall.

    Raises
    ------
    ShapeError
        If a side is not above zero, or the bed is wider than it is long.
    """
    _require_positive(length=length, width=width)
    if width > length:
        raise ShapeError("a bed with half-round ends cannot be wider than it is long")
    return (length - width) * width + circle_area(width)


def polygon_area(corners: Sequence[Point]) -> float:
    """Return the area within corners given in order, either way round, by the shoelace formula.

    Raises
    ------
    ShapeError
        With fewer than three corners, with more than 200, if sides cross, touch or fold back, or if
        all corners lie on one line.
    """
    count = len(corners)
    if count < 3:
        raise ShapeError(f"a polygon needs at least 3 corners, not {count}")
    if count > _MOST_CORNERS:
        raise ShapeError(f"a bed has at most {_MOST_CORNERS} corners, not {count}")
    if not all(math.isfinite(number) for corner in corners for number in corner):
        raise ShapeError("every corner must be a number")
    sides = [(corners[i], corners[(i + 1) % count]) for i in range(count)]
    if any(start == end for start, end in sides):
        raise ShapeError("two corners in a row are the same")
    if all(_turn(*sides[0], corner) == 0 for corner in corners):
        raise ShapeError("the corners lie on one line")
    for first, second in combinations(range(count), 2):
        if _sides_meet(sides, first, second):
            raise ShapeError(f"side {first + 1} and side {second + 1} cross or touch")
    # From the first corner, so that a bed far from the origin loses no digits.
    x0, y0 = corners[0]
    twice = sum((ax - x0) * (by - y0) - (bx - x0) * (ay - y0) for (ax, ay), (bx, by) in sides)
    return abs(twice) / 2


def _sides_meet(sides: Sequence[tuple[Point, Point]], first: int, second: int) -> bool:
    """Return True if two sides share a point that is not the corner between neighbours."""
    (a, b), (c, d) = sides[first], sides[second]
    if second == first + 1 or (first == 0 and second == len(sides) - 1):
        # Neighbours share one corner; they meet beyond it only if one folds back along the other.
        before, corner, after = (a, b, d) if second == first + 1 else (c, d, b)
        return _turn(before, corner, after) == 0 and _dot(corner, before, after) > 0
    turns = (_turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b))
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    ends = ((a, b, c), (a, b, d), (c, d, a), (c, d, b))
    return any(
        turn == 0 and _dot(p, start, end) <= 0 for turn, (start, end, p) in zip(turns, ends, strict=True)
    )


def _turn(a: Point, b: Point, c: Point) -> int:
    """Return 1 if a-b-c turns left, -1 if right, 0 if straight within rounding."""
    cross = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    scale = math.dist(a, b) * math.dist(a, c)
    return 0 if abs(cross) <= 1e-12 * scale else int(math.copysign(1, cross))


def _dot(origin: Point, a: Point, b: Point) -> float:
    return (a[0] - origin[0]) * (b[0] - origin[0]) + (a[1] - origin[1]) * (b[1] - origin[1])


def run_length(length: float, end_gap: float) -> float:
    """Return the length of a straight run of drip line that keeps a gap from both ends of a bed.

    Raises
    ------
    ShapeError
        If the bed is not longer than the two gaps.
    """
    _require_positive(length=length)
    if not (end_gap >= 0 and length > 2 * end_gap):
        raise ShapeError("the gaps at both ends leave no room for a run")
    return length - 2 * end_gap


def ring_length(diameter: float) -> float:
    """Return the length of a drip line laid as a ring of this diameter.

    Raises
    ------
    ShapeError
        If the diameter is not above zero.
    """
    _require_positive(diameter=diameter)
    return math.pi * diameter


def emitter_count(line_length: float, spacing: float) -> int:
    """Return how many emitters an in-line drip line of this length holds.

    Raises
    ------
    ShapeError
        If the length or the spacing is not above zero.
    """
    _require_positive(line_length=line_length, spacing=spacing)
    return math.floor(line_length / spacing + _ROUNDING)


def _require_positive(**measures: float) -> None:
    for name, value in measures.items():
        if not (math.isfinite(value) and value > 0):
            raise ShapeError(f"the {name.replace('_', ' ')} must be above zero, not {value:g}")
