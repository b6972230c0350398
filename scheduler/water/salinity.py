"""What salt in soil and water does to crop use, yield and leaching. Pure: arrays in, arrays out.

Salinities are electrical conductivities in dS/m: ECe of the extract of the soil in the root zone, ECw of the
water. The equations hold for a season's means, not for single days.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError
from scheduler.water.need import GREATEST_LEACHING

__all__ = [
    "SaltStress",
    "combined_stress_coefficient",
    "greatest_valid_salinity",
    "relative_yield_in_salt",
    "salt_stress_coefficient",
    "soil_salinity",
    "surface_leaching_requirement",
    "zero_yield_salinity",
]

FloatArray = NDArray[np.float64]


class SaltStress(NamedTuple):
    """How salt holds crop use back, and how far that may be believed; fields shaped as the inputs broadcast.

    `coefficient` is 0..1 and 1 without salt. Where `within_range` is False the soil is saltier than eq. 91 is
    meant for and the coefficient is a guess. Where `ky_assumed` is True the crop's Ky is unknown and 1 was
    taken.
    """

    coefficient: FloatArray
    within_range: NDArray[np.bool_]
    ky_assumed: NDArray[np.bool_]


def zero_yield_salinity(threshold: ArrayLike, slope: ArrayLike) -> FloatArray:
    """Return the soil salinity at which yield reaches zero [dS/m].

    `threshold` [dS/m] and `slope` [% per dS/m] are those of FAO-56 (1998), Table 23.

    Reference: FAO-56 (1998), eq. 89 solved for no yield. Raises `RillbookError` for a slope not above 0.
    """
    return np.asarray(np.asarray(threshold, dtype=float) + 100.0 / _slope(slope))


def greatest_valid_salinity(threshold: ArrayLike, slope: ArrayLike) -> FloatArray:
    """Return the soil salinity [dS/m] below which eq. 89 to 92 may be used: half of the yield is left there.

    Reference: FAO-56 (1998), text of eq. 89 to 92. Arguments and errors as in `zero_yield_salinity`.
    """
    return np.asarray(np.asarray(threshold, dtype=float) + 50.0 / _slope(slope))


def relative_yield_in_salt(soil_salinity: ArrayLike, *, threshold: ArrayLike, slope: ArrayLike) -> FloatArray:
    """Return the yield over the yield without salt, 0..1, where water is not short.

    Parameters
    ----------
    soil_salinity : array_like
        Mean ECe of the root zone over the season [dS/m].
    threshold : array_like
        ECe from which yield falls [dS/m].
    slope : array_like
        Loss of yield b [% per dS/m].

    Raises
    ------
    RillbookError
        If a slope is not above 0.

    References
    ----------
    FAO-56 (1998), eq. 89 with Table 23.
    """
    past = np.asarray(soil_salinity, dtype=float) - np.asarray(threshold, dtype=float)
    return np.clip(1.0 - _slope(slope) / 100.0 * np.maximum(past, 0.0), 0.0, 1.0)


def salt_stress_coefficient(
    soil_salinity: ArrayLike, *, threshold: ArrayLike, slope: ArrayLike, ky: ArrayLike = np.nan
) -> SaltStress:
    """Return the factor by which salt holds crop use back, with its limits.

    Parameters
    ----------
    soil_salinity : array_like
        Mean ECe of the root zone [dS/m].
    threshold : array_like
        ECe from which yield falls [dS/m].
    slope : array_like
        Loss of yield b [% per dS/m].
    ky : array_like
        Yield response factor of FAO-56 (1998), Table 24; NaN where it is unknown, which counts as 1.

    Raises
    ------
    RillbookError
        If a slope or a known Ky is not above 0.

    References
    ----------
    FAO-56 (1998), eq. 91 and its range.
    """
    response = np.asarray(ky, dtype=float)
    unknown = np.isnan(response)
    known = np.where(unknown, 1.0, response)
    if not np.all(known > 0.0):
        raise RillbookError(f"yield response factor Ky {response} is not above 0")
    salt = np.asarray(soil_salinity, dtype=float)
    lost = 1.0 - relative_yield_in_salt(salt, threshold=threshold, slope=slope)
    coefficient = np.clip(1.0 - lost / known, 0.0, 1.0)
    valid = salt < greatest_valid_salinity(threshold, slope)
    shape = coefficient.shape
    return SaltStress(coefficient, np.broadcast_to(valid, shape), np.broadcast_to(unknown, shape))


def combined_stress_coefficient(salt_stress: ArrayLike, water_stress: ArrayLike) -> FloatArray:
    """Return Ks where salt and shortage of water act together: their product.

    `salt_stress` is the coefficient of `salt_stress_coefficient`; `water_stress` is that of eq. 84.

    Reference: FAO-56 (1998), eq. 92.
    """
    return np.asarray(np.asarray(salt_stress, dtype=float) * np.asarray(water_stress, dtype=float))


def soil_salinity(water_salinity: ArrayLike, *, leaching_fraction: ArrayLike) -> FloatArray:
    """Return the mean ECe [dS/m] of a root zone that has long been watered with such water.

    Parameters
    ----------
    water_salinity : array_like
        ECw of the irrigation water [dS/m].
    leaching_fraction : array_like
        Share of the infiltrated water that drains below the roots, in (0, 1]. Rain is not in it.

    Raises
    ------
    RillbookError
        If a leaching fraction is not in (0, 1]: without leaching salt gathers without end.

    References
    ----------
    FAO-56 (1998), eq. 93.
    """
    leached = np.asarray(leaching_fraction, dtype=float)
    if not (np.all(leached > 0.0) and np.all(leached <= 1.0)):
        raise RillbookError(f"leaching fraction {leached} is outside 0..1; write 0.15 or 15 %")
    return np.asarray((1.0 + leached) / leached * np.asarray(water_salinity, dtype=float) / 5.0)


def surface_leaching_requirement(water_salinity: ArrayLike, *, tolerated_salinity: ArrayLike) -> FloatArray:
    """Return the share of water that must pass the root zone where the whole surface is wetted, 0..0.3.

    Drip and other frequent watering have the form of `need.leaching_requirement`, which takes the salinity
    of no yield in place of the tolerated one.

    Parameters
    ----------
    water_salinity : array_like
        ECw of the irrigation water [dS/m].
    tolerated_salinity : array_like
        ECe to be held [dS/m], for example the crop's threshold.

    Returns
    -------
    array
        Capped at the same share as the drip form. Water so salty that no leaching holds `tolerated_salinity`
        meets the cap: ask `soil_salinity` what the cap leads to.

    References
    ----------
    LR = ECw / (5 ECe - ECw): Ayers and Westcot (1985), FAO Irrigation and Drainage Paper 29, quoted from
    memory; it is FAO-56 (1998), eq. 93, solved for the leaching fraction.
    """
    parts = np.broadcast_arrays(water_salinity, tolerated_salinity)
    water, tolerated = (np.asarray(part, dtype=float) for part in parts)
    room = np.asarray(5.0 * tolerated - water)
    # No leaching makes room where there is none; the product keeps a missing value missing.
    hopeless = np.asarray(np.where(water > 0.0, GREATEST_LEACHING, 0.0) + 0.0 * room)
    return np.clip(np.divide(water, room, out=hopeless, where=room > 0.0), 0.0, GREATEST_LEACHING)


def _slope(slope: ArrayLike) -> FloatArray:
    """Return the loss of yield per dS/m; refuse a slope that loses none."""
    loss = np.asarray(slope, dtype=float)
    if not np.all(loss > 0.0):
        raise RillbookError(f"loss of yield {loss} % per dS/m is not above 0")
    return loss
