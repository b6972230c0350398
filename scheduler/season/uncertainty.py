"""How far an answer may lie off, from how far its inputs may: first-order propagation. Pure."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.drip.emitters import LOW_QUARTER_DEVIATION
from scheduler.garden.plan import Bed, CupTest, Garden, Uncertainty
from scheduler.season.varied import INPUTS

__all__ = ["PlausibleRange", "first_order", "input_uncertainty"]

FloatArray = NDArray[np.float64]

#: Standard deviations each way that hold eight in ten: the 90th percentile of the normal distribution.
WIDTH = 1.2815515655446004

#: How far each input is moved to see what it does, in the order of `INPUTS`: its usual uncertainty, whatever
#: the plan states. So an answer's uncertainty is in proportion to its inputs', and more never narrows it.
STEPS = tuple(getattr(Uncertainty(), name) for name in INPUTS)

#: Uniformity is never reckoned below this when its uncertainty is set against it.
LEAST_UNIFORMITY = 0.1

#: What reading cups and watch adds to a cup test's flow, and taking the low quarter's uniformity for the
#: application efficiency to its efficiency: relative standard uncertainties. Judgements, no source.
CUP_READING, CUP_RULE = 0.02, 0.02


@dataclass(frozen=True, slots=True, eq=False)
class PlausibleRange:
    """An answer with its central range under a normal law.

    Attributes
    ----------
    reckoned : array, shape (n_answers,)
        The answer with every input as reckoned; below 0 where nothing is needed with room to spare.
    parts : array, shape (n_inputs, n_answers)
        What one standard uncertainty of each input moves it by, in the order of `INPUTS`.
    """

    reckoned: FloatArray
    parts: FloatArray

    @property
    def standard(self) -> FloatArray:
        """Standard uncertainty of the answer, (n_answers,)."""
        return np.asarray(np.sqrt((self.parts**2).sum(axis=0)))

    @property
    def low(self) -> FloatArray:
        """Lower end of the range, never below 0."""
        return np.maximum(self.reckoned - WIDTH * self.standard, 0.0)

    @property
    def high(self) -> FloatArray:
        """Upper end of the range, never below 0."""
        return np.maximum(self.reckoned + WIDTH * self.standard, 0.0)

    @property
    def shares(self) -> FloatArray:
        """Share of the variance that each input makes, (n_inputs, n_answers); 0 where there is none."""
        square = self.parts**2
        whole = np.broadcast_to(square.sum(axis=0), square.shape)
        return np.divide(square, whole, out=np.zeros_like(square), where=whole > 0.0)

    def foremost(self, number: int) -> tuple[str, float]:
        """Return the input that makes the most of an answer's variance, and its share."""
        shares = self.shares[:, number]
        most = int(np.argmax(shares))
        return INPUTS[most], float(shares[most])


def first_order(answer: Callable[[FloatArray], FloatArray], uncertainty: FloatArray) -> PlausibleRange:
    """Return the plausible range of an answer from the relative standard uncertainties of its inputs.

    Parameters
    ----------
    answer : callable
        Takes factors on the inputs of shape (n_cases, 1, n_inputs), gives (n_cases, n_answers).
    uncertainty : array, shape (n_answers, n_inputs)
        As shares; inputs are independent of each other.

    Notes
    -----
    Sensitivity is the central difference over a step of the size that uncertainties usually have; an input's
    part is its sensitivity times its uncertainty, and parts are added in quadrature.
    Reference: JCGM 100:2008, eq. 10, 11a and note 2 of 5.1.3.
    """
    steps = np.array(STEPS)
    moves = np.concatenate([np.zeros((1, steps.shape[0])), np.diag(steps), -np.diag(steps)])
    answers = answer(1.0 + moves[:, None, :])
    up, down = np.split(answers[1:], 2)
    return PlausibleRange(answers[0], 0.5 * (up - down) / steps[:, None] * uncertainty.T)


def input_uncertainty(garden: Garden) -> FloatArray:
    """Return the relative standard uncertainty of each input, (n_beds, n_inputs).

    They are the plan's, but for flow and efficiency of a bed with a cup test: those follow from its cups.
    """
    stated = [getattr(garden.uncertainty, name) for name in INPUTS]
    rows = np.array([stated for _ in garden.beds], dtype=float)
    for number, bed in enumerate(garden.beds):
        if bed.cup_test is not None:
            rows[number, INPUTS.index("flow")] = _cup_flow(bed, bed.cup_test)
            rows[number, INPUTS.index("efficiency")] = _cup_efficiency(bed.cup_test)
    return rows


def _scatter(test: CupTest) -> float:
    """Return the coefficient of variation of the cups."""
    caught = np.asarray(test.volumes, dtype=float)
    return float(caught.std(ddof=1) / caught.mean())


def _cup_flow(bed: Bed, test: CupTest) -> float:
    """Return the relative standard uncertainty of a bed's flow from some of its emitters.

    That of a mean of n out of N, s / sqrt(n) times sqrt(1 - n / N): with a cup under every emitter only the
    reading is left. Reference: JCGM 100:2008, 4.2.3; correction for a finite population from memory.
    """
    cups = len(test.volumes)
    left_out = max(0.0, 1.0 - cups / bed.emitters)
    return math.hypot(_scatter(test) * math.sqrt(left_out / cups), CUP_READING)


def _cup_efficiency(test: CupTest) -> float:
    """Return the relative standard uncertainty of the low quarter's uniformity of a cup test.

    The uniformity of a normal population is 1 - 1.27 Cv, and Cv from n cups has the relative standard
    uncertainty 1 / sqrt(2 (n - 1)) (JCGM 100:2008, E.4.3).
    """
    variation = _scatter(test)
    of_uniformity = LOW_QUARTER_DEVIATION * variation / math.sqrt(2.0 * (len(test.volumes) - 1))
    return math.hypot(
        of_uniformity / max(1.0 - LOW_QUARTER_DEVIATION * variation, LEAST_UNIFORMITY), CUP_RULE
    )
