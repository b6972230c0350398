"""Hours of daylight, as plain numbers: what a plan may say of lost sun is bounded by them."""

from __future__ import annotations

import math

__all__ = ["daylight_hours", "longest_daylight"]

_DAYS = 365


def daylight_hours(latitude: float, day_of_year: int) -> float:
    """Return the daylight of a day [h].

    Parameters
    ----------
    latitude : float
        Degrees, north positive.
    day_of_year : int
        1 for 1 January.

    Returns
    -------
    float
        0 in the polar night and 24 under the midnight sun. FAO-56 (1998) eq. 24, 25 and 34.
    """
    declination = 0.409 * math.sin(2 * math.pi * day_of_year / _DAYS - 1.39)
    reach = -math.tan(math.radians(latitude)) * math.tan(declination)
    # Beyond the polar circles the sun does not set, or does not rise.
    return 24 / math.pi * math.acos(min(1.0, max(-1.0, reach)))


def longest_daylight(latitude: float) -> float:
    """Return the daylight of the longest day of the year [h] at a latitude [degrees, north positive]."""
    return max(daylight_hours(latitude, day) for day in range(1, _DAYS + 1))
