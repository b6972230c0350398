"""Evaporation from the soil surface, the second half of the dual crop coefficient. Pure.

The exposed surface is kept as two parts that dry on their own: the strips that drip wets, and the rest,
which only rain wets. Depths of the surface layer are mm over the part itself, depths of evaporation mm over
the whole bed. With nothing exposed outside the strips this is the single surface of FAO-56 chapter 7.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.water.crop import climate_shift
from scheduler.water.rootzone import EVAPORATION_DEPTH
from scheduler.water.stand import KC_MIN

__all__ = [
    "BASAL_MARGIN",
    "NEXT_TO_NOTHING",
    "WET_SURFACE_COEFFICIENT",
    "Exposure",
    "Surface",
    "SurfaceDay",
    "canopy_cover",
    "evaporate",
    "evaporation_reduction",
    "exposed_fractions",
    "greatest_crop_coefficient",
    "surface_root_share",
]

FloatArray = NDArray[np.float64]

#: Kc max of a wet surface before adjustment for climate. FAO-56 (1998), eq. 72.
WET_SURFACE_COEFFICIENT = 1.2

#: Difference that keeps evaporation possible under full cover. FAO-56 (1998), eq. 72.
BASAL_MARGIN = 0.05

#: Full cover stops short of 1, to keep eq. 71 and 75 in shape. FAO-56 (1998), text of eq. 76.
MOST_COVER = 0.99

#: Drip lies under the leaves: share of the cover that shades the wetted strip. FAO-56 (1998), text of eq. 75.
SHADED_STRIP = 2.0 / 3.0

#: Exponent of the share of roots in the surface layer. Allen and others (2005), from memory.
ROOT_EXPONENT = 0.6

#: Keeps shares of water from dividing by nothing. Allen and others (2005), from memory.
LEAST_SHARE = 0.001

#: Least divisor where part and whole may both be 0: gives 0 instead of 0/0, and changes no other ratio.
NEXT_TO_NOTHING = float(np.finfo(np.float64).tiny)


class Exposure(NamedTuple):
    """Exposed shares of a bed: `strip` wetted by drip (few), `rest` wetted by rain alone."""

    strip: FloatArray
    rest: FloatArray


class SurfaceDay(NamedTuple):
    """What a day does to a bed's surface.

    Attributes
    ----------
    most : array
        Evapotranspiration that the day's energy allows, Kc max times reference ET [mm].
    strip, rest : array
        Exposed shares, see `Exposure`.
    wetted : array
        Share of the bed that drip wets, fw of FAO-56 Table 20, 0..1.
    tew, rew : array
        Total and readily evaporable water of the surface layer [mm].
    kept : array
        Factor on evaporation, 1 for a bare surface, less under mulch.
    roots : array
        Share of the roots in the surface layer, see `surface_root_share`; 0 leaves transpiration from it
        out, as in FAO-56 (1998) example 35.
    """

    most: FloatArray
    strip: FloatArray
    rest: FloatArray
    wetted: FloatArray
    tew: FloatArray
    rew: FloatArray
    kept: FloatArray
    roots: FloatArray


class Surface(NamedTuple):
    """Evaporation of the strips and of the rest, each in mm over the whole bed."""

    strip: FloatArray
    rest: FloatArray


def greatest_crop_coefficient(
    basal: ArrayLike, wind_2m: ArrayLike, *, rh_min: ArrayLike, height: ArrayLike
) -> FloatArray:
    """Return Kc max, the coefficient of a wet surface. Reference: FAO-56 (1998), eq. 72.

    Wind [m/s] at 2 m, least relative humidity [%] and height [m] are held within the range of eq. 62.
    """
    climate = climate_shift(wind_2m, rh_min=rh_min, height=height)
    return np.maximum(WET_SURFACE_COEFFICIENT + climate, np.asarray(basal, dtype=float) + BASAL_MARGIN)


def canopy_cover(
    basal: ArrayLike, greatest: ArrayLike, *, height: ArrayLike, least: ArrayLike = KC_MIN
) -> FloatArray:
    """Return the share of ground that leaves cover, 0..0.99. Reference: FAO-56 (1998), eq. 76."""
    low = np.asarray(least, dtype=float)
    above = np.maximum(np.asarray(basal, dtype=float) - low, 0.0)
    span = np.maximum(np.asarray(greatest, dtype=float) - low, LEAST_SHARE)
    power = 1.0 + 0.5 * np.asarray(height, dtype=float)
    return np.clip((above / span) ** power, 0.0, MOST_COVER)


def exposed_fractions(cover: ArrayLike, wetted: ArrayLike, *, below_leaves: bool = True) -> Exposure:
    """Return the exposed shares of the drip strips (few) and of the rest.

    With `below_leaves` the strip lies under the plants and its own part is reduced by two thirds of the
    cover. Reference: FAO-56 (1998), eq. 75 and the text below it (drip; example 34).
    """
    covered = np.asarray(cover, dtype=float)
    open_part = 1.0 - covered
    share = np.asarray(wetted, dtype=float)
    if below_leaves:
        share = share * (1.0 - SHADED_STRIP * covered)
    strip = np.minimum(open_part, share)
    return Exposure(strip, np.maximum(open_part - strip, 0.0))


def evaporation_reduction(surface_depletion: ArrayLike, tew: ArrayLike, *, rew: ArrayLike) -> FloatArray:
    """Return Kr, 1 down to REW, falling to 0 at TEW. Reference: FAO-56 (1998), eq. 74."""
    total = np.asarray(tew, dtype=float)
    left = total - np.asarray(surface_depletion, dtype=float)
    return np.clip(left / (total - np.asarray(rew, dtype=float)), 0.0, 1.0)


def surface_root_share(root_depth: ArrayLike) -> FloatArray:
    """Return the share of roots [0..1] in the surface layer, from rooting depth [m].

    Reference: (Ze/Zr)^0.6, Allen, Pereira, Smith, Raes and Wright (2005), J. Irrig. Drain. Eng. 131,
    extension of FAO-56; from memory.
    """
    deep = np.maximum(np.asarray(root_depth, dtype=float), EVAPORATION_DEPTH)
    return (EVAPORATION_DEPTH / deep) ** ROOT_EXPONENT


def evaporate(
    strip_left: FloatArray, rest_left: FloatArray, *, basal: FloatArray, day: SurfaceDay
) -> Surface:
    """Return a day's evaporation of both parts of the surface [mm].

    Parameters
    ----------
    strip_left, rest_left : array
        Water that each part's surface layer still holds after the day's wetting, TEW - De [mm], never
        below 0.
    basal : array
        Transpiration without stress, Kcb times reference ET [mm].
    day : SurfaceDay

    Notes
    -----
    The energy above transpiration goes to each part by its exposed share and the water it has left. Each
    part is limited by Kr, by its share of the energy, and by the water in its layer.

    Reference: FAO-56 (1998), eq. 71 and 74; division among two parts from the extension of Allen and
    others (2005), from memory. With one part exposed or dry it is eq. 71 itself.
    """
    spare = np.maximum(day.most - basal, 0.0)
    strip_water, rest_water = day.strip * strip_left, day.rest * rest_left
    weight = strip_water / np.maximum(strip_water + rest_water, NEXT_TO_NOTHING)
    slow = day.tew - day.rew
    strip = np.minimum(
        weight * np.minimum(strip_left / slow, 1.0) * spare, day.strip * np.minimum(day.most, strip_left)
    )
    rest = np.minimum(
        (1.0 - weight) * np.minimum(rest_left / slow, 1.0) * spare,
        day.rest * np.minimum(day.most, rest_left),
    )
    return Surface(strip * day.kept, rest * day.kept)
