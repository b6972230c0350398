"""What grows in every bed on every day: coefficients, cover, roots, leaching; before the day's weather."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Bed, Garden, Planting
from scheduler.season.curves import PlantingCurve, Stand, planting_curve
from scheduler.season.ground import Ground, available_water, ground_of
from scheduler.season.salt import bed_salinity, salt_stress
from scheduler.season.stages import Warmth
from scheduler.season.wet import wet_until
from scheduler.water import salinity
from scheduler.water.evaporation import surface_root_share
from scheduler.water.mixture import height_weighted_coefficient
from scheduler.water.mulch import (
    FILM_KC_INI,
    FILM_KCB_REDUCTION,
    film_basal_coefficient,
    film_coefficient,
    organic_coefficient,
    organic_evaporation_factor,
    organic_initial_coefficient,
)
from scheduler.water.need import leaching_requirement
from scheduler.weather.normals import Normals
from scheduler.weather.record import DateArray

__all__ = ["Growth", "bed_curves", "garden_growth", "slice_growth", "zero_yield_salinity"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Growth:
    """Every bed over a span of days; arrays of shape (n_days, n_beds).

    Attributes
    ----------
    in_use : array of bool
        True where something grows.
    kc, basal : arrays
        Single and basal coefficient by the bed's own need rule.
    kc_area, kc_thirstiest, basal_area, basal_thirstiest : arrays
        The same by area (the single one with bare soil), and those of the thirstiest plant.
    cover : array
        Share of the bed that leaves cover.
    height : array
        Height of the tallest plant [m].
    taw, fraction : arrays
        Total available water of the rooted depth [mm] and p for a use of 5 mm/d. On days without a
        plant they describe the surface layer that can evaporate.
    roots : array
        Share of the roots in the surface layer.
    leaching : array
        Leaching requirement, 0..1.
    salt : array
        Factor of salt on what plants use, 1 where nothing tells of salt.
    storage : array
        Available water of all the soil that roots could reach [mm].
    tew, rew : arrays
        Total and readily evaporable water of the surface layer [mm].
    wetted : array
        Share of the bed that drip wets.
    kept, open_share : arrays
        Factor of organic mulch on evaporation, and share of the ground that film leaves open.
    wet_limit : array
        Depletion that keeps a seedbed's surface wet where the plan asks the whole bed for it [mm], else
        infinite.
    """

    in_use: BoolArray
    kc: FloatArray
    basal: FloatArray
    kc_area: FloatArray
    kc_thirstiest: FloatArray
    basal_area: FloatArray
    basal_thirstiest: FloatArray
    cover: FloatArray
    height: FloatArray
    taw: FloatArray
    fraction: FloatArray
    roots: FloatArray
    leaching: FloatArray
    salt: FloatArray
    storage: FloatArray
    tew: FloatArray
    rew: FloatArray
    wetted: FloatArray
    kept: FloatArray
    open_share: FloatArray
    wet_limit: FloatArray


def slice_growth(growth: Growth, begin: int, end: int) -> Growth:
    """Return the growth of the days `begin`..`end` (end left out)."""
    return replace(growth, **{field.name: getattr(growth, field.name)[begin:end] for field in fields(growth)})


def zero_yield_salinity(planting: Planting) -> float:
    """Return the salinity of the soil extract at which yield reaches zero [dS/m]; infinite if unknown.

    Reference: FAO-56 (1998), eq. 89, Table 23.
    """
    if planting.salinity_threshold is None or planting.salinity_slope is None:
        return float("inf")
    return float(salinity.zero_yield_salinity(planting.salinity_threshold, planting.salinity_slope))


def _leaching(planting: Planting, water_salinity: float | None) -> float:
    """Return the leaching requirement of a planting; 0 if water or crop give nothing to reckon with."""
    if water_salinity is None or planting.salinity_threshold is None or planting.salinity_slope is None:
        return 0.0
    return float(leaching_requirement(water_salinity, zero_yield_salinity=zero_yield_salinity(planting)))


def _salt_factor(planting: Planting, soil_salinity: float | None) -> float:
    """Return the factor of salt on a planting's use; 1 if nothing tells of it."""
    stress = salt_stress(planting, soil_salinity)
    return 1.0 if stress is None else float(stress.coefficient)


def bed_curves(
    bed: Bed, dates: DateArray, *, normals: Normals, warmth: Warmth, latitude: float
) -> tuple[Ground, tuple[PlantingCurve, ...]]:
    """Return a bed's ground and the curves of its plantings on each of the dates, under its mulch."""
    ground = ground_of(bed, dates)
    stand = Stand(latitude, bed.isolated_width)
    curves = tuple(
        planting_curve(p, dates=dates, reach=ground.depth, normals=normals, warmth=warmth, stand=stand)
        for p in bed.plantings
    )
    return ground, tuple(_mulched(curve, ground) for curve in curves)


def _mulched(curve: PlantingCurve, ground: Ground) -> PlantingCurve:
    """Return a curve under mulch.

    Organic mulch leaves the basal coefficient and lowers what the single one holds of evaporation; film
    lowers both. The single coefficient goes from the form for the initial stage to that for mid-season and
    end as the plants develop.

    Reference: FAO-56 (1998), chapter 10, p. 195-198.
    """
    grown, young = curve.development, 1.0 - curve.development
    kc = grown * organic_coefficient(curve.kc, ground.organic, kcb=curve.basal)
    kc = kc + young * organic_initial_coefficient(curve.kc, ground.organic)
    bare_film = ground.film * np.minimum(FILM_KC_INI, kc) + (1.0 - ground.film) * kc
    kc = grown * film_coefficient(kc, ground.film) + young * bare_film
    basal = film_basal_coefficient(curve.basal, reduction=FILM_KCB_REDUCTION * ground.film)
    return replace(curve, kc=kc, basal=basal)


class _Weights(NamedTuple):
    """Plantings of a bed side by side, (n_days, n_plantings): share of the bed where active, and who is."""

    share: FloatArray
    active: BoolArray

    def mean(self, values: FloatArray) -> FloatArray:
        """Return the mean over the planted part, 0 without plants."""
        total = self.share.sum(axis=1)
        return (self.share * values).sum(axis=1) / np.where(total > 0.0, total, 1.0)

    def sum(self, values: FloatArray) -> FloatArray:
        """Return the sum weighted by share."""
        return np.asarray((self.share * values).sum(axis=1))

    def greatest(self, values: FloatArray) -> FloatArray:
        """Return the greatest of the active, 0 without plants."""
        return np.asarray(np.where(self.active, values, 0.0).max(axis=1, initial=0.0))

    def least(self, values: FloatArray) -> FloatArray:
        """Return the least of the active, infinite without plants."""
        return np.asarray(np.where(self.active, values, np.inf).min(axis=1, initial=np.inf))


def _side_by_side(values: Sequence[FloatArray | float], n_days: int) -> FloatArray:
    """Return one column a planting."""
    columns = [np.broadcast_to(value, (n_days,)) for value in values]
    return np.stack(columns, axis=1) if columns else np.zeros((n_days, 0))


def _bed_growth(bed: Bed, dates: DateArray, garden: Garden, *, normals: Normals, warmth: Warmth) -> Growth:
    """Return the growth of one bed, each array of shape (n_days,)."""
    ground, curves = bed_curves(bed, dates, normals=normals, warmth=warmth, latitude=garden.site.latitude)
    n_days = dates.shape[0]

    def columns(values: Iterable[FloatArray | float]) -> FloatArray:
        return _side_by_side(list(values), n_days)

    active = columns(curve.active.astype(float) for curve in curves) > 0.0
    plants = _Weights(np.where(active, columns(p.share for p in bed.plantings), 0.0), active)
    kc, basal, height = (columns(getattr(c, name) for c in curves) for name in ("kc", "basal", "height"))
    taw = columns(available_water(bed, curve.root, dates) for curve in curves)
    fraction = columns(p.depletion_fraction for p in bed.plantings)
    told = bed_salinity(bed, garden.water_source)
    salt = columns(_salt_factor(p, told[0] if told else None) for p in bed.plantings)
    in_use = plants.share.sum(axis=1) > 0.0
    bare = garden.planning.bare_soil_coefficient * _bare_under_mulch(ground)
    kc_area = _mixed(bed, kc, height, plants) + np.maximum(1.0 - plants.share.sum(axis=1), 0.0) * bare
    kc_thirstiest = np.where(in_use, plants.greatest(kc), bare)
    basal_area, basal_thirstiest = _mixed(bed, basal, height, plants), plants.greatest(basal)
    by_area = bed.need == "area mean"
    return Growth(
        in_use=in_use,
        kc=kc_area if by_area else kc_thirstiest,
        basal=basal_area if by_area else basal_thirstiest,
        kc_area=kc_area,
        kc_thirstiest=kc_thirstiest,
        basal_area=basal_area,
        basal_thirstiest=basal_thirstiest,
        cover=plants.sum(columns(curve.cover for curve in curves)),
        height=plants.greatest(height),
        taw=np.where(in_use, plants.mean(taw) if by_area else plants.least(taw), ground.tew),
        fraction=np.where(
            in_use, plants.mean(fraction) if by_area else plants.least(fraction), ground.rew / ground.tew
        ),
        roots=np.where(
            in_use, surface_root_share(plants.greatest(columns(curve.root for curve in curves))), 0.0
        ),
        salt=np.where(in_use, plants.mean(salt), 1.0),
        leaching=plants.greatest(columns(_leaching(p, garden.water_source.salinity) for p in bed.plantings)),
        storage=ground.storage,
        tew=np.full(n_days, ground.tew),
        rew=np.full(n_days, ground.rew),
        wetted=np.full(n_days, ground.wetted),
        kept=organic_evaporation_factor(ground.organic),
        open_share=ground.open_share,
        wet_limit=_wet_limit(bed, dates, ground.rew),
    )


def _wet_limit(bed: Bed, dates: DateArray, rew: float) -> FloatArray:
    """Return the depletion up to which the surface still evaporates freely, on days that ask for it [mm]."""
    limit = np.full(dates.shape[0], np.inf)
    if bed.seedbed == "whole bed":
        for planting in bed.plantings:
            until = wet_until(planting)
            if until is not None:
                due = (dates >= np.datetime64(planting.planted)) & (dates <= np.datetime64(until))
                limit[due] = rew
    return limit


def _bare_under_mulch(ground: Ground) -> FloatArray:
    """Return the factor of mulch on the single coefficient of bare soil, all of which is evaporation."""
    return np.asarray(organic_evaporation_factor(ground.organic) * ground.open_share)


def _mixed(bed: Bed, values: FloatArray, height: FloatArray, plants: _Weights) -> FloatArray:
    """Return the coefficient of the planted part times its share, by area or by area and height.

    Reference: FAO-56 (1998), eq. 104; its bound Kc max is kept by the day's energy.
    """
    if bed.mixing == "area" or not bed.plantings:
        return plants.sum(values)
    planted = plants.share.sum(axis=1)
    coefficient = np.zeros_like(planted)
    grows = planted > 0.0
    coefficient[grows] = planted[grows] * height_weighted_coefficient(
        values[grows], cover=plants.share[grows], height=height[grows], greatest=np.inf
    )
    return coefficient


def garden_growth(garden: Garden, dates: DateArray, *, normals: Normals, warmth: Warmth) -> Growth:
    """Return what grows in every bed on each of the dates.

    A bed whose need follows its thirstiest plant takes the greatest coefficient and the shallowest store;
    one that follows the area mean takes both weighted by share, with bare soil for the rest.

    Reference: FAO-56 (1998), chapters 6 and 7; area weights for stands of similar height, chapter 10.
    """
    beds = [_bed_growth(bed, dates, garden, normals=normals, warmth=warmth) for bed in garden.beds]
    return Growth(
        **{
            field.name: np.stack([getattr(bed, field.name) for bed in beds], axis=1)
            for field in fields(Growth)
        }
    )
