"""A timer that sticks open: what runs out, what of it drains, how soon the beds are full. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.season.ahead import Ahead, course_with, without_rain
from scheduler.season.setup import Setup
from scheduler.season.supply import supply_arrays
from scheduler.timetable.choices import ZoneBeds
from scheduler.water.balance import SoilState

__all__ = ["StuckOutlet", "stuck_outlets"]

FloatArray = NDArray[np.float64]

HOURS_PER_DAY = 24.0


@dataclass(frozen=True, slots=True, eq=False)
class StuckOutlet:
    """One outlet that stays open for a number of days; volumes in L.

    `applied` is what runs out of the emitters, and is `stored + drained + used`. Rain is left out.

    Attributes
    ----------
    beds : ZoneBeds
    flow : float
        Of all valves that stand open [L/h], no more than the tap gives.
    throttled : bool
        True if the tap gives less than the beds would take.
    applied, stored, drained, used : float
        Over all days.
    by_day : array, shape (n_days,)
        What runs out on each day.
    hours_to_fill : float
        Until the last of its beds is full [h]; 0 if all are, or if nothing grows behind it.
    """

    beds: ZoneBeds
    flow: float
    throttled: bool
    applied: float
    stored: float
    drained: float
    used: float
    by_day: FloatArray
    hours_to_fill: float


def stuck_outlets(setup: Setup, ahead: Ahead, state: SoilState, *, n_days: int) -> tuple[StuckOutlet, ...]:
    """Return what each outlet does if it alone sticks open from the first morning on.

    Valves of beds in which nothing grows are taken as shut. All that runs out reaches the bed: that part of a
    bed gets more than another does not matter where all of it is drowned. Half of a day's water comes before
    the day's use and half after it.
    """
    open_for = ahead.growth.in_use[:n_days].astype(float)
    flow = open_for * setup.flow
    share = np.zeros_like(open_for)
    for beds in setup.zones:
        wanted = flow[:, beds.index].sum(axis=1, keepdims=True)
        share[:, beds.index] = np.minimum(1.0, setup.garden.water_source.flow / np.maximum(wanted, 1e-9))
    rate = open_for * share * setup.rate
    conditions = without_rain(ahead.conditions.between(0, n_days))
    half = 0.5 * HOURS_PER_DAY * rate
    course = course_with(conditions, state, half, late=half)
    lacked = state.depletion + state.below
    left = np.asarray(course.soil.depletion) + np.asarray(course.soil.below)
    area = supply_arrays(setup.garden)[0]
    watered = area * open_for.any(axis=0)
    return tuple(
        StuckOutlet(
            beds=beds,
            flow=float((flow * share)[0, beds.index].sum()),
            throttled=bool((share[0, beds.index] < 1.0).any()),
            applied=float((HOURS_PER_DAY * rate * area)[:, beds.index].sum()),
            stored=float(((lacked - left) * watered)[beds.index].sum()),
            drained=float((course.drained * watered)[:, beds.index].sum()),
            used=float((course.use * watered)[:, beds.index].sum()),
            by_day=(HOURS_PER_DAY * rate * area)[:, beds.index].sum(axis=1),
            hours_to_fill=_hours_to_fill(lacked[beds.index], rate[0, beds.index]),
        )
        for beds in setup.zones
    )


def _hours_to_fill(lacked: FloatArray, rate: FloatArray) -> float:
    """Return hours until the last bed with an open valve is full; depths in mm, rates in mm/h."""
    hours = np.divide(lacked, rate, out=np.zeros_like(rate), where=rate > 0.0)
    return float(hours.max(initial=0.0))
