"""Short names for what a table was made from, so that the same is not made twice. Pure."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from hashlib import sha256

import numpy as np

from scheduler import __version__
from scheduler.garden.plan import Garden, WeatherChoice
from scheduler.weather.record import DailyWeather

__all__ = ["inputs_hash", "text_hash", "watering_hash", "weather_hash"]

#: Half of SHA-256 is far more than a garden's history can bring to collide.
LENGTH = 32


def text_hash(text: str) -> str:
    """Return the hash of a text."""
    return sha256(text.encode()).hexdigest()[:LENGTH]


def watering_hash(garden: Garden) -> str:
    """Return the hash of all in a plan that bears on the timer's settings.

    Who is told, where weather comes from or what water costs is no reason to look at a setting anew.
    """
    weather = WeatherChoice(file=None)
    bare = replace(garden, name="", note="", weather=weather, sources=(), ledger=None, assumed=())
    return text_hash(repr(replace(bare, tariff=None, household=None, meter=None, notify=(), publish=None)))


def weather_hash(daily: DailyWeather) -> str:
    """Return the hash of every number of a daily record, and of which days are a forecast."""
    digest = sha256()
    arrays = (daily.reference_et, daily.rain, daily.wind_2m, daily.rh_min, daily.tmax, daily.tmin)
    # Bytes of one layout, whatever the machine's own is.
    digest.update(daily.dates.astype("datetime64[D]").astype("<i8").tobytes())
    for values in arrays:
        digest.update(np.ascontiguousarray(values, dtype="<f8").tobytes())
    digest.update(np.ascontiguousarray(daily.forecast, dtype=np.uint8).tobytes())
    return digest.hexdigest()[:LENGTH]


def inputs_hash(on: date, *, plan: str, weather: str, noted: object) -> str:
    """Return the hash of all that a day's table follows from.

    `plan` and `weather` are hashes themselves, `noted` is made of dataclasses whose `repr` tells them whole.
    """
    return text_hash("\n".join((__version__, on.isoformat(), plan, weather, repr(noted))))
