"""Coefficients of stands that do not cover their ground or stand alone. Pure: arrays in, arrays out.

The figures of Tables 12 and 17 are for wide, closed stands. A bed of a kitchen garden is often young or
gappy, or a single row; two crops in one bed are the matter of mixture.py.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError
from scheduler.water.air import LEAST_WIND, psychrometric_constant, vapour_pressure_slope
from scheduler.water.crop import adjust_for_climate
from scheduler.water.sun import noon_altitude

__all__ = [
    "GREATEST_ISOLATED_KC",
    "KC_MIN",
    "cover_reduction",
    "effective_cover",
    "effective_cover_of_crowns",
    "full_cover_coefficient",
    "height_width_ratio",
    "isolated_row_coefficient",
    "leaf_area_coefficient",
    "leaf_area_index",
    "reduced_for_cover",
    "sparse_basal_coefficient",
    "stomatal_factor",
]

FloatArray = NDArray[np.float64]

#: Coefficient of dry, bare ground. FAO-56 (1998), examples 41 and 47; text: up to 0.20 (from memory).
KC_MIN = 0.15

#: No stand, however small, uses more than this many times the reference. FAO-56 (1998), p. 200-203, eq. 105.
GREATEST_ISOLATED_KC = 2.5

#: Coefficient of a wide, tall, closed stand, before the climate. FAO-56 (1998), eq. 101 and 105.
TALL_STAND_KC = 1.2

#: How quickly leaves close a canopy. FAO-56 (1998), eq. 97.
LEAF_EXTINCTION = 0.7

#: Leaf resistance of most crops [s/m]: the 100 in FAO-56 (1998), eq. 102.
USUAL_LEAF_RESISTANCE = 100.0


def cover_reduction(cover: ArrayLike, dense_cover: ArrayLike) -> FloatArray:
    """Return by how much less a stand uses, as a coefficient, than one as dense as its kind grows; 0..1.

    Parameters
    ----------
    cover, dense_cover : array_like
        Share of ground under leaves, as it is and in a dense stand, in (0, 1].

    References
    ----------
    FAO-56 (1998), eq. 96; a first guess, see `sparse_basal_coefficient` for the better one.
    """
    ratio = np.asarray(cover, dtype=float) / np.asarray(dense_cover, dtype=float)
    return np.asarray(1.0 - np.sqrt(np.clip(ratio, 0.0, 1.0)))


def reduced_for_cover(kc: ArrayLike, *, cover: ArrayLike, dense_cover: ArrayLike) -> FloatArray:
    """Return a mid-season coefficient, single or basal, reduced for a thin stand; never below 0.

    Reference: FAO-56 (1998), eq. 94 with eq. 96, whose arguments are those of `cover_reduction`.
    """
    return np.maximum(np.asarray(kc, dtype=float) - cover_reduction(cover, dense_cover), 0.0)


def leaf_area_coefficient(
    leaf_area: ArrayLike, *, kcb_full: ArrayLike, kc_min: ArrayLike = KC_MIN
) -> FloatArray:
    """Return the basal coefficient of a stand with a leaf area of `leaf_area` m2 over each m2 of ground.

    `kcb_full` is the coefficient at full cover and `kc_min` that of dry, bare ground.

    Reference: FAO-56 (1998), eq. 97.
    """
    least = np.asarray(kc_min, dtype=float)
    closed = 1.0 - np.exp(-LEAF_EXTINCTION * np.asarray(leaf_area, dtype=float))
    return np.asarray(least + (np.asarray(kcb_full, dtype=float) - least) * closed)


def leaf_area_index(kcb: ArrayLike, *, kcb_full: ArrayLike, kc_min: ArrayLike = KC_MIN) -> FloatArray:
    """Return the leaf area over ground area [m2/m2] that a basal coefficient stands for, at least 0.

    Raises
    ------
    RillbookError
        If a coefficient is not below that of full cover: eq. 97 reaches it with endless leaves only.

    References
    ----------
    FAO-56 (1998), eq. 97 solved for the leaf area; example 47 rounds 1 / 0.7 to 1.4.
    """
    full, least, value = (np.asarray(part, dtype=float) for part in (kcb_full, kc_min, kcb))
    if not np.all((value < full) & (least < full)):
        raise RillbookError(
            f"basal coefficient {value} or bare ground's {least} is not below full cover's {full}"
        )
    closed = np.maximum((value - least) / (full - least), 0.0)
    return np.asarray(-np.log1p(-closed) / LEAF_EXTINCTION)


def full_cover_coefficient(height: ArrayLike, wind_2m: ArrayLike, *, rh_min: ArrayLike) -> FloatArray:
    """Return the basal coefficient that plants `height` m tall would have at full cover.

    For a crop of Table 17 the table's value, adjusted for climate, is the better one (eq. 99).

    Parameters
    ----------
    height : array_like
        [m]
    wind_2m : array_like
        Mean wind at 2 m [m/s].
    rh_min : array_like
        Mean least relative humidity of the day [%].

    References
    ----------
    FAO-56 (1998), eq. 100 and 101.
    """
    by_height = np.minimum(1.0 + 0.1 * np.asarray(height, dtype=float), TALL_STAND_KC)
    return adjust_for_climate(by_height, wind_2m, rh_min=rh_min, height=height)


def height_width_ratio(height: ArrayLike, width: ArrayLike, *, row_angle: ArrayLike) -> FloatArray:
    """Return the height of a row over its width as the noon sun sees it.

    `row_angle` is the angle of the row from east-west [degrees], so a row from north to south (90) casts no
    shadow beside itself at noon. Height and width of the leafy part are in m.

    Reference: FAO-56 (1998), Box 18.
    """
    across = np.abs(np.cos(np.radians(np.asarray(row_angle, dtype=float))))
    return np.asarray(np.asarray(height, dtype=float) * across / np.asarray(width, dtype=float))


def effective_cover(
    cover: ArrayLike, latitude: ArrayLike, *, day_of_year: ArrayLike, height_width_ratio: ArrayLike
) -> FloatArray:
    """Return the share of ground that plants in rows shade near noon, from the share they cover.

    Parameters
    ----------
    cover : array_like
        Share of ground under leaves, seen from above, 0..1.
    latitude : array_like
        [degrees], north positive.
    day_of_year : array_like
        1..366.
    height_width_ratio : array_like
        Of the rows as the noon sun sees them, see the function of this name.

    Raises
    ------
    RillbookError
        If a cover is not a share, a latitude not in -90..90 degrees or a day not in 1..366.

    References
    ----------
    FAO-56 (1998), Box 18. Where the sun stays below the horizon all ground under any leaf counts as shaded.
    """
    altitude = noon_altitude(latitude, day_of_year)
    shadow = np.asarray(height_width_ratio, dtype=float) * np.cos(altitude)
    seen = _share(cover)
    high = altitude > 0.0
    lengthened = seen * (1.0 + shadow / np.where(high, np.sin(altitude), 1.0))
    return np.where(high, np.minimum(lengthened, 1.0), np.ceil(seen))


def effective_cover_of_crowns(cover: ArrayLike, latitude: ArrayLike, *, day_of_year: ArrayLike) -> FloatArray:
    """Return the share of ground that round crowns shade near noon, from the share they cover.

    Arguments, errors and the sun below the horizon are those of `effective_cover`.

    Reference: FAO-56 (1998), Box 18.
    """
    altitude = noon_altitude(latitude, day_of_year)
    seen = _share(cover)
    high = altitude > 0.0
    lengthened = seen / np.where(high, np.sin(altitude), 1.0)
    return np.where(high, np.minimum(lengthened, 1.0), np.ceil(seen))


def sparse_basal_coefficient(
    kcb_full: ArrayLike,
    *,
    cover: ArrayLike,
    effective_cover: ArrayLike,
    height: ArrayLike,
    kc_min: ArrayLike = KC_MIN,
) -> FloatArray:
    """Return the mid-season basal coefficient of a stand that covers a part of its ground.

    Parameters
    ----------
    kcb_full : array_like
        The same plants' at full cover, see `full_cover_coefficient`.
    cover : array_like
        Share of ground under leaves, seen from above, 0..1.
    effective_cover : array_like
        Share of ground shaded near noon, 0..1.
    height : array_like
        [m]
    kc_min : array_like
        Coefficient of dry, bare ground.

    Raises
    ------
    RillbookError
        If a cover is not a share of the ground.

    References
    ----------
    FAO-56 (1998), eq. 98.
    """
    least = np.asarray(kc_min, dtype=float)
    shaded = _share(effective_cover) ** (1.0 / (1.0 + np.asarray(height, dtype=float)))
    density = np.minimum(np.minimum(2.0 * _share(cover), shaded), 1.0)
    return np.asarray(least + (np.asarray(kcb_full, dtype=float) - least) * density)


def stomatal_factor(
    leaf_resistance: ArrayLike, wind_2m: ArrayLike, *, temperature: ArrayLike, elevation: ArrayLike
) -> FloatArray:
    """Return Fr, by which plants that open their stomata less use less at full cover, in (0, 1].

    Parameters
    ----------
    leaf_resistance : array_like
        Mean resistance of the leaves [s/m]; 100 for most crops. Less counts as 100, since the equation is
        there to lower use (judgement).
    wind_2m : array_like
        Mean wind at 2 m [m/s].
    temperature : array_like
        Mean air temperature [degC].
    elevation : array_like
        [m]

    References
    ----------
    FAO-56 (1998), eq. 102.
    """
    slope, gamma = vapour_pressure_slope(temperature), psychrometric_constant(elevation)
    wind = 0.34 * np.maximum(np.asarray(wind_2m, dtype=float), LEAST_WIND)
    closing = np.maximum(np.asarray(leaf_resistance, dtype=float) / USUAL_LEAF_RESISTANCE, 1.0)
    return np.asarray((slope + gamma * (1.0 + wind)) / (slope + gamma * (1.0 + wind * closing)))


def isolated_row_coefficient(
    height: ArrayLike, width: ArrayLike, *, stomatal_factor: ArrayLike = 1.0
) -> FloatArray:
    """Return the coefficient of a single row that stands alone in the wind, at most 2.5.

    Height and width of the leafy part are in m. It is for a windbreak or one trellised row beside dry
    ground, not for sparse stands.

    Raises
    ------
    RillbookError
        If a width is not above 0.

    References
    ----------
    FAO-56 (1998), eq. 105.
    """
    across = np.asarray(width, dtype=float)
    if not np.all(across > 0.0):
        raise RillbookError(f"width of a row {across} m is not above 0")
    beside = np.asarray(stomatal_factor, dtype=float) * np.asarray(height, dtype=float) / across
    return np.minimum(TALL_STAND_KC + beside, GREATEST_ISOLATED_KC)


def _share(cover: ArrayLike) -> FloatArray:
    """Return a cover as an array; refuse what is no share of the ground."""
    share = np.asarray(cover, dtype=float)
    if not (np.all(share >= 0.0) and np.all(share <= 1.0)):
        raise RillbookError(f"ground cover {share} is outside 0..1; write 0.30 or 30 %")
    return share
