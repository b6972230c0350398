"""What a day of the year is usually like, and what to expect of the coming days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, WeatherError
from scheduler.weather.record import DailyWeather, DateArray, FloatArray

__all__ = ["Normals", "Outlook", "day_index", "day_of_year_normals", "outlook"]

# Days on each side of a day of the year that count towards its normal.
HALF_WINDOW = 7
# Fewer observed days than these say too little about a year.
LEAST_DAYS = 200
DAYS_OF_YEAR = 366
YEAR_LENGTH = 365.25


@dataclass(frozen=True, slots=True, eq=False)
class Normals:
    """Means by day of the year; index 0 is day 1, index 365 the last day of a leap year.

    Attributes
    ----------
    reference_et, rain : arrays, shape (366,)
        [mm d-1]
    wind_2m : array, shape (366,)
        [m s-1]
    rh_min : array, shape (366,)
        [%]
    tmax, tmin : arrays, shape (366,)
        [degC]
    years : tuple of (int, int, int)
        First and last calendar year of the observed days, and how many years' worth of days there are.
    """

    reference_et: FloatArray
    rain: FloatArray
    wind_2m: FloatArray
    rh_min: FloatArray
    tmax: FloatArray
    tmin: FloatArray
    years: tuple[int, int, int]


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """The weather to plan the coming days on.

    Attributes
    ----------
    dates : array of datetime64[D], shape (n_days,)
    reference_et, rain : arrays, shape (n_days,)
        [mm d-1]
    wind_2m : array, shape (n_days,)
        [m s-1]
    rh_min : array, shape (n_days,)
        [%]
    origin : array of str, shape (n_days,)
        ``forecast`` or ``normal``.
    """

    dates: DateArray
    reference_et: FloatArray
    rain: FloatArray
    wind_2m: FloatArray
    rh_min: FloatArray
    origin: NDArray[np.str_]


def day_of_year_normals(daily: DailyWeather) -> Normals:
    """Return the mean of the observed days within 7 days of each day of the year, round the year's end.

    Parameters
    ----------
    daily : DailyWeather
        Forecast days do not count.

    Returns
    -------
    Normals

    Raises
    ------
    WeatherError
        If fewer than 200 days were observed, or if a day of the year has none within 7 days of it.
    """
    observed = ~daily.forecast
    dates = daily.dates[observed]
    day = day_index(dates)
    days_behind = _over_window(np.bincount(day, minlength=DAYS_OF_YEAR))
    faults = _faults(dates.size, days_behind)
    if faults:
        raise WeatherError(daily.source or "weather", faults)

    def mean(values: FloatArray) -> FloatArray:
        sums = np.bincount(day, weights=values[observed], minlength=DAYS_OF_YEAR)
        return np.asarray(_over_window(sums) / days_behind)

    first, last = (int(str(day)[:4]) for day in (dates.min(), dates.max()))
    return Normals(
        reference_et=mean(daily.reference_et),
        rain=mean(daily.rain),
        wind_2m=mean(daily.wind_2m),
        rh_min=mean(daily.rh_min),
        tmax=mean(daily.tmax),
        tmin=mean(daily.tmin),
        years=(first, last, max(1, round(dates.size / YEAR_LENGTH))),
    )


def outlook(daily: DailyWeather, normals: Normals, first: date | np.datetime64, n_days: int) -> Outlook:
    """Return the weather to expect on `n_days` days from `first` on.

    A day with a forecast row takes that; any other takes the normal of its day of the year. Observed rows
    at or after `first` are left alone: on the day of planning nobody has them.

    Parameters
    ----------
    daily : DailyWeather
        Dates ascending.
    normals : Normals
    first : date or datetime64
    n_days : int

    Returns
    -------
    Outlook
    """
    dates: DateArray = np.asarray(first, dtype="datetime64[D]") + np.arange(n_days).astype("timedelta64[D]")
    row = np.minimum(np.searchsorted(daily.dates, dates), daily.dates.size - 1)
    foretold = (daily.dates[row] == dates) & daily.forecast[row]
    day = day_index(dates)

    def expected(forecast: FloatArray, normal: FloatArray) -> FloatArray:
        return np.where(foretold, forecast[row], normal[day])

    return Outlook(
        dates=dates,
        reference_et=expected(daily.reference_et, normals.reference_et),
        rain=expected(daily.rain, normals.rain),
        wind_2m=expected(daily.wind_2m, normals.wind_2m),
        rh_min=expected(daily.rh_min, normals.rh_min),
        origin=np.where(foretold, "forecast", "normal"),
    )


def day_index(dates: DateArray) -> NDArray[np.int64]:
    """Return the day of the year of each date, counted from 0."""
    return np.asarray((dates - dates.astype("datetime64[Y]")).astype(np.int64))


def _over_window(values: NDArray[np.float64] | NDArray[np.int64]) -> FloatArray:
    """Return the sum of `values` over the window of each day of the year, round the year's end."""
    round_the_end = np.concatenate([values[-HALF_WINDOW:], values, values[:HALF_WINDOW]])
    return np.convolve(round_the_end, np.ones(2 * HALF_WINDOW + 1), mode="valid")


def _faults(n_days: int, days_behind: FloatArray) -> list[Fault]:
    """Return what keeps a record from giving normals."""
    faults = []
    if n_days < LEAST_DAYS:
        wanted = f"normals need {LEAST_DAYS} observed days or more, best several whole years"
        faults.append(Fault("length of the record", f"{n_days} observed days", wanted))
    # Half a day parts none from some; the sums of the window are whole numbers.
    empty = np.flatnonzero(days_behind < 0.5)
    if n_days and empty.size:
        found = f"nothing observed within {HALF_WINDOW} days of {empty.size} days of the year"
        where = f"day of year {empty[0] + 1}"
        faults.append(Fault(where, found, "normals need observed days in every season; use a longer record"))
    return faults
