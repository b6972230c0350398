"""What a week's setting must keep to, and how far ahead it must look. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from scheduler.garden.plan import Restriction, Timer, WateringWindow
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.placing import WeekClock
from scheduler.timetable.windows import ClockChange, WateringHours, watering_hours

__all__ = ["LONGEST_OUTLOOK", "Limits", "days_ahead", "hours_ahead"]

#: The planner looks to the next day that allows a run after the week, at most this many days in all.
LONGEST_OUTLOOK = 14


@dataclass(frozen=True, slots=True)
class Limits:
    """What the timer, the hours and the tap allow; flow in L/h.

    `clock_changes` are those of the days that are planned for.
    """

    timer: Timer
    windows: tuple[WateringWindow, ...]
    restrictions: tuple[Restriction, ...]
    usable_flow: float
    clock_changes: tuple[ClockChange, ...] = ()

    def clock(self, spans: Sequence[Sequence[tuple[int, int]]]) -> WeekClock:
        """Return the clock of a week with these hours (seven days of spans), nothing on it."""
        return WeekClock(spans, capacity=self.usable_flow, one_at_a_time=self.timer.one_zone_at_a_time)


def days_ahead(first: date, limits: Limits) -> int:
    """Return how many days the planner must see: the week, and on to the next day that allows a run."""
    hours = hours_ahead(first, limits)
    after = (day for day in range(DAYS_PER_WEEK, LONGEST_OUTLOOK) if hours.spans[day])
    # An evening run comes after the use of its own day, which must then be seen through as well.
    return min(next(after, LONGEST_OUTLOOK) + hours.evening, LONGEST_OUTLOOK)


def hours_ahead(first: date, limits: Limits, *, n_days: int = LONGEST_OUTLOOK) -> WateringHours:
    """Return the watering hours of some days from `first` on, usually those of the longest outlook."""
    return watering_hours(
        first,
        n_days,
        shortest=limits.timer.shortest_run,
        windows=limits.windows,
        restrictions=limits.restrictions,
        clock_changes=limits.clock_changes,
    )
