"""Wind at one height from wind at another."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from scheduler.weather.bounds import Bound, require
from scheduler.weather.record import FloatArray

__all__ = ["WINDS", "wind_at_2m", "wind_at_height"]

#: Range in which a daily mean wind can be one [m s-1].
WINDS = (0.0, 60.0)


def wind_at_2m(wind: ArrayLike, height: float) -> FloatArray:
    """Return the wind [m s-1] that 2 m above grass would show.

    Takes `wind` [m s-1] at the `height` [m] of its sensor above the ground; raises `WeatherError` for
    NaN, negative wind and heights outside 0.5..100 m. FAO-56 Eq. 47.
    """
    wind = np.asarray(wind, dtype=float)
    require(
        "wind at 2 m",
        Bound("height of the wind sensor", height, 0.5, 100.0, "m"),
        Bound("wind", wind, *WINDS, "m/s"),
    )
    return np.asarray(wind * 4.87 / np.log(67.8 * height - 5.42))


def wind_at_height(wind: FloatArray, height: float, *, wanted: float) -> FloatArray:
    """Return the wind [m s-1] at the height `wanted` [m] from that at another `height` [m]; NaN stays.

    Raises `WeatherError` for heights outside 0.5..100 m. FAO-56 Eq. 47, there and back.
    """
    if height == wanted:
        return wind
    return wind * float(wind_at_2m(1.0, height) / wind_at_2m(1.0, wanted))
