"""Timetables that are set once and left: the minutes of water of each day, for each zone. Pure.

A timer with weekdays repeats them; one that waters every so many days counts from the day on which it was
set, over month and year ends, so that its run days drift over the weekdays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import zip_longest

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Weekday
from scheduler.timetable.windows import weekday

__all__ = ["FixedSetting", "fixed_minutes", "runs_on"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class FixedSetting:
    """What the outlet of one zone is set to, from a day on until the zone's next setting begins.

    Attributes
    ----------
    zone : str
    begins : date
        First day that it holds; an interval is counted from it, and runs on it.
    days : frozenset of weekdays, int or None
        Weekdays with water, or an interval in days (1 is every day), or no day at all.
    starts : int
        Runs on a run day, at least 1 unless it is off.
    minutes : int
        Length of each run [min].

    Raises
    ------
    ValueError
        If an interval is less than a day, or a number is negative.
    """

    zone: str
    begins: date
    days: frozenset[Weekday] | int | None
    starts: int
    minutes: int

    def __post_init__(self) -> None:
        """Refuse what no timer could mean."""
        if isinstance(self.days, int) and self.days < 1:
            raise ValueError(f"an interval is 1 day or more, not {self.days}")
        if self.starts < 0 or self.minutes < 0:
            raise ValueError(f"starts and minutes are not negative: {self.starts} x {self.minutes} min")

    @property
    def minutes_per_day(self) -> int:
        """Minutes of all starts of one run day."""
        return self.starts * self.minutes


def runs_on(setting: FixedSetting, day: date) -> bool:
    """Return True if the setting waters on a day from its beginning on."""
    if setting.days is None or day < setting.begins:
        return False
    if isinstance(setting.days, int):
        return (day - setting.begins).days % setting.days == 0
    return weekday(day) in setting.days


def _zone_minutes(settings: Sequence[FixedSetting], first: date, n_days: int) -> FloatArray:
    """Return the minutes of one zone's settings on each day [min], (n_days,).

    Raises
    ------
    ValueError
        If two of them begin on the same day.
    """
    minutes = np.zeros(n_days)
    ordered = sorted(settings, key=lambda setting: setting.begins)
    after = first + timedelta(days=n_days)
    for setting, following in zip_longest(ordered, ordered[1:]):
        until = after if following is None else following.begins
        if following is not None and until == setting.begins:
            raise ValueError(f'two settings of zone "{setting.zone}" begin on {until}')
        for day in range(max(0, (setting.begins - first).days), min(n_days, (until - first).days)):
            if runs_on(setting, first + timedelta(days=day)):
                minutes[day] = setting.minutes_per_day
    return minutes


def fixed_minutes(
    settings: Sequence[FixedSetting], zones: Sequence[str], *, first: date, n_days: int
) -> FloatArray:
    """Return the minutes of water of each day and zone [min], (n_days, n_zones).

    Parameters
    ----------
    settings : sequence of FixedSetting
        In any order. A zone has no water before its first setting begins, none at all without a setting.
    zones : sequence of str
        Names in the order of the answer's columns.
    first : date
    n_days : int

    Raises
    ------
    ValueError
        If a setting names no zone of `zones`, or two of a zone begin on the same day.
    """
    unknown = sorted({one.zone for one in settings} - set(zones))
    if unknown:
        raise ValueError(f"no such zone: {', '.join(unknown)}")
    by_zone = [_zone_minutes([one for one in settings if one.zone == zone], first, n_days) for zone in zones]
    return np.stack(by_zone, axis=1)
