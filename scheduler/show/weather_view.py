"""A weather record as the engine uses it: values, reference ET, what was estimated, what looked odd."""

from __future__ import annotations

from datetime import date

import numpy as np

from scheduler.errors import RillbookError
from scheduler.garden.plan import Garden
from scheduler.show.notes import weather_notes
from scheduler.show.report import Column, Part, Report, Row
from scheduler.weather.record import DailyWeather

__all__ = ["weather_report"]

COLUMNS = (
    Column("date", "date"),
    Column("tmax_degc", "max", "temperature"),
    Column("tmin_degc", "min", "temperature"),
    Column("rh_min_percent", "least RH\n[%]", decimals=0),
    Column("wind_2m_m_s", "wind\nat 2 m", "speed"),
    Column("rain_mm", "rain", "water_depth"),
    Column("reference_et_mm", "reference\nET", "water_depth"),
    Column("origin", "from"),
    Column("estimated", "estimated"),
)

#: Days listed when the person names none.
DAYS_LISTED = 14


def weather_report(garden: Garden, daily: DailyWeather, *, begin: date | None, end: date | None) -> Report:
    """Return the days from `begin` to `end` as a report; the last fortnight if neither is given.

    Raises
    ------
    RillbookError
        If the record has no day in the span.
    """
    last = daily.dates[-1] if end is None else np.datetime64(end)
    first = last - (DAYS_LISTED - 1) if begin is None else np.datetime64(begin)
    rows = np.flatnonzero((daily.dates >= first) & (daily.dates <= last))
    if not rows.size:
        raise RillbookError(
            f"{daily.source}: no day from {first} to {last}; the record runs from "
            f"{daily.dates[0]} to {daily.dates[-1]}"
        )
    return Report(
        schema="rillbook.weather/1",
        title=f"{garden.name}: weather {daily.dates[rows[0]]} to {daily.dates[rows[-1]]}",
        as_of=daily.dates[rows[-1]].item(),
        parts=(Part("rows", "", COLUMNS, tuple(_row(daily, int(i)) for i in rows)),),
        lines=(
            f"The record runs from {daily.dates[0]} to {daily.dates[-1]}, "
            f"{int(daily.forecast.sum())} of its {daily.dates.size} days are forecast.",
        ),
        notes=(*weather_notes(daily, rows), *(n for n in daily.notes if n.startswith("columns read"))),
    )


def _row(daily: DailyWeather, i: int) -> Row:
    """Return one day's row."""
    return {
        "date": daily.dates[i].item(),
        "tmax_degc": float(daily.tmax[i]),
        "tmin_degc": float(daily.tmin[i]),
        "rh_min_percent": float(daily.rh_min[i]),
        "wind_2m_m_s": float(daily.wind_2m[i]),
        "rain_mm": float(daily.rain[i]),
        "reference_et_mm": float(daily.reference_et[i]),
        "origin": "forecast" if daily.forecast[i] else "observed",
        "estimated": " ".join(kind for kind, flags in daily.estimated.items() if flags[i]),
    }
