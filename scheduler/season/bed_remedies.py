"""What a gardener can do on the bed itself under a watering restriction: soil, mulch, water by hand. Pure.

Deeper soil and mulch are planned with a replay of their own: soil as if it had been there all along, mulch
from the first day of the restriction on. Water by hand begins with the week.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import numpy as np

from scheduler.garden.plan import Garden
from scheduler.season.changed import deeper_bed, lies_under_mulch, mulched_bed, with_bed
from scheduler.season.growth import garden_growth
from scheduler.season.order import OrderCase
from scheduler.season.setup import dates_from
from scheduler.season.stages import Warmth
from scheduler.season.top_up import top_up
from scheduler.season.trials import Remedy, Trial, not_possible, replanned, trial_of
from scheduler.season.wet import wet_until

__all__ = ["SOIL_STEPS", "deeper_garden", "deeper_soil", "least_soil", "mulch", "mulched_garden", "refills"]

#: Depths of soil that are tried on top of what is there [m].
SOIL_STEPS = (0.05, 0.10, 0.15, 0.20, 0.30)

_SAME_DEPTH = 1e-9


def deeper_garden(garden: Garden, bed: int, more: float) -> Garden:
    """Return a garden with so much more soil in one bed [m]."""
    return with_bed(garden, bed, lambda one: deeper_bed(one, more))


def mulched_garden(case: OrderCase, bed: int) -> Garden:
    """Return the case's garden with mulch on one bed since the restriction began."""
    begins = min(order.begins for order in case.day.orders)
    return with_bed(case.setup.garden, bed, lambda one: mulched_bed(one, begins))


def _roots_go_deeper(case: OrderCase, bed: int) -> bool:
    """Return True if on some day of the week roots would use soil below what the bed has."""
    setup = case.setup
    dates = dates_from(case.day.on, case.result.outlook.n_days)
    deepest = deeper_garden(setup.garden, bed, SOIL_STEPS[-1])
    warmth = Warmth(setup.daily, setup.normals, case.day.on)
    taw = garden_growth(deepest, dates, normals=setup.normals, warmth=warmth).taw[:, bed]
    return bool(np.any(taw > case.result.growth.taw[:, bed] + _SAME_DEPTH))


def least_soil(tried: Callable[[float], Trial]) -> Trial:
    """Return the trial of the least step of soil [m] that cures, else that of the deepest.

    The deepest goes first: where that does not cure, a lesser one does not either.
    """
    deepest = tried(SOIL_STEPS[-1])
    if deepest.verdict != "cures":
        return deepest
    lesser = (tried(more) for more in SOIL_STEPS[:-1])
    return next((trial for trial in lesser if trial.verdict == "cures"), deepest)


def deeper_soil(case: OrderCase, bed: int, *, under_mulch: bool = False) -> Trial:
    """Return what deeper soil in one bed does: the least of the steps that cures, else the deepest."""
    remedy: Remedy = "deeper soil and mulch" if under_mulch else "deeper soil"
    if not _roots_go_deeper(case, bed):
        return not_possible(bed, remedy, "roots go no deeper")
    garden = mulched_garden(case, bed) if under_mulch else case.setup.garden

    def tried(more: float) -> Trial:
        _, fare = replanned(case, deeper_garden(garden, bed, more))
        return trial_of(case, bed, remedy, fare, amount=more)

    return least_soil(tried)


def mulch(case: OrderCase, bed: int) -> Trial:
    """Return what organic mulch does on one bed that has none."""
    if lies_under_mulch(case.setup.garden.beds[bed], case.day.on):
        return not_possible(bed, "mulch", "mulch lies on it")
    own = case.setup.garden.beds[bed]
    sown = [planting for planting in own.plantings if planting.surface_wet_days > 0.0]
    coming_up = any(p.planted <= case.day.on <= (wet_until(p) or date.min) for p in sown)
    return trial_of(
        case,
        bed,
        "mulch",
        replanned(case, mulched_garden(case, bed))[1],
        reason="off rows where seeds come up" if coming_up else "",
    )


def refills(case: OrderCase, bed: int) -> Trial:
    """Return what refills by hand do for one bed."""
    litres, fare = top_up(case, bed)
    given = {case.day.on + timedelta(days=day): volume for day, volume in sorted(litres.items()) if volume}
    return trial_of(
        case,
        bed,
        "by hand",
        fare,
        amount=float(sum(given.values())),
        days=tuple(str(day) for day in given),
        volumes=tuple(float(volume) for volume in given.values()),
    )
