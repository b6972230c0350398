"""The ways in which a bed can be laid: which drip line, how many runs or rings, and what stays dry. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from scheduler.drip.wetting import TEXTURE_GROUPS, line_wetted_width
from scheduler.garden.line_places import even_rings, run_ordinates
from scheduler.garden.plan import Bed, BedMeasures, DripLine
from scheduler.garden.shapes import ShapeError, emitter_count, ring_length, run_length

__all__ = ["BORNE_STRIPE", "CLOSEST_LINES", "LineChoice", "bed_choices", "wetted_by"]

#: Lines are laid no closer than this [m], some 6 in: a judgement, without a source.
CLOSEST_LINES = 0.15

#: Dry stripe between two wetted ones that a bed bears all the same [m]: roots of vegetables reach half of it
#: from either side. A judgement, without a source.
BORNE_STRIPE = 0.30

#: What a mix of unnamed texture is taken for; see `drip.wetting`: a loose mix behaves as coarse soil does.
_LOOSE_MIX = "sandy loam"

# Measures that come from rounded arithmetic may fall this far short [m].
_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class LineChoice:
    """One way to lay a bed.

    Attributes
    ----------
    line : DripLine
    runs : int or None
        Straight runs; None for rings, or where only the length of the line is known.
    rings : tuple of float
        Diameters of rings [m].
    length : float or None
        Drip line in all [m]; None where the emitters were counted.
    emitters : int
    gap : float or None
        Widest distance between neighbouring lines, or twice that between a line and the board [m]; None where
        the plan does not say how the lines lie.
    wetted : float
        Width of the strip that a line wets [m].
    wetted_source : str
    too_dry : bool
        True if a stripe stays dry that is wider than `BORNE_STRIPE` and than what the bed has now.
    """

    line: DripLine
    runs: int | None
    rings: tuple[float, ...]
    length: float | None
    emitters: int
    gap: float | None
    wetted: float
    wetted_source: str
    too_dry: bool = False

    @property
    def dry_stripe(self) -> float | None:
        """Width of the widest stripe that no line wets [m]; None where the gaps are not known."""
        return None if self.gap is None else max(self.gap - self.wetted, 0.0)


@dataclass(frozen=True, slots=True)
class _Pieces:
    """Lines in a bed, of whatever kind: length of each [m], and the widest gap between them [m]."""

    runs: int | None
    rings: tuple[float, ...]
    lengths: tuple[float, ...]
    gap: float | None


def bed_choices(bed: Bed, lines: Sequence[DripLine]) -> tuple[LineChoice, ...]:
    """Return the ways to lay a bed with the drip lines at hand, what is there now as the first.

    A bed with straight sides or rounded ends may get other numbers of runs, a round one of even rings; of any
    other, or if its emitters were counted, only the line can change, as far as its length is known.
    """
    now = _now(bed)
    first = _choice(bed, bed.drip, now, emitters=bed.emitters)
    found = [first]
    kinds = [bed.drip, *(line for line in dict.fromkeys(lines) if line != bed.drip)]
    for pieces in (now, *_other_pieces(bed, now)):
        for line in kinds:
            count = sum(emitter_count(length, line.emitter_spacing) for length in pieces.lengths)
            if count and not (pieces is now and line == bed.drip):
                found.append(_choice(bed, line, pieces, emitters=count))
    borne = max(BORNE_STRIPE, first.dry_stripe or 0.0) + _SAME
    return tuple(replace(choice, too_dry=(choice.dry_stripe or 0.0) > borne) for choice in found)


def wetted_by(bed: Bed, line: DripLine) -> tuple[float, str]:
    """Return how wide a line wets a bed [m], and by what: the plan's own width, else the soil's texture."""
    if bed.wetted_width is not None:
        return bed.wetted_width, "width stated in the plan"
    texture = bed.soil.texture
    if texture in TEXTURE_GROUPS:
        return line_wetted_width(texture, line.emitter_spacing)
    width, source = line_wetted_width(_LOOSE_MIX, line.emitter_spacing)
    return width, f"{source}; a mix without a named texture is taken as coarse"


def _choice(bed: Bed, line: DripLine, pieces: _Pieces, *, emitters: int) -> LineChoice:
    wetted, source = wetted_by(bed, line)
    length = sum(pieces.lengths) or None
    return LineChoice(line, pieces.runs, pieces.rings, length, emitters, pieces.gap, wetted, source)


def _now(bed: Bed) -> _Pieces:
    """Return the lines as they lie; of counted emitters no length is known."""
    measures = bed.measures
    if measures is None or bed.line_length is None:
        return _Pieces(None, (), () if bed.line_length is None else (bed.line_length,), None)
    if measures.runs is not None:
        return _as_runs(bed, measures, measures.runs)
    if measures.rings:
        return _as_rings(bed, measures.rings)
    return _Pieces(None, (), (bed.line_length,), None)


def _other_pieces(bed: Bed, now: _Pieces) -> Iterator[_Pieces]:
    """Yield the other numbers of runs or rings that find room in a bed."""
    measures = bed.measures
    if measures is None or not now.lengths:
        return
    if bed.shape == "circle" and measures.diameter is not None:
        for count in range(1, math.floor(measures.diameter / 2 / CLOSEST_LINES + _SAME) + 1):
            if count != len(now.rings):
                length = math.pi * measures.diameter * count / 2
                yield _as_rings(bed, even_rings(measures.diameter, length))
    elif measures.length is not None and measures.width is not None:
        for count in range(1, math.floor(measures.width / CLOSEST_LINES + _SAME) + 1):
            ordinates = _ordinates(bed, measures, count)
            close = any(above - below < CLOSEST_LINES - _SAME for below, above in pairwise(ordinates))
            if count != now.runs and not close and measures.length > 2 * measures.end_gap:
                yield _as_runs(bed, measures, count)


def _ordinates(bed: Bed, measures: BedMeasures, count: int) -> tuple[float, ...]:
    return run_ordinates(bed.shape, replace(measures, runs=count))


def _as_runs(bed: Bed, measures: BedMeasures, count: int) -> _Pieces:
    """Return so many straight runs along a bed."""
    if measures.length is None or measures.width is None:
        raise ShapeError(f'bed "{bed.name}" has runs, but no length and width')
    each = run_length(measures.length, measures.end_gap)
    places = _ordinates(bed, measures, count)
    return _Pieces(count, (), (each,) * count, _widest(places, width=measures.width))


def _as_rings(bed: Bed, diameters: Sequence[float]) -> _Pieces:
    """Return rings about the middle of a bed; how far they are from the board is known of a round one."""
    lengths = tuple(ring_length(diameter) for diameter in diameters)
    across = None if bed.measures is None else bed.measures.diameter
    gap = None
    if across is not None:
        radii = sorted(diameter / 2 for diameter in diameters)
        # On a line through the middle each ring is met twice.
        offsets = (*(-radius for radius in reversed(radii)), *radii)
        gap = _widest([across / 2 + offset for offset in offsets], width=across)
    return _Pieces(None, tuple(diameters), lengths, gap)


def _widest(places: Sequence[float], *, width: float) -> float:
    """Return the widest gap [m]; water comes to a board from one side alone, so its gap counts twice."""
    inside = [above - below for below, above in pairwise(places)]
    return max(2 * places[0], *inside, 2 * (width - places[-1]))
