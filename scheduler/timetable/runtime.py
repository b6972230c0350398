"""Depths into minutes and back, in the steps that a timer can hold. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.garden.plan import Timer

__all__ = ["applied_depth", "day_totals", "run_lengths", "run_time", "splits"]

FloatArray = NDArray[np.float64]

MINUTES_PER_HOUR = 60.0


def run_time(gross_depth: ArrayLike, application_rate: ArrayLike) -> FloatArray:
    """Return the run time [min] that puts `gross_depth` [mm] on a bed at `application_rate` [mm/h]."""
    return MINUTES_PER_HOUR * np.asarray(gross_depth, dtype=float) / np.asarray(application_rate, dtype=float)


def applied_depth(minutes: ArrayLike, application_rate: ArrayLike) -> FloatArray:
    """Return the gross depth [mm] that `minutes` at `application_rate` [mm/h] put on a bed."""
    return np.asarray(minutes, dtype=float) * np.asarray(application_rate, dtype=float) / MINUTES_PER_HOUR


def run_lengths(timer: Timer) -> range:
    """Return every length of one run that the timer can hold [min], rising."""
    first = math.ceil(timer.shortest_run / timer.step) * timer.step
    return range(first, timer.longest_run + 1, timer.step)


def day_totals(timer: Timer, longest: Sequence[int]) -> NDArray[np.int64]:
    """Return every number of minutes a day that the timer can hold, 0 first, rising.

    A total is one to `starts_per_day` runs of one length, since a timer keeps one length per outlet.

    Parameters
    ----------
    timer : Timer
    longest : sequence of int, one per number of starts
        The longest run that has room with one start a day, with two, and so on [min]; 0 for none.
    """
    totals = {
        starts * run for starts, most in enumerate(longest, 1) for run in run_lengths(timer) if run <= most
    }
    return np.array([0, *sorted(totals)], dtype=np.int64)


def splits(total: int, timer: Timer) -> tuple[tuple[int, int], ...]:
    """Return every way to hold a day's total as (starts a day, minutes a run), fewest starts first."""
    lengths = run_lengths(timer)
    return tuple(
        (starts, total // starts)
        for starts in range(1, timer.starts_per_day + 1)
        if total % starts == 0 and total // starts in lengths
    )
