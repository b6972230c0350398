"""What the planner is told of the days ahead, and what a setting would do to the beds. Pure arrays."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.water.balance import Conditions, DayBalance, SoilState, step

__all__ = ["BedOutlook", "Course", "course_under", "depletion_under"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class BedOutlook:
    """The days ahead, for every bed of a garden.

    Attributes
    ----------
    conditions : Conditions
        Arrays of shape (n_days, n_beds).
    in_use : array of bool, shape (n_days, n_beds)
        True where something grows; a bed's hand valve is shut on the other days.
    state : SoilState
        At the end of the day before the first; arrays of shape (n_beds,).
    limit : array, shape (n_days, n_beds)
        Depletion that a bed should not pass [mm]: RAW less the reserve; infinite where nothing grows.
    net_rate : array, shape (n_days, n_beds)
        Depth stored for each minute that the bed's valve is open [mm/min].
    evening : float
        Share of a day's water that comes in the evening, after the day's use; the rest comes before it.
    """

    conditions: Conditions
    in_use: BoolArray
    state: SoilState
    limit: FloatArray
    net_rate: FloatArray
    evening: float = 0.0

    @property
    def n_days(self) -> int:
        """Number of days ahead."""
        return self.in_use.shape[0]

    @property
    def depletion(self) -> FloatArray:
        """Root-zone depletion at the end of the day before the first [mm], (n_beds,)."""
        return np.asarray(self.state.depletion, dtype=float)

    @property
    def n_beds(self) -> int:
        """Number of beds."""
        return self.in_use.shape[1]


class Course(NamedTuple):
    """How beds fare, shape (n_days, n_settings, n_beds): driest of each day, and water used in it [mm]."""

    depletion: FloatArray
    use: FloatArray


def _lived(outlook: BedOutlook, masks: FloatArray, minutes: FloatArray | IntArray) -> Iterator[DayBalance]:
    """Yield the balance of each day under many settings, as `course_under` takes them."""
    state, nothing = outlook.state, np.zeros(1)
    for day in range(outlook.n_days):
        runs = masks[:, day, None] if day < masks.shape[1] else nothing
        water = runs * minutes * outlook.net_rate[day]
        balance = step(
            state,
            outlook.conditions.on(day),
            applied=water * (1.0 - outlook.evening),
            applied_late=water * outlook.evening if outlook.evening else None,
        )
        yield balance
        state = balance.state


def _empty_course(outlook: BedOutlook, masks: FloatArray, minutes: FloatArray | IntArray) -> FloatArray:
    """Return room for a number for each day, setting and bed."""
    shape = np.broadcast_shapes(minutes.shape, (masks.shape[0], outlook.n_beds))
    return np.empty((outlook.n_days, *shape))


def course_under(outlook: BedOutlook, masks: FloatArray, minutes: FloatArray | IntArray) -> Course:
    """Return how beds fare under many settings at once; depletion is that before an evening run.

    Parameters
    ----------
    outlook : BedOutlook
    masks : array, shape (n_settings, n_run_days)
        1 on days with a run, else 0; no water comes on days past the last.
    minutes : array, shape (n_settings, n_beds)
        Minutes that each bed's valve is open on a run day.
    """
    depletion, use = (_empty_course(outlook, masks, minutes) for _ in Course._fields)
    for day, balance in enumerate(_lived(outlook, masks, minutes)):
        depletion[day] = balance.driest
        use[day] = balance.evaporation + balance.transpiration
    return Course(depletion, use)


def depletion_under(outlook: BedOutlook, masks: FloatArray, minutes: FloatArray | IntArray) -> FloatArray:
    """Return the depletion of `course_under` alone."""
    depletion = _empty_course(outlook, masks, minutes)
    for day, balance in enumerate(_lived(outlook, masks, minutes)):
        depletion[day] = balance.driest
    return depletion
