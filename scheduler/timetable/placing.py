"""Start times on the week's clock: inside the windows, within the tap, one zone at a time. Pure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Timer
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.runtime import run_lengths

__all__ = ["WeekClock", "lateness"]

DAY = 24 * 60
WEEK = DAYS_PER_WEEK * DAY
BEFORE_DAWN = 3 * 60
NOON = 12 * 60


class WeekClock:
    """The minutes of one week and the flow already promised in each.

    The week is closed to a ring: what a late run of the last day takes is taken from the first day, since
    the same setting may stay for another week.

    Parameters
    ----------
    spans : sequence of seven sequences of (first minute, end minute)
        Where a run that starts on each day may lie, from `windows.watering_hours`.
    capacity : float
        Usable flow of the tap [L/h].
    one_at_a_time : bool
        True if the timer opens one outlet at a time.
    """

    def __init__(
        self, spans: Sequence[Sequence[tuple[int, int]]], *, capacity: float, one_at_a_time: bool
    ) -> None:
        self._spans = spans
        self._capacity = capacity
        self._one_at_a_time = one_at_a_time
        self._taken: NDArray[np.float64] = np.zeros(WEEK)
        self._counts: dict[float, NDArray[np.int64]] = {}

    def _blocked_before(self, flow: float) -> NDArray[np.int64]:
        """Return for every minute from the week's start how many before it have no room for `flow`.

        Kept until something is taken: the patterns of one zone all ask the same.
        """
        if flow not in self._counts:
            if self._one_at_a_time:
                blocked = self._taken > 0.0
            else:
                blocked = (self._taken > 0.0) & (self._taken + flow > self._capacity)
            ring = np.concatenate([[False], blocked, blocked[: 2 * DAY]])
            self._counts[flow] = np.cumsum(ring)
        return self._counts[flow]

    def _free(self, day: int, minutes: int, flow: float) -> NDArray[np.bool_]:
        """Return for each minute after midnight of `day` (up to two days on) whether a run may start."""
        before = self._blocked_before(flow)[day * DAY :]
        free = np.zeros(2 * DAY, dtype=bool)
        for begin, end in self._spans[day]:
            last = min(end, 2 * DAY) - minutes
            if last >= begin:
                stop = last + 1
                free[begin:stop] = before[begin + minutes : stop + minutes] == before[begin:stop]
        return free

    def free_starts(self, mask: Sequence[bool], *, minutes: int, flow: float) -> NDArray[np.bool_]:
        """Return for each minute after midnight (up to two days on) whether a run fits on all days of a mask.

        The same times hold on all days, as a timer keeps them. A mask without days leaves every minute free.
        """
        free = np.ones(2 * DAY, dtype=bool)
        for day, runs in enumerate(mask):
            if runs:
                free &= self._free(day, minutes, flow)
        return free

    def place(
        self, mask: Sequence[bool], *, starts: int, minutes: int, flow: float, pause: int = 0
    ) -> tuple[int, ...] | None:
        """Return start times [min after midnight] that fit on every day of the mask.

        The earliest from 03:00 on, when the house draws least, else the earliest before noon, else of all.
        Between two runs of one day lies at least the length of a run, so that water can sink in, or `pause`
        [min] if that is longer. None if nothing fits.
        """
        if not any(mask) or starts == 0:
            return ()
        free = self.free_starts(mask, minutes=minutes, flow=flow)
        gap = minutes + max(minutes, pause)
        for begin, end in ((BEFORE_DAWN, NOON), (0, NOON), (0, 2 * DAY)):
            part = free[:end]
            while (chosen := _earliest(part, starts=starts, gap=gap, begin=begin)) is not None:
                # A setting whose last run reaches into the next day's first one is no setting.
                if chosen[-1] + minutes <= chosen[0] + DAY:
                    return chosen
                begin = chosen[-1] + minutes - DAY
        return None

    def longest_runs(self, mask: Sequence[bool], *, timer: Timer, flow: float) -> tuple[int, ...]:
        """Return the longest run [min] that fits on the days of a mask with 1, 2 ... starts, 0 for none.

        A shorter run fits wherever a longer one does, so each is found by bisection.
        """
        lengths = run_lengths(timer)
        longest = []
        for starts in range(1, timer.starts_per_day + 1):
            low, high = 0, len(lengths)
            while low < high:
                middle = (low + high) // 2
                if self.place(mask, starts=starts, minutes=lengths[middle], flow=flow) is None:
                    high = middle
                else:
                    low = middle + 1
            longest.append(lengths[low - 1] if low else 0)
        return tuple(longest)

    def take(self, mask: Sequence[bool], begins: Sequence[int], *, minutes: int, flow: float) -> None:
        """Promise the flow of a placed setting."""
        self._counts.clear()
        for day, runs in enumerate(mask):
            if runs:
                for begin in begins:
                    at = (day * DAY + begin + np.arange(minutes)) % WEEK
                    self._taken[at] += flow


def lateness() -> NDArray[np.float64]:
    """Return what starting at each minute after midnight costs (up to two days on), the least being best.

    From 03:00 the house draws least and the sun is not up yet; hours before noon go before all others.
    """
    minute = np.arange(2.0 * DAY)
    return np.where(minute < BEFORE_DAWN, minute + NOON, np.where(minute < NOON, minute, minute + NOON))


def _earliest(free: NDArray[np.bool_], *, starts: int, gap: int, begin: int) -> tuple[int, ...] | None:
    """Return the earliest minutes from `begin` on that are free and at least `gap` apart, None if too few."""
    chosen: list[int] = []
    at = begin
    while len(chosen) < starts:
        rest = np.flatnonzero(free[at:])
        if rest.size == 0:
            return None
        chosen.append(at + int(rest[0]))
        at = chosen[-1] + gap
    return tuple(chosen)
