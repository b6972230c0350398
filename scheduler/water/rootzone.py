"""The daily water balance of the root zone. Pure: arrays in, arrays out; one bed or 100,000.

Depths are mm over the bed's whole planted area. Shapes are free, as long as they broadcast.

Order within a day, as in FAO-56 (1998) example 38: rain and irrigation come early, what the soil cannot
hold drains, then the crop draws on what is left, held back by a stress coefficient that is taken from the
depletion after wetting. Watering before dawn makes this the order that a bed really sees. Eq. 88 as
printed subtracts the day's crop use first, which would call drained water stored.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = [
    "DayBalance",
    "depletion_fraction",
    "readily_available_water",
    "step",
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


class DayBalance(NamedTuple):
    """What a day did to the root zone; every field in mm, shaped as the inputs broadcast.

    ``depletion == before + et_actual + deep_percolation - rain - applied`` holds to rounding, with late
    irrigation counted as applied. `driest` is the depletion at the end of the day's use, before it.
    """

    depletion: FloatArray
    et_actual: FloatArray
    deep_percolation: FloatArray
    stress_coefficient: FloatArray
    driest: FloatArray


def step(
    depletion: ArrayLike,
    *,
    et_crop: ArrayLike,
    rain: ArrayLike,
    applied: ArrayLike,
    taw: ArrayLike,
    raw: ArrayLike,
    storage: ArrayLike,
    applied_late: ArrayLike | None = None,
) -> DayBalance:
    """Return the root zone after one day.

    Parameters
    ----------
    depletion : array_like
        Depletion at the end of the day before [mm].
    et_crop : array_like
        Crop evapotranspiration without stress [mm].
    rain, applied : array_like
        Effective rain and net irrigation that enter the soil [mm].
    taw, raw : array_like
        Total and readily available water of the depth that roots reach [mm].
    storage : array_like
        Available water of the bed's whole soil [mm], at least `taw`; no more than this can be drawn.
    applied_late : array_like, optional
        Net irrigation that comes after the day's crop use, as in the evening [mm].

    Reference: FAO-56 (1998), eq. 81, 84, 85 and 88 in the order of example 38 (see the module's text).
    """
    added = np.asarray(rain, dtype=float) + np.asarray(applied, dtype=float)
    wetted = np.asarray(depletion, dtype=float) - added
    refilled = np.maximum(wetted, 0.0)
    stress = water_stress_coefficient(refilled, taw, raw=raw)
    left = np.maximum(np.asarray(storage, dtype=float) - refilled, 0.0)
    et_actual = np.minimum(stress * np.asarray(et_crop, dtype=float), left)
    driest = np.asarray(refilled + et_actual, dtype=float)
    drained = refilled - wetted
    if applied_late is None:
        return DayBalance(driest, et_actual, drained, stress, driest)
    left_over = driest - np.asarray(applied_late, dtype=float)
    evening = np.maximum(left_over, 0.0)
    return DayBalance(evening, et_actual, drained + (evening - left_over), stress, driest)
