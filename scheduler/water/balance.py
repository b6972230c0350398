"""The daily water balance of a bed: root zone, the soil below it, and the surface. Pure; one bed or 100,000.

Depths are mm over the bed's whole planted area, those of the surface mm over its own exposed part. Shapes
are free, as long as they broadcast.

Order within a day, as in FAO-56 (1998) examples 35 and 38: roots reach new depth, rain and irrigation come
early, what the root zone cannot hold drains, then surface and crop draw on what is left, held back by
coefficients taken from the depletion after wetting. Watering before dawn makes this the order that a bed
really sees. Eq. 88 as printed subtracts the day's crop use first, which would call drained water stored.

What drains from the root zone fills the bed's soil below the roots before it leaves the bed. Roots that
grow take over the share of that soil's depletion that they come to reach, and roots that go (a crop taken
out, another sown) leave theirs behind: water is neither made nor lost by a change of depth.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.water.evaporation import LEAST_SHARE, NEXT_TO_NOTHING, SurfaceDay, evaporate
from scheduler.water.rootzone import water_stress_coefficient

__all__ = ["Conditions", "DayBalance", "SoilState", "follow_roots", "step"]

FloatArray = NDArray[np.float64]


class SoilState(NamedTuple):
    """What a bed's soil lacks at the end of a day.

    Attributes
    ----------
    depletion : array
        Root-zone depletion Dr [mm].
    below : array
        Depletion of the bed's soil below the roots [mm].
    strip, rest : arrays
        Depletion De of the surface layer [mm], in the strips that drip wets and in the rest of the bed.
    reach : array
        Total available water of the root depth that `depletion` belongs to [mm].
    """

    depletion: FloatArray
    below: FloatArray
    strip: FloatArray
    rest: FloatArray
    reach: FloatArray


class Conditions(NamedTuple):
    """What crop, soil and weather make of a day, or of many days: all that the balance needs but irrigation.

    Over a span every array has shape (n_days, n_beds); `on` gives one day of it.

    Attributes
    ----------
    basal : array
        Transpiration without stress [mm], Kcb times reference ET; with the single coefficient the whole
        crop evapotranspiration, Kc times reference ET.
    rain : array
        Effective rain [mm].
    taw, raw : arrays
        Total and readily available water of the depth that roots reach [mm].
    storage : array
        Available water of the bed's whole soil [mm].
    surface : SurfaceDay or None
        Without it nothing evaporates beside `basal`, and the surface layer stays as it is.
    """

    basal: FloatArray
    rain: FloatArray
    taw: FloatArray
    raw: FloatArray
    storage: FloatArray
    surface: SurfaceDay | None = None

    def _part(self, part: int | slice | tuple[slice, NDArray[np.int64]]) -> Conditions:
        """Return the same with every array replaced by a part of it."""
        surface = None if self.surface is None else SurfaceDay(*[values[part] for values in self.surface])
        return Conditions(
            self.basal[part], self.rain[part], self.taw[part], self.raw[part], self.storage[part], surface
        )

    def times(self, factor: FloatArray) -> Conditions:
        """Return the same with all use of water multiplied by a factor."""
        surface = None if self.surface is None else self.surface._replace(most=self.surface.most * factor)
        return self._replace(basal=self.basal * factor, surface=surface)

    def on(self, day: int) -> Conditions:
        """Return one day of a span."""
        return self._part(day)

    def between(self, begin: int, end: int) -> Conditions:
        """Return the days `begin`..`end` of a span (end left out)."""
        return self._part(slice(begin, end))

    def of_beds(self, index: NDArray[np.int64]) -> Conditions:
        """Return some beds of a span."""
        return self._part((slice(None), index))


class DayBalance(NamedTuple):
    """What a day did to a bed; every field in mm, shaped as the inputs broadcast.

    ``depletion + below`` of the state ends at what it was, plus ``evaporation + transpiration +
    deep_percolation``, less rain and irrigation, to rounding. Each part of the surface layer ends at what it
    was, plus its evaporation over its exposed share, its transpiration and percolation, less its wetting.
    `driest` is the root-zone depletion at the end of the day's use, before late irrigation.
    """

    state: SoilState
    evaporation: FloatArray
    transpiration: FloatArray
    deep_percolation: FloatArray
    stress_coefficient: FloatArray
    driest: FloatArray


def follow_roots(state: SoilState, taw: ArrayLike, *, storage: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return depletion and the depletion below after the roots' reach has changed to `taw` [mm].

    Both parts are taken as evenly dry. Their sum stays what it was. Soil left behind can lack no more than it
    holds: what is beyond, as where a plan states a bed drier than it can be, stays with the roots.
    """
    depletion, below, reach = state.depletion, state.below, state.reach
    grown = np.asarray(taw, dtype=float) - reach
    if not grown.any():
        return depletion, below  # So it is on most days of most crops.
    outside = np.maximum(np.asarray(storage, dtype=float) - reach, 0.0)
    gained = np.minimum(np.maximum(grown, 0.0), outside) / np.maximum(outside, NEXT_TO_NOTHING)
    shed = np.maximum(-grown, 0.0) / np.maximum(reach, NEXT_TO_NOTHING)
    room = np.maximum(storage - np.asarray(taw, dtype=float) - below, 0.0)
    moved = below * gained - np.minimum(depletion * shed, room)
    return depletion + moved, below - moved


def step(
    state: SoilState, day: Conditions, *, applied: ArrayLike, applied_late: ArrayLike | None = None
) -> DayBalance:
    """Return the bed after one day.

    Parameters
    ----------
    state : SoilState
        At the end of the day before.
    day : Conditions
    applied : array_like
        Net irrigation that enters the soil before the day's use [mm].
    applied_late : array_like, optional
        Net irrigation that comes after it, as in the evening [mm].

    Reference: FAO-56 (1998), eq. 69, 71, 74, 77-81, 84, 85 and 88 in the order of examples 35 and 38.
    """
    depletion, below = follow_roots(state, day.taw, storage=day.storage)
    wetted = depletion - day.rain - np.asarray(applied, dtype=float)
    refilled = np.maximum(wetted, 0.0)
    below, lost = _drain(below, refilled - wetted)
    stress = water_stress_coefficient(refilled, day.taw, raw=day.raw)
    strip, rest = state.strip, state.rest
    if day.surface is None:
        transpiration = np.minimum(stress * day.basal, np.maximum(day.taw - refilled, 0.0))
        evaporation = np.zeros_like(transpiration)
    else:
        wet = strip - day.rain - np.asarray(applied, dtype=float) / day.surface.wetted
        transpiration, evaporation, strip, rest = _dry(
            np.maximum(wet, 0.0),
            np.maximum(rest - day.rain, 0.0),
            refilled=refilled,
            stress=stress,
            day=day,
            surface=day.surface,
        )
    driest = refilled + evaporation + transpiration
    if applied_late is None:
        after = SoilState(driest, below, strip, rest, day.taw)
        return DayBalance(after, evaporation, transpiration, lost, stress, driest)
    left_over = driest - np.asarray(applied_late, dtype=float)
    evening = np.maximum(left_over, 0.0)
    below, lost_late = _drain(below, evening - left_over)
    if day.surface is not None:
        strip = np.maximum(strip - np.asarray(applied_late, dtype=float) / day.surface.wetted, 0.0)
    after = SoilState(evening, below, strip, rest, day.taw)
    return DayBalance(after, evaporation, transpiration, lost + lost_late, stress, driest)


def _drain(below: FloatArray, water: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return what the soil below still lacks after taking up drained water, and what leaves the bed."""
    short = np.asarray(below - water)
    left = np.maximum(short, 0.0)
    return left, left - short


def _dry(
    strip: FloatArray,
    rest: FloatArray,
    *,
    refilled: FloatArray,
    stress: FloatArray,
    day: Conditions,
    surface: SurfaceDay,
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return transpiration, evaporation, and the surface depletion of both parts at the end of the day.

    The root zone gives no more than it holds; evaporation comes first, for it draws on the wet surface.
    """
    tew = surface.tew
    strip_left, rest_left = np.maximum(tew - strip, 0.0), np.maximum(tew - rest, 0.0)
    drawn = evaporate(strip_left, rest_left, basal=day.basal, day=surface)
    wanted = drawn.strip + drawn.rest
    # Air dries the surface below the wilting point, so that a thin root zone may give it more than TAW.
    evaporation = np.minimum(wanted, np.maximum(np.maximum(day.taw, tew) - refilled, 0.0))
    cut = evaporation / np.maximum(wanted, NEXT_TO_NOTHING)
    held = day.taw - refilled
    transpiration = np.minimum(stress * day.basal, np.maximum(held - evaporation, 0.0))
    # Kt of Allen and others (2005), from memory: the surface layer's part of transpiration follows its roots
    # and how full it is beside the whole root zone; FAO-56 leaves it out for deep roots (text of eq. 77).
    filled = np.maximum(1.0 - refilled / day.taw, LEAST_SHARE)
    share = np.minimum(surface.roots * transpiration / (tew * filled), 1.0)

    def dried(depletion: FloatArray, evaporated: FloatArray, exposed: FloatArray) -> FloatArray:
        after = depletion + cut * (evaporated / np.maximum(exposed, NEXT_TO_NOTHING))
        return np.asarray(after + np.minimum(share * np.maximum(tew - after, 0.0), transpiration))

    return (
        transpiration,
        evaporation,
        dried(strip, drawn.strip, surface.strip),
        dried(rest, drawn.rest, surface.rest),
    )
