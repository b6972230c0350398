"""Header, runs and rings inside one bed, as it lies before it is turned: points and lengths in metres."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scheduler.garden.line_places import comb, even_rings, run_ordinates
from scheduler.garden.places import inlet_of_shape, outline_middle, outline_of_shape
from scheduler.garden.plan import Bed, BedMeasures, BedPlace
from scheduler.garden.shapes import ShapeError, emitter_count, ring_length

__all__ = ["BedLines", "Ring", "Run", "bed_lines"]

Point = tuple[float, float]
# Points closer than this are one [m].
_SAME = 1e-6


@dataclass(frozen=True, slots=True)
class Run:
    """A straight run from a point of the header; `emitters` are distances from its start [m]."""

    header: int
    end: Point
    emitters: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Ring:
    """A ring from a point of the header round a centre; `emitters` are distances along it [m]."""

    header: int
    centre: Point
    radius: float
    emitters: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class BedLines:
    """What lies in one bed.

    Attributes
    ----------
    inlet : Point
        Where the riser comes over the rim.
    header : tuple of Point
        Points of the header in order along it.
    entry : int
        Point of the header that the water reaches first.
    """

    inlet: Point
    header: tuple[Point, ...]
    entry: int
    runs: tuple[Run, ...] = ()
    rings: tuple[Ring, ...] = ()


def bed_lines(bed: Bed) -> BedLines:
    """Return header, runs and rings of a bed.

    Runs lie along the bed from the end at which the inlet is; rings lie about its middle, joined by a header
    from the inlet towards the middle. Of a bed that tells only the length of its line, a round one gets
    evenly spaced rings and any other evenly spaced runs along x of just that length together.

    Returns
    -------
    BedLines
        All emitters together are those of the bed.

    Raises
    ------
    ShapeError
        If the bed tells no measures, or its line does not fit.
    """
    measures, place = bed.measures, bed.place
    if measures is None or place is None:
        raise ShapeError(f'nothing says where the line of bed "{bed.name}" lies')
    inlet = inlet_of_shape(bed.shape, measures, place.inlet)
    length = bed.emitters * bed.drip.emitter_spacing if bed.line_length is None else bed.line_length
    if measures.rings:
        return _with_rings(bed, inlet, measures, sorted(measures.rings, reverse=True))
    if measures.runs is None and bed.shape == "circle":
        return _with_rings(bed, inlet, measures, even_rings(measures.diameter or 0.0, length))
    if measures.runs is not None:
        gap, along = measures.end_gap, measures.length or 0.0
        stretches = tuple((y, gap, along - gap) for y in run_ordinates(bed.shape, measures))
    else:
        stretches = comb(outline_of_shape(bed.shape, measures), length, gap=measures.end_gap)
    return _with_runs(bed, inlet, place, stretches)


def _with_runs(
    bed: Bed, inlet: Point, place: BedPlace, stretches: Sequence[tuple[float, float, float]]
) -> BedLines:
    """Return runs that begin at the inlet's end of a bed, and the header that joins their beginnings."""
    at_right = "right" in place.inlet
    starts = [(end if at_right else begin, y) for y, begin, end in stretches]
    ends = [(begin if at_right else end, y) for y, begin, end in stretches]
    counts = _emitters(bed, [end - begin for _, begin, end in stretches])
    header, entry = _header(bed, inlet, place, starts)
    places = {point: number for number, point in enumerate(header)}
    runs = tuple(
        Run(places[start], end, emitters) for start, end, emitters in zip(starts, ends, counts, strict=True)
    )
    return BedLines(inlet, header, entry, runs=runs)


def _header(
    bed: Bed, inlet: Point, place: BedPlace, starts: Sequence[Point]
) -> tuple[tuple[Point, ...], int]:
    """Return the points of a header across the beginnings of runs, and at which of them it is entered."""
    points = list(starts)
    if " " in place.inlet and bed.shape == "rectangle" and len(points) > 1:
        corner = (points[0][0], inlet[1])
        entry = 0 if place.inlet.startswith("bottom") else len(points)
        points.insert(entry, corner)
        return tuple(points), entry
    runs = None if bed.measures is None else bed.measures.runs
    if runs is not None and runs % 2 == 0 and " " not in place.inlet:
        entry = len(points) // 2
        below, above = points[entry - 1], points[entry]
        points.insert(entry, ((below[0] + above[0]) / 2, (below[1] + above[1]) / 2))
        return tuple(points), entry
    nearest = min(range(len(points)), key=lambda number: (math.dist(points[number], inlet), number))
    return tuple(points), nearest


def _with_rings(bed: Bed, inlet: Point, measures: BedMeasures, diameters: Sequence[float]) -> BedLines:
    """Return rings about the middle, and a header from the inlet to the innermost of them."""
    middle = (0.0, 0.0) if bed.shape == "circle" else outline_middle(outline_of_shape(bed.shape, measures))
    away = math.dist(inlet, middle)
    towards = ((inlet[0] - middle[0]) / away, (inlet[1] - middle[1]) / away)
    header = tuple(
        (middle[0] + towards[0] * diameter / 2, middle[1] + towards[1] * diameter / 2)
        for diameter in diameters
    )
    counts = _emitters(bed, [ring_length(diameter) for diameter in diameters])
    rings = tuple(
        Ring(number, middle, diameter / 2, emitters)
        for number, (diameter, emitters) in enumerate(zip(diameters, counts, strict=True))
    )
    return BedLines(inlet, header, 0, rings=rings)


def _emitters(bed: Bed, lengths: Sequence[float]) -> list[tuple[float, ...]]:
    """Return where the emitters of each piece of line are, from its start [m].

    Pieces that give the count of the bed keep its spacing, what is over divided to both ends. Else the bed's
    emitters are shared among the pieces by length and spread evenly.
    """
    spacing = bed.drip.emitter_spacing
    counts = [emitter_count(length, spacing) for length in lengths]
    if sum(counts) == bed.emitters:
        return [
            tuple((length - (count - 1) * spacing) / 2 + spacing * number for number in range(count))
            for length, count in zip(lengths, counts, strict=True)
        ]
    shares = [bed.emitters * length / sum(lengths) for length in lengths]
    counts = [math.floor(share) for share in shares]
    by_rest = sorted(range(len(shares)), key=lambda n: (counts[n] - shares[n], n))
    for number in by_rest[: bed.emitters - sum(counts)]:
        counts[number] += 1
    return [
        tuple(length * (number + 0.5) / count for number in range(count))
        for length, count in zip(lengths, counts, strict=True)
    ]
