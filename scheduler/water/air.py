"""The pieces of the Penman-Monteith equation that do not depend on radiation. Pure: arrays in, arrays out.

They stand here for the kernel, which may not load what weather/reference_et.py needs for the whole equation.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "LEAST_WIND",
    "psychrometric_constant",
    "radiation_weight",
    "vapour_pressure_slope",
]

FloatArray = NDArray[np.float64]

#: gamma at sea level's air pressure [kPa/degC]: 0.000665 times the pressure. FAO-56 (1998), eq. 7 and 8.
SEA_LEVEL_GAMMA = 0.0673645

#: Wind is counted as at least this [m/s], since air moves even in a calm. FAO-56 (1998), text of eq. 6.
LEAST_WIND = 0.5


def vapour_pressure_slope(temperature: ArrayLike) -> FloatArray:
    """Return Delta, the slope of the saturation vapour pressure curve [kPa/degC], at `temperature` [degC].

    Reference: FAO-56 (1998), eq. 13.
    """
    warmth = np.asarray(temperature, dtype=float)
    saturated = 0.6108 * np.exp(17.27 * warmth / (warmth + 237.3))
    return np.asarray(4098.0 * saturated / (warmth + 237.3) ** 2)


def psychrometric_constant(elevation: ArrayLike) -> FloatArray:
    """Return gamma [kPa/degC] at `elevation` [m]. Reference: FAO-56 (1998), eq. 7 and 8."""
    height = np.asarray(elevation, dtype=float)
    return np.asarray(SEA_LEVEL_GAMMA * ((293.0 - 0.0065 * height) / 293.0) ** 5.26)


def radiation_weight(temperature: ArrayLike, wind_2m: ArrayLike, *, elevation: ArrayLike) -> FloatArray:
    """Return the share of the net radiation's depth of water that becomes reference ET, in (0, 1).

    It is Delta / (Delta + gamma (1 + 0.34 u2)), with wind counted as at least 0.5 m/s.

    Parameters
    ----------
    temperature : array_like
        Mean temperature of the day [degC].
    wind_2m : array_like
        Mean wind at 2 m [m/s].
    elevation : array_like
        [m]

    References
    ----------
    FAO-56 (1998), the first term of eq. 6.
    """
    slope = vapour_pressure_slope(temperature)
    wind = np.maximum(np.asarray(wind_2m, dtype=float), LEAST_WIND)
    return np.asarray(slope / (slope + psychrometric_constant(elevation) * (1.0 + 0.34 * wind)))
