"""What the outlets of a timer are set to for stretches of weeks, and how a replay takes it. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from scheduler.garden.plan import Weekday
from scheduler.timetable.fixed import FixedSetting
from scheduler.timetable.lasting import LastingPattern
from scheduler.timetable.windows import WEEKDAYS

__all__ = ["FewSettings", "OutletSetting", "Stretch", "fixed_settings"]


@dataclass(frozen=True, slots=True)
class OutletSetting:
    """What one outlet is set to for a stretch.

    Attributes
    ----------
    zone : str
    outlet : int
    pattern : LastingPattern or None
        None if it is off.
    begins : tuple of int
        Start times [min after midnight].
    minutes : int
        Length of each run.
    over : float
        Water beyond need in the stretch, mean over the years [L].
    short : float
        What weeks lack beyond the share, as `OutletNeed.short` has it; 0 where the share is kept.
    dry : float
        What runs lie too far apart, as `OutletNeed.dry` has it.
    hasty : float
        Water of runs beyond what the soil takes at once [L].
    lasts : int
        Most days between two runs that its beds last in the thirstiest week of the stretch.
    too_long_for : tuple of int
        Beds, by their place in the plan, whose soil takes no run as long as this at once.
    """

    zone: str
    outlet: int
    pattern: LastingPattern | None
    begins: tuple[int, ...]
    minutes: int
    over: float
    short: float
    dry: float
    hasty: float
    lasts: int
    too_long_for: tuple[int, ...]

    @property
    def minutes_a_day(self) -> float:
        """Mean minutes of water a day."""
        return 0.0 if self.pattern is None else self.pattern.rate * len(self.begins) * self.minutes


@dataclass(frozen=True, slots=True)
class Stretch:
    """The weeks `first`..`after` (the latter left out) under one setting of the timer, set on `begins`."""

    first: int
    after: int
    begins: date
    settings: tuple[OutletSetting, ...]

    @property
    def over(self) -> float:
        """Water beyond need, mean over the years [L]."""
        return sum(setting.over for setting in self.settings)


@dataclass(frozen=True, slots=True)
class FewSettings:
    """The settings of a season with at most so many changes, the first setting being one of them."""

    changes: int
    stretches: tuple[Stretch, ...]

    @property
    def over(self) -> float:
        """Water beyond need of a season, mean over the years [L]."""
        return sum(stretch.over for stretch in self.stretches)


def fixed_settings(few: FewSettings) -> tuple[FixedSetting, ...]:
    """Return settings as a replay takes them; an interval that begins later is off until its first run."""
    fixed = []
    for stretch in few.stretches:
        for setting in stretch.settings:
            pattern = setting.pattern
            days: frozenset[Weekday] | int | None = None
            begins = stretch.begins
            if pattern is not None and pattern.weekdays is not None:
                days = frozenset(name for name, runs in zip(WEEKDAYS, pattern.weekdays, strict=True) if runs)
            elif pattern is not None:
                days = pattern.interval
                if pattern.offset:
                    fixed.append(FixedSetting(setting.zone, begins, None, 0, 0))
                    begins += timedelta(days=pattern.offset)
            fixed.append(FixedSetting(setting.zone, begins, days, len(setting.begins), setting.minutes))
    return tuple(fixed)
