"""Salt in a bed's soil and what it costs each crop. Pure."""

from __future__ import annotations

import math

from scheduler.garden.plan import Bed, Planting, WaterSource
from scheduler.water.salinity import SaltStress, salt_stress_coefficient, soil_salinity

__all__ = ["bed_salinity", "salt_stress"]


def bed_salinity(bed: Bed, source: WaterSource) -> tuple[float, str] | None:
    """Return the salinity of a bed's soil extract ECe [dS/m] and where it is from; None if nothing tells it.

    A soil test of the mix goes before what the water and a stated leaching fraction bring in the long run.

    Reference: FAO-56 (1998), eq. 93.
    """
    if bed.soil.salinity is not None:
        return bed.soil.salinity, "soil test"
    if source.salinity is None or source.leaching_fraction is None:
        return None
    salinity = soil_salinity(source.salinity, leaching_fraction=source.leaching_fraction)
    return float(salinity), "FAO-56 eq. 93 from water and leaching fraction"


def salt_stress(planting: Planting, salinity: float | None) -> SaltStress | None:
    """Return how far salt holds a planting back; None if its tolerance or the salinity is not known.

    Reference: FAO-56 (1998), eq. 91.
    """
    threshold, slope = planting.salinity_threshold, planting.salinity_slope
    if salinity is None or threshold is None or slope is None:
        return None
    ky = math.nan if planting.ky is None else planting.ky
    return salt_stress_coefficient(salinity, threshold=threshold, slope=slope, ky=ky)
