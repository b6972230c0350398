"""Day patterns of a setting that stays for weeks, and the hours that all its days share. Pure.

Weekdays repeat from week to week. An interval is counted on from its first run, so that its run days drift
over the weekdays: on the clock it then claims every weekday that it comes to.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Timer
from scheduler.timetable.patterns import DAYS_PER_WEEK, day_patterns
from scheduler.timetable.placing import WeekClock
from scheduler.timetable.windows import WateringHours

__all__ = ["LastingPattern", "LastingRoom", "hours_in_common", "lasting_patterns", "weekdays_used"]

BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]
#: Spans of (first minute, end minute) for each day from Monday on.
WeekSpans = tuple[tuple[tuple[int, int], ...], ...]

#: Any Monday: patterns are named from Monday on.
_MONDAY = date(2024, 1, 1)
_EVERY_DAY = (True,) * DAYS_PER_WEEK


@dataclass(frozen=True, slots=True)
class LastingPattern:
    """Run days of a setting, by weekdays or by an interval.

    Attributes
    ----------
    weekdays : tuple of seven bool or None
        From Monday on; None with an interval.
    interval : int
        Days from run to run, 0 with weekdays.
    offset : int
        Days from the Monday on which the setting begins to its first run.
    """

    weekdays: tuple[bool, ...] | None
    interval: int
    offset: int

    @property
    def rate(self) -> float:
        """Mean number of runs a day."""
        if self.weekdays is not None:
            return sum(self.weekdays) / DAYS_PER_WEEK
        return 1.0 / self.interval

    @property
    def gaps(self) -> tuple[int, ...]:
        """Days from each run of a week to the next, one number with an interval."""
        if self.weekdays is None:
            return (self.interval,)
        days = [day for day, runs in enumerate(self.weekdays) if runs]
        following = [*days[1:], days[0] + DAYS_PER_WEEK]
        return tuple(after - day for day, after in zip(days, following, strict=True))

    @property
    def gap(self) -> int:
        """Most days from one run to the next."""
        return max(self.gaps)


def lasting_patterns(timer: Timer) -> tuple[LastingPattern, ...]:
    """Return every pattern that a timer can hold for weeks: fewest runs, evenest, earliest days first.

    Intervals whose run days do not drift are told as weekdays where the timer knows those.
    """
    patterns: list[LastingPattern] = []
    by_weekday = "weekdays" in timer.day_choices
    if by_weekday:
        weekdays = replace(timer, day_choices=("weekdays",))
        masks = [mask for mask, _ in day_patterns(_MONDAY, _EVERY_DAY, weekdays) if any(mask)]
        patterns += [LastingPattern(mask, 0, mask.index(True)) for mask in masks]
    if "every n days" in timer.day_choices:
        for interval in range(1, timer.longest_interval + 1):
            if not (by_weekday and interval in (1, DAYS_PER_WEEK)):
                patterns += [LastingPattern(None, interval, offset) for offset in range(interval)]
    # Stable: masks that are as even keep the order of `day_patterns`, earlier days first.
    return tuple(sorted(patterns, key=_order))


def _order(pattern: LastingPattern) -> tuple[float, int, int, int]:
    """Return what patterns are sorted by; of gaps with one sum the evenest have the least squares."""
    return pattern.rate, pattern.gap, sum(gap * gap for gap in pattern.gaps), pattern.offset


def weekdays_used(patterns: Sequence[LastingPattern], n_weeks: int) -> BoolArray:
    """Return the weekdays that each pattern comes to within some weeks, (n_patterns, 7)."""
    used = np.zeros((len(patterns), DAYS_PER_WEEK), dtype=bool)
    for line, pattern in zip(used, patterns, strict=True):
        if pattern.weekdays is not None:
            line[:] = pattern.weekdays
        else:
            runs = np.arange(pattern.offset, n_weeks * DAYS_PER_WEEK, pattern.interval)
            line[runs % DAYS_PER_WEEK] = True
    return used


def hours_in_common(hours: WateringHours) -> WeekSpans:
    """Return for each weekday the spans that its dates of a whole number of weeks from a Monday on share."""
    shared: list[tuple[tuple[int, int], ...]] = list(hours.spans[:DAYS_PER_WEEK])
    for number, spans in enumerate(hours.spans[DAYS_PER_WEEK:]):
        day = number % DAYS_PER_WEEK
        if shared[day] != spans:
            shared[day] = tuple(
                (max(a, c), min(b, d)) for a, b in shared[day] for c, d in spans if max(a, c) < min(b, d)
            )
    return tuple(shared)


class LastingRoom:
    """The longest runs that have room on an empty clock, for many patterns at once.

    What is found is kept, since most weeks of a season have the same hours.
    """

    def __init__(self, timer: Timer) -> None:
        self._timer = timer
        self._known: dict[frozenset[tuple[tuple[int, int], ...]], tuple[int, ...]] = {}

    def longest(self, used: BoolArray, spans: WeekSpans) -> IntArray:
        """Return the longest run [min] with 1, 2 ... starts a day, (n_patterns, n_starts), 0 for none.

        Parameters
        ----------
        used : array of bool, shape (n_patterns, 7)
            From `weekdays_used`.
        spans : seven tuples of (first minute, end minute)
        """
        kinds = list(dict.fromkeys(spans))
        # Without another outlet only the kinds of hours that a pattern meets count, not on which days.
        meets = np.stack([used[:, [day == kind for day in spans]].any(axis=1) for kind in kinds], axis=1)
        met, which = np.unique(meets, axis=0, return_inverse=True)
        rows = [self._longest(frozenset(k for k, m in zip(kinds, line, strict=True) if m)) for line in met]
        return np.array(rows, dtype=np.int64)[which.reshape(-1)]

    def _longest(self, kinds: frozenset[tuple[tuple[int, int], ...]]) -> tuple[int, ...]:
        """Return the longest runs on days that have these hours."""
        if kinds not in self._known:
            spans = [*kinds, *[()] * DAYS_PER_WEEK][:DAYS_PER_WEEK]
            mask = [number < len(kinds) for number in range(DAYS_PER_WEEK)]
            clock = WeekClock(spans, capacity=0.0, one_at_a_time=True)
            none = (0,) * self._timer.starts_per_day
            self._known[kinds] = (
                clock.longest_runs(mask, timer=self._timer, flow=0.0) if kinds and all(kinds) else none
            )
        return self._known[kinds]
