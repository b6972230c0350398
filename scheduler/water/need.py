"""From what the soil lacks to what must leave the emitters. Pure: arrays in, arrays out."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError

__all__ = [
    "GREATEST_LEACHING",
    "effective_rainfall",
    "gross_irrigation_need",
    "leaching_requirement",
    "stored_share",
]

FloatArray = NDArray[np.float64]

#: A day's rain below this share of reference ET wets leaves and mulch only. FAO-56 (1998), p. 153 and 170.
SMALL_RAIN_SHARE = 0.2

#: Leaching above this share is not planned for; such water needs another remedy. Judgement, no source.
GREATEST_LEACHING = 0.3


def effective_rainfall(rain: ArrayLike, reference_et: ArrayLike) -> FloatArray:
    """Return the rain [mm] that reaches the root zone, before any of it drains.

    A day's rain below 0.2 of reference ET counts as nothing (FAO-56 (1998), p. 153 and 170). What the
    soil cannot store is left to the balance, which drains it; monthly rules of thumb are not used, since
    they already contain that drainage.
    """
    depth = np.asarray(rain, dtype=float)
    return np.where(depth >= SMALL_RAIN_SHARE * np.asarray(reference_et, dtype=float), depth, 0.0)


def leaching_requirement(water_salinity: ArrayLike, *, zero_yield_salinity: ArrayLike) -> FloatArray:
    """Return the share of drip irrigation that must pass the root zone to carry salt down, 0..0.3.

    Parameters
    ----------
    water_salinity : array_like
        Electrical conductivity of the water ECw [dS/m].
    zero_yield_salinity : array_like
        Salinity of the soil extract at which yield reaches zero [dS/m]: threshold + 100 / slope.

    Reference: LR = ECw / (2 max ECe), the form for drip and other frequent watering. It is quoted from
    memory from FAO-36 and from Keller and Bliesner (1990); FAO-29 gives the surface form.
    """
    share = np.asarray(water_salinity, dtype=float) / (2.0 * np.asarray(zero_yield_salinity, dtype=float))
    return np.clip(share, 0.0, GREATEST_LEACHING)


def stored_share(efficiency: ArrayLike, leaching: ArrayLike) -> FloatArray:
    """Return the share of emitter water that the root zone is planned to keep, in (0, 1].

    Raises
    ------
    RillbookError
        If efficiency is not in (0, 1] or the leaching requirement not in [0, 1).
    """
    kept = np.asarray(efficiency, dtype=float)
    leached = np.asarray(leaching, dtype=float)
    if not (np.all(kept > 0.0) and np.all(kept <= 1.0)):
        raise RillbookError(f"application efficiency {kept} is outside 0..1; write 0.90 or 90 %")
    if not (np.all(leached >= 0.0) and np.all(leached < 1.0)):
        raise RillbookError(f"leaching requirement {leached} is outside 0..1")
    return kept * (1.0 - leached)


def gross_irrigation_need(net: ArrayLike, efficiency: ArrayLike, *, leaching: ArrayLike = 0.0) -> FloatArray:
    """Return the depth that must leave the emitters [mm] so that `net` [mm] is stored everywhere.

    gross = net / (efficiency (1 - leaching requirement)); Keller and Bliesner (1990), from memory.
    """
    return np.asarray(net, dtype=float) / stored_share(efficiency, leaching)
