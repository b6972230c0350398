"""Every way to set one zone that may have a place in the best timetable. Pure.

A way is a day pattern, a number of starts a day and a length of run. Shortage and water are whole numbers of
small units, so that sums are exact and equal settings are equal.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Timer
from scheduler.timetable.choices import ZoneBeds, ZoneChoices, flow_by_day, rounded_shortage, zone_shortage
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.runtime import run_lengths

__all__ = [
    "WATER_PARTS",
    "Score",
    "ZoneOptions",
    "best_score",
    "every_option",
    "least_short_options",
    "score_of",
    "total_score",
]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: Water is told apart to a millilitre, haste to a thousandth of a minute.
WATER_PARTS = 1000.0
HASTY_PARTS = 1000.0


class Score(NamedTuple):
    """How good a setting is, the least being the best.

    Shortage [0.001 mm2 d]; `hasty`, how far its runs go beyond what the soil takes at once [0.001 min a
    week]; water [mL]; runs a week.
    """

    shortage: int
    hasty: int
    water: int
    runs: int


def total_score(scores: Sequence[Score]) -> Score:
    """Return the score of settings together."""
    return Score(*(sum(part) for part in zip(*scores, strict=True)))


@dataclass(frozen=True, slots=True, eq=False)
class ZoneOptions:
    """Ways to set one zone; arrays of shape (n_options,), in the units of `Score`.

    `pattern` is a row of the day patterns, `minutes` the length of one run, `pause` the time to the next at
    least; no run is 0 starts of 0 minutes.
    """

    pattern: IntArray
    starts: IntArray
    minutes: IntArray
    pause: IntArray
    shortage: IntArray
    hasty: IntArray
    water: IntArray
    runs: IntArray

    @property
    def n_options(self) -> int:
        """Number of ways."""
        return self.pattern.shape[0]

    def score(self, option: int) -> Score:
        """Return how good one way is."""
        return Score(*(int(getattr(self, part)[option]) for part in Score._fields))


def _options(
    beds: ZoneBeds, outlook: BedOutlook, masks: FloatArray, ways: IntArray, shortage: IntArray
) -> ZoneOptions:
    """Return options from rows of (pattern, starts, minutes a run, pause) and their shortage."""
    pattern, starts, minutes, pause = ways.T
    by_pattern = masks @ flow_by_day(beds, outlook)
    water = np.rint(starts * minutes * by_pattern[pattern] / 60.0 * WATER_PARTS).astype(np.int64)
    runs = (starts * masks.sum(axis=1)[pattern]).astype(np.int64)
    # Too short a pause is better than too long a run, so it counts next to nothing.
    beyond = np.maximum(minutes - beds.longest_pulse, 0.0) * HASTY_PARTS
    hurried = (starts > 1) & (pause < np.ceil(beds.soak))
    hasty = np.where(starts > 0, runs * (np.rint(beyond) + hurried), 0.0).astype(np.int64)
    return ZoneOptions(pattern, starts, minutes, pause, shortage, hasty, water, runs)


def _with_pauses(beds: ZoneBeds, rows: Sequence[tuple[int, int, int]]) -> IntArray:
    """Return (pattern, starts, minutes) with the pauses that may follow a run: its own length, and a soak."""
    ways = np.array(rows, dtype=np.int64).reshape(-1, 3)
    ways = np.column_stack([ways, ways[:, 2]])
    soak = int(np.ceil(beds.soak))
    longer = ways[(ways[:, 1] > 1) & (ways[:, 3] < soak)]
    longer[:, 3] = soak
    return np.concatenate([ways, longer])


def _share(total: int, starts: int, timer: Timer) -> int:
    """Return the shortest run that makes up a day's total with so many starts [min], or more."""
    lengths = run_lengths(timer)
    return lengths.start + max(-(-(-(-total // starts) - lengths.start) // lengths.step), 0) * lengths.step


def least_short_options(
    choices: ZoneChoices, outlook: BedOutlook, masks: FloatArray, *, timer: Timer, longest: IntArray
) -> ZoneOptions:
    """Return the ways that leave a zone as little short as it can be.

    Of each pattern and number of starts it is the shortest run that does so: a longer one takes more water
    and more room. `longest` are the longest runs that the hours of each pattern hold, (n_patterns, n_starts).
    """
    shortage = rounded_shortage(choices.shortage)
    rows: list[tuple[int, int, int]] = []
    for pattern in np.flatnonzero(shortage == shortage.min()).tolist():
        total = int(choices.minutes[pattern])
        if total == 0:
            rows.append((pattern, 0, 0))
            continue
        for starts, most in enumerate(longest[pattern].tolist(), 1):
            run = _share(total, starts, timer)
            if run <= most:
                rows.append((pattern, starts, run))
    ways = _with_pauses(choices.beds, rows)
    return _options(choices.beds, outlook, masks, ways, shortage[ways[:, 0]])


def every_option(
    choices: ZoneChoices,
    outlook: BedOutlook,
    masks: FloatArray,
    *,
    timer: Timer,
    longest: IntArray,
) -> ZoneOptions:
    """Return all ways to set a zone, but for those that water beyond need.

    Where the hours are crowded, a zone may have to take less than it needs.
    """
    rows: list[tuple[int, int, int]] = [(0, 0, 0)]
    for pattern in np.flatnonzero(choices.minutes).tolist():
        for starts, most in enumerate(longest[pattern].tolist(), 1):
            last = min(_share(int(choices.minutes[pattern]), starts, timer), most)
            rows += [(pattern, starts, run) for run in run_lengths(timer) if run <= last]
    ways = _with_pauses(choices.beds, rows)
    settings, inverse = np.unique(
        np.stack([ways[:, 0], ways[:, 1] * ways[:, 2]], axis=1), axis=0, return_inverse=True
    )
    short = zone_shortage(choices.beds, outlook, masks[settings[:, 0]], settings[:, 1])
    return _options(choices.beds, outlook, masks, ways, rounded_shortage(short)[inverse.ravel()])


def score_of(beds: ZoneBeds, outlook: BedOutlook, masks: FloatArray, way: tuple[int, int, int, int]) -> Score:
    """Return how good one way (pattern, starts, minutes a run, pause) to set a zone is."""
    pattern, starts, minutes, _ = way
    short = zone_shortage(beds, outlook, masks[[pattern]], np.array([starts * minutes]))
    return _options(beds, outlook, masks, np.array([way]), rounded_shortage(short)).score(0)


def best_score(options: ZoneOptions) -> Score:
    """Return the best that one zone could have by itself."""
    return options.score(int(np.lexsort([getattr(options, part) for part in reversed(Score._fields)])[0]))
