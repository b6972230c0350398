"""What visits do for beds whose timer has died: minutes by hand for each bed, and the best day. Pure.

Water of a visit comes in the morning. Minutes are whole and as few as leave a bed least short until the next
visit or the return. That each visit looks no further than the next is no loss: a bed can then be filled
whatever the visit before left in it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.season.ahead import Ahead, course_with
from scheduler.water.balance import SoilState
from scheduler.water.rootzone import water_stress_coefficient

__all__ = ["Visits", "best_visit", "every_single_visit", "no_visit", "visits_on"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

#: Shortages closer than this are the same [mm d].
SAME_SHORTAGE = 1e-6

#: Depletions past the limit by less are rounding [mm].
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Visits:
    """What choices of visit days, one a row, do until the return; a "day" is counted from 0.

    Attributes
    ----------
    days : array of int, shape (n_choices, n_visits)
        Rising along each row.
    minutes : array of int, shape (n_choices, n_visits, n_beds)
        Minutes that a bed's valve is opened by hand.
    short : array of bool, shape (n_days, n_choices, n_beds)
        True where a bed ends a day past its readily available water.
    shortage : array, shape (n_choices, n_beds)
        Depletion past readily available water, summed over the days [mm d].
    least_stress : array, shape (n_choices, n_beds)
        Lowest Ks that a day ends with.
    """

    days: IntArray
    minutes: IntArray
    short: BoolArray
    shortage: FloatArray
    least_stress: FloatArray

    @property
    def bed_days(self) -> IntArray:
        """Beds short of water, summed over the days, (n_choices,)."""
        return np.asarray(self.short.sum(axis=(0, 2)), dtype=np.int64)


def _water(ahead: Ahead, days: IntArray, minutes: IntArray, *, n_days: int) -> FloatArray:
    """Return the net water of every day, choice and bed [mm]."""
    n_choices, n_visits, n_beds = minutes.shape
    water = np.zeros((n_days, n_choices, n_beds))
    choice = np.arange(n_choices)
    for number in range(n_visits):
        day = days[:, number]
        water[day, choice] += minutes[:, number] * ahead.net_rate[day]
    return water


def _shortage_by_day(ahead: Ahead, state: SoilState, water: FloatArray) -> FloatArray:
    """Return the depletion past readily available water of every day, choice and bed [mm]."""
    n_days = water.shape[0]
    driest = course_with(ahead.conditions, state, water).driest
    over = driest - ahead.conditions.raw[:n_days, None, :]
    return np.where(ahead.growth.in_use[:n_days, None, :], np.maximum(over, 0.0), 0.0)


def _filling(ahead: Ahead, days: IntArray) -> IntArray:
    """Return minutes that fill a bed on each of the days, however dry it is, (n_choices, n_beds)."""
    rate = ahead.net_rate[days]
    held = ahead.conditions.storage[days]
    return np.ceil(np.divide(held, rate, out=np.zeros_like(rate), where=rate > 0.0)).astype(np.int64)


def visits_on(ahead: Ahead, state: SoilState, days: IntArray, *, n_days: int) -> Visits:
    """Return what each choice of visit days does for the beds in an absence of `n_days`.

    Parameters
    ----------
    ahead : Ahead
        At least `n_days` days.
    state : SoilState
        At the end of the day before the first.
    days : array of int, shape (n_choices, n_visits)
        Rising along each row, from 0 to n_days - 1.
    n_days : int
    """
    n_choices, n_visits = days.shape
    minutes = np.zeros((n_choices, n_visits, ahead.net_rate.shape[1]), dtype=np.int64)
    ends = np.concatenate([days[:, 1:], np.full((n_choices, 1), n_days)], axis=1)
    day = np.arange(n_days)[:, None]
    for number in range(n_visits):
        counted = (day >= days[:, number]) & (day < ends[:, number])

        def shortage(trial: IntArray, number: int = number, counted: BoolArray = counted) -> FloatArray:
            tried = minutes.copy()
            tried[:, number] = trial
            water = _water(ahead, days, tried, n_days=n_days)
            return (_shortage_by_day(ahead, state, water) * counted[:, :, None]).sum(axis=0)

        high = _filling(ahead, days[:, number])
        low = np.zeros_like(high)
        goal = shortage(high) + SAME_SHORTAGE
        while np.any(low < high):
            middle = (low + high) // 2
            enough = shortage(middle) <= goal
            high, low = np.where(enough, middle, high), np.where(enough, low, middle + 1)
            low = np.minimum(low, high)
        minutes[:, number] = high
    return _fared(ahead, state, days, minutes, n_days=n_days)


def _fared(ahead: Ahead, state: SoilState, days: IntArray, minutes: IntArray, *, n_days: int) -> Visits:
    """Return how the beds fare with the minutes given."""
    course = course_with(ahead.conditions, state, _water(ahead, days, minutes, n_days=n_days))
    raw, taw = (part[:n_days, None, :] for part in (ahead.conditions.raw, ahead.conditions.taw))
    in_use = ahead.growth.in_use[:n_days, None, :]
    over = np.where(in_use, course.driest - raw, 0.0)
    stress = np.where(in_use, water_stress_coefficient(course.driest, taw, raw=raw), 1.0)
    return Visits(
        days, minutes, over > ROUNDING, np.maximum(over, 0.0).sum(axis=0), np.asarray(stress.min(axis=0))
    )


def no_visit(ahead: Ahead, state: SoilState, *, n_days: int) -> Visits:
    """Return how the beds fare with nobody there, as the only choice."""
    days = np.zeros((1, 0), dtype=np.int64)
    return visits_on(ahead, state, days, n_days=n_days)


def every_single_visit(ahead: Ahead, state: SoilState, *, n_days: int) -> Visits:
    """Return what one visit does, a choice for every day of the absence."""
    return visits_on(ahead, state, np.arange(n_days, dtype=np.int64)[:, None], n_days=n_days)


def best_visit(visits: Visits, flow: FloatArray) -> int:
    """Return the choice that leaves the beds least short, in mm d over all of them.

    Of those the one with the least water, by the beds' flows [L/h]; then the earliest.
    """
    water = visits.minutes.sum(axis=1) @ flow
    shortage = np.round(visits.shortage.sum(axis=1), 3)
    return int(np.lexsort((np.arange(water.size), np.round(water, 6), shortage))[0])
