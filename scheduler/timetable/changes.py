"""The least costly division of a season into few stretches, exactly, by dynamic programming. Pure.

The best way to reach a week with at most k stretches is the best way to reach some earlier week with at most
k - 1, and one stretch from there. So the best of all divisions is found from a cost for each stretch.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

__all__ = ["Division", "divided", "least_costs", "least_settled"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: Stretches as (first week, week after the last), in order and without a gap.
Division = tuple[tuple[int, int], ...]

#: Costs that are this close, as a share, are the same: then the division with fewer stretches is taken.
SAME_COST = 1e-14


def least_costs(cost: FloatArray, up_to: int) -> tuple[FloatArray, IntArray]:
    """Return the least cost of the first weeks with at most so many stretches, and where the last begins.

    Parameters
    ----------
    cost : array, shape (n_weeks, n_weeks + 1)
        Of one stretch from week i up to week j (j left out) at ``[i, j]``; only j > i counts.
    up_to : int

    Returns
    -------
    least : array, shape (up_to + 1, n_weeks + 1)
    begins : array of int, shape (up_to + 1, n_weeks + 1)
    """
    n_weeks = cost.shape[0]
    week = np.arange(n_weeks + 1)
    whole = np.where(week[:n_weeks, None] < week, cost, np.inf)
    least = np.full((up_to + 1, n_weeks + 1), np.inf)
    least[:, 0] = 0.0
    begins = np.zeros((up_to + 1, n_weeks + 1), dtype=np.int64)
    for k in range(1, up_to + 1):
        reached = least[k - 1, :n_weeks, None] + whole
        begins[k, 1:] = np.argmin(reached[:, 1:], axis=0)
        least[k, 1:] = np.min(reached[:, 1:], axis=0)
    return least, begins


def divided(least: FloatArray, begins: IntArray, most: int) -> Division:
    """Return the least costly division with at most so many stretches; of equal ones that with the fewest."""
    end = least.shape[1] - 1
    totals = least[1 : most + 1, end]
    k = 1 + int(np.argmax(totals <= totals[-1] + SAME_COST * max(1.0, abs(float(totals[-1])))))
    stretches: list[tuple[int, int]] = []
    while end > 0:
        begin = int(begins[k, end])
        stretches.append((begin, end))
        k, end = k - 1, begin
    return tuple(reversed(stretches))


def least_settled(
    bound: FloatArray, counts: Sequence[int], settle: Callable[[int, int], float]
) -> list[Division]:
    """Return the least costly division for each greatest number of stretches, where costs are dear to learn.

    Divisions are made on lower bounds; the stretches that they use are settled, and it is divided anew until
    all that are used are. Those that are left unsettled could only cost more, so the answer is exact.

    Parameters
    ----------
    bound : array, shape (n_weeks, n_weeks + 1)
        Never above the cost that `settle` returns.
    counts : sequence of int
        Greatest numbers of stretches, each at least 1.
    settle : callable
        Returns the cost of the stretch from week i up to week j.
    """
    cost, settled = bound.copy(), np.zeros(bound.shape, dtype=bool)
    while True:
        least, begins = least_costs(cost, max(counts))
        divisions = [divided(least, begins, most) for most in counts]
        used = {stretch for division in divisions for stretch in division}
        unsettled = [stretch for stretch in sorted(used) if not settled[stretch]]
        if not unsettled:
            return divisions
        for stretch in unsettled:
            cost[stretch], settled[stretch] = settle(*stretch), True
