"""What shortage of water, and salt, may have cost each crop of a season: relative, and as a range. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.garden.plan import Garden, Planting
from scheduler.season.results import SeasonResult
from scheduler.season.salt import bed_salinity, salt_stress
from scheduler.water.yield_response import relative_yield_range

__all__ = ["KY_UNCERTAINTY", "PlantingYield", "planting_yields"]

#: Share by which a yield response factor may be off in a garden. Judgement, no source: FAO-33 fitted field
#: crops, and cultivars differ.
KY_UNCERTAINTY = 0.2

#: How far the ratio of water use itself may be off. Judgement, no source.
RATIO_UNCERTAINTY = 0.05


@dataclass(frozen=True, slots=True)
class PlantingYield:
    """One planting over the days of a replay.

    Attributes
    ----------
    bed, crop : str
    days : int
        Days of the replay on which it stood.
    use_ratio : float
        Water used over what it would have used without shortage and salt, 0..1.
    short_days : int
        Days with Ks below 1.
    ky : float or None
        Yield response factor; None if none is published.
    low, high : float or None
        Range of yield over yield without shortage; None without a factor.
    salt_out_of_range : bool
        True if the soil is saltier than the equations allow for.
    """

    bed: str
    crop: str
    days: int
    use_ratio: float
    short_days: int
    ky: float | None
    low: float | None
    high: float | None
    salt_out_of_range: bool


def planting_yields(garden: Garden, result: SeasonResult) -> tuple[PlantingYield, ...]:
    """Return what each planting that stood on some day of the replay may have lost.

    The bed's use stands for that of each of its crops. A full stand that was never short gives 1.

    Reference: FAO-56 (1998), eq. 90; Ky of Table 24 (FAO-33).
    """
    rows = []
    for number, bed in enumerate(garden.beds):
        told = bed_salinity(bed, garden.water_source)
        for planting in bed.plantings:
            stood = (result.dates >= np.datetime64(planting.planted)) & (
                result.dates < np.datetime64(planting.removed)
            )
            if stood.any():
                rows.append(_one(result, number, planting, stood, bed.name, told[0] if told else None))
    return tuple(rows)


def _one(
    result: SeasonResult,
    number: int,
    planting: Planting,
    stood: np.ndarray,
    bed: str,
    salinity: float | None,
) -> PlantingYield:
    """Return the outcome of one planting on the days it stood."""
    evaporation = float(result.evaporation[stood, number].sum())
    used = float(result.transpiration[stood, number].sum())
    salt = result.growth.salt[stood, number]
    wanted = float((result.conditions.basal[stood, number] / np.maximum(salt, 1e-6)).sum())
    ratio = min((evaporation + used) / (evaporation + wanted), 1.0) if evaporation + wanted > 0.0 else 1.0
    low = high = None
    if planting.ky is not None:
        span = relative_yield_range(
            ratio,
            planting.ky,
            ky_uncertainty=KY_UNCERTAINTY,
            et_ratio_uncertainty=RATIO_UNCERTAINTY if ratio < 1.0 - 1e-9 else 0.0,
        )
        low, high = float(span.low), float(span.high)
    stress = salt_stress(planting, salinity)
    return PlantingYield(
        bed=bed,
        crop=planting.crop,
        days=int(stood.sum()),
        use_ratio=ratio,
        short_days=int((result.stress_coefficient[stood, number] < 1.0 - 1e-9).sum()),
        ky=planting.ky,
        low=low,
        high=high,
        salt_out_of_range=stress is not None and not bool(stress.within_range),
    )
