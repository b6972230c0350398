"""What a person's cup test tells of a bed, how surely, and how many more cups would tell it better. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.drip.emitters import LOW_QUARTER_DEVIATION, caught_volumes, low_quarter_uniformity
from scheduler.drip.quantiles import chi_square_quantile, student_quantile
from scheduler.drip.uniformity import christiansen_uniformity, variation_of
from scheduler.drip.uniformity_classes import Graded, emission_class, statistical_class
from scheduler.errors import RillbookError

__all__ = [
    "CupEvaluation",
    "Interval",
    "evaluate_cups",
    "low_quarter_uncertainty",
    "mean_flow_uncertainty",
    "more_cups",
]

MINUTES_PER_HOUR = 60.0

#: A cup further than this from the median, in modified standard deviations, is named: Iglewicz and Hoaglin
#: (1993), from memory, with the factors that make both spreads those of a normal population.
OUTLYING = 3.5
MEDIAN_DEVIATION, MEAN_DEVIATION = 1.4826, 1.2533

#: What reading cups and watch adds to the flow, and taking the low quarter's uniformity for the application
#: efficiency to that: relative standard uncertainties. Judgements, no source.
CUP_READING, CUP_RULE = 0.02, 0.02
#: Uniformity is never reckoned below this when its uncertainty is set against it.
LEAST_UNIFORMITY = 0.1

#: Beyond this many cups in all nobody would go on.
MOST_CUPS = 1000


@dataclass(frozen=True, slots=True)
class Interval:
    """A value with the interval that holds the true one at the stated confidence."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class CupEvaluation:
    """A cup test weighed.

    Attributes
    ----------
    cups : int
    flow : Interval
        Mean flow of an emitter [L/h].
    variation : Interval
        Coefficient of variation Cv [share].
    statistical, low_quarter : Interval
        Us and DU of the low quarter [share]. The interval of DU is that of 1 - 1.27 Cv, which holds for a
        normal population: a bed with clogged emitters may lie outside.
    christiansen : float
        CU [share].
    statistical_class, emission_class : Graded
        Classes of Us and of DU.
    dry : tuple of int
        Numbers of the cups that caught nothing, from 1.
    low, high : tuple of int
        Numbers of other cups that lie far below or above the rest.
    """

    cups: int
    flow: Interval
    variation: Interval
    statistical: Interval
    low_quarter: Interval
    christiansen: float
    statistical_class: Graded
    emission_class: Graded
    dry: tuple[int, ...]
    low: tuple[int, ...]
    high: tuple[int, ...]


def evaluate_cups(volumes: ArrayLike, minutes: float, *, confidence: float = 0.95) -> CupEvaluation:
    """Return what cups [L] filled in `minutes` tell of a bed.

    The mean lies within t s / sqrt(n) (Student); s itself within the chi-square limits of n - 1 degrees of
    freedom. Both take the emitters for a normal population, of which the cups are a small part.

    Raises
    ------
    RillbookError
        As `low_quarter_uniformity`, or if the minutes are not above 0 or the confidence is no share.
    """
    caught = caught_volumes(volumes)
    _check_confidence(confidence)
    if not 0.0 < minutes < math.inf:
        raise RillbookError(f"the cups stood for {minutes} minutes; write how long each was filled")
    count, cv = caught.size, variation_of(caught)
    flow = float(caught.mean()) / minutes * MINUTES_PER_HOUR
    half = flow * _flow_half_width(cv, count, confidence)
    least, most = _variation_limits(count, confidence)
    variation = Interval(cv, least * cv, most * cv)
    quarter = low_quarter_uniformity(caught)
    dry, low, high = _named(caught)
    return CupEvaluation(
        cups=count,
        flow=Interval(flow, max(0.0, flow - half), flow + half),
        variation=variation,
        statistical=Interval(1.0 - cv, max(0.0, 1.0 - variation.high), 1.0 - variation.low),
        low_quarter=Interval(
            quarter,
            max(0.0, 1.0 - LOW_QUARTER_DEVIATION * variation.high),
            max(0.0, 1.0 - LOW_QUARTER_DEVIATION * variation.low),
        ),
        christiansen=christiansen_uniformity(caught),
        statistical_class=statistical_class(1.0 - cv),
        emission_class=emission_class(quarter),
        dry=dry,
        low=low,
        high=high,
    )


def more_cups(
    variation: float,
    cups: int,
    *,
    within: float,
    of: Literal["flow", "uniformity"] = "flow",
    confidence: float = 0.95,
) -> int | None:
    """Return how many further cups would narrow an interval, if the cups go on varying as they did.

    Parameters
    ----------
    variation : float
        Coefficient of variation so far [share].
    cups : int
        Cups so far.
    within : float
        Wanted half-width: for ``flow`` as a share of the mean; for ``uniformity`` half of the whole width
        of the interval of Us, which is not symmetric.

    Returns
    -------
    int or None
        0 if the cups do already; None if a thousand in all would not.

    Raises
    ------
    RillbookError
        If the variation is below 0, the cups are fewer than 4, or a share is not within 0..1.
    """
    _check_confidence(confidence)
    if not 0.0 <= variation < math.inf:
        raise RillbookError(f"variation {variation} is no share; write 5 % as 0.05")
    if cups < 4:
        raise RillbookError(f"a cup test needs at least 4 cups; found {cups}")
    if not 0.0 < within < 1.0:
        raise RillbookError(f"a wanted width of {within} is no share; write 5 % as 0.05")
    width = _flow_half_width if of == "flow" else _uniformity_half_width
    # A hair is added, so that the width reached is not missed by its last binary digit.
    wide = (n for n in range(cups, MOST_CUPS + 1) if width(variation, n, confidence) <= within * (1 + 1e-12))
    enough = next(wide, None)
    return None if enough is None else enough - cups


def mean_flow_uncertainty(volumes: ArrayLike, *, emitters: int) -> float:
    """Return the relative standard uncertainty of a bed's flow from cups under some of its emitters.

    That of a mean of n out of N, s / sqrt(n) times sqrt(1 - n / N): with a cup under every emitter only the
    reading is left. Reference: JCGM 100:2008, 4.2.3; correction for a finite population from memory.

    Raises
    ------
    RillbookError
        As `low_quarter_uniformity`.
    """
    caught = caught_volumes(volumes)
    left_out = max(0.0, 1.0 - caught.size / emitters)
    return math.hypot(variation_of(caught) * math.sqrt(left_out / caught.size), CUP_READING)


def low_quarter_uncertainty(volumes: ArrayLike) -> float:
    """Return the relative standard uncertainty of the low quarter's uniformity of a cup test.

    The uniformity of a normal population is 1 - 1.27 Cv, and Cv from n cups has the relative standard
    uncertainty 1 / sqrt(2 (n - 1)) (JCGM 100:2008, E.4.3).

    Raises
    ------
    RillbookError
        As `low_quarter_uniformity`.
    """
    caught = caught_volumes(volumes)
    shortfall = LOW_QUARTER_DEVIATION * variation_of(caught)
    of_uniformity = shortfall / math.sqrt(2.0 * (caught.size - 1))
    return math.hypot(of_uniformity / max(1.0 - shortfall, LEAST_UNIFORMITY), CUP_RULE)


def _check_confidence(confidence: float) -> None:
    if not 0.0 < confidence < 1.0:
        raise RillbookError(f"confidence {confidence} is not between 0 and 1; write 95 % as 0.95")


def _flow_half_width(variation: float, cups: int, confidence: float) -> float:
    """Return half of the interval of the mean, as a share of it."""
    return student_quantile(0.5 + confidence / 2.0, cups - 1) * variation / math.sqrt(cups)


def _variation_limits(cups: int, confidence: float) -> tuple[float, float]:
    """Return the factors on a standard deviation that bound the true one."""
    freedom = cups - 1
    tail = (1.0 - confidence) / 2.0
    return (
        math.sqrt(freedom / chi_square_quantile(1.0 - tail, freedom)),
        math.sqrt(freedom / chi_square_quantile(tail, freedom)),
    )


def _uniformity_half_width(variation: float, cups: int, confidence: float) -> float:
    least, most = _variation_limits(cups, confidence)
    return variation * (most - least) / 2.0


def _named(caught: NDArray[np.float64]) -> tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]:
    """Return the numbers of the dry cups, and of other cups far below and far above the median.

    The spread is that of the cups that caught something; where half of them are alike to the mark their
    mean deviation takes the place of the median one.
    """
    wet = caught > 0.0
    centre = np.median(caught[wet])
    away = np.abs(caught[wet] - centre)
    spread = MEDIAN_DEVIATION * float(np.median(away)) or MEAN_DEVIATION * float(away.mean())
    far = OUTLYING * spread
    numbers = np.arange(1, caught.size + 1)

    def chosen(which: NDArray[np.bool_]) -> tuple[int, ...]:
        return tuple(int(number) for number in numbers[which])

    return chosen(~wet), chosen(wet & (caught < centre - far)), chosen(wet & (caught > centre + far))
