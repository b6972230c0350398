"""Why a setting that stays on the timer has no room in a week: days, hours, or what the others take. Pure."""

from __future__ import annotations

from datetime import date, timedelta

from scheduler.season.setup import Setup
from scheduler.season.standing import empty_clock, placed
from scheduler.timetable.limits import Limits, hours_ahead
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.week import ZoneSetting
from scheduler.timetable.windows import allowed_spans, weekday

__all__ = ["why_no_room"]


def why_no_room(setup: Setup, setting: ZoneSetting, *, starts: int, on: date) -> str:
    """Return in words why a setting finds no room in the week from a day on.

    Parameters
    ----------
    setup : Setup
    setting : ZoneSetting
        One that was not placed.
    starts : int
        Runs a day that were asked for; 0 for as few as the timer holds.
    on : date
        First day of its mask.
    """
    limits = setup.limits
    spans = hours_ahead(on, limits).spans[:DAYS_PER_WEEK]
    days = [on + timedelta(days=n) for n in range(DAYS_PER_WEEK) if setting.mask[n]]
    shut = [day for day in days if not spans[(day - on).days]]
    if shut:
        by_reason: dict[str, list[str]] = {}
        for day in shut:
            by_reason.setdefault(_why_shut(day, limits), []).append(weekday(day))
        return "; ".join(f"no run is allowed on {' '.join(names)}: {why}" for why, names in by_reason.items())
    if placed(setting, empty_clock(limits, on), setup.garden.timer, starts=starts) is None:
        hours = _orders_with_hours(days, limits)
        cut = f", as {' and '.join(hours)} leaves them" if hours else ""
        return f"{setting.minutes_per_day} min a day do not fit into the watering hours of its days{cut}"
    return "it finds no room in the watering hours beside the others; give the setting of every zone"


def _in_force(day: date, limits: Limits) -> list[tuple[str, bool]]:
    """Return the restrictions that bind a day: a name for each, and whether it leaves the day out."""
    return [
        (
            f'the restriction "{rule.reason}"' if rule.reason else "a restriction",
            weekday(day) not in rule.days,
        )
        for rule in limits.restrictions
        if rule.exempt != "yes" and rule.begins <= day <= rule.ends
    ]


def _why_shut(day: date, limits: Limits) -> str:
    """Return what leaves a day without hours for a run."""
    closed = [name for name, leaves_out in _in_force(day, limits) if leaves_out]
    if closed:
        return f"{' and '.join(closed)} leaves them out"
    if not allowed_spans(day, limits.windows, ()):
        return "your watering windows leave them out"
    if not allowed_spans(day, limits.windows, limits.restrictions):
        names = " and ".join(name for name, _ in _in_force(day, limits))
        return f"the hours of {names} and your watering windows have none in common"
    return "their watering hours are shorter than the timer's shortest run"


def _orders_with_hours(days: list[date], limits: Limits) -> list[str]:
    """Return the restrictions that cut hours on some of the days."""
    return [
        f'the restriction "{rule.reason}"' if rule.reason else "a restriction"
        for rule in limits.restrictions
        if rule.exempt != "yes"
        and rule.begin is not None
        and any(rule.begins <= d <= rule.ends for d in days)
    ]
