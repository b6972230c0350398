"""Water between two readings of the whole garden against what the runs, the tests and the house explain."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from scheduler.reconcile.baseline import PRINTED_FLOW_SHARE, Baseline
from scheduler.reconcile.chances import normal_quantile
from scheduler.reconcile.meters import MeteredVolume

__all__ = [
    "HOUSE_DAY",
    "HOUSE_MEAN",
    "BedFlow",
    "WaterCheck",
    "WaterSpan",
    "bed_flow",
    "compare_water",
    "either_flow",
]

#: Standard deviation of a house's use from day to day, and of the mean that a person states, as shares:
#: judgement, no source.
HOUSE_DAY = 0.30
HOUSE_MEAN = 0.10

_MINUTES_A_DAY = 1440.0


@dataclass(frozen=True, slots=True)
class WaterSpan:
    """What is known of the time between two readings.

    Attributes
    ----------
    metered : MeteredVolume
    litres : mapping of str to float
        Water of each bed's runs, at the flow that the plan gives the bed [L].
    unsure : float
        Water that may or may not have run in the span [L]; half of it is counted.
    recorded, advised, unknown : int
        Days whose runs somebody recorded, days that only have advice, and days of which nothing is known.
    guessed : bool
        True if the unknown days are so few that the known ones bound their water, which is in `unsure`.
    """

    metered: MeteredVolume
    litres: Mapping[str, float]
    unsure: float
    recorded: int
    advised: int
    unknown: int
    guessed: bool


@dataclass(frozen=True, slots=True)
class BedFlow:
    """A bed's flow as the plan has it and as is expected, and the standard uncertainty of that [L/h]."""

    planned: float
    expected: float
    uncertainty: float


@dataclass(frozen=True, slots=True)
class WaterCheck:
    """Water of a span [L].

    Attributes
    ----------
    runs, house : float
        Water explained by runs and tests, and by the house; `house` None if its use is not stated.
    rest, uncertainty : float
        What neither explains, and its standard uncertainty.
    limit, detectable : float
        Rest beyond which it is called, and rest that is found with the power asked for.
    verdict : str
        ``more`` or ``less`` than explained; ``fits``; ``cannot tell`` where the house or a day's runs are not
        known and no water is missing.
    """

    span: WaterSpan
    runs: float
    house: float | None
    rest: float
    uncertainty: float
    limit: float
    detectable: float
    verdict: Literal["cannot tell", "fits", "less", "more"]


def bed_flow(planned: float, baseline: Baseline) -> BedFlow:
    """Return a bed's flow: its baseline if that was measured, else the plan's within the printed share."""
    if baseline.tests:
        return BedFlow(planned, baseline.flow, math.hypot(baseline.own, baseline.shared))
    return BedFlow(planned, planned, PRINTED_FLOW_SHARE / math.sqrt(3.0) * planned)


def either_flow(one: BedFlow, other: BedFlow) -> BedFlow:
    """Return the flow of a bed that had one flow and then another, at an unknown share of the time.

    The two are the ends of a rectangle (JCGM 100:2008, 4.3.7), beside the larger of their uncertainties.
    """
    half = abs(one.expected - other.expected) / 2.0
    return BedFlow(
        planned=other.planned,
        expected=(one.expected + other.expected) / 2.0,
        uncertainty=math.hypot(half / math.sqrt(3.0), max(one.uncertainty, other.uncertainty)),
    )


def compare_water(
    span: WaterSpan,
    flows: Mapping[str, BedFlow],
    *,
    house_per_day: float | None,
    confidence: float = 0.95,
    power: float = 0.95,
) -> WaterCheck:
    """Return metered against explained water.

    The test is two-sided. Flows of beds are taken to err all to one side, which is the worst case. The house
    is uncertain by its mean over the whole span and by each of its days.

    Parameters
    ----------
    flows : mapping of str to BedFlow
        One for each bed of the span.
    house_per_day : float or None
        What the house uses a day [L]; None if that is not stated.
    """
    shares = {bed: litres / flows[bed].planned for bed, litres in span.litres.items()}
    runs = sum(hours * flows[bed].expected for bed, hours in shares.items()) + span.unsure / 2.0
    of_flows = sum(hours * flows[bed].uncertainty for bed, hours in shares.items())
    of_unsure = span.unsure / 2.0 / math.sqrt(3.0)
    days = span.metered.minutes / _MINUTES_A_DAY
    use = house_per_day or 0.0
    of_house = math.hypot(HOUSE_MEAN * use * days, HOUSE_DAY * use * math.sqrt(days))
    uncertainty = math.hypot(span.metered.uncertainty, of_flows, of_unsure, of_house)
    rest = span.metered.volume - runs - use * days
    limit = normal_quantile(0.5 + confidence / 2.0) * uncertainty
    return WaterCheck(
        span=span,
        runs=runs,
        house=None if house_per_day is None else use * days,
        rest=rest,
        uncertainty=uncertainty,
        limit=limit,
        detectable=limit + normal_quantile(power) * uncertainty,
        verdict=_verdict(rest, limit, known=house_per_day is not None and (span.guessed or not span.unknown)),
    )


def _verdict(rest: float, limit: float, *, known: bool) -> Literal["cannot tell", "fits", "less", "more"]:
    """Return the verdict; what is not known could only explain more water, never less."""
    if rest < -limit:
        return "less"
    if not known:
        return "cannot tell"
    return "more" if rest > limit else "fits"
