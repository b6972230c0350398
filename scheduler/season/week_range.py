"""What each bed would need in the week of a table if inputs lay off, and its plausible range. Pure.

The soil is taken as known when it was last stated, dug or measured, but no longer ago than `MEMORY_DAYS`.
From there on the minutes that ran are lived through under every case, then the minutes that the bed needs by
the table. A case that ends drier than the table means to leave the bed needed so much more; one that ends
wetter, or let water drain that the table gave it, so much less.

The weather ahead is taken as reckoned: what may come instead is no error of an input.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Garden
from scheduler.season.results import SeasonResult, WeekResult
from scheduler.season.uncertainty import PlausibleRange, first_order, input_uncertainty
from scheduler.season.varied import Multipliers, multipliers_of, varied_day, varied_soil
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.water.balance import Conditions, DayBalance, SoilState, follow_roots, step

__all__ = ["MEMORY_DAYS", "first_morning", "run_days", "week_range", "weekly_minutes"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: How long an error of the reckoning adds up before somebody looks at the soil [days]. Judgement, no source.
MEMORY_DAYS = 14


def run_days(garden: Garden, result: WeekResult) -> FloatArray:
    """Return 1 on days of the week on which a bed gets water by the table, else 0, (7, n_beds)."""
    masks = {setting.zone: setting.mask if setting.begins else () for setting in result.plan.settings}
    days = np.zeros((DAYS_PER_WEEK, len(garden.beds)))
    for number, bed in enumerate(garden.beds):
        mask = masks[bed.zone]
        days[: len(mask), number] = mask
    return days * result.growth.in_use[:DAYS_PER_WEEK]


def week_range(garden: Garden, result: WeekResult) -> PlausibleRange:
    """Return the plausible range of the minutes that each bed needs in the week of the table."""

    def answer(cases: FloatArray) -> FloatArray:
        return weekly_minutes(garden, result, cases)

    return first_order(answer, input_uncertainty(garden))


def weekly_minutes(garden: Garden, result: WeekResult, cases: FloatArray) -> FloatArray:
    """Return the minutes that each bed would need in the week under every case, (n_cases, n_beds).

    Parameters
    ----------
    garden : Garden
    result : WeekResult
    cases : array, shape (n_cases, n_beds, n_inputs)
        Factors on the inputs in the order of `INPUTS`; n_beds may be 1.

    Returns
    -------
    array
        With all factors 1 the minutes of the table itself. Below 0 for a bed that needs none and would have
        room to spare. A bed in which nothing grows that week needs 0.
    """
    seen, reckoned = result.outlook, np.ones((1, *cases.shape[1:]))
    factors = multipliers_of(np.concatenate([reckoned, cases]))
    used = seen.in_use[:DAYS_PER_WEEK]
    grows = used.any(axis=0)
    minutes = run_days(garden, result) * result.plan.bed_minutes
    last = DAYS_PER_WEEK - 1 - np.argmax(used[::-1], axis=0)
    beds = np.arange(seen.n_beds)
    end, drained = _ends(result, minutes, last, factors)
    # As dry as the table leaves it, as a share of what it holds; a bed left alone may dry down to its limit.
    limit = np.where(grows & ~minutes.any(axis=0), seen.limit[last, beds], 0.0)
    target = np.maximum(end[0], limit) * factors.available_water
    more = end - target - (drained - drained[0])
    rate = np.where(grows, seen.net_rate[last, beds], 1.0) * factors.net_rate
    return np.where(grows, minutes.sum(axis=0) + more / rate, 0.0)[1:]


def _ends(
    result: WeekResult, minutes: FloatArray, last: IntArray, factors: Multipliers
) -> tuple[FloatArray, FloatArray]:
    """Return depletion on the last day of use in the week, and what of the table's water drained till then.

    Both in mm, (n_cases, n_beds); `minutes` of the week, (7, n_beds).
    """
    seen = result.outlook
    state = first_morning(result, factors)
    depletion = drained = np.zeros(state.depletion.shape)
    for day in range(DAYS_PER_WEEK):
        today = varied_day(seen.conditions.on(day), factors)
        water = minutes[day] * seen.net_rate[day] * factors.net_rate
        before, _ = follow_roots(state, today.taw, storage=today.storage)
        balance = _lived(state, today, water, evening=seen.evening)
        lost = balance.state.depletion - before + today.rain + water
        surplus = np.clip(lost - balance.evaporation - balance.transpiration, 0.0, water)
        state = balance.state
        depletion = np.where(day == last, state.depletion, depletion)
        drained = drained + np.where(day <= last, surplus, 0.0)
    return depletion, drained


def first_morning(result: WeekResult, factors: Multipliers) -> SoilState:
    """Return the soil on the first morning of the table under every case, each part (n_cases, n_beds)."""
    known = varied_soil(result.outlook.state, factors)
    before = result.before
    if before is None:
        return known
    n_days = before.dates.shape[0]
    begin = max(0, n_days - MEMORY_DAYS)
    state = varied_soil(_soil_of(before, begin), factors)
    for day in range(begin, n_days):
        state = _put_right(state, varied_soil(_soil_of(before, day), factors), before.put_right[day])
        today = varied_day(before.conditions.on(day), factors, gauged=bool(before.gauged[day]))
        water = before.minutes[day] * before.net_rate[day] * factors.net_rate
        state = _lived(state, today, water, evening=bool(before.evening[day])).state
    return _put_right(state, known, result.put_right)


def _soil_of(result: SeasonResult, day: int) -> SoilState:
    """Return the soil that a day started from, each part of shape (n_beds,)."""
    return SoilState(*(part[day] for part in result.mornings))


def _put_right(state: SoilState, known: SoilState, where: NDArray[np.bool_]) -> SoilState:
    """Return the soil with the beds put right that were looked at."""
    return SoilState(*(np.where(where, a, b) for a, b in zip(known, state, strict=True)))


def _lived(state: SoilState, day: Conditions, water: FloatArray, *, evening: float) -> DayBalance:
    """Return the beds after one day with the water of the timer before or after its use."""
    late = water * evening if evening else None
    return step(state, day, applied=water * (1.0 - evening), applied_late=late)
