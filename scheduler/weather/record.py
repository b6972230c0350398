"""Daily weather as arrays: as read (with gaps), and as the engine uses it (without)."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

__all__ = ["VARIABLES", "DailyWeather", "WeatherRecord"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
DateArray = NDArray[np.datetime64]

#: Names of the measured variables of a record, with the unit each is held in.
VARIABLES: dict[str, str] = {
    "tmax": "degC",
    "tmin": "degC",
    "rh_max": "%",
    "rh_min": "%",
    "rh_mean": "%",
    "dew_point": "degC",
    "wind": "m/s",
    "solar_radiation": "MJ m-2 d-1",
    "sunshine": "h",
    "rain": "mm",
}


@dataclass(frozen=True, slots=True)
class WeatherRecord:
    """Daily weather as measured or forecast, in canonical units, gaps visible as NaN.

    Attributes
    ----------
    dates : array of datetime64[D], shape (n_days,)
        Every day from the first to the last, none left out.
    values : dict of str to array, shape (n_days,)
        One float array per variable in `VARIABLES`; NaN where nothing was recorded. Wind is at the
        height of its sensor. A variable without any value is present and all NaN.
    forecast : array of bool, shape (n_days,)
        True for rows that are a forecast, not a measurement.
    source : str
        Name of the file, as people should see it.
    attribution : str
        Who measured it and under which terms, as the file's header says; empty if it says nothing.
    notes : tuple of str
        What the reader recognised or set right (separator, decimal comma, identical duplicates ...),
        and what the quality checks found worth a look.
    """

    dates: DateArray
    values: dict[str, FloatArray]
    forecast: BoolArray
    source: str
    attribution: str = ""
    notes: tuple[str, ...] = ()

    def has(self, variable: str) -> bool:
        """Return True if at least one day has a value of the variable."""
        return bool(np.isfinite(self.values[variable]).any())


@dataclass(frozen=True, slots=True)
class DailyWeather:
    """Complete daily weather at the garden, ready for the water balance: no NaN anywhere.

    Attributes
    ----------
    dates : array of datetime64[D], shape (n_days,)
    reference_et : array, shape (n_days,)
        Grass reference evapotranspiration [mm d-1].
    rain : array, shape (n_days,)
        [mm d-1]
    wind_2m, rh_min, tmax, tmin : arrays, shape (n_days,)
        Wind at 2 m [m s-1], least relative humidity of the day [%], temperatures [degC].
    forecast : array of bool, shape (n_days,)
    estimated : dict of str to array of bool, shape (n_days,)
        Which days rest on an estimate, by what was estimated: keys such as ``humidity``,
        ``radiation``, ``wind``, ``rain``, ``gap``, ``method``. A key is present only if some day is true.
    source, attribution : str
    notes : tuple of str
        Everything the record, its checks and the filling had to say.
    """

    dates: DateArray
    reference_et: FloatArray
    rain: FloatArray
    wind_2m: FloatArray
    rh_min: FloatArray
    tmax: FloatArray
    tmin: FloatArray
    forecast: BoolArray
    estimated: dict[str, BoolArray] = field(default_factory=dict)
    source: str = ""
    attribution: str = ""
    notes: tuple[str, ...] = ()
