"""The weather that a ledger keeps, blended with the plan's own record."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING

import numpy as np

from scheduler.garden.plan import Garden, WeatherChoice
from scheduler.ledger.entries import WeatherDay
from scheduler.weather.blend import blend
from scheduler.weather.kept_days import parts_of_rows
from scheduler.weather.layers import Part
from scheduler.weather.record import BoolArray, WeatherRecord
from scheduler.weather.sources.from_plan import credit_of, kept_name

if TYPE_CHECKING:
    from scheduler.ledger.reading import LedgerReader

__all__ = ["with_kept_days"]

_FIRST, _LAST = date(1900, 1, 1), date(2199, 12, 31)


def with_kept_days(
    garden: Garden, record: WeatherRecord | None, reader: LedgerReader, *, moment: datetime | None
) -> tuple[WeatherRecord | None, WeatherChoice]:
    """Return the plan's record blended with the days kept, and how the blend is to be completed.

    Parameters
    ----------
    garden : Garden
    record : WeatherRecord or None
        Of the plan's file, if it names one.
    reader : LedgerReader
    moment : datetime or None
        Now, aware, for the age of forecasts; None to tell only when they were made.

    Returns
    -------
    tuple of (WeatherRecord or None, WeatherChoice)
        None if there is neither a record nor a kept day; the choice tells the height that the wind is at.

    Raises
    ------
    WeatherError
        As `blend` does.
    LedgerError
        If the ledger cannot be read.
    """
    choice = garden.weather
    parts = [] if record is None else [Part(record, "station", wind_height=choice.wind_height)]
    notes: list[str] = []
    kept = [row.entry for row in reader.weather_between(_FIRST, _LAST)]
    parts += _kept_parts(garden, kept, notes)
    notes += _ages(parts, moment)
    if not parts:
        return None, choice
    if len(parts) == 1 and record is not None:
        return replace(record, notes=(*record.notes, *notes)), choice
    height = choice.wind_height or _usual_height(parts)
    blended, cut = _whole_forecast(blend(parts, wind_height=height), choice)
    blended = replace(blended, notes=(*blended.notes, *notes, *cut))
    return blended, replace(choice, wind_height=height)


def _kept_parts(garden: Garden, kept: list[WeatherDay], notes: list[str]) -> Iterator[Part]:
    """Yield the kept days of each source of the plan, the plan's order being that of trust.

    Days of other sources are not used: they may be of a place that was put right since.
    """
    by_source: dict[tuple[str, str], list[WeatherDay]] = {}
    for day in kept:
        by_source.setdefault((day.origin, day.source), []).append(day)
    named = {kept_name(source, garden.site): source for source in garden.sources}
    order = list(named)
    for (origin, name), rows in by_source.items():
        if name in named:
            credit = "; ".join(filter(None, credit_of(named[name])))
            yield from parts_of_rows(rows, attribution=credit, place=1 + order.index(name))
        elif origin == "gauge":
            yield from parts_of_rows(rows, attribution="", place=0)
        else:
            days = "1 day" if len(rows) == 1 else f"{len(rows)} days"
            notes.append(f"{days} kept of {name} are left out, since the plan does not name this source")


def _ages(parts: list[Part], moment: datetime | None) -> Iterator[str]:
    """Yield when each kept forecast was made, and how old it is if that can be told."""
    for part in parts:
        if part.origin == "forecast" and part.issued_at is not None:
            old = ""
            if moment is not None:
                hours = max((moment - part.issued_at).total_seconds(), 0.0) / 3600
                old = f", {hours:.0f} h ago" if hours < 48 else f", {hours / 24:.0f} days ago"
            yield f"{part.record.source}: last new at {part.issued_at:%Y-%m-%d %H:%M} UTC{old}"


def _usual_height(parts: list[Part]) -> float | None:
    """Return the height of the wind of the first part that has one."""
    heights = [part.wind_height for part in parts if part.record.has("wind")]
    return next((height for height in heights if height is not None), None)


def _whole_forecast(record: WeatherRecord, choice: WeatherChoice) -> tuple[WeatherRecord, list[str]]:
    """Return the record up to its last foretold day that can be used, and a note on what was cut off.

    The far end of a forecast often lacks something, such as the rain; the usual weather of the season is
    then the better guess.
    """
    values = record.values
    needed = [np.isfinite(values["tmax"]), np.isfinite(values["tmin"])]
    if choice.rain == "refuse":
        needed.append(np.isfinite(values["rain"]))
    if choice.method == "penman-monteith":
        if choice.humidity == "refuse":
            needed.append(_any(record, "dew_point", "rh_max", "rh_mean"))
        if choice.radiation == "refuse":
            needed.append(_any(record, "solar_radiation", "sunshine"))
        if choice.wind is None:
            needed.append(np.isfinite(values["wind"]))
    wanted = np.logical_and.reduce(needed) | ~record.forecast
    last = int(np.flatnonzero(wanted)[-1]) if wanted.any() else -1
    lost = record.dates.size - 1 - last
    if lost == 0 or last < 0:
        return record, []
    days = "1 day" if lost == 1 else f"{lost} days"
    note = f"forecast from {record.dates[last + 1]} on ({days}) lacks something needed and is not used"
    cut = replace(
        record,
        dates=record.dates[: last + 1],
        values={name: column[: last + 1] for name, column in values.items()},
        forecast=record.forecast[: last + 1],
    )
    return cut, [note]


def _any(record: WeatherRecord, *names: str) -> BoolArray:
    """Return which days have one of the variables, shape (n_days,)."""
    return np.logical_or.reduce([np.isfinite(record.values[name]) for name in names])
