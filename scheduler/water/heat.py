"""Growing degree days: growth counted by warmth in place of days. Pure: arrays in, arrays out."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError
from scheduler.water.crop import stage_progress

__all__ = ["degree_days", "heat_progress", "heat_sum"]

FloatArray = NDArray[np.float64]


def degree_days(
    tmax: ArrayLike, tmin: ArrayLike, *, base: ArrayLike, upper: ArrayLike | None = None
) -> FloatArray:
    """Return the warmth of a day above a base temperature [degC d], at least 0.

    Both temperatures are first held within `base` and `upper`, then averaged: a cold night does not undo a
    warm day, and above `upper` more heat brings no more growth (the horizontal cut-off). Stage lengths in
    degree days only hold for the method they were found with.

    Parameters
    ----------
    tmax, tmin : array_like
        Greatest and least temperature of the day [degC].
    base : array_like
        Temperature at which growth stops [degC].
    upper : array_like, optional
        Temperature above which growth gains nothing [degC]; without it there is no cut-off.

    Raises
    ------
    RillbookError
        If a least temperature is above the greatest, or `upper` is not above `base`.

    References
    ----------
    McMaster and Wilhelm (1997), Agricultural and Forest Meteorology 87, 291-300: their method 2, by the
    paper's summary; its use with both thresholds for maize (10 and 30 degC) by university teaching text.
    """
    warm, cold, least = (np.asarray(part, dtype=float) for part in (tmax, tmin, base))
    most = np.asarray(np.inf if upper is None else upper, dtype=float)
    if np.any(cold > warm):
        raise RillbookError("a least temperature is above the day's greatest; are the columns swapped?")
    if not np.all(most > least):
        raise RillbookError(f"upper temperature {most} degC is not above the base {least} degC")
    held = [np.minimum(np.maximum(part, least), most) for part in (warm, cold)]
    return np.asarray((held[0] + held[1]) / 2.0 - least)


def heat_sum(daily: ArrayLike) -> FloatArray:
    """Return the warmth gathered by the end of each day [degC d], days on the first axis.

    A missing day makes every later sum NaN, so a gap is never taken for cold.
    """
    return np.cumsum(np.asarray(daily, dtype=float), axis=0)


def heat_progress(
    accumulated: ArrayLike, initial: ArrayLike, *, development: ArrayLike, mid: ArrayLike, late: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Return how far development and late season have gone, each 0..1, from the warmth since planting.

    Parameters
    ----------
    accumulated : array_like
        Warmth from planting to the end of the day [degC d], see `heat_sum`.
    initial, development, mid, late : array_like
        Stage lengths [degC d].

    References
    ----------
    The same straight lines between stages as in FAO-56 (1998), eq. 66, with warmth in the place of days.
    """
    return stage_progress(accumulated, initial, development=development, mid=mid, late=late)
