"""Many readings of one register -> those that fit together, and the odd ones out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from scheduler.reconcile.meters import Meter, MeteredVolume, Reading, volumes_between
from scheduler.reconcile.refused import ReadingError

__all__ = ["OddReading", "Register", "fit_register"]

#: So many wrong readings in a row are seen as such; more would cost time for a case nobody meets.
_LOOK_BACK = 12


@dataclass(frozen=True, slots=True)
class OddReading:
    """A reading that no flow of water explains beside its neighbours.

    Attributes
    ----------
    number : int
        Its place among all readings, from 0.
    why : str
        ``beyond the register``; ``two at once``; ``goes back``; ``too much``.
    other : Reading or None
        The sound reading that it does not go with.
    """

    number: int
    reading: Reading
    why: Literal["beyond the register", "goes back", "too much", "two at once"]
    other: Reading | None


@dataclass(frozen=True, slots=True)
class Register:
    """What a register showed: places of the readings that fit together, the odd ones, and the rollovers."""

    kept: tuple[int, ...]
    odd: tuple[OddReading, ...]
    rollovers: tuple[MeteredVolume, ...]


def fit_register(readings: Sequence[Reading], meter: Meter) -> Register:
    """Return the largest set of readings that each follow from the one before.

    One slip of the pen then costs one reading and not all that come after it. Of sets as large, the one that
    needs least water counts, then the one with the newest reading. Two readings of one moment go together if
    they agree to a digit.

    Parameters
    ----------
    readings : sequence of Reading
        In the order of their times.
    """
    possible = [n for n, reading in enumerate(readings) if reading.volume < meter.capacity]
    # Length of the best chain that ends with a reading, and its water with the sign turned.
    best = dict.fromkeys(possible, (1, 0.0))
    previous: dict[int, int] = {}
    for place, n in enumerate(possible):
        for m in reversed(possible[max(0, place - _LOOK_BACK) : place]):
            water = _step(readings[m], readings[n], meter)
            if water is not None and (best[m][0] + 1, best[m][1] - water) > best[n]:
                best[n], previous[n] = (best[m][0] + 1, best[m][1] - water), m
    kept: list[int] = []
    at = max(possible, key=lambda n: (*best[n], n), default=None)
    while at is not None:
        kept.append(at)
        at = previous.get(at)
    kept.reverse()
    odd = tuple(_odd(n, readings, kept, meter) for n in range(len(readings)) if n not in set(kept))
    pairs = [(readings[m], readings[n]) for m, n in zip(kept, kept[1:], strict=False)]
    steps = [volumes_between(pair, meter)[0] for pair in pairs if pair[0].at < pair[1].at]
    return Register(tuple(kept), odd, tuple(step for step in steps if step.rolled_over))


def _step(before: Reading, after: Reading, meter: Meter) -> float | None:
    """Return the water that explains the step from one reading to the next [L], None if none can."""
    if before.at == after.at:
        return 0.0 if abs(after.volume - before.volume) <= meter.smallest_digit else None
    try:
        return volumes_between((before, after), meter)[0].volume
    except ReadingError:
        return None


def _odd(number: int, readings: Sequence[Reading], kept: Sequence[int], meter: Meter) -> OddReading:
    """Return what is odd about a reading that was left out."""
    reading = readings[number]
    if reading.volume >= meter.capacity:
        return OddReading(number, reading, "beyond the register", None)
    before = next((readings[n] for n in reversed(kept) if n < number), None)
    after = next((readings[n] for n in kept if n > number), None)
    # Two neighbours at most; it fails against one of them, or it would have been kept.
    other = before if before is not None and _step(before, reading, meter) is None else after
    if other is None:
        return OddReading(number, reading, "too much", before)
    first, second = (other, reading) if other is before else (reading, other)
    if first.at == second.at:
        return OddReading(number, reading, "two at once", other)
    return OddReading(number, reading, "goes back" if second.volume < first.volume else "too much", other)
