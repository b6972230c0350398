"""The dual balance written as small as it can be, to hold the engine's own against. Numbers in, numbers out.

FAO-56 (1998), eq. 71, 74 and 77-86, in the engine's order: rain and irrigation come first, the surplus
drains, then surface and crop draw on what is left, neither more than is there (eq. 79 and 86). One surface,
roots that stay where they are, no soil below them. What eq. 72, 73, 75 and 76 give is ready beforehand, as it
is for the engine: it follows from crop and weather alone.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["Case", "compiled", "make_case", "numpy_days", "plain_days"]

FloatArray = NDArray[np.float64]


class Case(NamedTuple):
    """Invented beds; every array (n_days, n_beds), though what stays the same is kept but once.

    `basal` is Kcb ETo, `most` Kc max ETo, `exposed` few, `wetted` fw; depths in mm.
    """

    basal: FloatArray
    most: FloatArray
    rain: FloatArray
    applied: FloatArray
    taw: FloatArray
    raw: FloatArray
    tew: FloatArray
    rew: FloatArray
    wetted: FloatArray
    exposed: FloatArray

    def beds(self, begin: int, end: int) -> "Case":
        """Return the beds `begin`..`end` (end left out), nothing copied."""
        return Case(*(values[:, begin:end] for values in self))


def make_case(n_days: int, n_beds: int) -> Case:
    """Return beds that dry, drain and are irrigated every third day."""
    rng = np.random.default_rng(20260713)
    shape = (n_days, n_beds)
    reference_et = rng.uniform(1.0, 8.0, (n_days, 1))
    basal = rng.uniform(0.2, 1.1, shape)
    most = np.maximum(1.2, basal + 0.05) * reference_et
    basal *= reference_et
    applied = np.where(np.arange(n_days)[:, None] % 3 == 0, rng.uniform(8.0, 16.0, (1, n_beds)), 0.0)
    rain = np.where(rng.random((n_days, 1)) < 0.1, rng.uniform(1.0, 30.0, (n_days, 1)), 0.0)
    taw = rng.uniform(20.0, 60.0, n_beds)
    tew = rng.uniform(15.0, 25.0, n_beds)
    wetted = rng.uniform(0.3, 0.9, n_beds)
    steady = (taw, 0.4 * taw, tew, 0.4 * tew, wetted, wetted * rng.uniform(0.3, 1.0, n_beds))
    lasting = (np.broadcast_to(values, shape) for values in (rain, applied, *steady))
    return Case(basal, most, *lasting)


def numpy_days(case: Case) -> FloatArray:
    """Return the last depletion of every bed [mm], all beds a day at a time."""
    depletion = np.zeros(case.basal.shape[1])
    dry = np.zeros(case.basal.shape[1])
    for basal, most, rain, applied, taw, raw, tew, rew, wetted, exposed in zip(*case, strict=True):
        dry = np.maximum(dry - rain - applied / wetted, 0.0)
        depletion = np.maximum(depletion - rain - applied, 0.0)
        stress = np.minimum(np.maximum((taw - depletion) / (taw - raw), 0.0), 1.0)
        left = tew - dry
        evaporation = np.minimum(
            np.minimum(left / (tew - rew), 1.0) * (most - basal), exposed * np.minimum(most, left)
        )
        evaporation = np.minimum(evaporation, np.maximum(taw, tew) - depletion)
        dry = dry + evaporation / exposed
        depletion = depletion + evaporation
        depletion = depletion + np.minimum(stress * basal, np.maximum(taw - depletion, 0.0))
    return depletion


def one_day(depletion, dry, basal, most, rain, applied, taw, raw, tew, rew, wetted, exposed):
    """Return depletion and surface depletion [mm] of one bed after one day: plain, or to be compiled."""
    dry = max(dry - rain - applied / wetted, 0.0)
    depletion = max(depletion - rain - applied, 0.0)
    stress = min(max((taw - depletion) / (taw - raw), 0.0), 1.0)
    left = tew - dry
    evaporation = min(min(left / (tew - rew), 1.0) * (most - basal), exposed * min(most, left))
    evaporation = min(evaporation, max(taw, tew) - depletion)
    depletion += evaporation
    return depletion + min(stress * basal, max(taw - depletion, 0.0)), dry + evaporation / exposed


def plain_days(case: Case) -> FloatArray:
    """Return the last depletion of every bed [mm], one bed and day at a time on lists."""
    result = []
    for bed in range(case.basal.shape[1]):
        depletion = dry = 0.0
        for day in zip(*(values[:, bed].tolist() for values in case), strict=True):
            depletion, dry = one_day(depletion, dry, *day)
        result.append(depletion)
    return np.array(result)


def compiled() -> Callable[[Case], FloatArray]:
    """Return the plain loop compiled by numba, for one thread.

    Raises
    ------
    ImportError
        Without the extra "bench".
    """
    from numba import njit

    day_of_bed = njit(one_day)

    @njit
    def days(basal, most, rain, applied, taw, raw, tew, rew, wetted, exposed):
        depletion, dry = np.zeros(basal.shape[1]), np.zeros(basal.shape[1])
        for d in range(basal.shape[0]):
            for b in range(basal.shape[1]):
                depletion[b], dry[b] = day_of_bed(
                    depletion[b],
                    dry[b],
                    basal[d, b],
                    most[d, b],
                    rain[d, b],
                    applied[d, b],
                    taw[d, b],
                    raw[d, b],
                    tew[d, b],
                    rew[d, b],
                    wetted[d, b],
                    exposed[d, b],
                )
        return depletion

    return lambda case: days(*case)
