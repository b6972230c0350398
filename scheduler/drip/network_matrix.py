"""The matrix over the heads of a layout, solved in plain Python for a garden. Pure: arrays in, arrays out.

With the nodes furthest from the tap first a tree fills no new place of its matrix and a ring few, so that a
garden's few hundred rows are eliminated in about a millisecond. Loading a sparse library takes hundreds, and
a full matrix wakes threads that wait for each other on a busy machine.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["MOST_BY_HAND", "Pattern", "breadth_first", "make_pattern", "solve_matrix"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

#: Most unknowns that are eliminated, and most nodes that are walked over, without a sparse library.
MOST_BY_HAND = 400


@dataclass(frozen=True, slots=True)
class Pattern:
    """Where values stand in a square matrix.

    Attributes
    ----------
    size : int
        Rows and columns.
    kept : array
        Which values are in the matrix; values at one place are added.
    place : array
        Of each kept value, which of the places it has.
    indices, columns : arrays
        Row and column of each place, column by column.
    """

    size: int
    kept: NDArray[np.bool_]
    place: IntArray
    indices: IntArray
    columns: IntArray


def make_pattern(rows: IntArray, columns: IntArray, *, size: int) -> Pattern:
    """Return the pattern of values at these rows and columns; -1 is outside the matrix."""
    kept = (rows >= 0) & (columns >= 0)
    keys, place = np.unique(columns[kept] * size + rows[kept], return_inverse=True)
    at_column, indices = np.divmod(keys, max(size, 1))
    return Pattern(size, kept, place, indices, at_column)


def solve_matrix(pattern: Pattern, values: FloatArray, wanted: FloatArray) -> FloatArray:
    """Return x of A x = wanted, with the values where the pattern has them, (size,)."""
    added = np.bincount(pattern.place, weights=values[pattern.kept], minlength=pattern.indices.size)
    data = np.asarray(added, dtype=np.float64)
    solve = _eliminate if pattern.size <= MOST_BY_HAND else _solve_sparse
    return solve(pattern, data, wanted)


def _eliminate(pattern: Pattern, data: FloatArray, wanted: FloatArray) -> FloatArray:
    """Return x by elimination row by row, each on its diagonal; no numbers where a pivot is zero."""
    size, known = pattern.size, wanted.tolist()
    rows: list[dict[int, float]] = [{} for _ in range(size)]
    below: list[list[int]] = [[] for _ in range(size)]
    for row, column, value in zip(
        pattern.indices.tolist(), pattern.columns.tolist(), data.tolist(), strict=True
    ):
        rows[row][column] = value
        if row > column:
            below[column].append(row)
    inverses = []
    for number, pivot_row in enumerate(rows):
        pivot = pivot_row.pop(number)
        inverse = 1.0 / pivot if pivot else math.inf
        inverses.append(inverse)
        for other in below[number]:
            row_below = rows[other]
            share = row_below.pop(number) * inverse
            known[other] -= share * known[number]
            for column, value in pivot_row.items():
                if column in row_below:
                    row_below[column] -= share * value
                else:
                    row_below[column] = -share * value
                    if column < other:
                        below[column].append(other)
    for number in range(size - 1, -1, -1):
        behind = sum(value * known[column] for column, value in rows[number].items())
        known[number] = (known[number] - behind) * inverses[number]
    return np.array(known)


def _solve_sparse(pattern: Pattern, data: FloatArray, wanted: FloatArray) -> FloatArray:
    """Return x by elimination in the order of the columns, each on its diagonal."""
    from scipy.sparse import csc_array
    from scipy.sparse.linalg import splu

    size = pattern.size
    indptr = np.concatenate([[0], np.cumsum(np.bincount(pattern.columns, minlength=size))])
    matrix = csc_array((data, pattern.indices, indptr), shape=(size, size))
    factors = splu(matrix, permc_spec="NATURAL", diag_pivot_thresh=0.0, relax=1)
    return np.asarray(factors.solve(wanted))


def breadth_first(starts: IntArray, ends: IntArray, *, root: int, size: int) -> IntArray:
    """Return the nodes that steps from start to end reach from `root`, in the order in which they are met.

    Parameters
    ----------
    starts, ends : array
        Steps, (n_steps,).
    size : int
        Number of nodes.
    """
    if size <= MOST_BY_HAND:
        return _walk(starts, ends, root=root, size=size)
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import breadth_first_order

    graph = csr_array((np.ones(starts.size), (starts, ends)), shape=(size, size))
    return np.asarray(breadth_first_order(graph, root, directed=True, return_predecessors=False))


def _walk(starts: IntArray, ends: IntArray, *, root: int, size: int) -> IntArray:
    """Return the nodes reached, met one by one."""
    onward: list[list[int]] = [[] for _ in range(size)]
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        onward[start].append(end)
    order, met = [root], {root}
    for node in order:
        for end in onward[node]:
            if end not in met:
                met.add(end)
                order.append(end)
    return np.array(order, dtype=np.intp)
