"""Refills by hand that carry a bed past the days on which no run is allowed. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from scheduler.season.order import Fare, OrderCase, fare_of

__all__ = ["refilled_by_hand", "top_up"]


def refilled_by_hand(case: OrderCase, bed: int, litres: Mapping[int, int]) -> Fare:
    """Return how beds fare if the timer stays as the restriction has it and one bed is watered by hand.

    `litres` are those of each morning, counted from the first day of the week. The water goes over the
    whole bed, as rain does.
    """
    seen = case.result.outlook
    rain = seen.conditions.rain.copy()
    for day, volume in litres.items():
        rain[day, bed] += volume / case.setup.garden.beds[bed].area
    watered = replace(seen, conditions=seen.conditions._replace(rain=rain))
    return fare_of(case.setup, case.kept.plan, watered, limit=case.result.limit)


def _missing(case: OrderCase, fare: Fare, bed: int, *, day: int) -> float:
    """Return what a bed lacks on the morning of a day beyond its rain and its early run [mm]."""
    seen = case.result.outlook
    before = seen.depletion[bed] if day == 0 else fare.left[day - 1, bed]
    early = fare.applied[day, bed] * (1.0 - seen.evening)
    return float(before - seen.conditions.rain[day, bed] - early)


def top_up(case: OrderCase, bed: int) -> tuple[dict[int, int], Fare]:
    """Return the litres by hand on each day that keep a bed within its limit, and how beds then fare.

    Each refill is put as late as the limit allows, so that there are as few of them as can be: on the
    morning of the first day that would else end past it, all that is then missing, in whole litres. A day
    that takes more than a full bed gives ends past it all the same, and the days after it are looked at; a
    refill that leaves its day no better is not given.
    """
    litres: dict[int, int] = {}
    fare, goal = case.kept, float(case.goal[bed])
    for day in range(case.result.outlook.n_days):
        if fare.excess[day, bed] <= goal:
            continue
        missing = _missing(case, fare, bed, day=day)
        with_refill = litres | {day: math.ceil(missing * case.setup.garden.beds[bed].area)}
        then = refilled_by_hand(case, bed, with_refill) if missing > 0.0 else fare
        if then.excess[day, bed] < fare.excess[day, bed]:
            litres, fare = with_refill, then
    return litres, fare
