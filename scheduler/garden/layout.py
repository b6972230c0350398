"""Area and emitters of one bed, from the shape and the line as its table gives them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from scheduler.garden.plan import DripLine, Shape
from scheduler.garden.schema_beds import BedTable, DripTable
from scheduler.garden.shapes import (
    ShapeError,
    circle_area,
    emitter_count,
    polygon_area,
    rectangle_area,
    ring_length,
    rounded_ends_area,
    run_length,
)
from scheduler.garden.units import parse_quantity

__all__ = [
    "DEFAULT_END_GAP",
    "SHAPE_KEYS",
    "area_of",
    "emitters_of",
    "flow_at_pressure",
    "line_of",
    "shape_words",
    "sides_of",
]

#: Gap between the end of a run and the wall where the plan says nothing.
DEFAULT_END_GAP = "3 in"
#: Measures that each shape needs.
SHAPE_KEYS: dict[Shape, tuple[str, ...]] = {
    "rectangle": ("length", "width"),
    "circle": ("diameter",),
    "rounded ends": ("length", "width"),
    "polygon": ("corners",),
}


def area_of(bed: BedTable) -> float:
    """Return the inside area [m2].

    Raises
    ------
    ShapeError
        If corners do not bound an area, or rounded ends are wider than long.
    """
    if bed.shape == "circle":
        return circle_area(_given(bed.diameter))
    if bed.shape == "polygon":
        return polygon_area([(corner[0], corner[1]) for corner in bed.corners or []])
    area = rectangle_area if bed.shape == "rectangle" else rounded_ends_area
    return area(_given(bed.length), _given(bed.width))


def sides_of(bed: BedTable) -> tuple[float, ...]:
    """Return the measures of a bed that could have been typed in the wrong unit [m]."""
    if bed.shape == "polygon":
        corners = bed.corners or []
        spans = [max(values) - min(values) for values in zip(*corners, strict=True)]
        return tuple(spans)
    names = SHAPE_KEYS[bed.shape]
    return tuple(side for name in names if (side := getattr(bed, name)) is not None)


def line_of(bed: BedTable) -> tuple[float, ...]:
    """Return the length of each piece of line [m]; empty if the plan describes no line.

    Raises
    ------
    ShapeError
        If the end gaps leave nothing of a run.
    """
    if bed.runs is not None:
        gap = parse_quantity(DEFAULT_END_GAP, "length") if bed.end_gap is None else bed.end_gap
        return (run_length(_given(bed.length), gap),) * bed.runs
    if bed.rings is not None:
        return tuple(ring_length(diameter) for diameter in bed.rings)
    return () if bed.line_length is None else (bed.line_length,)


def emitters_of(bed: BedTable, spacing: float) -> int:
    """Return how many emitters the described line holds at a spacing [m]."""
    return sum(emitter_count(piece, spacing) for piece in line_of(bed))


def flow_at_pressure(drip: DripLine | DripTable, *, emitters: int, pressure: float) -> float:
    """Return the flow of so many emitters [L/h] at a pressure [kPa], from the printed flow and exponent."""
    return emitters * drip.emitter_flow * float((pressure / drip.at_pressure) ** drip.exponent)


def shape_words(shape: Shape, raw: Mapping[str, Any]) -> str:
    """Return the shape in words with its measures as the person wrote them."""
    if shape == "circle":
        return f"circle {raw['diameter']} across"
    if shape == "polygon":
        return "polygon with corners at " + ", ".join(f"({x}, {y})" for x, y in raw["corners"])
    return f"{shape} {raw['length']} by {raw['width']}"


def _given(measure: float | None) -> float:
    """Return a measure that the checks have found to be there."""
    if measure is None:
        raise ShapeError("a measure of the bed is missing")
    return measure
