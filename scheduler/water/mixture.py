"""Coefficients of crops that share a bed. Pure: arrays in, arrays out.

Plants lie on the last axis, so that the axes before it stay free for days and beds.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError
from scheduler.water.stand import KC_MIN, leaf_area_coefficient, leaf_area_index

__all__ = ["height_weighted_coefficient", "overlapping_coefficient"]

FloatArray = NDArray[np.float64]


def height_weighted_coefficient(
    kc: ArrayLike, *, cover: ArrayLike, height: ArrayLike, greatest: ArrayLike
) -> FloatArray:
    """Return the coefficient of crops that grow beside each other, weighted by ground and height.

    Parameters
    ----------
    kc, cover, height : array_like, shape (..., n_plants)
        Coefficients, shares of the ground that each crop takes, and heights [m].
    greatest : array_like, shape (...)
        Kc max, eq. 72: the energy at hand for the whole bed.

    Returns
    -------
    array, shape (...)

    Raises
    ------
    RillbookError
        If the weights of a mixture, cover times height, are negative or all 0.

    References
    ----------
    FAO-56 (1998), eq. 104.
    """
    weight = np.asarray(cover, dtype=float) * np.asarray(height, dtype=float)
    parts = np.broadcast_arrays(weight, np.asarray(kc, dtype=float))
    total = parts[0].sum(axis=-1)
    if not (np.all(weight >= 0.0) and np.all(total > 0.0)):
        raise RillbookError(f"cover times height is {weight}; each plant needs both, and neither below 0")
    return np.minimum((parts[0] * parts[1]).sum(axis=-1) / total, np.asarray(greatest, dtype=float))


def overlapping_coefficient(
    kcb: ArrayLike, *, kcb_full: ArrayLike, greatest: ArrayLike, kc_min: float = KC_MIN
) -> FloatArray:
    """Return the coefficient of crops that grow above each other, from the sum of their leaf areas.

    The leaves of all are taken as those of the plant whose full cover would use most, usually the tallest.

    Parameters
    ----------
    kcb, kcb_full : array_like, shape (..., n_plants)
        Each plant's coefficient when alone at its spacing, and the same plant's at full cover.
    greatest : array_like, shape (...)
        Kc max, eq. 72.
    kc_min : float
        Coefficient of dry, bare ground.

    Returns
    -------
    array, shape (...)

    Raises
    ------
    RillbookError
        If a coefficient is not below that of full cover.

    References
    ----------
    FAO-56 (1998), p. 201: eq. 97 solved for each leaf area, and used with their sum.
    """
    parts = np.broadcast_arrays(*(np.asarray(part, dtype=float) for part in (kcb, kcb_full)))
    leaves = leaf_area_index(parts[0], kcb_full=parts[1], kc_min=kc_min).sum(axis=-1)
    top = parts[1].max(axis=-1)
    return np.minimum(
        leaf_area_coefficient(leaves, kcb_full=top, kc_min=kc_min), np.asarray(greatest, dtype=float)
    )
