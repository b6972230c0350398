"""How evenly cups fill: Christiansen's and the statistical uniformity, and the two parts of it. Pure."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from scheduler.drip.emitters import caught_volumes
from scheduler.errors import RillbookError

__all__ = [
    "christiansen_uniformity",
    "combined_variation",
    "hydraulic_variation",
    "statistical_uniformity",
    "variation_of",
]


def christiansen_uniformity(volumes: ArrayLike) -> float:
    """Return Christiansen's uniformity CU of cups filled in equal times, at most 1; below 0 if very uneven.

    Reference: CU = 1 - sum |x - m| / (n m), Christiansen (1942).

    Raises
    ------
    RillbookError
        As `low_quarter_uniformity`.
    """
    caught = caught_volumes(volumes)
    mean = caught.mean()
    return float(1.0 - np.abs(caught - mean).mean() / mean)


def variation_of(volumes: ArrayLike) -> float:
    """Return the coefficient of variation Cv of cups as a share; the divisor of the variance is n - 1.

    Raises
    ------
    RillbookError
        As `low_quarter_uniformity`.
    """
    caught = caught_volumes(volumes)
    return float(caught.std(ddof=1) / caught.mean())


def statistical_uniformity(volumes: ArrayLike) -> float:
    """Return the statistical uniformity Us = 1 - Cv of cups, with the divisor n - 1.

    Reference: ASAE EP458, form from memory; nomograph by Bralts and Kesner (1983).

    Raises
    ------
    RillbookError
        As `low_quarter_uniformity`.
    """
    return 1.0 - variation_of(volumes)


def hydraulic_variation(head_variation: float, *, exponent: float) -> float:
    """Return the variation of flow that pressure makes: x times the variation of head over the emitters.

    First order in the variation of head, the standard deviation of head over its mean, as a share.
    Reference: Vqh = x Vhs, Bralts (from memory).

    Raises
    ------
    RillbookError
        If the variation or the exponent is not within 0..1.
    """
    _check_share("variation of head", head_variation)
    _check_share("emitter exponent", exponent)
    return exponent * head_variation


def combined_variation(hydraulic: float, emitters: float) -> float:
    """Return the variation of flow from pressure and from the emitters themselves, in quadrature, as a share.

    `emitters` is the manufacturing variation of new ones; of used ones it holds wear and clogging too.
    Reference: Vqs^2 = Vqh^2 + Vpf^2, Bralts (from memory).

    Raises
    ------
    RillbookError
        If a part is not within 0..1.
    """
    _check_share("variation from pressure", hydraulic)
    _check_share("variation of the emitters", emitters)
    return math.hypot(hydraulic, emitters)


def _check_share(what: str, value: float) -> None:
    # False for nan as well.
    if not 0.0 <= value <= 1.0:
        raise RillbookError(f"{what} {value} is outside 0..1; write 5 % as 0.05")
