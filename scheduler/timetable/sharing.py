"""Blocks of shut runs shared among the beds of a zone, by an exact dynamic programme. Pure arrays.

A cost is the water of a bed [1e-6 L], a whole number, if it is shut in so many blocks; IMPOSSIBLE where that
leaves it short.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

__all__ = ["IMPOSSIBLE", "allotted", "least_by_blocks", "summed"]

IntArray = NDArray[np.int64]

#: More than any sum of water; two of them still are a whole number of 64 bits.
IMPOSSIBLE = 1 << 60


def summed(cost: IntArray) -> IntArray:
    """Return the cost of all beds, impossible if that of one is; by setting, `cost` by setting and bed."""
    possible = np.all(cost < IMPOSSIBLE, axis=1)
    return np.where(possible, np.where(cost < IMPOSSIBLE, cost, 0).sum(axis=1), IMPOSSIBLE)


def least_by_blocks(cost: IntArray) -> IntArray:
    """Return the least water [1e-6 L] of each setting if all beds together are shut in so many blocks.

    Shape (n_settings, n_blocks), the blocks shared among the beds in the best way; `cost` is of shape
    (n_settings, n_counts, n_beds), counts of blocks from 0 on.
    """
    for least in _by_bed(cost):
        shared = least
    return shared


def _by_bed(cost: IntArray) -> Iterator[IntArray]:
    """Yield the same for no bed, for the first, for the first two, and so on."""
    n_settings, n_counts, n_beds = cost.shape
    n_blocks = n_beds * (n_counts - 1) + 1
    before = np.full((n_settings, n_blocks), IMPOSSIBLE, dtype=np.int64)
    before[:, 0] = 0
    yield before
    for bed in range(n_beds):
        least = np.full_like(before, IMPOSSIBLE)
        for count in range(n_counts):
            tried = before[:, : n_blocks - count] + cost[:, count, bed, None]
            np.minimum(least[:, count:], tried, out=least[:, count:])
        before = least
        yield before


def allotted(cost: IntArray, blocks: int) -> tuple[int, ...]:
    """Return the blocks of each bed that make up the best sharing, (n_beds,); `cost` is of one setting.

    Of equal ways to share that one is taken which gives the later beds of the plan fewer.
    """
    sums = list(_by_bed(cost[None]))
    counts = []
    for bed in reversed(range(cost.shape[1])):
        count = next(
            c
            for c in range(min(blocks + 1, cost.shape[0]))
            if cost[c, bed] < IMPOSSIBLE
            and sums[bed][0, blocks - c] + cost[c, bed] == sums[bed + 1][0, blocks]
        )
        counts.append(count)
        blocks -= count
    return tuple(reversed(counts))
