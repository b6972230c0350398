"""Where the sun stands and what it sends above the atmosphere. Pure: arrays in, arrays out.

Latitudes are in degrees, north positive; days of the year run from 1 to 366; time is solar time, noon being
when the sun stands highest.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError

__all__ = [
    "daylight_hours",
    "extraterrestrial_radiation",
    "noon_altitude",
    "radiation_between",
    "solar_declination",
    "sunset_hour_angle",
]

FloatArray = NDArray[np.float64]

#: Radiation that crosses a square metre facing the sun [MJ m-2 min-1]. FAO-56 (1998), text of eq. 21.
SOLAR_CONSTANT = 0.0820

MINUTES_PER_HOUR = 60.0
HOURS_PER_DAY = 24.0


def solar_declination(day_of_year: ArrayLike) -> FloatArray:
    """Return the declination of the sun [radians]. Reference: FAO-56 (1998), eq. 24.

    Raises
    ------
    RillbookError
        If a day is not in 1..366.
    """
    return np.asarray(0.409 * np.sin(_season(day_of_year) - 1.39))


def sunset_hour_angle(latitude: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Return the angle through which the sun goes from noon to sunset [radians].

    It is 0 in the polar night and pi where the sun does not set. Reference: FAO-56 (1998), eq. 25.

    Raises
    ------
    RillbookError
        If a latitude is not in -90..90 degrees or a day not in 1..366.
    """
    cosine = -np.tan(_radians(latitude)) * np.tan(solar_declination(day_of_year))
    return np.asarray(np.arccos(np.clip(cosine, -1.0, 1.0)))


def daylight_hours(latitude: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Return the hours from sunrise to sunset by geometry [h], 0 in the polar night.

    Reference: FAO-56 (1998), eq. 34. Raises as `sunset_hour_angle` does.
    """
    return np.asarray(HOURS_PER_DAY / np.pi * sunset_hour_angle(latitude, day_of_year))


def noon_altitude(latitude: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Return how high the sun stands at noon above the horizon [radians], below 0 in the polar night.

    Reference: FAO-56 (1998), Box 18. Raises as `sunset_hour_angle` does.
    """
    place, tilt = _radians(latitude), solar_declination(day_of_year)
    sine = np.sin(place) * np.sin(tilt) + np.cos(place) * np.cos(tilt)
    return np.asarray(np.arcsin(np.clip(sine, -1.0, 1.0)))


def radiation_between(
    start: ArrayLike, end: ArrayLike, *, latitude: ArrayLike, day_of_year: ArrayLike
) -> FloatArray:
    """Return the radiation that arrives above the atmosphere between two hours [MJ m-2].

    Parameters
    ----------
    start, end : array_like
        Hours after noon, negative before it [h]; what lies outside sunrise and sunset counts as night.
    latitude : array_like
        [degrees], north positive.
    day_of_year : array_like
        1..366.

    Returns
    -------
    array
        On a horizontal surface; 0 where `end` is not after `start`.

    Raises
    ------
    RillbookError
        If a latitude is not in -90..90 degrees or a day not in 1..366.

    References
    ----------
    FAO-56 (1998), eq. 28 with eq. 23, 24 and 29 to 31, over a span of any length.
    """
    sunset = sunset_hour_angle(latitude, day_of_year)
    turn = 2.0 * np.pi / HOURS_PER_DAY
    first = np.clip(np.asarray(start, dtype=float) * turn, -sunset, sunset)
    last = np.maximum(np.clip(np.asarray(end, dtype=float) * turn, -sunset, sunset), first)
    place, tilt = _radians(latitude), solar_declination(day_of_year)
    level = np.sin(place) * np.sin(tilt) * (last - first)
    swing = np.cos(place) * np.cos(tilt) * (np.sin(last) - np.sin(first))
    distance = 1.0 + 0.033 * np.cos(_season(day_of_year))
    # At a sunset that is clipped to noon rounding may leave a hair below nothing.
    return np.maximum(MINUTES_PER_HOUR / turn * SOLAR_CONSTANT * distance * (level + swing), 0.0)


def extraterrestrial_radiation(latitude: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Return Ra, the radiation of a day above the atmosphere on a horizontal surface [MJ m-2 d-1].

    Reference: FAO-56 (1998), eq. 21. Raises as `sunset_hour_angle` does.
    """
    half = HOURS_PER_DAY / 2.0
    return radiation_between(-half, half, latitude=latitude, day_of_year=day_of_year)


def _season(day_of_year: ArrayLike) -> FloatArray:
    """Return how far the year has gone, as an angle [radians]; refuse what is no day of a year."""
    day = np.asarray(day_of_year, dtype=float)
    if not (np.all(day >= 1.0) and np.all(day <= 366.0)):
        raise RillbookError(f"day of year {day} is outside 1..366; 1 is 1 January")
    return np.asarray(2.0 * np.pi / 365.0 * day)


def _radians(latitude: ArrayLike) -> FloatArray:
    """Return a latitude in radians; refuse what is none in degrees."""
    place = np.asarray(latitude, dtype=float)
    if not np.all(np.abs(place) <= 90.0):
        raise RillbookError(f"latitude {place} is outside -90..90 degrees; north is positive")
    return np.radians(place)
