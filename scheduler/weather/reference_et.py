"""Grass reference evapotranspiration and the pieces it is made of; the one module that calls pyet.

Everything is arrays in, arrays out, one value per day; arguments broadcast by numpy's rules and plain
numbers give arrays without dimensions. Latitude is in degrees here and in radians only in the call of
pyet. NaN and impossible values are refused, never passed on: a caller with gaps passes the complete days.

FAO-56 = Allen, Pereira, Raes, Smith (1998), Crop evapotranspiration, FAO Irrigation and Drainage Paper 56.
ASCE = ASCE-EWRI (2005), The ASCE standardized reference evapotranspiration equation.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

import numpy as np
import pandas as pd
import pyet
from numpy.typing import ArrayLike

from scheduler.weather.bounds import Bound, require
from scheduler.weather.record import FloatArray
from scheduler.weather.wind import WINDS, wind_at_2m

__all__ = [
    "actual_vapour_pressure_from_dew_point",
    "actual_vapour_pressure_from_rh_max",
    "actual_vapour_pressure_from_rh_max_min",
    "actual_vapour_pressure_from_rh_mean",
    "clear_sky_radiation",
    "daylight_hours",
    "evaporation_equivalent",
    "extraterrestrial_radiation",
    "reference_et",
    "reference_et_from_temperature",
    "saturation_vapour_pressure",
    "solar_radiation_from_sunshine",
    "solar_radiation_from_temperature",
    "wind_at_2m",
]

# FAO-56 Eq. 20: 1 / 2.45 MJ kg-1, mm of water per MJ m-2.
MM_PER_MJ = 0.408
# FAO-56 text on Eq. 6: turbulence of the air keeps the wind term up in still air [m s-1].
LEAST_WIND = 0.5
# Above this no grass evaporates on any day anywhere; a larger answer means a wrong unit [mm d-1].
GREATEST_ET = 20.0
# Dew on cold, damp days makes Eq. 6 negative, by less than this; it counts as 0 [mm d-1].
GREATEST_DEW = 1.0
# Share by which rounded dew points and temperatures may lift ea above es.
ROUNDING_OF_EA = 0.02
# Offset of a radiation sensor that still passes in the polar night [MJ m-2 d-1].
SENSOR_OFFSET = 1.0
# Sunshine hours that refraction may add to the geometric daylight of Eq. 34 [h].
REFRACTION = 0.5
# Ranges in which a reading can be one: temperatures [degC], and the damp end of relative humidity [%],
# which stays above 1 unless it was given as a share.
TEMPERATURES = (-60.0, 60.0)
DAMP_END = (1.0, 100.0)
# A leap year, so that days 1 to 366 all have a date that pyet can turn back into the day of year.
DAYS_OF_LEAP_YEAR = pd.DatetimeIndex(np.arange("2000-01-01", "2001-01-01", dtype="datetime64[D]"))


def reference_et(
    tmax: ArrayLike,
    tmin: ArrayLike,
    *,
    ea: ArrayLike,
    solar_radiation: ArrayLike,
    wind_2m: ArrayLike,
    elevation: float,
    latitude: float,
    day_of_year: ArrayLike,
) -> FloatArray:
    """Return daily grass reference evapotranspiration by the Penman-Monteith equation.

    Rs/Rso is kept within 0.3 and 1.0, wind is counted as at least 0.5 m/s, soil heat flux is 0 (Eq. 42)
    and a day of net dew counts as 0.

    Parameters
    ----------
    tmax, tmin : array_like, shape (n_days,)
        Greatest and least temperature of the day [degC].
    ea : array_like, shape (n_days,)
        Actual vapour pressure [kPa].
    solar_radiation : array_like, shape (n_days,)
        [MJ m-2 d-1]
    wind_2m : array_like, shape (n_days,)
        Mean wind at 2 m [m s-1].
    elevation : float
        [m]
    latitude : float
        [degrees], north positive.
    day_of_year : array_like of int, shape (n_days,)
        1..366.

    Returns
    -------
    array, shape (n_days,)
        [mm d-1], from 0 to 20.

    Raises
    ------
    WeatherError
        If an input is NaN or out of its range, or an answer is; names every such input and its days.

    References
    ----------
    FAO-56 Eq. 6 with Eq. 7, 8, 11-13, 21-25, 37-40; limits of Rs/Rso from FAO-56 Eq. 39 and ASCE Eq. 18.
    """
    ra = extraterrestrial_radiation(latitude, day_of_year)
    rso = clear_sky_radiation(ra, elevation)
    days = np.broadcast_arrays(*map(_floats, (tmax, tmin, ea, solar_radiation, wind_2m)), ra, rso)
    tmax, tmin, ea, rs, wind, ra, rso = days
    require(
        "reference evapotranspiration",
        *_temperature_bounds(tmax, tmin),
        Bound("actual vapour pressure", ea, 0.0, _greatest_ea(tmax, tmin), "kPa"),
        Bound("solar radiation", rs, 0.0, np.maximum(ra, SENSOR_OFFSET), "MJ m-2 d-1 (no more arrives)"),
        Bound("wind at 2 m", wind, *WINDS, "m/s"),
    )
    if not tmax.size:
        return tmax.copy()
    frame = {"tmax": tmax, "tmin": tmin, "ea": ea, "rs": rs, "rso": rso}
    columns = {name: pd.Series(values.ravel()) for name, values in frame.items()}
    # Every term is passed, so pyet reads no dates; its clipping is off, for the bounds below to see all.
    answer = pyet.pm_fao56(
        (columns["tmax"] + columns["tmin"]) / 2,
        pd.Series(np.maximum(wind, LEAST_WIND).ravel()),
        **columns,
        elevation=elevation,
        clip_zero=False,
    )
    return _bounded(answer.to_numpy(dtype=float).reshape(tmax.shape))


def reference_et_from_temperature(
    tmax: ArrayLike, tmin: ArrayLike, *, latitude: float, day_of_year: ArrayLike
) -> FloatArray:
    """Return daily grass reference evapotranspiration from temperatures alone.

    pyet's form of this equation divides by a latent heat that follows temperature; the published one has
    the fixed 0.408, so the equation itself stands here and only the radiation comes from pyet.

    Parameters
    ----------
    tmax, tmin : array_like, shape (n_days,)
        Greatest and least temperature of the day [degC].
    latitude : float
        [degrees], north positive.
    day_of_year : array_like of int, shape (n_days,)
        1..366.

    Returns
    -------
    array, shape (n_days,)
        [mm d-1], from 0 to 20; 0 where the mean temperature is below -17.8 degC.

    Raises
    ------
    WeatherError
        If an input is NaN or out of its range, or an answer is.

    References
    ----------
    FAO-56 Eq. 52.
    """
    ra = evaporation_equivalent(extraterrestrial_radiation(latitude, day_of_year))
    tmax, tmin, ra = np.broadcast_arrays(_floats(tmax), _floats(tmin), ra)
    require("reference evapotranspiration from temperature", *_temperature_bounds(tmax, tmin))
    warmth = np.maximum((tmax + tmin) / 2 + 17.8, 0.0)
    return _bounded(0.0023 * warmth * np.sqrt(tmax - tmin) * ra)


def extraterrestrial_radiation(latitude: float, day_of_year: ArrayLike) -> FloatArray:
    """Return the solar radiation that arrives above the atmosphere [MJ m-2 d-1].

    Takes `latitude` [degrees] and days of the year 1..366; raises `WeatherError` outside of these.
    FAO-56 Eq. 21 with Eq. 23-25.
    """
    return _by_day_of_year(pyet.extraterrestrial_r, latitude, day_of_year)


def daylight_hours(latitude: float, day_of_year: ArrayLike) -> FloatArray:
    """Return the hours from sunrise to sunset by geometry, 0 in the polar night [h].

    Takes `latitude` [degrees] and days of the year 1..366; raises `WeatherError` outside of these.
    FAO-56 Eq. 34 with Eq. 24, 25.
    """
    return _by_day_of_year(pyet.daylight_hours, latitude, day_of_year)


def clear_sky_radiation(ra: ArrayLike, elevation: float) -> FloatArray:
    """Return the solar radiation of a cloudless day [MJ m-2 d-1].

    Takes extraterrestrial radiation `ra` [MJ m-2 d-1] and `elevation` [m]; raises `WeatherError` for
    NaN, negative radiation or an elevation where no garden lies. FAO-56 Eq. 37.
    """
    ra = _floats(ra)
    require(
        "clear-sky radiation",
        Bound("elevation", elevation, -500.0, 6000.0, "m"),
        Bound("extraterrestrial radiation", ra, 0.0, 50.0, "MJ m-2 d-1"),
    )
    return np.asarray(pyet.calc_rso(ra, elevation), dtype=float)


def evaporation_equivalent(radiation: ArrayLike) -> FloatArray:
    """Return the depth of water that `radiation` [MJ m-2 d-1] would evaporate [mm d-1]; FAO-56 Eq. 20."""
    return MM_PER_MJ * _floats(radiation)


def solar_radiation_from_sunshine(sunshine: ArrayLike, latitude: float, day_of_year: ArrayLike) -> FloatArray:
    """Return solar radiation from hours of bright sunshine [MJ m-2 d-1].

    Takes `sunshine` [h], `latitude` [degrees] and days of the year 1..366; raises `WeatherError` if the
    sun shone longer than the day lasts. FAO-56 Eq. 35 with a_s 0.25 and b_s 0.50.
    """
    ra = extraterrestrial_radiation(latitude, day_of_year)
    sunshine, longest, ra = np.broadcast_arrays(_floats(sunshine), daylight_hours(latitude, day_of_year), ra)
    require("sunshine", Bound("hours of sunshine", sunshine, 0.0, longest + REFRACTION, "h"))
    # pyet divides by the daylight of the polar night, 0.
    share = np.divide(sunshine, longest, out=np.zeros(sunshine.shape), where=longest > 0)
    return np.asarray((0.25 + 0.50 * np.minimum(share, 1.0)) * ra, dtype=float)


def solar_radiation_from_temperature(
    tmax: ArrayLike,
    tmin: ArrayLike,
    *,
    latitude: float,
    day_of_year: ArrayLike,
    elevation: float,
    krs: float,
) -> FloatArray:
    """Return solar radiation from the day's range of temperature, at most that of a clear day.

    Parameters
    ----------
    tmax, tmin : array_like, shape (n_days,)
        Greatest and least temperature of the day [degC].
    latitude : float
        [degrees], north positive.
    day_of_year : array_like of int, shape (n_days,)
        1..366.
    elevation : float
        [m]
    krs : float
        Adjustment coefficient [degC-0.5]: 0.16 inland, 0.19 at a coast.

    Returns
    -------
    array, shape (n_days,)
        [MJ m-2 d-1]

    Raises
    ------
    WeatherError
        If an input is NaN or out of its range.

    References
    ----------
    FAO-56 Eq. 50, capped at Eq. 37.
    """
    ra = extraterrestrial_radiation(latitude, day_of_year)
    rso = clear_sky_radiation(ra, elevation)
    tmax, tmin, ra, rso = np.broadcast_arrays(_floats(tmax), _floats(tmin), ra, rso)
    krs_bound = Bound("krs", krs, 0.10, 0.25, "(0.16 inland, 0.19 at a coast)")
    require("solar radiation from temperature", *_temperature_bounds(tmax, tmin), krs_bound)
    return np.asarray(np.minimum(krs * np.sqrt(tmax - tmin) * ra, rso), dtype=float)


def saturation_vapour_pressure(temperature: ArrayLike) -> FloatArray:
    """Return the saturation vapour pressure [kPa] at `temperature` [degC]; FAO-56 Eq. 11.

    Raises `WeatherError` for NaN and for temperatures that no weather has.
    """
    temperature = _floats(temperature)
    require("saturation vapour pressure", Bound("temperature", temperature, *TEMPERATURES, "degC"))
    return np.asarray(pyet.calc_e0(temperature), dtype=float)


def actual_vapour_pressure_from_dew_point(dew_point: ArrayLike) -> FloatArray:
    """Return the actual vapour pressure [kPa] from the `dew_point` [degC]; FAO-56 Eq. 14.

    Raises `WeatherError` for NaN and for dew points that no weather has.
    """
    dew_point = _floats(dew_point)
    require("vapour pressure from dew point", Bound("dew point", dew_point, *TEMPERATURES, "degC"))
    return np.asarray(pyet.calc_e0(dew_point), dtype=float)


def actual_vapour_pressure_from_rh_max_min(
    tmax: ArrayLike, tmin: ArrayLike, rh_max: ArrayLike, rh_min: ArrayLike
) -> FloatArray:
    """Return the actual vapour pressure [kPa] from both ends of temperature and relative humidity.

    Takes temperatures [degC] and relative humidities [%]; raises `WeatherError` for NaN, humidities
    outside 0..100 or a least value above the greatest. FAO-56 Eq. 17.
    """
    tmax, tmin, rh_max, rh_min = np.broadcast_arrays(*map(_floats, (tmax, tmin, rh_max, rh_min)))
    require(
        "vapour pressure from relative humidity",
        *_temperature_bounds(tmax, tmin),
        Bound("greatest relative humidity", rh_max, *DAMP_END, "%"),
        Bound("least relative humidity", rh_min, 0.0, np.fmin(rh_max, 100.0), "%"),
    )
    return np.asarray(pyet.calc_ea(tmax=tmax, tmin=tmin, rhmax=rh_max, rhmin=rh_min), dtype=float)


def actual_vapour_pressure_from_rh_max(tmin: ArrayLike, rh_max: ArrayLike) -> FloatArray:
    """Return the actual vapour pressure [kPa] from the cool and damp end of the day alone.

    Takes the least temperature [degC] and the greatest relative humidity [%]; raises `WeatherError` for
    NaN and values out of range. FAO-56 Eq. 18.
    """
    tmin, rh_max = np.broadcast_arrays(_floats(tmin), _floats(rh_max))
    require(
        "vapour pressure from relative humidity", Bound("greatest relative humidity", rh_max, *DAMP_END, "%")
    )
    return np.asarray(saturation_vapour_pressure(tmin) * rh_max / 100.0)


def actual_vapour_pressure_from_rh_mean(tmax: ArrayLike, tmin: ArrayLike, rh_mean: ArrayLike) -> FloatArray:
    """Return the actual vapour pressure [kPa] from the day's mean relative humidity.

    Takes temperatures [degC] and the mean relative humidity [%]; raises `WeatherError` for NaN and
    values out of range. FAO-56 Eq. 19.
    """
    tmax, tmin, rh_mean = np.broadcast_arrays(_floats(tmax), _floats(tmin), _floats(rh_mean))
    require(
        "vapour pressure from relative humidity",
        *_temperature_bounds(tmax, tmin),
        Bound("mean relative humidity", rh_mean, *DAMP_END, "%"),
    )
    return np.asarray(pyet.calc_ea(tmax=tmax, tmin=tmin, rh=rh_mean), dtype=float)


def _floats(values: ArrayLike) -> FloatArray:
    """Return `values` as an array of floats."""
    return np.asarray(values, dtype=float)


def _temperature_bounds(tmax: FloatArray, tmin: FloatArray) -> tuple[Bound, Bound]:
    """Return the bounds of the day's two temperatures: the least may not lie above the greatest."""
    least, greatest = TEMPERATURES
    return (
        Bound("greatest temperature", tmax, least, greatest, "degC"),
        Bound("least temperature", tmin, least, np.fmin(tmax, greatest), "degC"),
    )


def _greatest_ea(tmax: FloatArray, tmin: FloatArray) -> FloatArray:
    """Return the vapour pressure [kPa] that the air can hold (Eq. 12), with room for rounded readings."""
    es = pyet.calc_es(tmax=np.clip(tmax, *TEMPERATURES), tmin=np.clip(tmin, *TEMPERATURES))
    # A missing temperature is a fault of its own and says nothing against the vapour pressure.
    return np.nan_to_num(np.asarray(es) * (1 + ROUNDING_OF_EA), nan=np.inf)


def _bounded(answer: FloatArray) -> FloatArray:
    """Return evapotranspiration with dew counted as 0; refuse what no grass evaporates."""
    require(
        "reference evapotranspiration",
        Bound("the answer", answer, -GREATEST_DEW, GREATEST_ET, "mm/d (is an input in the wrong unit?)"),
    )
    return np.maximum(answer, 0.0)


def _by_day_of_year(
    function: Callable[..., ArrayLike], latitude: float, day_of_year: ArrayLike
) -> FloatArray:
    """Return one of pyet's functions of date and latitude on days of the year."""
    days = _floats(day_of_year)
    require(
        "sun and season",
        Bound("latitude", latitude, -90.0, 90.0, "degrees, north positive"),
        Bound("day of year", days, 1.0, 366.0, "(1 is 1 January)", whole=True),
    )
    return np.asarray(_round_the_year(function, latitude)[days.astype(np.intp) - 1])


@lru_cache(maxsize=8)
def _round_the_year(function: Callable[..., ArrayLike], latitude: float) -> FloatArray:
    """Return what one of pyet's functions gives at a latitude on days 1 to 366; the array is shared."""
    answer = np.asarray(function(DAYS_OF_LEAP_YEAR, float(np.radians(latitude))), dtype=float)
    answer.flags.writeable = False
    return answer
