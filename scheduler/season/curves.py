"""One planting through a span of days: its coefficients, cover, height and roots. Pure.

The climate adjustment of mid-season and end uses the normals of the stage's own days, since FAO-56 asks for
means over the stage. Cover is reckoned with the normals too: leaves do not come and go with a day's wind.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Planting
from scheduler.season.stages import Warmth, growth_progress, stage_ends
from scheduler.water.crop import adjust_for_climate, crop_coefficient, rooting_depth
from scheduler.water.evaporation import BASAL_MARGIN, canopy_cover, greatest_crop_coefficient
from scheduler.water.stand import (
    effective_cover_of_crowns,
    isolated_row_coefficient,
    sparse_basal_coefficient,
)
from scheduler.weather.normals import Normals, day_index
from scheduler.weather.record import DateArray

__all__ = ["PlantingCurve", "Stand", "planting_curve"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

#: Height of a seedling [m], below which no cover is told from bare ground. Judgement, no source.
SEEDLING_HEIGHT = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class PlantingCurve:
    """One planting over a span of days; arrays of shape (n_days,).

    Attributes
    ----------
    active : array of bool
    development : array
        How far development has gone, 0..1.
    kc, basal : arrays
        Single and basal crop coefficient.
    cover : array
        Share of its own ground that its leaves cover, 0..0.99.
    height, root : arrays
        Height and rooting depth [m], the latter capped by what roots can reach.
    kc_mid, kc_end, kcb_mid, kcb_end : float
        After adjustment for climate.
    """

    active: BoolArray
    development: FloatArray
    kc: FloatArray
    basal: FloatArray
    cover: FloatArray
    height: FloatArray
    root: FloatArray
    kc_mid: float
    kc_end: float
    kcb_mid: float
    kcb_end: float


@dataclass(frozen=True, slots=True)
class Stand:
    """Where a planting stands: latitude [degrees], and the width [m] of a stand alone in dry ground."""

    latitude: float
    isolated_width: float | None = None


def planting_curve(
    planting: Planting,
    *,
    dates: DateArray,
    reach: FloatArray,
    normals: Normals,
    warmth: Warmth,
    stand: Stand,
) -> PlantingCurve:
    """Return one planting on each of the dates; `reach` is the depth that roots can reach then [m]."""
    development, late = growth_progress(planting, dates, warmth=warmth)
    kc_mid, kc_end, kcb_mid, kcb_end = _peak_and_end(planting, normals, stand)
    kc = crop_coefficient(development, late, kc_ini=planting.kc_ini, kc_mid=kc_mid, kc_end=kc_end)
    basal = crop_coefficient(development, late, kc_ini=planting.kcb_ini, kc_mid=kcb_mid, kc_end=kcb_end)
    height = np.maximum(development * planting.height, min(SEEDLING_HEIGHT, planting.height))
    day = day_index(dates)
    greatest = greatest_crop_coefficient(
        basal, normals.wind_2m[day], rh_min=normals.rh_min[day], height=height
    )
    cover = canopy_cover(basal, greatest, height=height)
    if planting.ground_cover is not None:
        cover = np.minimum(cover, development * planting.ground_cover)
    return PlantingCurve(
        active=(dates >= np.datetime64(planting.planted)) & (dates < np.datetime64(planting.removed)),
        development=development,
        kc=kc,
        basal=basal,
        cover=cover,
        height=height,
        root=np.minimum(rooting_depth(development, planting.root_depth), reach),
        kc_mid=kc_mid,
        kc_end=kc_end,
        kcb_mid=kcb_mid,
        kcb_end=kcb_end,
    )


def _peak_and_end(planting: Planting, normals: Normals, stand: Stand) -> tuple[float, float, float, float]:
    """Return Kc mid, Kc end, Kcb mid and Kcb end for the climate and the stand.

    A stand that leaves ground open uses less, and its end follows its peak; one that stands alone in dry
    ground uses more while its leaves are full.

    Reference: FAO-56 (1998), eq. 62, 65, 70; eq. 98, 99 and Box 18; eq. 105.
    """
    stages = stage_ends(planting, normals)
    mid, end = _climate(planting, normals, *stages[1:3]), _climate(planting, normals, *stages[2:4])
    kc_mid, kcb_mid = mid.adjusted(planting.kc_mid, planting), mid.adjusted(planting.kcb_mid, planting)
    kc_end, kcb_end = end.adjusted(planting.kc_end, planting), end.adjusted(planting.kcb_end, planting)
    if planting.ground_cover is not None:
        seen = planting.ground_cover
        shaded = effective_cover_of_crowns(seen, stand.latitude, day_of_year=mid.day)
        sparse = float(
            sparse_basal_coefficient(kcb_mid, cover=seen, effective_cover=shaded, height=planting.height)
        )
        kc_mid, kc_end = kc_mid - (kcb_mid - sparse), kc_end * sparse / kcb_mid
        kcb_mid, kcb_end = sparse, kcb_end * sparse / kcb_mid
    if stand.isolated_width is not None:
        alone = float(isolated_row_coefficient(planting.height, stand.isolated_width))
        kc_mid, kcb_mid = max(kc_mid, alone), max(kcb_mid, alone - BASAL_MARGIN)
    return kc_mid, kc_end, kcb_mid, kcb_end


@dataclass(frozen=True, slots=True)
class _Climate:
    """Mean wind at 2 m and least humidity of a stage, and its middle day of the year (1..366)."""

    wind: float
    humidity: float
    day: int

    def adjusted(self, kc: float, planting: Planting) -> float:
        """Return a coefficient adjusted for the climate."""
        return float(adjust_for_climate(kc, self.wind, rh_min=self.humidity, height=planting.height))


def _climate(planting: Planting, normals: Normals, begin: int, end: int) -> _Climate:
    """Return the climate of the days `begin`..`end` after planting."""
    first = np.datetime64(planting.planted) + np.timedelta64(begin, "D")
    day = day_index(first + np.arange(max(1, end - begin)))
    middle = int(day[day.shape[0] // 2]) + 1
    return _Climate(float(normals.wind_2m[day].mean()), float(normals.rh_min[day].mean()), middle)
