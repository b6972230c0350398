"""A garden's days ahead under a chosen weather, for questions that look past the week of a table. Pure.

Weathers, or any other cases, stand side by side as further columns of the one kernel.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.season.days import BedDays, bed_days, depletion_limit, net_rates
from scheduler.season.growth import Growth, garden_growth
from scheduler.season.results import WeekResult
from scheduler.season.setup import Setup, dates_from, week_before
from scheduler.season.stages import Warmth
from scheduler.season.surroundings import DayWeather
from scheduler.water.balance import Conditions, SoilState, step
from scheduler.water.evaporation import SurfaceDay
from scheduler.water.need import effective_rainfall
from scheduler.weather.normals import day_index, outlook

__all__ = [
    "Ahead",
    "DayCourse",
    "ExpectedWeather",
    "course_with",
    "expected_weather",
    "full_beds",
    "growth_ahead",
    "look_ahead",
    "normal_weather",
    "side_by_side",
    "without_rain",
]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Ahead:
    """Every bed on the days ahead under one weather; arrays of shape (n_days, n_beds).

    Attributes
    ----------
    growth : Growth
    days : BedDays
        With `conditions` that hold what findings have told of the beds' use.
    limit : array
        Depletion that a bed should not pass [mm], infinite where nothing grows.
    net_rate : array
        Depth stored for each minute of an open valve [mm/min], 0 where nothing grows.
    """

    growth: Growth
    days: BedDays
    limit: FloatArray
    net_rate: FloatArray

    @property
    def conditions(self) -> Conditions:
        """What crop, soil and weather make of the days."""
        return self.days.conditions


@dataclass(frozen=True, slots=True, eq=False)
class ExpectedWeather:
    """Weather to expect: what the beds take of it, and the days' rain [mm] and origin as the planner's."""

    met: DayWeather
    rain: FloatArray
    origin: NDArray[np.str_]


def growth_ahead(setup: Setup, on: date, n_days: int) -> Growth:
    """Return what grows on the days from `on`, as it can be foreseen then."""
    warmth = Warmth(setup.daily, setup.normals, on)
    return garden_growth(setup.garden, dates_from(on, n_days), normals=setup.normals, warmth=warmth)


def expected_weather(setup: Setup, on: date, n_days: int) -> ExpectedWeather:
    """Return the weather that the planner goes by: forecast rows, else normals, and of rain what counts."""
    weather = outlook(setup.daily, setup.normals, on, n_days)
    care = setup.garden.planning
    # A forecast day rains or it does not, so small rain is dropped; a normal is a mean of both and is not.
    foretold = effective_rainfall(weather.rain, weather.reference_et) * care.forecast_rain
    counted = np.where(weather.origin == "forecast", foretold, weather.rain * care.normal_rain)
    tmax, tmin = Warmth(setup.daily, setup.normals, on).extremes(weather.dates)
    met = DayWeather(
        dates=weather.dates,
        reference_et=weather.reference_et,
        rain=counted,
        wind_2m=weather.wind_2m,
        rh_min=weather.rh_min,
        tmax=tmax,
        tmin=tmin,
        before=week_before(setup.daily, on),
    )
    return ExpectedWeather(met, weather.rain, weather.origin)


def normal_weather(setup: Setup, on: date, n_days: int) -> DayWeather:
    """Return the normals of the days from `on`, forecast or not, with the plan's share of their rain."""
    dates = dates_from(on, n_days)
    day, normals = day_index(dates), setup.normals
    return DayWeather(
        dates=dates,
        reference_et=normals.reference_et[day],
        rain=normals.rain[day] * setup.garden.planning.normal_rain,
        wind_2m=normals.wind_2m[day],
        rh_min=normals.rh_min[day],
        tmax=normals.tmax[day],
        tmin=normals.tmin[day],
        before=week_before(setup.daily, on),
    )


def look_ahead(setup: Setup, result: WeekResult, met: DayWeather, *, growth: Growth) -> Ahead:
    """Return the beds on the days from the table's first on, under the weather `met`."""
    days = bed_days(growth, met, garden=setup.garden)
    days = replace(days, conditions=days.conditions.times(result.use_factor))
    return Ahead(
        growth=growth,
        days=days,
        limit=depletion_limit(growth, days, reserve=setup.garden.planning.reserve),
        net_rate=net_rates(growth, setup.rate, setup.efficiency),
    )


def full_beds(conditions: Conditions, today: SoilState) -> SoilState:
    """Return beds that their own lines have just filled on the first of the days.

    Between the strips that drip wets the surface stays as dry as it is `today`.
    """
    nothing = np.zeros(conditions.taw.shape[1:])
    return SoilState(nothing, nothing, nothing, np.asarray(today.rest), np.asarray(conditions.taw[0]))


def without_rain(conditions: Conditions) -> Conditions:
    """Return the same days without their rain."""
    return conditions._replace(rain=np.zeros_like(conditions.rain))


def side_by_side(cases: Sequence[Conditions]) -> Conditions:
    """Return the beds of all cases as columns, those of the first case first."""

    def joined(parts: Sequence[FloatArray]) -> FloatArray:
        return np.concatenate([np.asarray(part, dtype=float) for part in parts], axis=1)

    surfaces = [case.surface for case in cases if case.surface is not None]
    surface = SurfaceDay(*map(joined, zip(*surfaces, strict=True))) if surfaces else None
    return Conditions(
        basal=joined([case.basal for case in cases]),
        rain=joined([case.rain for case in cases]),
        taw=joined([case.taw for case in cases]),
        raw=joined([case.raw for case in cases]),
        storage=joined([case.storage for case in cases]),
        surface=surface,
    )


class DayCourse(NamedTuple):
    """How beds fare day by day [mm]: driest of each day, use, what drains, and the soil at the end.

    Arrays of shape (n_days, ..., n_beds); the soil's parts (..., n_beds).
    """

    driest: FloatArray
    use: FloatArray
    drained: FloatArray
    soil: SoilState


def course_with(
    conditions: Conditions, state: SoilState, applied: FloatArray, *, late: ArrayLike | None = None
) -> DayCourse:
    """Return how beds fare when each day's water [mm] is given.

    Parameters
    ----------
    conditions : Conditions
        Of shape (n_days, n_beds).
    state : SoilState
        At the end of the day before the first.
    applied : array, shape (n_days, ..., n_beds)
        Net water of each day before its use [mm].
    late : array_like, optional
        Net water after the day's use, of the same shape [mm].
    """
    shape = np.broadcast_shapes(applied.shape[1:], conditions.taw.shape[1:])
    driest, use, drained = (np.zeros((applied.shape[0], *shape)) for _ in range(3))
    evening = None if late is None else np.asarray(late, dtype=float)
    for day in range(applied.shape[0]):
        balance = step(
            state,
            conditions.on(day),
            applied=applied[day],
            applied_late=None if evening is None else evening[day],
        )
        driest[day] = balance.driest
        use[day] = balance.evaporation + balance.transpiration
        drained[day] = balance.deep_percolation
        state = balance.state
    return DayCourse(driest, use, drained, state)
