"""Make the invented daily weather of `invented_valley_daily.csv`, the same bytes every time.

Usage: ``python make_invented_weather.py [FILE]``; without FILE it rewrites the file beside this script.

Method, day by day, for a place at 43.5 degrees north and 120 m that does not exist:

* Wet or dry is a two-state Markov chain: the share of wet days follows the season, and a day takes after
  the day before by a fixed lag-1 correlation. Amounts of wet days are gamma distributed.
* The day's mean temperature is a seasonal mean, a shift for wet days, and a residual that follows a
  first-order autoregression. The range between greatest and least has a seasonal mean, is smaller on wet
  days and varies by a lognormal factor.
* Solar radiation is a beta-distributed share of the clear-sky radiation, by season and by wet or dry.
* The dew point lies a little below the least temperature, closer on wet days; relative humidity at the
  warm and the cool end of the day follows from it, so that all of them agree.
* Wind is lognormal about a seasonal median, stronger on wet days.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

# One that brings the monthly means near their tables and a shower into the forecast days.
SEED = 8320
FIRST_DAY = np.datetime64("2014-01-01")
FIRST_FORECAST_DAY = np.datetime64("2026-07-13")
LAST_DAY = np.datetime64("2026-07-19")
LATITUDE = 43.5  # [degrees]
ELEVATION = 120  # [m]
WIND_HEIGHT = 3  # [m]
COLUMNS = "date,origin,tmax_c,tmin_c,rh_max_pct,rh_min_pct,wind_m_s,solar_mj_m2,rain_mm"
HEADER = f"""\
# INVENTED daily weather for demonstration. Not a record of any place; do not plan a real garden on it.
# Made by make_invented_weather.py with seed {SEED}; the method is told at the top of that script.
# Imagined site: latitude {LATITUDE} N, elevation {ELEVATION} m, wind sensor {WIND_HEIGHT} m above grass.
# Days run from midnight to midnight. Rows with origin forecast play the part of a weather forecast.
# attribution: invented for demonstration; no real place
"""

FloatArray = NDArray[np.float64]

# By month, January to December, taken as the values of mid-month.
MID_MONTH = np.array([16.0, 45.0, 75.0, 105.0, 136.0, 166.0, 197.0, 228.0, 258.0, 289.0, 319.0, 350.0])
MONTHLY: dict[str, tuple[float, ...]] = {
    "rain a month [mm]": (68, 58, 58, 54, 52, 30, 16, 23, 46, 72, 82, 72),
    "wet days a month": (9.0, 8.0, 8.5, 8.5, 7.5, 5.0, 2.8, 3.3, 5.0, 7.5, 9.0, 9.0),
    "mean temperature [degC]": (5.5, 6.6, 9.6, 13.2, 17.7, 22.2, 25.0, 24.5, 20.2, 15.3, 10.0, 6.4),
    "range of temperature [degC]": (8.0, 9.0, 10.5, 11.5, 12.5, 13.5, 14.5, 14.0, 12.5, 10.5, 8.5, 7.5),
    "shift on wet days [degC]": (0.8, 0.4, -0.6, -1.4, -2.2, -3.0, -3.4, -3.2, -2.2, -0.8, 0.4, 0.8),
    "clear-sky share, dry": (0.74, 0.76, 0.78, 0.80, 0.83, 0.87, 0.90, 0.89, 0.85, 0.80, 0.75, 0.72),
    "clear-sky share, wet": (0.34, 0.36, 0.40, 0.43, 0.47, 0.52, 0.55, 0.53, 0.47, 0.41, 0.35, 0.32),
    "wind [m/s]": (2.0, 2.1, 2.2, 2.2, 2.1, 2.0, 2.0, 1.9, 1.8, 1.8, 1.9, 2.0),
}


def seasonal(name: str, day_of_year: FloatArray) -> FloatArray:
    """Return a monthly table drawn through the year, round its end."""
    return np.interp(day_of_year, MID_MONTH, MONTHLY[name], period=365.25)


def clear_sky_radiation(day_of_year: FloatArray) -> FloatArray:
    """Return the radiation of cloudless days [MJ m-2 d-1]; FAO-56 Eq. 21, 23-25, 37."""
    latitude = np.radians(LATITUDE)
    angle = 2 * np.pi / 365 * day_of_year
    declination = 0.409 * np.sin(angle - 1.39)
    sunset = np.arccos(-np.tan(latitude) * np.tan(declination))
    height = sunset * np.sin(latitude) * np.sin(declination)
    height += np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    ra = 24 * 60 / np.pi * 0.0820 * (1 + 0.033 * np.cos(angle)) * height
    return np.asarray((0.75 + 2e-5 * ELEVATION) * ra)


def vapour_pressure(temperature: FloatArray) -> FloatArray:
    """Return the saturation vapour pressure [kPa]; FAO-56 Eq. 11."""
    return 0.6108 * np.exp(17.27 * temperature / (temperature + 237.3))


def wet_days(rng: np.random.Generator, day_of_year: FloatArray) -> NDArray[np.bool_]:
    """Return which days are wet."""
    likeness = 0.32
    share = seasonal("wet days a month", day_of_year) / 30.4
    draws = rng.random(share.size)
    wet = np.zeros(share.size, dtype=bool)
    for day in range(share.size):
        yesterday = wet[day - 1] if day else False
        wet[day] = draws[day] < share[day] * (1 - likeness) + likeness * yesterday
    return wet


def rain_depths(rng: np.random.Generator, day_of_year: FloatArray, wet: NDArray[np.bool_]) -> FloatArray:
    """Return the rain of each day [mm], at least what a gauge can show on a wet one."""
    shape, least = 0.8, 0.2
    mean = seasonal("rain a month [mm]", day_of_year) / seasonal("wet days a month", day_of_year)
    return np.where(wet, np.maximum(rng.gamma(shape, mean / shape), least), 0.0)


def temperatures(
    rng: np.random.Generator, day_of_year: FloatArray, wet: NDArray[np.bool_]
) -> tuple[FloatArray, FloatArray]:
    """Return the greatest and the least temperature of each day [degC]."""
    memory, spread = 0.72, 2.5
    noise = rng.normal(0.0, spread * np.sqrt(1 - memory**2), day_of_year.size)
    residual = np.zeros(day_of_year.size)
    for day in range(day_of_year.size):
        residual[day] = noise[day] + (memory * residual[day - 1] if day else 0.0)
    mean = seasonal("mean temperature [degC]", day_of_year) + residual
    mean += np.where(wet, seasonal("shift on wet days [degC]", day_of_year), 0.0)
    reach = seasonal("range of temperature [degC]", day_of_year) * np.where(wet, 0.68, 1.04)
    reach *= rng.lognormal(0.0, 0.16, day_of_year.size)
    return mean + reach / 2, mean - reach / 2


def solar_radiation(rng: np.random.Generator, day_of_year: FloatArray, wet: NDArray[np.bool_]) -> FloatArray:
    """Return the solar radiation of each day [MJ m-2 d-1], never quite that of a cloudless one."""
    tightness, most = 9.0, 0.99
    dry_share = seasonal("clear-sky share, dry", day_of_year)
    mean = np.where(wet, seasonal("clear-sky share, wet", day_of_year), dry_share)
    share = rng.beta(mean * tightness, (1 - mean) * tightness)
    return np.clip(share, 0.08, most) * clear_sky_radiation(day_of_year)


def dew_points(rng: np.random.Generator, tmin: FloatArray, wet: NDArray[np.bool_]) -> FloatArray:
    """Return the dew point of each day [degC], a little below the least temperature."""
    below = rng.gamma(2.0, np.where(wet, 0.25, 0.75))
    return tmin - np.clip(below, 0.1, 5.0)


def wind_speeds(rng: np.random.Generator, day_of_year: FloatArray, wet: NDArray[np.bool_]) -> FloatArray:
    """Return the mean wind of each day at the height of the sensor [m/s]."""
    median = seasonal("wind [m/s]", day_of_year) * np.where(wet, 1.2, 1.0)
    return np.clip(median * rng.lognormal(0.0, 0.32, day_of_year.size), 0.5, 9.0)


def csv_text() -> str:
    """Return the whole file."""
    rng = np.random.default_rng(SEED)
    dates = np.arange(FIRST_DAY, LAST_DAY + np.timedelta64(1, "D"))
    day_of_year = ((dates - dates.astype("datetime64[Y]")).astype(int) + 1).astype(float)
    wet = wet_days(rng, day_of_year)
    rain = rain_depths(rng, day_of_year, wet)
    tmax, tmin = (np.round(values, 1) for values in temperatures(rng, day_of_year, wet))
    solar = solar_radiation(rng, day_of_year, wet)
    dew_point = vapour_pressure(dew_points(rng, tmin, wet))
    rh_max = 100 * dew_point / vapour_pressure(tmin)
    rh_min = 100 * dew_point / vapour_pressure(tmax)
    wind = wind_speeds(rng, day_of_year, wet)
    origin = np.where(dates < FIRST_FORECAST_DAY, "observed", "forecast")
    rows = zip(dates, origin, tmax, tmin, rh_max, rh_min, wind, solar, rain, strict=True)
    lines = [
        f"{date},{kind},{hot:.1f},{cool:.1f},{damp:.1f},{dry:.1f},{blow:.2f},{sun:.2f},{wetness:.1f}"
        for date, kind, hot, cool, damp, dry, blow, sun, wetness in rows
    ]
    return HEADER + "\n".join([COLUMNS, *lines]) + "\n"


def main() -> None:
    """Write the file."""
    beside = Path(__file__).with_name("invented_valley_daily.csv")
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else beside
    target.write_bytes(csv_text().encode("ascii"))


if __name__ == "__main__":
    main()
