"""What other days, hours and runs would do for beds under a watering restriction. Pure.

Other rules and another timer are planned with a replay of their own, as if they had held all along. Split
runs begin with the week: a bed that starts it past its limit is first refilled, as the week's own table tells
a person to do by hand.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from scheduler.garden.plan import Garden, Weekday
from scheduler.season.changed import (
    with_day,
    with_evening_window,
    with_every_hour,
    with_longer_runs,
    with_weekday_timer,
)
from scheduler.season.order import Fare, OrderCase, fare_of
from scheduler.season.results import WeekResult
from scheduler.season.setup import set_up
from scheduler.season.trials import Remedy, Trial, not_possible, replanned, trial_of
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.split import split_hours, split_outlook, with_evening_twins
from scheduler.timetable.week import weekly_timetable
from scheduler.timetable.windows import WEEKDAYS

__all__ = [
    "LONGER_RUNS",
    "another_day",
    "closed_days",
    "longer_runs",
    "more_hours",
    "split_fare",
    "split_runs",
    "weekday_timer",
]

#: Minutes that are tried on top of the timer's longest run.
LONGER_RUNS = (15, 30, 60, 120)


def closed_days(case: OrderCase) -> tuple[Weekday, ...]:
    """Return the weekdays that some restriction of the day leaves out."""
    return tuple(day for day in WEEKDAYS if any(day not in order.days for order in case.day.orders))


def another_day(case: OrderCase) -> tuple[Trial, ...]:
    """Return what a weekday more on which watering is allowed does for each failing bed."""
    garden = case.setup.garden
    fares = {day: replanned(case, with_day(garden, case.orders, day))[1] for day in closed_days(case)}
    return tuple(_best_days(case, bed, fares) for bed in case.beds)


def _best_days(case: OrderCase, bed: int, fares: Mapping[Weekday, Fare]) -> Trial:
    """Return the weekdays any of which cures a bed, else the one that helps most."""
    found = {day: trial_of(case, bed, "another day", fare, days=(day,)) for day, fare in fares.items()}
    best = max(found.values(), key=lambda one: one.worth)
    if best.verdict not in ("cures", "helps"):
        return replace(best, days=())
    cures = tuple(day for day, trial in found.items() if trial.verdict == "cures")
    return replace(found[cures[0]] if cures else best, days=cures or best.days)


def more_hours(case: OrderCase) -> tuple[Trial, ...]:
    """Return what every hour of the allowed days does for each failing bed.

    Both the hours of the restriction and the plan's own windows are opened.
    """
    _, fare = replanned(case, with_every_hour(case.setup.garden, case.orders))
    ordered = any(order.begin is not None for order in case.orders)
    whose = "the order's and your own" if ordered else "your own windows"
    return tuple(trial_of(case, bed, "more hours", fare, reason=whose) for bed in case.beds)


def longer_runs(case: OrderCase) -> tuple[Trial, ...]:
    """Return what longer runs of the timer do for each failing bed: the least step that cures, else the most.

    The longest goes first: lesser ones are tried only for the sake of beds that it cures.
    """
    fares = {LONGER_RUNS[-1]: replanned(case, with_longer_runs(case.setup.garden, LONGER_RUNS[-1]))[1]}
    found = {bed: _longer(case, bed, fares) for bed in case.beds}
    for more in LONGER_RUNS[:-1]:
        if not any(f.verdict == "cures" and f.amount == LONGER_RUNS[-1] for f in found.values()):
            break
        fares = {more: replanned(case, with_longer_runs(case.setup.garden, more))[1], **fares}
        found = {bed: _longer(case, bed, fares) for bed in case.beds}
    return tuple(found.values())


def weekday_timer(case: OrderCase) -> tuple[Trial, ...]:
    """Return what a timer that lets a person choose weekdays does for each failing bed."""
    _, fare = replanned(case, with_weekday_timer(case.setup.garden))
    return tuple(trial_of(case, bed, "weekday timer", fare) for bed in case.beds)


def _longer(case: OrderCase, bed: int, fares: Mapping[int, Fare]) -> Trial:
    """Return the least of the steps tried that cures a bed, else the most."""
    found = [trial_of(case, bed, "longer runs", fares[more], amount=float(more)) for more in sorted(fares)]
    return next((trial for trial in found if trial.verdict == "cures"), found[-1])


def split_fare(case: OrderCase, garden: Garden, result: WeekResult, *, bed: int) -> Fare | None:
    """Return how beds fare if every run comes half in the morning, half in the evening; None without room.

    `result` is the week of `garden`, whose bed is first refilled if it starts past its limit.
    """
    setup = set_up(garden, case.setup.daily, case.setup.notes)
    hours = split_hours(case.day.on, setup.limits)
    if hours is None:
        return None
    outlook = _refilled(result, bed)
    plan = weekly_timetable(case.day.on, split_outlook(outlook), zones=setup.zones, limits=hours.limits)
    whole = with_evening_twins(plan, hours.shift)
    return fare_of(setup, whole, replace(outlook, evening=0.5), limit=result.limit)


def _starts_past(result: WeekResult, bed: int) -> bool:
    """Return True if a bed starts its week past its limit."""
    return bool(result.outlook.depletion[bed] > result.limit[0, bed])


def _refilled(result: WeekResult, bed: int) -> BedOutlook:
    """Return the week's outlook with the root zone of a bed refilled if it starts past its limit."""
    seen = result.outlook
    if not _starts_past(result, bed):
        return seen
    depletion, limit = np.array(seen.state.depletion, dtype=float), seen.limit.copy()
    depletion[bed], limit[:, bed] = 0.0, result.limit[:, bed]
    return replace(seen, state=seen.state._replace(depletion=depletion), limit=limit)


def split_runs(
    case: OrderCase, bed: int, garden: Garden, result: WeekResult, *, remedy: Remedy = "split runs"
) -> Trial:
    """Return what split runs do for one bed, with an evening window added where the plan has none."""
    told = ["refilled first"] if _starts_past(result, bed) else []
    fare = split_fare(case, garden, result, bed=bed)
    if fare is None:
        fare = split_fare(case, with_evening_window(garden), result, bed=bed)
        told.append("evening window")
    if fare is not None:
        return trial_of(case, bed, remedy, fare, reason=", ".join(told))
    if garden.timer.starts_per_day < 2:
        return not_possible(bed, remedy, "the timer holds one start a day")
    return not_possible(bed, remedy, "no allowed day has hours in the morning and in the evening")
