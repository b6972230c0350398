"""How far an answer may lie off, from how far its inputs may: first-order propagation. Pure."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Garden, Uncertainty
from scheduler.season.supply import garden_supply
from scheduler.season.varied import INPUTS

__all__ = ["PlausibleRange", "first_order", "input_uncertainty"]

FloatArray = NDArray[np.float64]

#: Standard deviations each way that hold eight in ten: the 90th percentile of the normal distribution.
WIDTH = 1.2815515655446004

#: How far each input is moved to see what it does, in the order of `INPUTS`: its usual uncertainty, whatever
#: the plan states. So an answer's uncertainty is in proportion to its inputs', and more never narrows it.
STEPS = tuple(getattr(Uncertainty(), name) for name in INPUTS)


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

    They are the plan's, but for flow and efficiency of a bed that was measured: those follow from its tests.
    """
    stated = [getattr(garden.uncertainty, name) for name in INPUTS]
    rows = np.array([stated for _ in garden.beds], dtype=float)
    supplies = garden_supply(garden)
    rows[:, INPUTS.index("flow")] = [supply.flow_uncertainty for supply in supplies]
    rows[:, INPUTS.index("efficiency")] = [supply.efficiency_uncertainty for supply in supplies]
    return rows
