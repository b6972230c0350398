"""Growth stages and single crop coefficients. Pure: arrays in, arrays out.

Every function broadcasts by numpy's rules. A day is counted from planting: the day of planting is day 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "adjust_for_climate",
    "climate_shift",
    "crop_coefficient",
    "rooting_depth",
    "stage_of_day",
    "stage_progress",
]

FloatArray = NDArray[np.float64]

#: Depth to which a young annual crop roots [m]. FAO-56 (1998) Annex 8, p. 279: about 0.15-0.20 m.
SEEDLING_ROOT_DEPTH = 0.15

#: Kc end below this is not adjusted for climate. FAO-56 (1998), text of eq. 65.
LEAST_ADJUSTED_KC_END = 0.45


def _ramp(day: ArrayLike, before: ArrayLike, length: ArrayLike) -> FloatArray:
    """Return 0 up to day `before`, 1 from `before + length` on, linear between (a step if length is 0)."""
    into = np.asarray(day, dtype=float) - np.asarray(before, dtype=float)
    span = np.asarray(length, dtype=float)
    # Of one day numpy makes a number, which `out` does not take: hence an array again.
    at_once = np.asarray(np.where(into > 0.0, 1.0, 0.0) + 0.0 * span)
    share = np.divide(into, span, out=at_once, where=span > 0.0)
    return np.clip(share, 0.0, 1.0)


def stage_progress(
    day: ArrayLike, initial: ArrayLike, *, development: ArrayLike, mid: ArrayLike, late: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Return how far development and late season have gone, each 0..1.

    Parameters
    ----------
    day : array_like
        Day after planting, the day of planting being 1 [d].
    initial, development, mid, late : array_like
        Stage lengths [d], FAO-56 (1998) Table 11.
    """
    full_cover = np.asarray(initial, dtype=float) + np.asarray(development, dtype=float)
    return _ramp(day, initial, development), _ramp(day, full_cover + np.asarray(mid, dtype=float), late)


def stage_of_day(
    day: ArrayLike, initial: ArrayLike, *, development: ArrayLike, mid: ArrayLike
) -> NDArray[np.int64]:
    """Return the growth stage of a day: 0 initial, 1 development, 2 mid-season, 3 late season."""
    first = np.asarray(initial, dtype=float)
    second = first + np.asarray(development, dtype=float)
    third = second + np.asarray(mid, dtype=float)
    number = np.asarray(day, dtype=float)
    return (number > first).astype(np.int64) + (number > second) + (number > third)


def crop_coefficient(
    development: ArrayLike, late: ArrayLike, *, kc_ini: ArrayLike, kc_mid: ArrayLike, kc_end: ArrayLike
) -> FloatArray:
    """Return the single crop coefficient from the progress of development and late season.

    Reference: FAO-56 (1998), eq. 66 (linear between the stages' values).
    """
    start, peak, close = (np.asarray(value, dtype=float) for value in (kc_ini, kc_mid, kc_end))
    return start + np.asarray(development) * (peak - start) + np.asarray(late) * (close - peak)


def adjust_for_climate(
    kc: ArrayLike, wind_2m: ArrayLike, *, rh_min: ArrayLike, height: ArrayLike
) -> FloatArray:
    """Return Kc mid, or Kc end, adjusted for wind, air humidity and crop height.

    Values below 0.45 come back unchanged.

    Reference: FAO-56 (1998), eq. 62 (mid-season) and 65 (end).
    """
    table = np.asarray(kc, dtype=float)
    shift = climate_shift(wind_2m, rh_min=rh_min, height=height)
    return np.where(table >= LEAST_ADJUSTED_KC_END, table + shift, table)


def climate_shift(wind_2m: ArrayLike, *, rh_min: ArrayLike, height: ArrayLike) -> FloatArray:
    """Return by how much wind, humidity and height raise a coefficient above its standard climate.

    Inputs are held within the range of the equation: wind 1..6 m/s at 2 m, least relative humidity
    20..80 %, height 0.1..10 m.

    Reference: FAO-56 (1998), the term that eq. 62, 65, 70, 72 and 100 have in common.
    """
    wind = np.clip(np.asarray(wind_2m, dtype=float), 1.0, 6.0)
    humidity = np.clip(np.asarray(rh_min, dtype=float), 20.0, 80.0)
    tall = np.clip(np.asarray(height, dtype=float), 0.1, 10.0)
    return np.asarray((0.04 * (wind - 2.0) - 0.004 * (humidity - 45.0)) * (tall / 3.0) ** 0.3)


def rooting_depth(development: ArrayLike, greatest: ArrayLike) -> FloatArray:
    """Return rooting depth [m], growing with canopy development to the greatest depth.

    A crop that never roots deeper than a seedling keeps its greatest depth throughout.

    Reference: FAO-56 (1998), Annex 8, eq. 8-1, with the coefficient's progress as its ratio.
    """
    deep = np.asarray(greatest, dtype=float)
    start = np.minimum(SEEDLING_ROOT_DEPTH, deep)
    return start + np.asarray(development) * (deep - start)
