"""Readings of a station in the order of time -> daily values, as far as the days are covered."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.units import convert
from scheduler.weather.findings import Findings
from scheduler.weather.sources.intervals import LocalDays
from scheduler.weather.sources.station_layout import StationLayout
from scheduler.weather.sources.station_rain import rain_amounts
from scheduler.weather.sources.station_values import Readings

__all__ = ["daily_columns"]

FloatArray = NDArray[np.float64]

_DAY = 86_400.0


def daily_columns(
    readings: Readings, layout: StationLayout, *, days: LocalDays, findings: Findings
) -> dict[str, FloatArray]:
    """Return the daily columns in canonical units, shape (n_days,) each, NaN on days that are not covered.

    Such days are told in `findings` with the hours that are there.
    """
    columns: dict[str, FloatArray] = {}
    for quantity in readings.values:
        least_share = layout.least_share_solar if quantity == "solar" else layout.least_share
        if quantity == "rain":
            found, seconds = _rain(readings, layout, days=days, findings=findings)
        else:
            found, seconds = _continuous(readings, quantity, longest=60 * layout.longest_step, days=days)
        enough = seconds >= least_share * days.lengths
        columns |= {name: np.where(enough, column, np.nan) for name, column in found.items()}
        _tell_hours(quantity, seconds, days, enough=enough, findings=findings)
    return columns


def _continuous(
    readings: Readings, quantity: str, *, longest: float, days: LocalDays
) -> tuple[Mapping[str, FloatArray], FloatArray]:
    """Return the daily columns of a quantity that changes steadily, and the seconds covered."""
    values = readings.values[quantity]
    known = np.isfinite(values)
    moments, values = readings.moments[known], values[known]
    if quantity == "solar":
        # A sensor shows a little less than nothing at night.
        values = np.clip(values, 0.0, None)
    mean, seconds = _mean(moments, values, longest=longest, days=days)
    least, greatest = _extremes(moments, values, days)
    if quantity == "temperature":
        return {"tmax": greatest, "tmin": least}, seconds
    if quantity == "humidity":
        return {"rh_max": greatest, "rh_min": least, "rh_mean": mean}, seconds
    if quantity == "solar":
        # A mean flux counts for 24 hours; the day may have 23 or 25.
        return {"solar_radiation": convert(mean, "W/m2", "radiation") * days.lengths / _DAY}, seconds
    return {quantity: mean}, seconds


def _mean(
    moments: FloatArray, values: FloatArray, *, longest: float, days: LocalDays
) -> tuple[FloatArray, FloatArray]:
    """Return the mean of each day and the seconds covered.

    Values run straight between readings that are no farther apart than `longest` [s].
    """
    number = days.dates.size
    if moments.size < 2:
        return np.full(number, np.nan), np.zeros(number)
    inner = days.edges[(days.edges > moments[0]) & (days.edges < moments[-1])]
    grid = np.union1d(moments, inner)
    heights = np.interp(grid, moments, values)
    lengths = np.diff(grid)
    pair = np.searchsorted(moments, grid[:-1], side="right") - 1
    lengths = np.where(np.diff(moments)[pair] <= longest, lengths, 0.0)
    day = np.searchsorted(days.edges, grid[:-1], side="right") - 1
    sums = np.bincount(day, weights=lengths * (heights[:-1] + heights[1:]) / 2, minlength=number)
    seconds = np.bincount(day, weights=lengths, minlength=number)
    mean = np.divide(sums, seconds, out=np.full(number, np.nan), where=seconds > 0)
    return mean, np.asarray(seconds, dtype=np.float64)


def _extremes(moments: FloatArray, values: FloatArray, days: LocalDays) -> tuple[FloatArray, FloatArray]:
    """Return the least and the greatest reading of each day; NaN for none."""
    day = np.searchsorted(days.edges, moments, side="right") - 1
    within = day < days.dates.size
    day, values = day[within], values[within]
    least, greatest = np.full(days.dates.size, np.inf), np.full(days.dates.size, -np.inf)
    np.minimum.at(least, day, values)
    np.maximum.at(greatest, day, values)
    return np.where(np.isinf(least), np.nan, least), np.where(np.isinf(greatest), np.nan, greatest)


def _rain(
    readings: Readings, layout: StationLayout, *, days: LocalDays, findings: Findings
) -> tuple[Mapping[str, FloatArray], FloatArray]:
    """Return the rain of each day and the seconds covered."""
    amounts, restarts = rain_amounts(readings, layout)
    if restarts:
        findings.notes.append(f"rain: the total started anew {restarts} times between two rows")
    if not amounts:
        return {"rain": np.full(days.dates.size, np.nan)}, np.zeros(days.dates.size)
    ends = np.array([amount.ends for amount in amounts])
    begins = np.array([amount.begins for amount in amounts])
    depths = np.array([amount.value for amount in amounts])
    rain = _spread(begins, ends, depths, days)
    near = ends - begins <= 60 * layout.longest_step
    seconds = _spread(begins[near], ends[near], (ends - begins)[near], days)
    first = np.searchsorted(days.edges, begins, side="right") - 1
    last = np.searchsorted(days.edges, ends, side="left") - 1
    for lost in np.flatnonzero(~near & (first != last) & (depths > 0)):
        touched = slice(max(first[lost], 0), last[lost] + 1)
        rain[touched] = np.nan
        span = f"{days.dates[touched][0]} to {days.dates[touched][-1]}"
        findings.notes.append(
            f"rain: {depths[lost]:.1f} mm fell in a gap from {span}, on which day is not known"
        )
    return {"rain": rain}, seconds


def _spread(begins: FloatArray, ends: FloatArray, amounts: FloatArray, days: LocalDays) -> FloatArray:
    """Return what falls on each day of amounts spread evenly over their intervals, which may not overlap."""
    grid = np.unique(np.concatenate([begins, ends, days.edges]))
    lengths = np.diff(grid)
    rates = np.zeros(lengths.size)
    # Nothing lies between the begin and the end of an interval but midnights.
    first, last = np.searchsorted(grid, begins), np.searchsorted(grid, ends)
    for place, (start, stop) in enumerate(zip(first, last, strict=True)):
        rates[start:stop] = amounts[place] / (ends[place] - begins[place])
    day = np.clip(np.searchsorted(days.edges, grid[:-1], side="right") - 1, 0, days.dates.size - 1)
    inside = (grid[:-1] >= days.edges[0]) & (grid[1:] <= days.edges[-1])
    falls = np.where(inside, rates * lengths, 0.0)
    return np.asarray(np.bincount(day, weights=falls, minlength=days.dates.size), dtype=np.float64)


def _tell_hours(
    quantity: str, seconds: FloatArray, days: LocalDays, *, enough: NDArray[np.bool_], findings: Findings
) -> None:
    """Tell the days that do not count, with the hours that are there."""
    short = np.flatnonzero(~enough)
    if not short.size:
        return
    told = [f"{days.dates[i]} ({seconds[i] / 3600:.1f} of {days.lengths[i] / 3600:.0f} h)" for i in short[:6]]
    more = f" and {short.size - 6} more" if short.size > 6 else ""
    findings.notes.append(f"{quantity}: too few hours, so missing: {', '.join(told)}{more}")
