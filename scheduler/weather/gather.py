"""All the weather that a garden has, from the plan's file and the ledger, as the engine uses it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from scheduler.errors import Fault, WeatherError
from scheduler.garden.plan import Garden, WeatherChoice
from scheduler.weather.readers import read_weather
from scheduler.weather.record import DailyWeather, WeatherRecord

if TYPE_CHECKING:
    from scheduler.ledger.reading import LedgerReader
    from scheduler.ledger.store import Ledger

__all__ = ["gather_weather", "keep_reference_et"]

_FETCH = "run rillbook fetch with this plan"


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
        from scheduler.weather.kept_et import daily_from_store

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
    from scheduler.weather.kept_et import daily_from_store, inputs_hashes, store_reference_et

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
    record = None if choice.file is None else read_weather(folder / choice.file, choice)
    if reader is not None:
        # Imported here: without a ledger it takes neither its entries nor the sources that fill it.
        from scheduler.weather.with_kept import with_kept_days

        record, choice = with_kept_days(garden, record, reader, moment=moment)
    if record is None:
        wanted = f'{_FETCH}, or name a record: [weather] file = "weather.csv"'
        raise WeatherError(garden.name, [Fault("weather", "nothing is kept yet", wanted)])
    return _Gathered(record, choice)
