"""A span of days lived through, one day after the other."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.season.days import BedDays, bed_days, net_rates
from scheduler.season.feedback import after_day
from scheduler.season.field import FieldArrays, field_arrays
from scheduler.season.growth import Growth, garden_growth, slice_growth
from scheduler.season.setup import Setup, dates_from, weather_rows_of, week_before
from scheduler.season.soil import Lived, StatedSoil, morning, resized_beds, stated_soil
from scheduler.season.stages import Warmth
from scheduler.season.surroundings import DayWeather
from scheduler.timetable.limits import LONGEST_OUTLOOK
from scheduler.water.balance import SoilState, step
from scheduler.water.need import effective_rainfall
from scheduler.weather.record import DateArray

__all__ = ["DAY_FIELDS", "Span", "live_through", "open_span"]

FloatArray = NDArray[np.float64]

#: Fields of a season's result that the day loop fills.
DAY_FIELDS = (
    "depletion",
    "below",
    "evaporation",
    "transpiration",
    "deep_percolation",
    "stress_coefficient",
    "applied",
    "minutes",
    "correction",
    "use_factor",
)


@dataclass(frozen=True, slots=True, eq=False)
class Span:
    """A span of days ready to be lived through; `growth` and `net_rate` reach past its end."""

    dates: DateArray
    rows: NDArray[np.int64]
    growth: Growth
    days: BedDays
    stated: StatedSoil
    field: FieldArrays
    net_rate: FloatArray
    resized: NDArray[np.bool_]


def open_span(setup: Setup, begins: date, n_days: int, *, until: date) -> Span:
    """Return the span of `n_days` from `begins`, gauge rain in place of the record's.

    `until` is the day from which on the record's temperatures are not yet known, for stages by heat.
    """
    dates = dates_from(begins, n_days)
    rows = weather_rows_of(setup.daily, dates)
    warmth = Warmth(setup.daily, setup.normals, until)
    growth = garden_growth(
        setup.garden, dates_from(begins, n_days + LONGEST_OUTLOOK), normals=setup.normals, warmth=warmth
    )
    noted = field_arrays(setup.notes, setup.garden, dates)
    daily = setup.daily
    reference_et = daily.reference_et[rows]
    rain = np.where(np.isnan(noted.rain), daily.rain[rows], noted.rain)
    weather = DayWeather(
        dates=dates,
        reference_et=reference_et,
        rain=effective_rainfall(rain, reference_et),
        wind_2m=daily.wind_2m[rows],
        rh_min=daily.rh_min[rows],
        tmax=daily.tmax[rows],
        tmin=daily.tmin[rows],
        before=week_before(daily, begins),
    )
    days = bed_days(slice_growth(growth, 0, n_days), weather, garden=setup.garden)
    stated = stated_soil(setup.garden, dates, days.conditions.raw)
    # A recorded run waters a bed whether or not anything grows there.
    net_rate = net_rates(growth, setup.rate, setup.efficiency, only_in_use=False)
    return Span(dates, rows, growth, days, stated, noted, net_rate, resized_beds(setup.garden, dates))


def _morning_of(span: Span, day: int, lived: Lived) -> Lived:
    """Return what a day of the span starts from."""
    return morning(
        lived,
        span.days.conditions.on(day),
        stated=span.stated.on(day),
        field=span.field.on(day),
        tew=span.growth.tew[day],
        resized=span.resized[day],
    )


def live_through(
    span: Span,
    day: int,
    lived: Lived,
    log: dict[str, FloatArray],
    *,
    mornings: SoilState,
    evening: float,
) -> Lived:
    """Enter one day into the log, its morning into `mornings`, and return what its end leaves."""
    begun = _morning_of(span, day, lived)
    for kept, part in zip(mornings, begun.soil, strict=True):
        kept[day] = part
    applied = log["minutes"][day] * span.net_rate[day]
    balance = step(
        begun.soil,
        span.days.conditions.on(day).times(begun.feedback.factor),
        applied=applied * (1.0 - evening),
        applied_late=applied * evening if evening else None,
    )
    log["correction"][day] = (begun.soil.depletion + begun.soil.below) - (
        lived.soil.depletion + lived.soil.below
    )
    log["use_factor"][day] = begun.feedback.factor
    log["applied"][day] = applied
    log["depletion"][day] = balance.state.depletion
    log["below"][day] = balance.state.below
    log["evaporation"][day] = balance.evaporation
    log["transpiration"][day] = balance.transpiration
    log["deep_percolation"][day] = balance.deep_percolation
    log["stress_coefficient"][day] = balance.stress_coefficient
    return Lived(balance.state, after_day(begun.feedback, balance.evaporation + balance.transpiration))
