"""What the planner is told of the days ahead, and what a setting would do to the beds. Pure arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.water.rootzone import step

__all__ = ["BedOutlook", "depletion_under"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class BedOutlook:
    """The days ahead, for every bed of a garden.

    Attributes
    ----------
    et_crop, rain, taw, raw : arrays, shape (n_days, n_beds)
        Crop use without stress, effective rain, total and readily available water of the rooted soil [mm].
    in_use : array of bool, shape (n_days, n_beds)
        True where something grows; a bed's hand valve is shut on the other days.
    storage : array, shape (n_beds,)
        Available water of the bed's whole soil [mm].
    depletion : array, shape (n_beds,)
        Depletion at the end of the day before the first [mm].
    limit : array, shape (n_days, n_beds)
        Depletion that a bed should not pass [mm]: RAW less the reserve; infinite where nothing grows.
    net_rate : array, shape (n_days, n_beds)
        Depth stored for each minute that the bed's valve is open [mm/min].
    evening : bool
        True if runs come in the evening, after the day's use; else they come before it.
    """

    et_crop: FloatArray
    rain: FloatArray
    taw: FloatArray
    raw: FloatArray
    in_use: BoolArray
    storage: FloatArray
    depletion: FloatArray
    limit: FloatArray
    net_rate: FloatArray
    evening: bool = False

    @property
    def n_days(self) -> int:
        """Number of days ahead."""
        return self.et_crop.shape[0]


def depletion_under(outlook: BedOutlook, masks: FloatArray, minutes: FloatArray | IntArray) -> FloatArray:
    """Return the depletion of each day under many settings at once [mm]: at its end, before an evening run.

    Parameters
    ----------
    outlook : BedOutlook
    masks : array, shape (n_settings, n_run_days)
        1 on days with a run, else 0; no water comes on days past the last.
    minutes : array, shape (n_settings, n_beds)
        Minutes that each bed's valve is open on a run day.

    Returns
    -------
    array, shape (n_days, n_settings, n_beds)
    """
    shape = np.broadcast_shapes(minutes.shape, (masks.shape[0], outlook.storage.shape[0]))
    result = np.empty((outlook.n_days, *shape))
    depletion = np.broadcast_to(outlook.depletion, shape)
    nothing = np.zeros(1)
    for day in range(outlook.n_days):
        runs = masks[:, day, None] if day < masks.shape[1] else nothing
        water = runs * minutes * outlook.net_rate[day]
        balance = step(
            depletion,
            et_crop=outlook.et_crop[day],
            rain=outlook.rain[day],
            applied=nothing if outlook.evening else water,
            applied_late=water if outlook.evening else None,
            taw=outlook.taw[day],
            raw=outlook.raw[day],
            storage=outlook.storage,
        )
        depletion = balance.depletion
        result[day] = balance.driest
    return result
