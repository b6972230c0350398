"""Many seasons of one garden lived through at once: their beds are columns of one pass over the days. Pure.

Every season has the same days of the calendar; one with a 29 February loses its last day. Nothing is recorded
in any of them: soil is as the plan states it and as the balance makes it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.season.days import bed_days, depletion_limit, net_rates
from scheduler.season.field import FieldArrays, FieldNotes, field_arrays
from scheduler.season.fixed_run import OpenSeason
from scheduler.season.growth import garden_growth, slice_growth
from scheduler.season.other_year import in_year
from scheduler.season.run import season_span
from scheduler.season.setup import Setup, dates_from
from scheduler.season.soil import Lived, StatedSoil, full_soil, morning, resized_beds, stated_soil
from scheduler.season.span import Span, open_span
from scheduler.season.stages import Warmth
from scheduler.season.surroundings import DayWeather
from scheduler.timetable.limits import LONGEST_OUTLOOK, hours_ahead
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.water.balance import Conditions, DayBalance, step
from scheduler.water.evaporation import SurfaceDay
from scheduler.weather.normals import day_index

__all__ = [
    "DaysLived",
    "SideBySide",
    "live_under",
    "seasons_of",
    "side_by_side",
    "usual_season",
    "well_watered_use",
]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class SideBySide:
    """Seasons joined; arrays of shape (n_days, n_seasons * n_beds), the beds of a season together.

    `limit` is the depletion that a bed should not pass [mm], `net_rate` the depth stored for each minute of
    an open valve [mm/min], `evening` true where the timer's water comes after the day's use.
    """

    n_seasons: int
    conditions: Conditions
    stated: StatedSoil
    limit: FloatArray
    tew: FloatArray
    resized: BoolArray
    net_rate: FloatArray
    in_use: BoolArray
    evening: BoolArray

    def by_season(self, values: NDArray[Any]) -> NDArray[Any]:
        """Return values by season and bed, (n_days, n_seasons, n_beds)."""
        return values.reshape(values.shape[0], self.n_seasons, -1)


class DaysLived(NamedTuple):
    """What days did to beds: water that left below [mm], and Ks; shape (n_days, n_seasons, n_beds)."""

    deep_percolation: FloatArray
    stress_coefficient: FloatArray


def usual_season(setup: Setup) -> OpenSeason:
    """Return the season of a plan's own year in the weather of the normals.

    The plan's share of the rain of normals counts.
    """
    garden, normals = setup.garden, setup.normals
    begins, ends = season_span(garden)
    n_days = (ends - begins).days
    dates = dates_from(begins, n_days)
    growth = garden_growth(
        garden,
        dates_from(begins, n_days + LONGEST_OUTLOOK),
        normals=normals,
        warmth=Warmth(setup.daily, normals, begins),
    )
    day, before = day_index(dates), day_index(dates[0] - np.arange(DAYS_PER_WEEK, 0, -1))
    weather = DayWeather(
        dates=dates,
        reference_et=normals.reference_et[day],
        rain=normals.rain[day] * garden.planning.normal_rain,
        wind_2m=normals.wind_2m[day],
        rh_min=normals.rh_min[day],
        tmax=normals.tmax[day],
        tmin=normals.tmin[day],
        before=normals.reference_et[before],
    )
    days = bed_days(slice_growth(growth, 0, n_days), weather, garden=garden)
    span = Span(
        dates=dates,
        rows=np.zeros(0, dtype=np.int64),
        growth=growth,
        days=days,
        stated=stated_soil(garden, dates, days.conditions.raw),
        field=field_arrays(FieldNotes(), garden, dates),
        net_rate=net_rates(growth, setup.rate, setup.efficiency, only_in_use=False),
        resized=resized_beds(garden, dates),
    )
    return OpenSeason(setup, span)


def seasons_of(setup: Setup, years: Sequence[int]) -> tuple[OpenSeason, ...]:
    """Return the season in each of some years, as a plan with its dates in that year has it.

    Flows do not depend on the year, so that they are settled once.

    Raises
    ------
    WeatherError
        If the record does not cover one of them.
    """
    seasons = []
    for year in years:
        garden = in_year(setup.garden, year)
        moved = replace(setup, garden=garden, limits=replace(setup.limits, restrictions=garden.restrictions))
        begins, ends = season_span(garden)
        seasons.append(OpenSeason(moved, open_span(moved, begins, (ends - begins).days, until=ends)))
    return tuple(seasons)


def side_by_side(seasons: Sequence[OpenSeason]) -> SideBySide:
    """Return seasons of one garden joined."""
    spans = [season.span for season in seasons]
    n_days = min(season.n_days for season in seasons)

    def joined(parts: Sequence[NDArray[Any]]) -> NDArray[Any]:
        return np.concatenate([part[:n_days] for part in parts], axis=1)

    limits = [
        depletion_limit(
            slice_growth(season.span.growth, 0, season.n_days),
            season.span.days,
            reserve=season.setup.garden.planning.reserve,
        )
        for season in seasons
    ]
    evenings = [np.broadcast_to(_evenings(season)[:, None], season.in_use.shape) for season in seasons]
    return SideBySide(
        n_seasons=len(seasons),
        conditions=_joined_conditions([span.days.conditions.between(0, n_days) for span in spans]),
        stated=StatedSoil(
            joined([span.stated.depletion for span in spans]), joined([span.stated.below for span in spans])
        ),
        limit=joined(limits),
        tew=joined([span.growth.tew for span in spans]),
        resized=joined([span.resized for span in spans]),
        net_rate=joined([span.net_rate for span in spans]),
        in_use=joined([season.in_use for season in seasons]),
        evening=joined(evenings),
    )


def _evenings(season: OpenSeason) -> BoolArray:
    """Return on which days the timer's water comes in the evening, told on Mondays as a replay is."""
    evening = np.zeros(season.n_days, dtype=bool)
    start = 0
    while start < season.n_days:
        first = season.first + timedelta(days=start)
        end = start + DAYS_PER_WEEK - first.weekday()
        evening[start:end] = hours_ahead(first, season.setup.limits).evening
        start = end
    return evening


def _joined_conditions(parts: Sequence[Conditions]) -> Conditions:
    """Return the conditions of several spans as those of one with the beds of all."""

    def joined(values: Sequence[FloatArray]) -> FloatArray:
        return np.concatenate(values, axis=1)

    surfaces = [part.surface for part in parts if part.surface is not None]
    return Conditions(
        basal=joined([part.basal for part in parts]),
        rain=joined([part.rain for part in parts]),
        taw=joined([part.taw for part in parts]),
        raw=joined([part.raw for part in parts]),
        storage=joined([part.storage for part in parts]),
        surface=SurfaceDay(*(joined(v) for v in zip(*surfaces, strict=True))) if surfaces else None,
    )


def _lived(seasons: SideBySide, water: Callable[[int, FloatArray], FloatArray]) -> Iterator[DayBalance]:
    """Yield the balance of each day; `water` tells its net irrigation [mm] from the morning's depletion."""
    shape = seasons.limit.shape
    no, nothing = np.zeros(shape, dtype=bool), np.full(shape, np.nan)
    found = FieldArrays(no, nothing, nothing, no, np.zeros(shape), np.full(shape, np.inf), nothing)
    lived = full_soil(shape[1])
    for day in range(shape[0]):
        begun = morning(
            lived,
            seasons.conditions.on(day),
            stated=seasons.stated.on(day),
            field=found.on(day),
            tew=seasons.tew[day],
            resized=seasons.resized[day],
        )
        applied, evening = water(day, begun.soil.depletion), seasons.evening[day]
        balance = step(
            begun.soil,
            seasons.conditions.on(day),
            applied=np.where(evening, 0.0, applied),
            applied_late=np.where(evening, applied, 0.0) if evening.any() else None,
        )
        yield balance
        lived = Lived(balance.state, begun.feedback)


def well_watered_use(seasons: SideBySide) -> FloatArray:
    """Return what beds use that are refilled on the morning after their limit [mm/d], as the arrays given."""
    morning_only = replace(seasons, evening=np.zeros_like(seasons.evening))
    limit = seasons.limit

    def refill(day: int, depletion: FloatArray) -> FloatArray:
        return np.where(depletion > limit[day], depletion, 0.0)

    return np.stack([day.evaporation + day.transpiration for day in _lived(morning_only, refill)])


def live_under(seasons: SideBySide, minutes: FloatArray) -> DaysLived:
    """Return what days do to beds whose valves are open so long [min], (n_days, n_seasons * n_beds)."""

    def run(day: int, _depletion: FloatArray) -> FloatArray:
        return np.asarray(minutes[day] * seasons.net_rate[day])

    days = [(day.deep_percolation, day.stress_coefficient) for day in _lived(seasons, run)]
    return DaysLived(*(seasons.by_season(np.stack(part)) for part in zip(*days, strict=True)))
