"""The weather formats as the fuzzer sees them: how bytes are read, and files to begin with."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from scheduler.errors import WeatherError
from scheduler.garden.plan import WeatherChoice
from scheduler.weather.quality import check_record
from scheduler.weather.readers import read_weather
from scheduler.weather.record import WeatherRecord
from scheduler.weather.sources.ghcn import parse_ghcn
from scheduler.weather.sources.nws import parse_gridpoint
from scheduler.weather.sources.open_meteo import parse_open_meteo
from scheduler.weather.sources.station_csv import read_station_csv
from scheduler.weather.sources.station_layout import StationLayout
from tests.weather.sources.samples import DATA, METRIC_STATION, SITE, US_STATION

__all__ = ["FORMATS", "Format"]

PROJECT = Path(__file__).resolve().parents[2]
STARTER = PROJECT / "scheduler" / "garden" / "data" / "starter_weather.csv"
OPEN_RECORD = PROJECT / "sample_weather" / "open_record_2012_2015_daily.csv"
# Long records are begun only: what a row can be, the first rows show.
ROWS = 14


@dataclass(frozen=True, slots=True)
class Format:
    """One format: bytes -> record, and contents of the project's own files."""

    parse: Callable[[bytes], WeatherRecord]
    seeds: tuple[bytes, ...]


def _samples(*names: str) -> tuple[bytes, ...]:
    return tuple((DATA / name).read_bytes() for name in names)


def _begun(path: Path) -> bytes:
    return b"".join(path.read_bytes().splitlines(keepends=True)[:ROWS])


def _text(parse: Callable[[str], WeatherRecord]) -> Callable[[bytes], WeatherRecord]:
    """Return a reader of bytes for a parser of what a session has decoded."""
    return lambda data: parse(data.decode("utf-8-sig", errors="replace"))


def _in_file(read: Callable[[Path], WeatherRecord]) -> Callable[[bytes], WeatherRecord]:
    """Return a reader of bytes for a reader of files."""

    def parse(data: bytes) -> WeatherRecord:
        with tempfile.NamedTemporaryFile(suffix=".csv") as file:
            file.write(data)
            file.flush()
            return read(Path(file.name))

    return parse


def _daily(path: Path) -> WeatherRecord:
    """Return the record of a file as far as the engine takes it."""
    record = read_weather(path, WeatherChoice(file=path))
    faults, _ = check_record(record, SITE)
    if faults:
        raise WeatherError(path.name, faults)
    return record


def _station(layout: StationLayout, timezone: str, **changes: object) -> Callable[[bytes], WeatherRecord]:
    changed = replace(layout, **changes)
    return _in_file(lambda path: read_station_csv(path, changed, timezone=timezone)[0])


_AMERICA, _EUROPE = "America/Chicago", "Europe/Berlin"

FORMATS: dict[str, Format] = {
    "daily-csv": Format(_in_file(_daily), (_begun(STARTER), _begun(OPEN_RECORD))),
    "open-meteo-forecast": Format(
        _text(partial(parse_open_meteo, site=SITE, forecast=True)),
        _samples("openmeteo_forecast.json", "openmeteo_error.json"),
    ),
    "open-meteo-archive": Format(
        _text(partial(parse_open_meteo, site=SITE, forecast=False)),
        _samples("openmeteo_archive_us_units.json"),
    ),
    "nws-gridpoint": Format(
        _text(partial(parse_gridpoint, timezone=_AMERICA)), _samples("nws_gridpoint.json")
    ),
    "ghcn-dly": Format(_text(parse_ghcn), _samples("ghcn.dly")),
    "ghcn-by-year": Format(_text(parse_ghcn), _samples("ghcn_by_year.csv")),
    "ghcn-by-station": Format(_text(parse_ghcn), _samples("ghcn_access.csv")),
    "station-us": Format(_station(US_STATION, _AMERICA), _samples("pws_us.csv")),
    "station-metric": Format(_station(METRIC_STATION, _EUROPE), _samples("pws_metric_semicolon.csv")),
    "station-counter": Format(
        _station(US_STATION, _AMERICA, rain="counter", clock="standard"), _samples("pws_us.csv")
    ),
    "station-interval": Format(
        _station(METRIC_STATION, _EUROPE, rain="interval", clock="utc"), _samples("pws_metric_semicolon.csv")
    ),
}
