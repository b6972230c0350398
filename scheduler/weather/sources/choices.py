"""What a source is asked for, and what comes back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Literal

from scheduler.weather.record import WeatherRecord
from scheduler.weather.sources import ghcn, nws
from scheduler.weather.sources.station_layout import StationLayout

__all__ = [
    "FetchedWeather",
    "GhcnOptions",
    "NwsOptions",
    "OpenMeteoOptions",
    "SourceChoice",
    "SourceKind",
    "StationOptions",
]

SourceKind = Literal["open-meteo", "nws", "ghcn-daily", "station csv"]


@dataclass(frozen=True, slots=True)
class OpenMeteoOptions:
    """Forecast or archive; `base` is another server, empty for the service's own."""

    product: Literal["forecast", "archive"] = "forecast"
    past_days: int = 2
    base: str = ""


@dataclass(frozen=True, slots=True)
class NwsOptions:
    """`base` is another server."""

    base: str = nws.BASE


@dataclass(frozen=True, slots=True)
class GhcnOptions:
    """Identification of the station; `base` is another home of the files."""

    station: str
    base: str = ghcn.BASE


@dataclass(frozen=True, slots=True)
class StationOptions:
    """A station's own file, what its columns are, and the height of its wind sensor [m] if it has one."""

    file: Path
    layout: StationLayout
    wind_height: float | None = None


Options = OpenMeteoOptions | NwsOptions | GhcnOptions | StationOptions


@dataclass(frozen=True, slots=True)
class SourceChoice:
    """Which source to ask, and how."""

    kind: SourceKind
    options: Options


@dataclass(frozen=True, slots=True)
class FetchedWeather:
    """Daily weather with where it comes from and how old it is.

    Attributes
    ----------
    record : WeatherRecord
    fetched_at : datetime
        When the source gave or last confirmed the oldest part of it that may still change, UTC; for a
        file, when it was last changed.
    age : timedelta
        Since then.
    attribution, licence : str
        To be shown with the weather.
    stale : bool
        True if some of it is past its lifetime, since no newer answer could be had.
    issued_at : datetime or None
        When a forecast was made, if the source tells.
    wind_height : float or None
        Height of the wind [m], None where the source does not tell.
    """

    record: WeatherRecord
    fetched_at: datetime
    age: timedelta
    attribution: str
    licence: str
    stale: bool = False
    issued_at: datetime | None = None
    wind_height: float | None = None
