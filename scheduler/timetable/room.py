"""The minutes a day that have room on the clock, for many day patterns. Pure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Timer
from scheduler.timetable.placing import WeekClock
from scheduler.timetable.runtime import day_totals

__all__ = ["longest_alone", "totals_alone", "totals_with_room"]

IntArray = NDArray[np.int64]
Mask = Sequence[bool]


def _totals(
    mask: Mask, clock: WeekClock, *, timer: Timer, flow: float, longest_pulse: float | None
) -> IntArray:
    """Return the totals with room on the days of a mask, rising from 0; 0 alone for a mask without days."""
    longest = clock.longest_runs(mask, timer=timer, flow=flow) if any(mask) else ()
    return day_totals(timer, longest, longest_pulse=longest_pulse)


def _stacked(rows: Sequence[IntArray]) -> IntArray:
    """Return rows of unequal length as one array, the short ones filled up with their last value."""
    stacked = np.empty((len(rows), max(row.shape[0] for row in rows)), dtype=np.int64)
    for line, row in zip(stacked, rows, strict=True):
        line[: row.shape[0]] = row
        line[row.shape[0] :] = row[-1]
    return stacked


def totals_with_room(
    masks: Sequence[Mask],
    clock: WeekClock,
    *,
    timer: Timer,
    flow: float,
    longest_pulse: float | None = None,
) -> IntArray:
    """Return the minutes a day that a zone of `flow` [L/h] can still take with each mask.

    `longest_pulse` is the longest run that its beds take at once [min], see `day_totals`.

    Shape (n_masks, n_totals); rows rise from 0, and a short row repeats its last value.
    """
    return _stacked(
        [_totals(mask, clock, timer=timer, flow=flow, longest_pulse=longest_pulse) for mask in masks]
    )


def longest_alone(
    masks: Sequence[Mask], clock: WeekClock, spans: Sequence[Sequence[tuple[int, int]]], *, timer: Timer
) -> IntArray:
    """Return the longest run [min] that an empty clock over `spans` holds with 1, 2 ... starts a day.

    Shape (n_masks, starts_per_day), 0 for none; flow does not count.
    """
    known: dict[frozenset[tuple[tuple[int, int], ...]], tuple[int, ...]] = {}
    rows = []
    for mask in masks:
        # Without another zone only the hours of the run days count, and most days have the same ones.
        hours = frozenset(tuple(spans[day]) for day, runs in enumerate(mask) if runs)
        if hours not in known:
            nothing = (0,) * timer.starts_per_day
            known[hours] = clock.longest_runs(mask, timer=timer, flow=0.0) if any(mask) else nothing
        rows.append(known[hours])
    return np.array(rows, dtype=np.int64)


def totals_alone(longest: IntArray, timer: Timer) -> IntArray:
    """Return the minutes a day that the rows of `longest_alone` allow, as `totals_with_room` does."""
    known: dict[tuple[int, ...], IntArray] = {}
    for row in longest.tolist():
        if tuple(row) not in known:
            known[tuple(row)] = day_totals(timer, row)
    return _stacked([known[tuple(row)] for row in longest.tolist()])
