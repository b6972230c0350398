"""Depths into minutes and back, in the steps that a timer can hold. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.garden.plan import Timer

__all__ = [
    "Way",
    "applied_depth",
    "day_totals",
    "run_lengths",
    "run_time",
    "splits",
    "ways_to_hold",
]

FloatArray = NDArray[np.float64]

MINUTES_PER_HOUR = 60.0


class Way(NamedTuple):
    """A day's water as a timer holds it: starts a day, minutes a run, and least pause between runs [min]."""

    starts: int
    minutes: int
    pause: int


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


def day_totals(
    timer: Timer, longest: Sequence[int], *, longest_pulse: float | None = None
) -> NDArray[np.int64]:
    """Return every number of minutes a day that the timer should hold, 0 first, rising.

    A total is one to `starts_per_day` runs of one length, since a timer keeps one length per outlet. With a
    longest pulse the totals are those of runs within it; beyond what these reach come those of the most
    starts, then of one start less where more find no room, and so on, so that a greater need finds a total.

    Parameters
    ----------
    timer : Timer
    longest : sequence of int, one per number of starts
        The longest run that has room with one start a day, with two, and so on [min]; 0 for none.
    longest_pulse : float or None
        Longest run that the beds take without ponding or water running through [min]; None for no limit.
    """
    pulse = math.inf if longest_pulse is None else longest_pulse
    lengths = run_lengths(timer)
    totals = {
        starts * run for starts, most in enumerate(longest, 1) for run in lengths if run <= min(most, pulse)
    }
    if math.isfinite(pulse):
        for starts, most in reversed(list(enumerate(longest, 1))):
            reached = max(totals, default=0)
            totals |= {starts * run for run in lengths if run <= most and starts * run > reached}
    return np.array([0, *sorted(totals)], dtype=np.int64)


def splits(total: int, timer: Timer, longest_pulse: float | None = None) -> tuple[tuple[int, int], ...]:
    """Return every way to hold a day's total as (starts a day, minutes a run), the best first.

    Fewest starts come first. With a longest pulse [min] those whose runs keep within it come first, by fewest
    starts; then the others, by most starts: the nearest to it that the timer can do.
    """
    lengths = run_lengths(timer)
    ways = tuple(
        (starts, total // starts)
        for starts in range(1, timer.starts_per_day + 1)
        if total % starts == 0 and total // starts in lengths
    )
    if longest_pulse is None:
        return ways
    within = tuple(way for way in ways if way[1] <= longest_pulse)
    return (*within, *(way for way in reversed(ways) if way not in within))


def ways_to_hold(
    total: int, timer: Timer, *, longest_pulse: float = math.inf, soak: float = 0.0
) -> tuple[Way, ...]:
    """Return every way to hold a day's total with its pauses, in the order in which they should be tried.

    Between two runs lies at least the length of a run. Runs within the pulse come with the whole soak first,
    then without it: short runs with short pauses are better than long runs. A run longer than the pulse
    soaks longer by as much.

    Parameters
    ----------
    total : int
        Minutes of a run day.
    timer : Timer
    longest_pulse : float
        Longest run that the beds take without ponding or water running through [min]; infinite for no limit.
    soak : float
        Pause that such a run asks for [min].
    """
    pairs = splits(total, timer, longest_pulse)
    within = [pair for pair in pairs if pair[1] <= longest_pulse]
    groups = [within, *([pair] for pair in pairs if pair not in within)]
    ways: dict[Way, None] = {}
    for group in groups:
        for starts, minutes in group:
            full = math.ceil(soak * max(1.0, minutes / longest_pulse)) if starts > 1 else 0
            ways[Way(starts, minutes, max(minutes, full))] = None
        for starts, minutes in group:
            ways[Way(starts, minutes, minutes)] = None
    return tuple(ways)
