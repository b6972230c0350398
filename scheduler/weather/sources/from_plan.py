"""Sources as a plan names them -> what to ask, under which name to keep their days, and whom to credit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Literal

from scheduler.garden.plan import (
    GhcnSource,
    NwsSource,
    OpenMeteoSource,
    Site,
    StationSource,
    WeatherSource,
)
from scheduler.weather.sources import ghcn, nws, open_meteo
from scheduler.weather.sources.choices import (
    GhcnOptions,
    NwsOptions,
    OpenMeteoOptions,
    SourceChoice,
    StationOptions,
)
from scheduler.weather.sources.station_layout import StationLayout

__all__ = ["choice_of", "credit_of", "kept_name", "origin_of"]


def choice_of(source: WeatherSource, folder: Path) -> SourceChoice:
    """Return what to ask a source; `folder` is that of the plan."""
    if isinstance(source, OpenMeteoSource):
        return SourceChoice("open-meteo", OpenMeteoOptions(source.product, base=source.base))
    if isinstance(source, NwsSource):
        return SourceChoice("nws", NwsOptions(source.base or nws.BASE))
    if isinstance(source, GhcnSource):
        return SourceChoice("ghcn-daily", GhcnOptions(source.station, source.base or ghcn.BASE))
    options = StationOptions(folder / source.file, _layout(source), source.wind_height)
    return SourceChoice("station csv", options)


def _layout(source: StationSource) -> StationLayout:
    layout = StationLayout(
        time_columns=source.time_columns,
        time_format=source.time_format,
        columns=source.columns,
        rain=source.rain,
        clock=source.clock,
        decimal=source.decimal,
        longest_step=source.longest_step,
        least_share=source.least_share,
        least_share_solar=source.least_share_solar,
    )
    return layout if source.missing is None else replace(layout, missing=source.missing)


def origin_of(source: WeatherSource) -> Literal["station", "forecast"]:
    """Return whether the days of a source are measured, as those of an archive count, or foretold."""
    if isinstance(source, NwsSource):
        return "forecast"
    if isinstance(source, OpenMeteoSource):
        return "forecast" if source.product == "forecast" else "station"
    return "station"


def kept_name(source: WeatherSource, site: Site) -> str:
    """Return the name under which the days of a source are kept.

    It says for which place, where the source goes by that: a plan whose coordinates are put right must not
    go on with the days of the wrong place.
    """
    if isinstance(source, GhcnSource):
        return f"GHCN-Daily {source.station}"
    if isinstance(source, StationSource):
        return source.file.as_posix()
    longitude = 0.0 if site.longitude is None else site.longitude
    place = f"at {site.latitude:.2f}, {longitude:.2f}"
    if isinstance(source, NwsSource):
        return f"National Weather Service {place}"
    return f"Open-Meteo {source.product} {place}"


def credit_of(source: WeatherSource) -> tuple[str, str]:
    """Return who is to be named for the weather of a source, and under which licence it is given."""
    if isinstance(source, OpenMeteoSource):
        return open_meteo.ATTRIBUTION, open_meteo.LICENCE
    if isinstance(source, NwsSource):
        return nws.ATTRIBUTION, nws.LICENCE
    if isinstance(source, GhcnSource):
        return ghcn.ATTRIBUTION, ghcn.LICENCE
    return "", ""
