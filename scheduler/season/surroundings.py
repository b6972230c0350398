"""What walls, trees and neighbours make of the open site's weather at each bed. Pure.

Sunshine is taken from the day's range of temperature, since shade needs no more than how clear a day was, and
not every record has it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Bed, Garden
from scheduler.water.shade import shaded_reference_et, sun_lost_share
from scheduler.water.sun import daylight_hours, extraterrestrial_radiation
from scheduler.weather.normals import day_index
from scheduler.weather.record import DateArray

__all__ = ["DayWeather", "bed_rain", "bed_reference_et"]

FloatArray = NDArray[np.float64]

#: kRs of eq. 50 by site. FAO-56 (1998), p. 60.
RADIATION_BY_TEMPERATURE = {"inland": 0.16, "coast": 0.19}

#: Most that a clear sky lets through of Ra at sea level, and what each metre adds. FAO-56 (1998), eq. 37.
CLEAR_SKY, CLEAR_SKY_RISE = 0.75, 2e-5


@dataclass(frozen=True, slots=True, eq=False)
class DayWeather:
    """The open site's weather on a span of days; arrays of shape (n_days,).

    `rain` is what of it counts [mm], `before` the reference ET of the days just before the first, as far as
    the record has them [mm].
    """

    dates: DateArray
    reference_et: FloatArray
    rain: FloatArray
    wind_2m: FloatArray
    rh_min: FloatArray
    tmax: FloatArray
    tmin: FloatArray
    before: FloatArray


def bed_reference_et(garden: Garden, weather: DayWeather) -> FloatArray:
    """Return the reference ET that reaches each bed [mm], (n_days, n_beds).

    Shade takes its part of the beam; a warm wall adds the share that the plan gives (judgement, no source).
    """
    columns = [_shaded(bed, garden, weather) * (1.0 + bed.wall_heat) for bed in garden.beds]
    return np.stack(columns, axis=1)


def _shaded(bed: Bed, garden: Garden, weather: DayWeather) -> FloatArray:
    """Return the reference ET of a bed that loses hours of direct sun [mm]."""
    if bed.sun_lost == 0.0:
        return weather.reference_et
    site, day = garden.site, day_index(weather.dates) + 1
    extraterrestrial = extraterrestrial_radiation(site.latitude, day)
    clear = CLEAR_SKY + CLEAR_SKY_RISE * site.elevation
    krs = RADIATION_BY_TEMPERATURE[garden.weather.radiation_site]
    let_through = np.minimum(krs * np.sqrt(np.maximum(weather.tmax - weather.tmin, 0.0)), clear)
    return shaded_reference_et(
        weather.reference_et,
        solar=let_through * extraterrestrial,
        extraterrestrial=extraterrestrial,
        lost_share=sun_lost_share(site.latitude, day, hours=bed.sun_lost, when=bed.sun_lost_when),
        daylight=daylight_hours(site.latitude, day),
        tmean=0.5 * (weather.tmax + weather.tmin),
        wind_2m=weather.wind_2m,
        elevation=site.elevation,
    )


def bed_rain(garden: Garden, weather: DayWeather) -> FloatArray:
    """Return the rain that counts in each bed [mm], (n_days, n_beds): the share that leaves let through."""
    return weather.rain[:, None] * np.array([bed.rain_share for bed in garden.beds])
