"""A span of days lived through, one day after the other."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.season.days import BedDays, bed_days, net_rates, slice_growth, stated_depletion
from scheduler.season.field import FieldArrays, field_arrays
from scheduler.season.growth import Growth, garden_growth
from scheduler.season.setup import Setup, dates_from, weather_rows_of, week_before
from scheduler.timetable.week import LONGEST_OUTLOOK
from scheduler.water.need import effective_rainfall
from scheduler.water.rootzone import step
from scheduler.weather.record import DateArray

__all__ = ["DAY_FIELDS", "Span", "allowed_by_dig", "live_through", "morning_depletion", "open_span"]

FloatArray = NDArray[np.float64]

#: Fields of a season's result that the day loop fills.
DAY_FIELDS = (
    "depletion",
    "et_actual",
    "deep_percolation",
    "stress_coefficient",
    "applied",
    "minutes",
    "correction",
)


@dataclass(frozen=True, slots=True, eq=False)
class Span:
    """A span of days ready to be lived through; `growth` and `net_rate` reach past its end.

    `stated` is the depletion that the plan states for the morning of a day [mm], NaN where it states none.
    """

    dates: DateArray
    rows: NDArray[np.int64]
    growth: Growth
    days: BedDays
    stated: FloatArray
    field: FieldArrays
    net_rate: FloatArray


def open_span(setup: Setup, begins: date, n_days: int) -> Span:
    """Return the span of `n_days` from `begins`, gauge rain in place of the record's."""
    dates = dates_from(begins, n_days)
    rows = weather_rows_of(setup.daily, dates)
    growth = garden_growth(setup.garden, dates_from(begins, n_days + LONGEST_OUTLOOK), normals=setup.normals)
    noted = field_arrays(setup.notes, setup.garden, dates)
    reference_et = setup.daily.reference_et[rows]
    rain = np.where(np.isnan(noted.rain), setup.daily.rain[rows], noted.rain)
    days = bed_days(
        slice_growth(growth, 0, n_days),
        reference_et,
        effective_rain=effective_rainfall(rain, reference_et),
        et_before=week_before(setup.daily, begins),
    )
    stated = stated_depletion(setup.garden, dates, days.raw)
    # A recorded run waters a bed whether or not anything grows there.
    net_rate = net_rates(growth, setup.rate, setup.efficiency, only_in_use=False)
    return Span(dates, rows, growth, days, stated, noted, net_rate)


def morning_depletion(span: Span, day: int, depletion: FloatArray) -> FloatArray:
    """Return the depletion that a day starts from: stated if it is, and inside what a dig allows."""
    known = np.where(np.isnan(span.stated[day]), depletion, span.stated[day])
    least, most = span.field.least[day], span.field.most[day]
    return allowed_by_dig(known, span.days.raw[day], least=least, most=most)


def allowed_by_dig(
    depletion: FloatArray, raw: FloatArray, *, least: FloatArray, most: FloatArray
) -> FloatArray:
    """Return the depletion moved into the band that a dig allows, given as shares of RAW."""
    ceiling = np.where(np.isinf(most), np.inf, most * raw)
    return np.clip(depletion, least * raw, ceiling)


def live_through(
    span: Span, day: int, depletion: FloatArray, log: dict[str, FloatArray], *, evening: bool
) -> FloatArray:
    """Enter one day into the log and return the depletion at its end."""
    morning = morning_depletion(span, day, depletion)
    applied = log["minutes"][day] * span.net_rate[day]
    balance = step(
        morning,
        et_crop=span.days.et_crop[day],
        rain=span.days.rain[day],
        applied=0.0 if evening else applied,
        applied_late=applied if evening else None,
        taw=span.growth.taw[day],
        raw=span.days.raw[day],
        storage=span.growth.storage,
    )
    log["correction"][day] = morning - depletion
    log["applied"][day] = applied
    log["depletion"][day] = balance.depletion
    log["et_actual"][day] = balance.et_actual
    log["deep_percolation"][day] = balance.deep_percolation
    log["stress_coefficient"][day] = balance.stress_coefficient
    return balance.depletion
