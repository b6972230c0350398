"""Beds on the sketch grid: outlines, inlets, what lies across what; pure, metres."""

from __future__ import annotations

import math
from collections.abc import Sequence

from scheduler.garden.layout_plan import BedMeasures, BedPlace, Inlet
from scheduler.garden.plan import Bed, Shape
from scheduler.garden.shapes import ShapeError

__all__ = [
    "bed_outline",
    "chord",
    "inlet_of_shape",
    "inlet_on_sketch",
    "is_inside",
    "length_inside",
    "on_sketch",
    "outline_middle",
    "outline_of_shape",
    "outlines_overlap",
]

Point = tuple[float, float]
# Corners that stand for half a circle: the outline lies within 0.1 % of the radius.
_HALF_CIRCLE = 36
_TINY = 1e-9
_DIRECTIONS: dict[Inlet, Point] = {
    "left": (-1.0, 0.0),
    "right": (1.0, 0.0),
    "bottom": (0.0, -1.0),
    "top": (0.0, 1.0),
    "bottom left": (-1.0, -1.0),
    "bottom right": (1.0, -1.0),
    "top left": (-1.0, 1.0),
    "top right": (1.0, 1.0),
}


def outline_of_shape(shape: Shape, measures: BedMeasures) -> tuple[Point, ...]:
    """Return the corners of a bed as it lies before it is turned [m]; curves as many short sides.

    A round bed lies about (0, 0), any other has its first corner there.

    Raises
    ------
    ShapeError
        If a measure is missing.
    """
    if shape == "polygon":
        return measures.corners
    if shape == "circle":
        radius = _given(measures.diameter) / 2
        return tuple(_arc((0.0, 0.0), radius, 0.0, 2 * math.pi)[:-1])
    length, width = _given(measures.length), _given(measures.width)
    if shape == "rectangle":
        return ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    half = width / 2
    right = _arc((length - half, half), half, -math.pi / 2, math.pi / 2)
    left = _arc((half, half), half, math.pi / 2, 3 * math.pi / 2)
    return (*right, *left)


def bed_outline(bed: Bed) -> tuple[Point, ...]:
    """Return the corners of a bed on the sketch grid [m].

    Raises
    ------
    ShapeError
        If the plan does not say where it lies.
    """
    if bed.measures is None or bed.place is None:
        raise ShapeError(f'nothing says where bed "{bed.name}" lies')
    place = bed.place
    return tuple(on_sketch(place, point) for point in outline_of_shape(bed.shape, bed.measures))


def on_sketch(place: BedPlace, point: Point) -> Point:
    """Return where a point of a bed lies on the sketch grid, the bed turned about its position."""
    x0, y0 = (0.0, 0.0) if place.position is None else place.position
    quarter, rest = divmod(place.rotation, 90.0)
    # Quarter turns come out to the last digit: a main along the grid must not bend by rounding.
    cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    if rest:
        angle = math.radians(place.rotation)
        cos, sin = math.cos(angle), math.sin(angle)
    x, y = point
    return x0 + x * cos - y * sin, y0 + x * sin + y * cos


def inlet_of_shape(shape: Shape, measures: BedMeasures, inlet: Inlet) -> Point:
    """Return where on its outline a riser comes up, before the bed is turned [m].

    The middle of a side or a corner; of a round bed the point in that direction; of a polygon the middle of
    the side, or the corner, that lies farthest that way.
    """
    dx, dy = _DIRECTIONS[inlet]
    corner = bool(dx and dy)
    norm = math.hypot(dx, dy)
    if shape == "circle":
        radius = _given(measures.diameter) / 2
        return radius * dx / norm, radius * dy / norm
    if shape == "polygon":
        corners = measures.corners
        places = corners if corner else tuple(_middle(*side) for side in _sides(corners))
        return max(places, key=lambda point: point[0] * dx + point[1] * dy)
    length, width = _given(measures.length), _given(measures.width)
    x, y = length * (1 + dx) / 2, width * (1 + dy) / 2
    if shape == "rounded ends" and corner:
        half = width / 2
        middle = (half if dx < 0 else length - half, half)
        return middle[0] + half * dx / norm, middle[1] + half * dy / norm
    return x, y


def inlet_on_sketch(bed: Bed) -> Point:
    """Return where the riser of a bed comes up on the sketch grid [m].

    Raises
    ------
    ShapeError
        If the plan does not say where it lies.
    """
    if bed.measures is None or bed.place is None:
        raise ShapeError(f'nothing says where bed "{bed.name}" lies')
    return on_sketch(bed.place, inlet_of_shape(bed.shape, bed.measures, bed.place.inlet))


def outline_middle(outline: Sequence[Point]) -> Point:
    """Return the centre of area of an outline [m]."""
    x0, y0 = outline[0]
    twice = sx = sy = 0.0
    for (ax, ay), (bx, by) in _sides(outline):
        cross = (ax - x0) * (by - y0) - (bx - x0) * (ay - y0)
        twice += cross
        sx += (ax + bx - 2 * x0) * cross
        sy += (ay + by - 2 * y0) * cross
    return x0 + sx / (3 * twice), y0 + sy / (3 * twice)


def chord(outline: Sequence[Point], y: float) -> tuple[float, float] | None:
    """Return from where to where the longest stretch at height `y` lies inside an outline, or None."""
    crossings = sorted(
        ax + (y - ay) * (bx - ax) / (by - ay)
        for (ax, ay), (bx, by) in _sides(outline)
        if (ay <= y) != (by <= y)
    )
    pairs = list(zip(crossings[::2], crossings[1::2], strict=False))
    return max(pairs, key=lambda pair: pair[1] - pair[0], default=None)


def length_inside(start: Point, end: Point, outline: Sequence[Point]) -> float:
    """Return how much of a straight piece lies inside an outline [m]; along its edge counts as outside."""
    total = math.dist(start, end)
    if total == 0:
        return 0.0
    shares = {0.0, 1.0}
    for a, b in _sides(outline):
        shares |= _crossings(start, end, a, b)
    cuts = sorted(shares)
    inside = 0.0
    for low, high in zip(cuts, cuts[1:], strict=False):
        middle = (low + high) / 2
        point = (start[0] + (end[0] - start[0]) * middle, start[1] + (end[1] - start[1]) * middle)
        if is_inside(point, outline):
            inside += (high - low) * total
    return inside


def outlines_overlap(first: Sequence[Point], second: Sequence[Point]) -> bool:
    """Return True if two outlines share ground; beds that only touch do not."""
    for one, other in ((first, second), (second, first)):
        if any(length_inside(a, b, other) > _TINY for a, b in _sides(one)):
            return True
    # The same outline twice has all its sides on each other's edge.
    return is_inside(_inner_point(first), second)


def _inner_point(outline: Sequence[Point]) -> Point:
    """Return a point inside an outline."""
    ys = sorted({y for _, y in outline})
    y = max(zip(ys, ys[1:], strict=False), key=lambda pair: pair[1] - pair[0])
    height = (y[0] + y[1]) / 2
    span = chord(outline, height)
    if span is None:
        raise ShapeError("the outline bounds no area")
    return (span[0] + span[1]) / 2, height


def _arc(centre: Point, radius: float, begin: float, end: float) -> list[Point]:
    steps = round(_HALF_CIRCLE * (end - begin) / math.pi)
    angles = (begin + (end - begin) * step / steps for step in range(steps + 1))
    return [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles]


def _sides(outline: Sequence[Point]) -> list[tuple[Point, Point]]:
    return list(zip(outline, (*outline[1:], outline[0]), strict=True))


def _middle(a: Point, b: Point) -> Point:
    return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2


def _crossings(start: Point, end: Point, a: Point, b: Point) -> set[float]:
    """Return the shares of start-end at which it crosses a side; of a side along it, those of its corners."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    ex, ey = b[0] - a[0], b[1] - a[1]
    cross = dx * ey - dy * ex
    ax, ay = a[0] - start[0], a[1] - start[1]
    size = math.hypot(dx, dy) * math.hypot(ex, ey)
    if abs(cross) <= _TINY * size:
        square = dx * dx + dy * dy
        shares = {(ax * dx + ay * dy) / square, ((ax + ex) * dx + (ay + ey) * dy) / square}
    else:
        along = (ax * dy - ay * dx) / cross
        shares = {(ax * ey - ay * ex) / cross} if -_TINY <= along <= 1 + _TINY else set()
    return {share for share in shares if 0 < share < 1}


def is_inside(point: Point, outline: Sequence[Point]) -> bool:
    """Return True for a point inside an outline, not on its edge."""
    x, y = point
    inside = False
    for (ax, ay), (bx, by) in _sides(outline):
        span = math.hypot(bx - ax, by - ay)
        away = abs((bx - ax) * (y - ay) - (by - ay) * (x - ax))
        within = (x - ax) * (x - bx) + (y - ay) * (y - by) <= 0
        if span and within and away <= 1e-7 * span:
            return False
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            inside = not inside
    return inside


def _given(measure: float | None) -> float:
    if measure is None:
        raise ShapeError("a measure of the bed is missing")
    return measure
