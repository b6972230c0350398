"""The store that roots reach: available water, its easy part, stress. Pure: arrays in, arrays out.

Depths are mm over the bed's whole planted area. Shapes are free, as long as they broadcast.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "EVAPORATION_DEPTH",
    "MM_PER_M",
    "depletion_fraction",
    "readily_available_water",
    "total_available_water",
    "total_evaporable_water",
    "water_stress_coefficient",
]

FloatArray = NDArray[np.float64]

MM_PER_M = 1000.0

#: Depth of the surface layer that dries by evaporation [m]. FAO-56 (1998), text of eq. 73: 0.10-0.15 m.
EVAPORATION_DEPTH = 0.10


def total_available_water(
    field_capacity: ArrayLike, wilting_point: ArrayLike, *, root_depth: ArrayLike
) -> FloatArray:
    """Return total available water TAW [mm] of a root zone `root_depth` [m] deep.

    Water contents are shares of volume. Reference: FAO-56 (1998), eq. 82.
    """
    held = np.asarray(field_capacity, dtype=float) - np.asarray(wilting_point, dtype=float)
    return MM_PER_M * held * np.asarray(root_depth, dtype=float)


def total_evaporable_water(field_capacity: ArrayLike, wilting_point: ArrayLike) -> FloatArray:
    """Return the depth of water [mm] that can evaporate from the surface layer of bare soil.

    Reference: FAO-56 (1998), eq. 73.
    """
    held = np.asarray(field_capacity, dtype=float) - 0.5 * np.asarray(wilting_point, dtype=float)
    return MM_PER_M * held * EVAPORATION_DEPTH


def depletion_fraction(table_value: ArrayLike, et_crop: ArrayLike) -> FloatArray:
    """Return p, the share of TAW that can be used before stress, for a crop use other than 5 mm/d.

    Reference: FAO-56 (1998), Table 22 and the rule in its footnote; kept within 0.1..0.8.
    """
    p = np.asarray(table_value, dtype=float) + 0.04 * (5.0 - np.asarray(et_crop, dtype=float))
    return np.clip(p, 0.1, 0.8)


def readily_available_water(fraction: ArrayLike, taw: ArrayLike) -> FloatArray:
    """Return readily available water RAW [mm]. Reference: FAO-56 (1998), eq. 83."""
    return np.asarray(fraction, dtype=float) * np.asarray(taw, dtype=float)


def water_stress_coefficient(depletion: ArrayLike, taw: ArrayLike, *, raw: ArrayLike) -> FloatArray:
    """Return Ks, 1 down to a depletion of RAW, falling to 0 at TAW. Reference: FAO-56 (1998), eq. 84."""
    total = np.asarray(taw, dtype=float)
    left = total - np.asarray(depletion, dtype=float)
    return np.clip(left / (total - np.asarray(raw, dtype=float)), 0.0, 1.0)
