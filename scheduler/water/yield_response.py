"""How much of a crop's yield is left when water was short. Pure: arrays in, arrays out.

The factors are means over many places, sorts and years. What comes out is a range to think with, never a
promise.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError

__all__ = [
    "YieldRange",
    "relative_yield",
    "relative_yield_by_stages",
    "relative_yield_range",
    "stress_from_yield",
]

FloatArray = NDArray[np.float64]


class YieldRange(NamedTuple):
    """Yield over the yield without shortage, 0..1: the least, the middle and the most that is likely."""

    low: FloatArray
    middle: FloatArray
    high: FloatArray


def relative_yield(et_ratio: ArrayLike, ky: ArrayLike) -> FloatArray:
    """Return the yield over the yield without shortage, 0..1.

    Parameters
    ----------
    et_ratio : array_like
        Crop use over the use without shortage, of the whole season with a seasonal `ky`, or of one growth
        stage with that stage's. Above 1 counts as 1.
    ky : array_like
        Yield response factor.

    Raises
    ------
    RillbookError
        If a ratio is below 0 or a Ky not above 0.

    References
    ----------
    FAO-56 (1998), eq. 90 with Table 24; Doorenbos and Kassam (1979), FAO Irrigation and Drainage Paper 33.
    """
    missing = 1.0 - np.minimum(_ratio(et_ratio), 1.0)
    return np.clip(1.0 - _response(ky) * missing, 0.0, 1.0)


def relative_yield_by_stages(et_ratio: ArrayLike, ky: ArrayLike) -> FloatArray:
    """Return the yield over the yield without shortage, 0..1, when stages went short differently.

    Parameters
    ----------
    et_ratio, ky : array_like, shape (..., n_stages)
        Crop use over the use without shortage, and the factor, of each growth stage.

    Returns
    -------
    array, shape (...)

    Raises
    ------
    RillbookError
        If a ratio is below 0 or a Ky not above 0.

    References
    ----------
    The product of eq. 90 over the stages, from memory after Rao, Sarma and Chander (1988). FAO-56 (1998) has
    seasonal factors only; those of stages stand in FAO Irrigation and Drainage Paper 33.
    """
    return np.asarray(np.prod(relative_yield(et_ratio, ky), axis=-1))


def stress_from_yield(relative: ArrayLike, ky: ArrayLike) -> FloatArray:
    """Return the mean stress coefficient Ks of a season, 0..1, that a yield tells of.

    Parameters
    ----------
    relative : array_like
        Yield over the yield without shortage, 0..1.
    ky : array_like
        Yield response factor.

    Raises
    ------
    RillbookError
        If a relative yield is not in 0..1 or a Ky not above 0.

    References
    ----------
    FAO-56 (1998), eq. 103.
    """
    left = np.asarray(relative, dtype=float)
    if not (np.all(left >= 0.0) and np.all(left <= 1.0)):
        raise RillbookError(f"relative yield {left} is outside 0..1; divide by the yield without shortage")
    return np.clip(1.0 - (1.0 - left) / _response(ky), 0.0, 1.0)


def relative_yield_range(
    et_ratio: ArrayLike, ky: ArrayLike, *, ky_uncertainty: ArrayLike, et_ratio_uncertainty: ArrayLike
) -> YieldRange:
    """Return the range of relative yield that uncertain inputs leave.

    Parameters
    ----------
    et_ratio, ky : array_like
        As for `relative_yield`.
    ky_uncertainty : array_like
        Share by which Ky may be too high or too low, 0 up to but not 1: 0.2 is a fifth either way.
    et_ratio_uncertainty : array_like
        How much the ratio itself may be too high or too low, at least 0: 0.05 of 0.80 is 0.75 to 0.85.

    Returns
    -------
    YieldRange
        `low` takes the higher Ky and the lower ratio together, `high` the opposite: the widest range.

    Raises
    ------
    RillbookError
        If an uncertainty is out of its range, a ratio below 0 or a Ky not above 0.

    References
    ----------
    FAO-56 (1998), eq. 90, at the corners of what is uncertain; the uncertainties are the caller's.
    """
    response, ratio = _response(ky), _ratio(et_ratio)
    share, off = (np.asarray(part, dtype=float) for part in (ky_uncertainty, et_ratio_uncertainty))
    if not (np.all(share >= 0.0) and np.all(share < 1.0)):
        raise RillbookError(f"uncertainty of Ky {share} is outside 0..1; write 0.2 for a fifth either way")
    if not np.all(off >= 0.0):
        raise RillbookError(f"uncertainty of the ratio of crop use {off} is below 0")
    return YieldRange(
        relative_yield(np.maximum(ratio - off, 0.0), response * (1.0 + share)),
        relative_yield(ratio, response),
        relative_yield(ratio + off, response * (1.0 - share)),
    )


def _ratio(et_ratio: ArrayLike) -> FloatArray:
    """Return a ratio of crop use as an array; refuse a negative one."""
    ratio = np.asarray(et_ratio, dtype=float)
    if not np.all(ratio >= 0.0):
        raise RillbookError(f"ratio of crop use {ratio} is below 0; it is actual over unstressed use")
    return ratio


def _response(ky: ArrayLike) -> FloatArray:
    """Return a yield response factor as an array; refuse one that lets shortage raise yield."""
    response = np.asarray(ky, dtype=float)
    if not np.all(response > 0.0):
        raise RillbookError(f"yield response factor Ky {response} is not above 0")
    return response
