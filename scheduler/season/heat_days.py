"""Days with a forecast of heat: the beds under it and in usual weather, and what an answer holds. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.season.ahead import (
    Ahead,
    course_with,
    expected_weather,
    growth_ahead,
    look_ahead,
    normal_weather,
)
from scheduler.season.days import catch_up_limit
from scheduler.season.results import WeekResult
from scheduler.season.setup import Setup
from scheduler.timetable.week import ZoneSetting
from scheduler.water.balance import SoilState, follow_roots

__all__ = ["DAYS_SEEN", "Heat", "HeatAhead", "Temporary", "beyond_usual", "driest_past_limit", "heat_ahead"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

#: Days that are looked at: two weeks of forecast, a week of temporary setting, a week until it is put back.
DAYS_SEEN = 28

#: Forecast days that are used at most.
LONGEST_FORECAST = 14


@dataclass(frozen=True, slots=True, eq=False)
class HeatAhead:
    """The beds under the forecast and in usual weather; `usual_et` is the normal of each day [mm]."""

    forecast: Ahead
    usual: Ahead
    foretold: BoolArray
    reference_et: FloatArray
    usual_et: FloatArray
    tmax: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Temporary:
    """A setting for a spell; days are counted from the day of asking.

    Attributes
    ----------
    first, last : int
        First day of the setting, and the last one on which it stands.
    settings : tuple of ZoneSetting
        Masks count from `first`.
    changed : tuple of bool
        Zones whose setting differs from the standing one.
    litres_more : array, shape (n_zones,)
        Water beyond the standing setting's in those days [L].
    heat_excess : array, shape (n_beds,)
        What is left of each bed's depletion past its limit beyond the usual [mm d].
    goes_on : bool
        True if the spell lasts past `last`.
    """

    first: int
    last: int
    settings: tuple[ZoneSetting, ...]
    changed: tuple[bool, ...]
    litres_more: FloatArray
    heat_excess: FloatArray
    goes_on: bool


@dataclass(frozen=True, slots=True, eq=False)
class Heat:
    """What the forecast does to beds under a standing setting.

    With a spell but no temporary setting, no setting of the timer would help.

    Attributes
    ----------
    ahead : HeatAhead
    standing : tuple of ZoneSetting
    hot : array of bool, shape (n_days,)
    heat_excess : array, shape (n_days, n_beds)
        Depletion past the limit beyond that of usual weather [mm]; 0 on days without a forecast.
    failing : array of bool, shape (n_beds,)
    spell : (int, int) or None
        First and last day of the hot spell that makes beds fail.
    temporary : Temporary or None
    """

    ahead: HeatAhead
    standing: tuple[ZoneSetting, ...]
    hot: BoolArray
    heat_excess: FloatArray
    failing: BoolArray
    spell: tuple[int, int] | None
    temporary: Temporary | None


def heat_ahead(setup: Setup, result: WeekResult) -> HeatAhead:
    """Return the days from the table's first on under forecast and normals."""
    on = result.on
    growth = growth_ahead(setup, on, DAYS_SEEN)
    expected, usual = expected_weather(setup, on, DAYS_SEEN), normal_weather(setup, on, DAYS_SEEN)
    foretold = expected.origin == "forecast"
    foretold[LONGEST_FORECAST:] = False
    return HeatAhead(
        forecast=look_ahead(setup, result, expected.met, growth=growth),
        usual=look_ahead(setup, result, usual, growth=growth),
        foretold=foretold,
        reference_et=expected.met.reference_et,
        usual_et=usual.reference_et,
        tmax=expected.met.tmax,
    )


def driest_past_limit(ahead: Ahead, state: SoilState, water: FloatArray, *, evening: bool) -> FloatArray:
    """Return the depletion past the limit of every day and bed [mm]; a bed past it today is brought back."""
    nothing = np.zeros_like(water)
    early, late = (nothing, water) if evening else (water, nothing)
    driest = course_with(ahead.conditions, state, early, late=late).driest
    first = ahead.conditions.on(0)
    depletion, _ = follow_roots(state, first.taw, storage=first.storage)
    limit = catch_up_limit(ahead.growth, ahead.limit, depletion=depletion)
    return np.maximum(driest - limit, 0.0)


def beyond_usual(over: FloatArray, usual: FloatArray, foretold: BoolArray) -> FloatArray:
    """Return the depletion past the limit beyond that of usual weather, on forecast days [mm]."""
    return np.maximum(over - usual, 0.0) * foretold[:, None]
