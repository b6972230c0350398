"""All the weather that a garden has, from the plan's file and the ledger, as the engine uses it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from scheduler.errors import Fault, WeatherError
from scheduler.garden.plan import Garden, WeatherChoice
from scheduler.ledger.entries import WeatherDay
from scheduler.weather.blend import blend
from scheduler.weather.kept_days import parts_of_rows
from scheduler.weather.kept_et import daily_from_store, inputs_hashes, store_reference_et
from scheduler.weather.layers import Part
from scheduler.weather.readers import read_weather
from scheduler.weather.record import BoolArray, DailyWeather, WeatherRecord
from scheduler.weather.sources.from_plan import credit_of, kept_name

if TYPE_CHECKING:
    from scheduler.ledger.reading import LedgerReader
    from scheduler.ledger.store import Ledger

__all__ = ["gather_weather", "keep_reference_et"]

_FETCH = "run rillbook fetch with this plan"
_FIRST, _LAST = date(1900, 1, 1), date(2199, 12, 31)


@dataclass(frozen=True, slots=True, eq=False)
class _Gathered:
    """A blended record and how it is to be completed: `choice` tells the height that its wind is at."""

    record: WeatherRecord
    choice: WeatherChoice


def gather_weather(
    garden: Garden, folder: Path, *, reader: LedgerReader | None, moment: datetime | None = None
) -> DailyWeather:
    """Return complete daily weather from the plan's file and from what the ledger keeps.

    Measured days come before foretold ones, the plan's file before the sources, and these in the plan's
    order. Where the ledger keeps the reference ET of every day, neither pandas nor pyet is loaded.

    Parameters
    ----------
    garden : Garden
    folder : Path
        Of the plan, from which its files are seen.
    reader : LedgerReader or None
        None if there is no ledger.
    moment : datetime or None
        Now, aware, for the age of forecasts; None to tell only when they were made.

    Raises
    ------
    WeatherError
        If there is neither a file nor a kept day, or as `read_weather`, `blend` and `prepare_weather` do.
    LedgerError
        If the ledger cannot be read.
    """
    gathered = _gather(garden, folder, reader=reader, moment=moment)
    if reader is not None:
        daily = daily_from_store(reader, gathered.record, garden.site, gathered.choice)
        if daily is not None:
            return daily
    return _prepare(garden, gathered)


def keep_reference_et(garden: Garden, folder: Path, *, ledger: Ledger, recorded_at: datetime) -> int:
    """Compute the reference ET of all weather there is and keep what is new; return how many days that is.

    Raises
    ------
    WeatherError, LedgerError
        As `gather_weather`; and if the ledger cannot be written.
    """
    gathered = _gather(garden, folder, reader=ledger, moment=None)
    if daily_from_store(ledger, gathered.record, garden.site, gathered.choice) is not None:
        return 0
    hashes = inputs_hashes(gathered.record, garden.site, gathered.choice)
    return store_reference_et(ledger, _prepare(garden, gathered), hashes, recorded_at)


def _prepare(garden: Garden, gathered: _Gathered) -> DailyWeather:
    # Imported here: it brings pandas and pyet.
    from scheduler.weather.daily import prepare_weather

    try:
        return prepare_weather(gathered.record, garden.site, gathered.choice)
    except WeatherError as error:
        if not garden.sources or not np.isnan(gathered.record.values["tmax"]).any():
            raise
        hint = Fault("", "the sources of the plan may have the missing days", f"{_FETCH} --days-back 400")
        raise WeatherError(error.source, [*error.faults, hint]) from error


def _gather(
    garden: Garden, folder: Path, *, reader: LedgerReader | None, moment: datetime | None
) -> _Gathered:
    """Return the blend of the plan's file and of the days kept."""
    choice = garden.weather
    parts: list[Part] = []
    if choice.file is not None:
        record = read_weather(folder / choice.file, choice)
        parts.append(Part(record, "station", wind_height=choice.wind_height))
    notes: list[str] = []
    if reader is not None:
        kept = [row.entry for row in reader.weather_between(_FIRST, _LAST)]
        parts += _kept_parts(garden, kept, notes)
        notes += _ages(parts, moment)
    if not parts:
        wanted = f'{_FETCH}, or name a record: [weather] file = "weather.csv"'
        raise WeatherError(garden.name, [Fault("weather", "nothing is kept yet", wanted)])
    if len(parts) == 1 and choice.file is not None:
        record = parts[0].record
        return _Gathered(replace(record, notes=(*record.notes, *notes)), choice)
    height = choice.wind_height or _usual_height(parts)
    record = blend(parts, wind_height=height)
    record, cut = _whole_forecast(record, choice)
    return _Gathered(
        replace(record, notes=(*record.notes, *notes, *cut)), replace(choice, wind_height=height)
    )


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
