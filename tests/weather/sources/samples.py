"""Recorded-format answers and files, every number in them made up, and how to read each of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

from scheduler.garden.plan import Site
from scheduler.weather.record import WeatherRecord
from scheduler.weather.sources.ghcn import parse_ghcn
from scheduler.weather.sources.nws import parse_gridpoint
from scheduler.weather.sources.open_meteo import parse_open_meteo
from scheduler.weather.sources.station_csv import parse_station_csv
from scheduler.weather.sources.station_layout import StationLayout

DATA = Path(__file__).parent / "data"
SITE = Site(latitude=44.1, elevation=301.0, timezone="America/Chicago", longitude=-92.5)

# Steps of the samples are six hours.
US_STATION = StationLayout(
    time_columns=("Date Time",),
    time_format="%m/%d/%Y %I:%M %p",
    columns={
        "temperature": ("Outdoor Temperature (°F)", "degF"),
        "humidity": ("Outdoor Humidity (%)", "%"),
        "dew_point": ("Dew Point (°F)", "degF"),
        "wind": ("Wind Speed (mph)", "mph"),
        "rain": ("Daily Rain (in)", "in"),
        "solar": ("Solar Radiation (W/m^2)", "W/m2"),
    },
    longest_step=360.0,
)
METRIC_STATION = StationLayout(
    time_columns=("Zeit",),
    time_format="%d.%m.%Y %H:%M",
    columns={
        "temperature": ("Temperatur (°C)", "degC"),
        "humidity": ("Feuchte (%)", "%"),
        "wind": ("Wind (km/h)", "km/h"),
        "rain": ("Regen Tag (mm)", "mm"),
        "solar": ("Strahlung (W/m²)", "W/m2"),
    },
    decimal=",",
    longest_step=360.0,
)


def text_of(name: str) -> str:
    """Return a sample as text."""
    return (DATA / name).read_text(encoding="utf-8-sig")


def station(
    text: str, layout: StationLayout = US_STATION, timezone: str = "America/Chicago", **changes: object
):
    """Return a station's rows as a record."""
    return parse_station_csv(text, replace(layout, **changes), timezone=timezone, source="station.csv")


PARSERS: dict[str, Callable[[str], WeatherRecord]] = {
    "openmeteo_forecast.json": partial(parse_open_meteo, site=SITE, forecast=True),
    "openmeteo_archive_us_units.json": partial(parse_open_meteo, site=SITE, forecast=False),
    "nws_gridpoint.json": partial(parse_gridpoint, timezone="America/Chicago"),
    "ghcn.dly": parse_ghcn,
    "ghcn_access.csv": parse_ghcn,
    "ghcn_by_year.csv": parse_ghcn,
    "pws_us.csv": station,
    "pws_metric_semicolon.csv": partial(station, layout=METRIC_STATION, timezone="Europe/Berlin"),
}
