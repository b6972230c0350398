"""Water that a person gives by hand: seedbeds whose surface must stay wet, transplants that take hold. Pure.

Both are kept out of the timer's minutes, since a whole bed watered for a few seeds or young plants drains
most of it; the plan can ask for the whole bed instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Bed, Garden, Planting
from scheduler.season.results import WeekResult
from scheduler.season.wet import wet_until
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.water.evaporation import WET_SURFACE_COEFFICIENT

__all__ = ["HandWater", "hand_water"]

FloatArray = NDArray[np.float64]

#: Single coefficient of a transplant whose few roots are kept moist: that of a small vegetable at the start,
#: FAO-56 (1998) Table 12, on the ground that the plants will take. Judgement that it serves here.
TRANSPLANT_COEFFICIENT = 0.7


@dataclass(frozen=True, slots=True)
class HandWater:
    """Hand watering of one planting in a week.

    Attributes
    ----------
    bed, crop : str
    reason : str
        ``seedbed`` or ``transplants``.
    first, last : date
        Days of the week on which it is due.
    litres_a_day : float
        On a dry day.
    """

    bed: str
    crop: str
    reason: Literal["seedbed", "transplants"]
    first: date
    last: date
    litres_a_day: float


def hand_water(garden: Garden, result: WeekResult) -> tuple[HandWater, ...]:
    """Return what is to be watered by hand in the week of the table.

    A wet seedbed loses what a wet surface loses, 1.2 times reference ET (FAO-56 (1998), eq. 72 in its
    standard climate), less what mulch keeps back; transplants use 0.7 of it on their ground. That this is
    what they need is a judgement without a source.
    """
    last_day = result.on + timedelta(days=DAYS_PER_WEEK - 1)
    lines = []
    for number, bed in enumerate(garden.beds):
        if bed.seedbed != "by hand":
            continue
        for planting in bed.plantings:
            until = wet_until(planting)
            first = max(planting.planted, result.on)
            if until is None or first > min(until, last_day, planting.removed - timedelta(days=1)):
                continue
            last = min(until, last_day, planting.removed - timedelta(days=1))
            lines.append(_line(bed, planting, result, number, first=first, last=last))
    return tuple(lines)


def _line(
    bed: Bed, planting: Planting, result: WeekResult, number: int, *, first: date, last: date
) -> HandWater:
    """Return the line of one planting."""
    days = slice((first - result.on).days, (last - result.on).days + 1)
    reference_et = float((result.weather.reference_et[days] * result.reached[days, number]).mean())
    sown = planting.surface_wet_days > 0.0
    kept = float((result.growth.kept * result.growth.open_share)[days, number].mean())
    depth = (WET_SURFACE_COEFFICIENT * kept if sown else TRANSPLANT_COEFFICIENT) * reference_et
    return HandWater(
        bed=bed.name,
        crop=planting.crop,
        reason="seedbed" if sown else "transplants",
        first=first,
        last=last,
        litres_a_day=depth * bed.area * planting.share,
    )
