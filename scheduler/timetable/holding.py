"""Whether a timer could hold a fixed timetable at all, and what stands against it. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Timer
from scheduler.timetable.choices import ZoneBeds
from scheduler.timetable.fixed import FixedSetting, runs_on
from scheduler.timetable.limits import Limits, hours_ahead
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.placing import WeekClock

__all__ = ["cannot_hold", "days_beyond_timer", "runs_beyond_timer"]


def cannot_hold(
    settings: Sequence[FixedSetting],
    zones: Sequence[ZoneBeds],
    *,
    limits: Limits,
    first: date,
    in_use: NDArray[np.bool_],
) -> tuple[str, ...]:
    """Return in words what of one fixed setting a zone the timer, the hours or the restrictions do not allow.

    What is said of all zones alike is said once.

    Parameters
    ----------
    settings : sequence of FixedSetting
        One a zone, in the order of `zones`.
    zones : sequence of ZoneBeds
    limits : Limits
    first : date
        First day of the season.
    in_use : array of bool, shape (n_days, n_beds)
        Where something grows.
    """
    by_text: dict[str, list[str]] = {}
    for setting in settings:
        for text in _against_timer(setting, limits.timer):
            by_text.setdefault(text, []).append(setting.zone)
    for zone, text in _against_hours(settings, zones, limits, first=first, in_use=in_use):
        by_text.setdefault(text, []).append(zone)
    return tuple(
        text if len(names) == len(zones) else f"{text} (zone {', '.join(names)})"
        for text, names in by_text.items()
    )


def _against_timer(setting: FixedSetting, timer: Timer) -> list[str]:
    """Return what of a setting lies beyond the timer itself."""
    if setting.days is None or setting.minutes_per_day == 0:
        return []
    return days_beyond_timer(setting, timer) + runs_beyond_timer(setting, timer)


def days_beyond_timer(setting: FixedSetting, timer: Timer) -> list[str]:
    """Return in words what of a setting's run days the timer cannot hold."""
    if setting.days is None:
        return []
    faults = []
    interval = _as_interval(setting.days)
    by_interval = interval is not None and "every n days" in timer.day_choices
    by_weekdays = not isinstance(setting.days, int) or setting.days in (1, DAYS_PER_WEEK)
    if not (by_weekdays and "weekdays" in timer.day_choices):
        if not by_interval:
            known = "weekdays" if by_weekdays else "intervals of days"
            faults.append(f"the timer cannot be set by {known}")
        elif interval is not None and interval > timer.longest_interval:
            faults.append(f"runs every {interval} days, and the timer counts to {timer.longest_interval}")
    return faults


def runs_beyond_timer(setting: FixedSetting, timer: Timer) -> list[str]:
    """Return in words what of the runs of a setting's days the timer cannot hold."""
    faults = []
    if setting.starts > timer.starts_per_day:
        faults.append(f"{setting.starts} runs a day, and the timer has {timer.starts_per_day} starts")
    if setting.minutes > timer.longest_run:
        faults.append(f"runs of {setting.minutes} min, and the timer's longest is {timer.longest_run} min")
    if setting.minutes < timer.shortest_run:
        faults.append(f"runs of {setting.minutes} min, and the timer's shortest is {timer.shortest_run} min")
    if setting.minutes % timer.step:
        faults.append(f"runs of {setting.minutes} min, and the timer goes in steps of {timer.step} min")
    return faults


def _as_interval(days: frozenset[str] | int) -> int | None:
    """Return the interval that gives the same days, None if none does."""
    if isinstance(days, int):
        return days
    return {1: DAYS_PER_WEEK, DAYS_PER_WEEK: 1}.get(len(days))


def _against_hours(
    settings: Sequence[FixedSetting],
    zones: Sequence[ZoneBeds],
    limits: Limits,
    *,
    first: date,
    in_use: NDArray[np.bool_],
) -> list[tuple[str, str]]:
    """Return (zone, text) where runs fall on days without water, or find no room beside the others."""
    forbidden: dict[str, list[date]] = {setting.zone: [] for setting in settings}
    crowded: dict[str, list[date]] = {setting.zone: [] for setting in settings}
    longest_first = sorted(zip(settings, zones, strict=True), key=lambda pair: -pair[0].minutes_per_day)
    for begin in range(0, in_use.shape[0], DAYS_PER_WEEK):
        week = in_use[begin : begin + DAYS_PER_WEEK]
        days = [first + timedelta(days=begin + day) for day in range(week.shape[0])]
        spans = hours_ahead(days[0], limits, n_days=DAYS_PER_WEEK).spans
        clock = limits.clock(spans)
        for setting, beds in longest_first:
            flow = week[:, beds.index] @ beds.flow
            wet = _run_days(setting, days, flow)
            forbidden[setting.zone] += [days[day] for day in wet if not spans[day]]
            mask = [day in wet and bool(spans[day]) for day in range(DAYS_PER_WEEK)]
            if not _take_room(clock, setting, mask, flow=float(flow.max())):
                crowded[setting.zone].append(days[0])
    return [
        *((zone, _days_text(days)) for zone, days in forbidden.items() if days),
        *((zone, _weeks_text(weeks)) for zone, weeks in crowded.items() if weeks),
    ]


def _run_days(setting: FixedSetting, days: Sequence[date], flow: NDArray[np.float64]) -> list[int]:
    """Return the numbers of the days on which a setting waters some bed."""
    if setting.minutes_per_day == 0:
        return []
    return [number for number, day in enumerate(days) if flow[number] > 0.0 and runs_on(setting, day)]


def _take_room(clock: WeekClock, setting: FixedSetting, mask: Sequence[bool], *, flow: float) -> bool:
    """Return True if the runs of a week find room on the clock, which is then taken."""
    begins = clock.place(mask, starts=setting.starts, minutes=setting.minutes, flow=flow)
    if begins is None:
        return False
    clock.take(mask, begins, minutes=setting.minutes, flow=flow)
    return True


def _days_text(days: Sequence[date]) -> str:
    """Return that run days fall where water may not run."""
    which = "1 run day falls" if len(days) == 1 else f"{len(days)} run days fall"
    return f"{which} on days without watering hours, the first on {days[0]}"


def _weeks_text(weeks: Sequence[date]) -> str:
    """Return that runs find no room."""
    which = "1 week" if len(weeks) == 1 else f"{len(weeks)} weeks"
    return f"its runs find no room in the watering hours in {which}, the first from {weeks[0]}"
