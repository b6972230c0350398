"""What soil says to settings that stay: gaps that it does not last, runs longer than it takes. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.season.pulses import PulseLimits
from scheduler.timetable.choices import ZoneBeds
from scheduler.timetable.lasting import LastingPattern

__all__ = ["LongGap", "beds_run_too_long", "weeks_not_lasted"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


class LongGap(NamedTuple):
    """A setting whose runs lie further apart than its beds last, though closer ones would be lasted better.

    Attributes
    ----------
    begins : date
        Of the stretch.
    zone : str
    outlet : int
    gap : int
        Most days from one run to the next.
    lasts : int
        Days that its beds last in the thirstiest week of the stretch; 0 if not even one.
    weeks : tuple of date
        Mondays of the weeks in which beds do not last the gap.
    forced : int
        How many of them would have too long a gap too if the timer were set for each alone.
    """

    begins: date
    zone: str
    outlet: int
    gap: int
    lasts: int
    weeks: tuple[date, ...]
    forced: int


def weeks_not_lasted(pattern: LastingPattern | None, gap: IntArray, weeks: Sequence[int]) -> list[int]:
    """Return which weeks beds do not last from run to run; daily runs are as close as any can be.

    `gap` are the days that beds last in each week, see `OutletNeed.gap`.
    """
    return [] if pattern is None else [week for week in weeks if pattern.gap > max(int(gap[week]), 1)]


def beds_run_too_long(
    zone: ZoneBeds, limits: PulseLimits, *, minutes: int, grown: FloatArray
) -> tuple[int, ...]:
    """Return the beds of a zone whose soil takes no run of so many minutes at once, by place in the plan.

    `grown` are the days with crops of each bed of the zone, (n_beds,): the valve of others is shut.
    """
    passed = (minutes > limits.longest[zone.index]) & (grown > 0.0)
    return tuple(zone.index[passed].tolist())
