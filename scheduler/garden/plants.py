"""What grows: crops in beds with every value that the balance needs already looked up.

Units as in `plan`: lengths m, temperatures degC, degree-days degC d, times in days, shares 0..1.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

__all__ = ["HeatStages", "Planting", "StageLengths"]


@dataclass(frozen=True, slots=True)
class StageLengths:
    """Lengths of the four growth stages [d]."""

    initial: float
    development: float
    mid: float
    late: float


@dataclass(frozen=True, slots=True)
class HeatStages:
    """Growth stages by the degree-days they take [degC d], above `base` and counted up to `upper` [degC]."""

    base: float
    upper: float | None
    initial: float
    development: float
    mid: float
    late: float


@dataclass(frozen=True, slots=True)
class Planting:
    """One crop in one bed, with every value that the balance needs already looked up.

    Attributes
    ----------
    crop : str
        Name as written in the plan.
    planted, removed : date
        First day in the ground, and the day it is taken out (that day no longer counts).
    share : float
        Share of the bed's area, 0..1.
    kc_ini, kc_mid, kc_end : float
        Single crop coefficients before adjustment for climate (FAO-56 Table 12).
    kcb_ini, kcb_mid, kcb_end : float
        Basal crop coefficients before adjustment for climate (FAO-56 Table 17).
    stages : StageLengths
        Already scaled to the planting's stay unless the plan gives its own; with `heat` the stay shared
        out by the degree-days, for days whose temperatures are not known.
    height : float
        Greatest height [m].
    root_depth : float
        Greatest rooting depth [m], not yet capped by the bed's soil depth.
    depletion_fraction : float
        p of FAO-56 Table 22, for a crop use of 5 mm/d.
    salinity_threshold, salinity_slope : float or None
        ECe threshold [dS/m] and yield loss above it [% per dS/m].
    source : str
        Where the coefficients come from.
    borrowed_from : str
        Name of the published crop whose row stands in; empty if the crop has its own.
    notes : tuple of str
        What was scaled, capped, derived or chosen between.
    ky : float or None
        Yield response to water over the whole season (FAO-56 Table 24); None where it is not known.
    ground_cover : float or None
        Share of its own area that a sparse stand shades at noon in mid-season; None for a full stand.
    heat : HeatStages or None
        Growth stages by degree-days; None where `stages` decides.
    surface_wet_days : float
        Days after sowing for which the surface must stay wet.
    establishing_days : float
        Days after transplanting in which the roots take hold.
    """

    crop: str
    planted: date
    removed: date
    share: float
    kc_ini: float
    kc_mid: float
    kc_end: float
    kcb_ini: float
    kcb_mid: float
    kcb_end: float
    stages: StageLengths
    height: float
    root_depth: float
    depletion_fraction: float
    salinity_threshold: float | None
    salinity_slope: float | None
    source: str
    borrowed_from: str = ""
    notes: tuple[str, ...] = ()
    ky: float | None = None
    ground_cover: float | None = None
    heat: HeatStages | None = None
    surface_wet_days: float = 0.0
    establishing_days: float = 0.0
