"""Small made-up weather records for the tests of this folder."""

from __future__ import annotations

from pathlib import PurePath
from typing import Any

import numpy as np

from scheduler.garden.plan import Site, WeatherChoice
from scheduler.weather.record import VARIABLES, WeatherRecord

SITE = Site(latitude=43.5, elevation=120.0, timezone="UTC")


def choice(**settings: Any) -> WeatherChoice:
    return WeatherChoice(PurePath("weather.csv"), **settings)


def record(
    begin: str = "2025-06-01", *, days: int | None = None, forecast: Any = None, **columns: Any
) -> WeatherRecord:
    """A record from columns given as a number for all days or a list; the others are all NaN."""
    size = days or max(np.size(column) for column in columns.values())
    values = {name: np.full(size, np.nan) for name in VARIABLES}
    for name, column in columns.items():
        values[name] = np.array(np.broadcast_to(np.asarray(column, dtype=float), size))
    dates = np.datetime64(begin, "D") + np.arange(size)
    marks = np.zeros(size, dtype=bool) if forecast is None else np.asarray(forecast, dtype=bool)
    return WeatherRecord(dates, values, marks, "weather.csv", "nobody; made up")


def full_record(days: int = 30, begin: str = "2025-06-01", *, seed: int = 7, **columns: Any) -> WeatherRecord:
    """A sound summer record of all Penman-Monteith variables; `columns` replace some of them."""
    rng = np.random.default_rng(seed)
    tmin = np.round(rng.normal(13.0, 2.0, days), 1)
    sound: dict[str, Any] = {
        "tmin": tmin,
        "tmax": tmin + np.round(rng.uniform(8.0, 14.0, days), 1),
        "rh_max": np.round(rng.uniform(85.0, 98.0, days), 1),
        "rh_min": np.round(rng.uniform(30.0, 55.0, days), 1),
        "wind": np.round(rng.uniform(1.2, 3.5, days), 1),
        "solar_radiation": np.round(rng.uniform(15.0, 29.0, days), 1),
        "rain": np.where(rng.random(days) < 0.2, np.round(rng.gamma(1.0, 6.0, days), 1), 0.0),
    }
    return record(begin, days=days, **(sound | columns))
