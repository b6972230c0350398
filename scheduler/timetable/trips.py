"""Subsets of a week's runs, and the trips to a hand valve that each costs. Pure arrays.

A trip is one visit to one valve, to open it or to shut it between two run days. Every valve begins and ends
the week open, so that a recipe can be kept week after week: each block of runs through which a valve stays
shut costs two trips, a block at either end of the week too. Runs on days when nothing grows in a bed do
not count: its valve is then shut in any case, with trips or without.

Days of a week are kept as whole numbers of seven bits, the first day as the highest one: of two subsets with
as many runs the greater number has the earlier days.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.timetable.patterns import DAYS_PER_WEEK

__all__ = [
    "MOST_BLOCKS",
    "NEVER",
    "TRIPS_PER_BLOCK",
    "Visit",
    "day_bits",
    "days_of_bits",
    "least_runs",
    "shut_blocks",
    "visits",
]

BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

N_SUBSETS = 1 << DAYS_PER_WEEK

#: Blocks of shut runs that seven runs can hold: every other one.
MOST_BLOCKS = (DAYS_PER_WEEK + 1) // 2

#: One to shut the valve, one to open it again.
TRIPS_PER_BLOCK = 2

#: Stands for a number of runs where no subset will do; more than any week has.
NEVER = 99


class Visit(NamedTuple):
    """One trip: what to do to a valve before the run of a day; day 7 is the first one of the week after."""

    day: int
    turn: Literal["open", "shut"]


def day_bits(mask: Sequence[bool] | BoolArray) -> int:
    """Return the days of a mask over the week as a number."""
    return sum(1 << (DAYS_PER_WEEK - 1 - day) for day, runs in enumerate(mask) if runs)


def days_of_bits() -> BoolArray:
    """Return the mask of every number, shape (128, 7)."""
    place = np.arange(DAYS_PER_WEEK - 1, -1, -1)
    return np.asarray((np.arange(N_SUBSETS)[:, None] >> place) & 1, dtype=bool)


def shut_blocks() -> IntArray:
    """Return in how many blocks the runs `i` are shut if the valve is open on the days `j`, (128, 128)."""
    days = days_of_bits()
    blocks = np.zeros((N_SUBSETS, N_SUBSETS), dtype=np.int64)
    was_shut = np.zeros_like(blocks, dtype=bool)
    for day in range(DAYS_PER_WEEK):
        runs, is_open = days[:, None, day], days[None, :, day]
        shut = runs & ~is_open
        blocks += shut & ~was_shut
        was_shut = np.where(runs, shut, was_shut)
    return blocks


def least_runs(enough: BoolArray) -> NDArray[np.int8]:
    """Return the fewest runs through which a valve must be open, for each number of blocks it is shut in.

    Parameters
    ----------
    enough : array of bool, shape (128, n_totals, n_beds)
        Whether water on the days `i`, so many minutes on each, is enough for a bed.

    Returns
    -------
    array of int, shape (128, MOST_BLOCKS + 1, n_totals, n_beds)
        For the runs `i` that can reach a bed; NEVER where no subset of them with so many blocks is enough.
    """
    blocks, number = shut_blocks(), np.arange(N_SUBSETS)
    n_open = days_of_bits().sum(axis=1)
    runs_if_enough = np.where(enough, n_open[:, None, None], NEVER).astype(np.int8)
    fewest = np.full((N_SUBSETS, MOST_BLOCKS + 1, *enough.shape[1:]), NEVER, dtype=np.int8)
    for runs in range(N_SUBSETS):
        subsets = number[(number & ~runs) == 0]
        for count in np.unique(blocks[runs, subsets]):
            chosen = subsets[blocks[runs, subsets] == count]
            fewest[runs, count] = runs_if_enough[chosen].min(axis=0)
    return fewest


def visits(reach: Sequence[bool] | BoolArray, open_on: Sequence[bool] | BoolArray) -> tuple[Visit, ...]:
    """Return the trips to a valve in their order; `reach` are the runs that can reach its bed."""
    made: list[Visit] = []
    is_open = True
    for day in range(DAYS_PER_WEEK):
        if reach[day] and bool(open_on[day]) != is_open:
            is_open = not is_open
            made.append(Visit(day, "open" if is_open else "shut"))
    return tuple(made) if is_open else (*made, Visit(DAYS_PER_WEEK, "open"))
