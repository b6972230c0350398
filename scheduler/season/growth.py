"""What grows in every bed on every day: coefficients, roots, leaching; independent of the day's weather.

The climate adjustment of Kc mid and Kc end uses the normals of the stage's own days, since FAO-56 asks
for means over the stage.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Bed, Garden, Planting
from scheduler.water.crop import adjust_for_climate, crop_coefficient, rooting_depth, stage_progress
from scheduler.water.need import leaching_requirement
from scheduler.water.rootzone import total_available_water, total_evaporable_water
from scheduler.weather.normals import Normals
from scheduler.weather.record import DateArray

__all__ = ["Growth", "PlantingCurve", "garden_growth", "planting_curve", "zero_yield_salinity"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

#: Share of the evaporable water that bare soil loses before it slows; FAO-56 (1998) Table 19 prints
#: REW at 0.4 to 0.5 of TEW for most soils.
EASY_EVAPORATION_SHARE = 0.45


@dataclass(frozen=True, slots=True, eq=False)
class PlantingCurve:
    """One planting over a span of days; arrays of shape (n_days,).

    `kc_mid`, `kc_end` are after adjustment for climate; `root` is capped by the bed's soil [m].
    """

    active: BoolArray
    kc: FloatArray
    root: FloatArray
    kc_mid: float
    kc_end: float


@dataclass(frozen=True, slots=True, eq=False)
class Growth:
    """Every bed over a span of days; arrays of shape (n_days, n_beds) unless said otherwise.

    Attributes
    ----------
    in_use : array of bool
        True where something grows.
    kc : array
        Coefficient that drives the balance, by the bed's own need rule.
    kc_area, kc_thirstiest : arrays
        Area-weighted coefficient (with bare soil), and that of the thirstiest plant.
    taw, fraction : arrays
        Total available water of the rooted depth [mm] and p for a use of 5 mm/d. On days without a
        plant they describe the surface layer that can evaporate.
    leaching : array
        Leaching requirement, 0..1.
    storage : array, shape (n_beds,)
        Available water of the bed's whole soil [mm].
    """

    in_use: BoolArray
    kc: FloatArray
    kc_area: FloatArray
    kc_thirstiest: FloatArray
    taw: FloatArray
    fraction: FloatArray
    leaching: FloatArray
    storage: FloatArray


def _stage_means(planting: Planting, normals: Normals, begin: float, end: float) -> tuple[float, float]:
    """Return mean wind at 2 m and least humidity of the days `begin`..`end` after planting."""
    first = np.datetime64(planting.planted) + np.timedelta64(int(begin), "D")
    dates = first + np.arange(max(1, int(end) - int(begin)))
    day = (dates - dates.astype("datetime64[Y]")).astype(np.int64)
    return float(normals.wind_2m[day].mean()), float(normals.rh_min[day].mean())


def planting_curve(planting: Planting, bed: Bed, *, dates: DateArray, normals: Normals) -> PlantingCurve:
    """Return one planting's coefficient and rooting depth on each of the dates."""
    stages = planting.stages
    to_mid = stages.initial + stages.development
    to_late = to_mid + stages.mid
    wind, humidity = _stage_means(planting, normals, to_mid, to_late)
    kc_mid = float(adjust_for_climate(planting.kc_mid, wind, rh_min=humidity, height=planting.height))
    wind, humidity = _stage_means(planting, normals, to_late, to_late + stages.late)
    kc_end = float(adjust_for_climate(planting.kc_end, wind, rh_min=humidity, height=planting.height))
    day = (dates - np.datetime64(planting.planted)).astype(np.int64) + 1
    active = (day >= 1) & (dates < np.datetime64(planting.removed))
    development, late = stage_progress(
        day, stages.initial, development=stages.development, mid=stages.mid, late=stages.late
    )
    kc = crop_coefficient(development, late, kc_ini=planting.kc_ini, kc_mid=kc_mid, kc_end=kc_end)
    root = np.minimum(rooting_depth(development, planting.root_depth), bed.soil_depth)
    return PlantingCurve(active, kc, root, kc_mid, kc_end)


def zero_yield_salinity(planting: Planting) -> float:
    """Return the salinity of the soil extract at which yield reaches zero [dS/m]; infinite if unknown.

    Reference: threshold + 100 / slope, from the straight line of Maas and Hoffman; FAO-56 Table 23.
    """
    if planting.salinity_threshold is None or planting.salinity_slope is None:
        return float("inf")
    return planting.salinity_threshold + 100.0 / planting.salinity_slope


def _leaching(planting: Planting, salinity: float | None) -> float:
    """Return the leaching requirement of a planting; 0 if water or crop give nothing to reckon with."""
    if salinity is None or planting.salinity_threshold is None or planting.salinity_slope is None:
        return 0.0
    return float(leaching_requirement(salinity, zero_yield_salinity=zero_yield_salinity(planting)))


def _bed_columns(
    bed: Bed, dates: DateArray, normals: Normals, bare: float, salinity: float | None
) -> tuple[BoolArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return one bed's columns of `Growth`, in its order of fields, each of shape (n_days,)."""
    mix = bed.soil
    n_days = dates.shape[0]
    curves = [planting_curve(planting, bed, dates=dates, normals=normals) for planting in bed.plantings]
    share = np.zeros(n_days)
    kc_sum, taw_sum, p_sum = np.zeros(n_days), np.zeros(n_days), np.zeros(n_days)
    kc_top = np.zeros(n_days)
    taw_least, p_least = np.full(n_days, np.inf), np.full(n_days, np.inf)
    leaching = np.zeros(n_days)
    for planting, curve in zip(bed.plantings, curves, strict=True):
        part = np.where(curve.active, planting.share, 0.0)
        taw = total_available_water(mix.field_capacity, mix.wilting_point, root_depth=curve.root)
        share += part
        kc_sum += part * curve.kc
        taw_sum += part * taw
        p_sum += part * planting.depletion_fraction
        kc_top = np.maximum(kc_top, np.where(curve.active, curve.kc, 0.0))
        taw_least = np.minimum(taw_least, np.where(curve.active, taw, np.inf))
        p_least = np.minimum(p_least, np.where(curve.active, planting.depletion_fraction, np.inf))
        leaching = np.maximum(leaching, np.where(curve.active, _leaching(planting, salinity), 0.0))
    in_use = share > 0.0
    planted = np.where(in_use, share, 1.0)
    kc_area = kc_sum + np.maximum(1.0 - share, 0.0) * bare
    kc_thirstiest = np.where(in_use, kc_top, bare)
    evaporable = float(total_evaporable_water(mix.field_capacity, mix.wilting_point))
    if bed.need == "thirstiest plant":
        kc, taw, fraction = kc_thirstiest, taw_least, p_least
    else:
        kc, taw, fraction = kc_area, taw_sum / planted, p_sum / planted
    return (
        in_use,
        kc,
        kc_area,
        kc_thirstiest,
        np.where(in_use, taw, evaporable),
        np.where(in_use, fraction, EASY_EVAPORATION_SHARE),
        leaching,
    )


def garden_growth(garden: Garden, dates: DateArray, *, normals: Normals) -> Growth:
    """Return what grows in every bed on each of the dates.

    A bed whose need follows its thirstiest plant takes the greatest coefficient and the shallowest store;
    one that follows the area mean takes both weighted by share, with bare soil for the rest.

    Reference: FAO-56 (1998), chapter 6; area weights for stands of similar height, chapter 10.
    """
    columns = [
        _bed_columns(bed, dates, normals, garden.planning.bare_soil_coefficient, garden.water_source.salinity)
        for bed in garden.beds
    ]
    in_use, kc, kc_area, kc_thirstiest, taw, fraction, leaching = (
        np.stack(parts, axis=1) for parts in zip(*columns, strict=True)
    )
    storage = np.array(
        [
            float(
                total_available_water(
                    bed.soil.field_capacity, bed.soil.wilting_point, root_depth=bed.soil_depth
                )
            )
            for bed in garden.beds
        ]
    )
    return Growth(in_use, kc, kc_area, kc_thirstiest, taw, fraction, leaching, storage)
