"""One setting of one outlet for a stretch of weeks: every way to hold it, the least over-supply first. Pure.

The water of a setting counts evenly over its days: soil carries it from run to run. How long a bed lasts from
one run to the next is a question of its own, asked of the longest gap of a pattern.

All that matters of a setting is then the minutes a day that it comes to on average. More of them never leave
a week shorter and never over-supply less, so of each pattern and number of starts the shortest run that meets
the need is the only one to look at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Timer
from scheduler.timetable.lasting import LastingPattern
from scheduler.timetable.runtime import run_lengths

__all__ = [
    "OFF",
    "PENALTY",
    "ROUNDING",
    "OutletNeed",
    "OutletOptions",
    "Patterns",
    "least_short",
    "outlet_ladder",
    "outlet_options",
    "patterns_of",
]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

#: Pattern of an outlet that is switched off.
OFF = -1

#: What shortage beyond the share weighs against a litre over: a setting that is less short goes first.
PENALTY = 1e9

#: Relative error of a sum of floats: a run is not made a step longer for it.
ROUNDING = 1e-9


class Patterns(NamedTuple):
    """Rates [runs a day] and longest gaps [d] of patterns, each of shape (n_patterns,)."""

    rate: FloatArray
    gap: IntArray


def patterns_of(patterns: Sequence[LastingPattern]) -> Patterns:
    """Return what the choice needs to know of each pattern."""
    return Patterns(np.array([p.rate for p in patterns]), np.array([p.gap for p in patterns], dtype=np.int64))


@dataclass(frozen=True, slots=True, eq=False)
class OutletNeed:
    """What the beds of one outlet need in each week.

    Attributes
    ----------
    need : array, shape (n_years, n_weeks, n_beds)
        [min a week]
    days : array, shape (n_weeks, n_beds)
        Days of a week on which a bed's valve is open.
    flow : array, shape (n_beds,)
        [L/min]
    asked : array, shape (n_weeks, n_groups)
        What has to be met [L a week]: of each bed, or of all together if the rule is their mean.
    each : array, shape (n_weeks, n_groups)
        What a minute a day gives them in a week [L].
    gap : array of int, shape (n_weeks,)
        Most days between two runs that the beds last; 0 where not even a day.
    """

    need: FloatArray
    days: FloatArray
    flow: FloatArray
    asked: FloatArray
    each: FloatArray
    gap: IntArray

    def minutes_a_day(self, begin: int, end: int) -> float:
        """Return the minutes a day that meet all that is asked in the weeks `begin`..`end` (end left out)."""
        asked, each = self.asked[begin:end], self.each[begin:end]
        grown = each > 0.0
        return float(np.max(asked[grown] / each[grown], initial=0.0))

    def over(self, minutes: FloatArray, begin: int, end: int) -> FloatArray:
        """Return the water beyond each bed's need of each week, mean over the years [L]; as `minutes`."""
        given = np.multiply.outer(minutes, self.days[begin:end])
        beyond = np.maximum(given[:, None] - self.need[:, begin:end], 0.0).mean(axis=1)
        return np.asarray((beyond @ self.flow).sum(axis=1))

    def short(self, minutes: FloatArray, begin: int, end: int, *, share: float) -> FloatArray:
        """Return the squares of what weeks lack beyond a share, as parts of what is asked; as `minutes`.

        Squares, so that a shortage is shared: one bed at half its need is worse than two at three quarters.
        """
        asked, each = self.asked[begin:end], self.each[begin:end]
        grown = asked > 0.0
        given = np.multiply.outer(minutes, each[grown] / asked[grown])
        lacking = np.where(given >= (1.0 - share) * (1.0 - ROUNDING), 0.0, 1.0 - share - given)
        return np.asarray((lacking**2).sum(axis=1))


class OutletOptions(NamedTuple):
    """Ways to set an outlet, best first; arrays of shape (n_options,).

    `pattern` is `OFF` for an outlet that is switched off; `minutes` of each run; `over` [L] and `short` as
    `OutletNeed` has them.
    """

    pattern: IntArray
    starts: IntArray
    minutes: IntArray
    over: FloatArray
    short: FloatArray

    @property
    def cost(self) -> FloatArray:
        """What an option weighs: shortage goes before over-supply."""
        return self.over + PENALTY * self.short

    def load(self, used: BoolArray) -> IntArray:
        """Return the minutes of the clock that each option takes on each weekday, (n_options, 7)."""
        days = np.where((self.pattern == OFF)[:, None], False, used[self.pattern])
        return np.asarray(days * (self.starts * self.minutes)[:, None])


def least_short(outlets: Sequence[OutletNeed], begin: int, end: int, *, share: float, most: float) -> float:
    """Return a lower bound of what outlets are short that share minutes a day, as `OutletNeed.short` has it.

    `most` is the mean of a day's hours [min], in which the outlets run one at a time.

    Notes
    -----
    Minutes that go where they make up the greatest parts, of each bed up to what is asked, leave the least
    sum of parts lacking, as every next minute makes up less. Squares of n parts are least if all are equal.
    """
    gains, spans, lacking = [np.zeros(0)], [np.zeros(0)], 0.0
    for outlet in outlets:
        asked, each = outlet.asked[begin:end], outlet.each[begin:end]
        grown = asked > 0.0
        part = each[grown] / asked[grown]
        ends = (1.0 - share) / part
        order = np.argsort(ends)
        # Up to each end the weeks that it and later ends belong to still gain.
        gains.append(np.cumsum(part[order][::-1])[::-1])
        spans.append(np.diff(ends[order], prepend=0.0))
        lacking += (1.0 - share) * part.size
    gain, span = np.concatenate(gains), np.concatenate(spans)
    if gain.size == 0:
        return 0.0
    order = np.argsort(-gain)
    filled = np.clip(most - (np.cumsum(span[order]) - span[order]), 0.0, span[order])
    least = max(0.0, lacking * (1.0 - ROUNDING) - float((gain[order] * filled).sum()))
    return least**2 / gain.size


def outlet_options(
    need: OutletNeed,
    begin: int,
    end: int,
    *,
    patterns: Patterns,
    longest: IntArray,
    timer: Timer,
    share: float,
) -> OutletOptions:
    """Return the ways to hold one setting in the weeks `begin`..`end` (end left out), best first.

    Least short beyond the share goes before least over-supply; then come fewer runs, fewer starts, and the
    order of the patterns.

    Parameters
    ----------
    need : OutletNeed
    begin, end : int
    patterns : Patterns
        Those that are rather taken first.
    longest : array of int, shape (n_patterns, n_starts)
        Longest run that has room with 1, 2 ... starts a day [min], 0 for none.
    timer : Timer
    share : float
        By which a week may be short, 0..1.

    Notes
    -----
    Patterns whose gap the beds do not last are left out. If that leaves none, those with the shortest gap
    that the timer and the hours allow are taken.
    """
    wanted = (1.0 - share) * need.minutes_a_day(begin, end)
    usable = (longest > 0).any(axis=1)
    if wanted <= 0.0 or not usable.any():
        return _off(need, begin, end, share=share)
    gap = max(int(need.gap[begin:end].min()), int(patterns.gap[usable].min()))
    pattern, start = np.nonzero((longest > 0) & (patterns.gap <= gap)[:, None])
    runs_a_day = patterns.rate[pattern] * (start + 1)
    lengths = run_lengths(timer)
    steps = np.ceil(wanted / runs_a_day / timer.step * (1.0 - ROUNDING)).astype(np.int64)
    minutes = np.clip(steps * timer.step, lengths[0], longest[pattern, start])
    # Many patterns come to the same minutes a day, and these alone matter.
    a_day = runs_a_day * minutes
    _, first, which = np.unique(np.round(a_day, 9), return_index=True, return_inverse=True)
    over = need.over(a_day[first], begin, end)[which]
    short = need.short(a_day[first], begin, end, share=share)[which]
    order = np.lexsort((pattern, start, patterns.rate[pattern], np.round(over, 6), np.round(short, 12)))
    return OutletOptions(pattern[order], start[order] + 1, minutes[order], over[order], short[order])


def outlet_ladder(
    need: OutletNeed,
    begin: int,
    end: int,
    *,
    patterns: Patterns,
    longest: IntArray,
    timer: Timer,
    share: float,
) -> OutletOptions:
    """Return the ways to run an outlet on as many days as it may, from off up to what meets all asked.

    Parameters are those of `outlet_options`. The minutes a day rise, each held with the fewest starts.
    """
    off = _off(need, begin, end, share=share)
    wanted = (1.0 - share) * need.minutes_a_day(begin, end)
    most = patterns.rate * (longest * (1 + np.arange(longest.shape[1]))).max(axis=1)
    if wanted <= 0.0 or most.max() <= 0.0:
        return off
    # Of as much water the evenest: later patterns of one rate are less even, later rates run more often.
    pattern = int(np.flatnonzero(most >= most.max() * (1.0 - ROUNDING))[0])
    rate = float(patterns.rate[pattern])
    fewest: dict[int, int] = {}
    for starts, last in enumerate(longest[pattern].tolist(), 1):
        for minutes in run_lengths(timer):
            if minutes <= last:
                fewest.setdefault(starts * minutes, starts)
    totals = np.array(sorted(fewest), dtype=np.int64)
    enough = int(np.searchsorted(totals * rate, wanted * (1.0 - ROUNDING)))
    totals = totals[: enough + 1]
    a_day = np.asarray(totals * rate, dtype=np.float64)
    starts_of = np.array([fewest[total] for total in totals.tolist()], dtype=np.int64)
    return OutletOptions(
        np.concatenate([off.pattern, np.full(totals.shape, pattern)]),
        np.concatenate([off.starts, starts_of]),
        np.concatenate([off.minutes, totals // starts_of]),
        np.concatenate([off.over, need.over(a_day, begin, end)]),
        np.concatenate([off.short, need.short(a_day, begin, end, share=share)]),
    )


def _off(need: OutletNeed, begin: int, end: int, *, share: float) -> OutletOptions:
    """Return the one way to leave an outlet off."""
    nothing, none = np.zeros(1), np.zeros(1, dtype=np.int64)
    short = need.short(nothing, begin, end, share=share)
    return OutletOptions(np.array([OFF]), none, none, nothing, short)
