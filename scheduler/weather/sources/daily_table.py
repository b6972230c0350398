"""Columns of daily values from a source -> `WeatherRecord`: bounded, on every day, cut to a span."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, SourceError
from scheduler.weather.days import name_days
from scheduler.weather.quality import POSSIBLE, clip_humidity
from scheduler.weather.record import VARIABLES, WeatherRecord

__all__ = ["cut", "impossible", "joined", "on_every_day", "refuse_impossible", "to_record"]

BoolArray = NDArray[np.bool_]
DateArray = NDArray[np.datetime64]
FloatArray = NDArray[np.float64]

# No source goes back further, and no forecast further ahead.
_LONGEST_RECORD = 200 * 366
_ONE_DAY = np.timedelta64(1, "D")


def on_every_day(
    dates: DateArray, columns: Mapping[str, FloatArray], *, source: str
) -> tuple[DateArray, dict[str, FloatArray]]:
    """Return every day from the first to the last, and each column on these days, NaN between.

    Parameters
    ----------
    dates : array of datetime64[D], shape (n_rows,)
        Growing, none twice.
    columns : mapping of str to array, shape (n_rows,)
    source : str

    Raises
    ------
    SourceError
        If there is no day, or more than 200 years of them.
    """
    if not dates.size:
        raise SourceError(source, [Fault("", "no days in it", "at least one day")])
    if int((dates[-1] - dates[0]).astype(int)) > _LONGEST_RECORD:
        found = f"days from {dates[0]} to {dates[-1]}"
        raise SourceError(source, [Fault("", found, "at most 200 years")])
    days = np.arange(dates[0], dates[-1] + _ONE_DAY, dtype="datetime64[D]")
    place = np.searchsorted(days, dates)
    filled: dict[str, FloatArray] = {}
    for name, column in columns.items():
        filled[name] = np.full(days.size, np.nan)
        filled[name][place] = column
    return days, filled


def impossible(columns: Mapping[str, FloatArray]) -> dict[str, BoolArray]:
    """Return for each variable the days on which it cannot be: out of all weather's reach, or crossed.

    Shape (n_days,) each. On a day with tmin above tmax, or rh_min above rh_max, both are marked.
    """
    bad = {
        name: (column < POSSIBLE[name][0]) | (column > POSSIBLE[name][1]) for name, column in columns.items()
    }
    for least, greatest in (("tmin", "tmax"), ("rh_min", "rh_max")):
        if least in columns and greatest in columns:
            crossed = columns[least] > columns[greatest]
            bad[least] = bad[least] | crossed
            bad[greatest] = bad[greatest] | crossed
    return bad


def refuse_impossible(dates: DateArray, columns: Mapping[str, FloatArray], *, source: str) -> None:
    """Raise SourceError with the days on which a variable cannot be, if there are any."""
    faults: list[Fault] = []
    for name, bad in impossible(columns).items():
        if bad.any():
            low, high = POSSIBLE[name]
            where = f"{name}, {name_days(dates, bad)}"
            found = f"{columns[name][bad][0]:.4g} {VARIABLES[name]}"
            order = ", the least not above the greatest" if name[-3:] in ("min", "max") else ""
            faults.append(Fault(where, found, f"{low:g} to {high:g} {VARIABLES[name]}{order}"))
    if faults:
        raise SourceError(source, faults)


def to_record(
    dates: DateArray,
    columns: Mapping[str, FloatArray],
    *,
    forecast: bool,
    source: str,
    attribution: str,
    notes: Sequence[str],
) -> WeatherRecord:
    """Return the record of some columns [canonical units], shape (n_days,) each; the others are all NaN."""
    values = {name: columns.get(name, np.full(dates.size, np.nan)) for name in VARIABLES}
    flags = np.full(dates.size, forecast)
    return clip_humidity(WeatherRecord(dates, values, flags, source, attribution, tuple(notes)))


def cut(record: WeatherRecord, *, begins: date, ends: date) -> WeatherRecord:
    """Return the days of a record from `begins` to `ends`, both included.

    Raises
    ------
    SourceError
        If it has none of them.
    """
    chosen = (record.dates >= np.datetime64(begins, "D")) & (record.dates <= np.datetime64(ends, "D"))
    if not chosen.any():
        found = f"days from {record.dates[0]} to {record.dates[-1]} only"
        raise SourceError(record.source, [Fault("", found, f"days from {begins} to {ends}")])
    return replace(
        record,
        dates=record.dates[chosen],
        values={name: column[chosen] for name, column in record.values.items()},
        forecast=record.forecast[chosen],
    )


def joined(records: Sequence[WeatherRecord]) -> WeatherRecord:
    """Return one record of several of one source that follow each other; NaN on days between them.

    Raises
    ------
    SourceError
        If they overlap, or are more than 200 years apart.
    """
    first = records[0]
    dates = np.concatenate([record.dates for record in records])
    if (np.diff(dates) <= np.timedelta64(0, "D")).any():
        raise SourceError(first.source, [Fault("", "days given twice", "each day once")])
    columns = {name: np.concatenate([record.values[name] for record in records]) for name in VARIABLES}
    columns["forecast"] = np.concatenate([record.forecast for record in records]).astype(float)
    days, columns = on_every_day(dates, columns, source=first.source)
    flags = columns.pop("forecast") == 1.0
    notes = tuple(dict.fromkeys(note for record in records for note in record.notes))
    return replace(first, dates=days, values=columns, forecast=flags, notes=notes)
