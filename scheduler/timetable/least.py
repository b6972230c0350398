"""The fewest minutes a run day that keep beds within their limits, for many day patterns at once. Pure."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from scheduler.timetable.outlook import BedOutlook, depletion_under

__all__ = [
    "area_mean_shortage",
    "bed_shortage",
    "least_minutes_by_bed",
    "least_minutes_by_mean",
    "mean_past_limit",
    "past_limit",
]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: Shortages closer than this are the same [mm d].
SAME_SHORTAGE = 1e-6


def past_limit(outlook: BedOutlook, depletion: FloatArray) -> FloatArray:
    """Return by how much each bed is past its limit each day [mm], (n_days, n_settings, n_beds)."""
    return np.maximum(depletion - outlook.limit[:, None, :], 0.0)


def mean_past_limit(outlook: BedOutlook, depletion: FloatArray, area: FloatArray) -> FloatArray:
    """Return by how much the area mean of beds in use is past its limit [mm], (n_days, n_settings)."""
    weight = np.where(outlook.in_use, area, 0.0)
    weight = weight / np.maximum(weight.sum(axis=1, keepdims=True), 1e-12)
    limit = np.where(outlook.in_use, outlook.limit, 0.0)
    return np.maximum(((depletion - limit[:, None, :]) * weight[:, None, :]).sum(axis=2), 0.0)


def bed_shortage(outlook: BedOutlook, depletion: FloatArray) -> FloatArray:
    """Return by how much each bed passes its limit, summed over the days [mm d], (n_settings, n_beds)."""
    return np.asarray(past_limit(outlook, depletion).sum(axis=0))


def area_mean_shortage(outlook: BedOutlook, depletion: FloatArray, area: FloatArray) -> FloatArray:
    """Return by how much the area mean of the beds in use passes the mean limit [mm d], (n_settings,)."""
    return np.asarray(mean_past_limit(outlook, depletion, area).sum(axis=0))


def _least(shortage_of: Callable[[IntArray], FloatArray], shape: tuple[int, ...], last: int) -> IntArray:
    """Return the lowest index whose shortage is as small as that of `last`, by bisection.

    More water never makes a bed shorter of it, so shortage falls with the index.
    """
    high = np.full(shape, last, dtype=np.int64)
    goal = shortage_of(high) + SAME_SHORTAGE
    low = np.zeros(shape, dtype=np.int64)
    while np.any(low < high):
        middle = (low + high) // 2
        enough = shortage_of(middle) <= goal
        high = np.where(enough, middle, high)
        low = np.where(enough, low, np.minimum(middle + 1, high))
    return high


def least_minutes_by_bed(outlook: BedOutlook, masks: FloatArray, totals: IntArray) -> IntArray:
    """Return, for each pattern and bed, the fewest minutes a run day that leave it least short.

    Shape (n_patterns, n_beds), values from `totals` of shape (n_patterns, n_totals), whose rows never fall.
    Minutes that only drain are never chosen: where no run time avoids a shortage, the shortest one that
    keeps it smallest is.
    """

    def shortage(index: IntArray) -> FloatArray:
        minutes = np.take_along_axis(totals, index, axis=1)
        return bed_shortage(outlook, depletion_under(outlook, masks, minutes))

    shape = (masks.shape[0], outlook.n_beds)
    return np.take_along_axis(totals, _least(shortage, shape, totals.shape[1] - 1), axis=1)


def least_minutes_by_mean(
    outlook: BedOutlook, masks: FloatArray, totals: IntArray, *, area: FloatArray
) -> IntArray:
    """Return, for each pattern, the fewest minutes a run day that leave the area mean least short.

    Shape (n_patterns,), values from `totals` of shape (n_patterns, n_totals), whose rows never fall. The
    outlook holds the beds of one zone, `area` [m2] their areas.
    """
    row = np.arange(masks.shape[0])

    def shortage(index: IntArray) -> FloatArray:
        minutes = np.broadcast_to(totals[row, index][:, None], (masks.shape[0], area.shape[0]))
        return area_mean_shortage(outlook, depletion_under(outlook, masks, minutes), area)

    return totals[row, _least(shortage, row.shape, totals.shape[1] - 1)]
