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
    "Options",
    "OutletNeed",
    "Patterns",
    "least_short",
    "outlet_options",
    "patterns_of",
]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

#: Pattern of an outlet that is switched off.
OFF = -1

#: What a litre short beyond the share weighs against a litre over: a setting that is less short goes first.
PENALTY = 1e6

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
        """Return the water by which weeks are short beyond a share of what is asked [L]; as `minutes`."""
        given = np.multiply.outer(minutes, self.each[begin:end])
        least = (1.0 - share) * self.asked[begin:end]
        lacking = np.where(given >= least * (1.0 - ROUNDING), 0.0, least - given)
        return np.asarray(lacking.sum(axis=(1, 2)))


class Options(NamedTuple):
    """Ways to set an outlet, best first; arrays of shape (n_options,).

    `pattern` is `OFF` for an outlet that is switched off; `minutes` of each run; `over` and `short` [L].
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

    def in_order(self, order: IntArray) -> Options:
        """Return the options in another order."""
        return Options(
            self.pattern[order], self.starts[order], self.minutes[order], self.over[order], self.short[order]
        )


def least_short(outlets: Sequence[OutletNeed], begin: int, end: int, *, share: float, most: float) -> float:
    """Return the least water by which weeks can be short beyond the share if outlets share minutes a day [L].

    A lower bound for outlets that run one at a time, `most` being the mean of a day's hours [min]. Minutes go
    where they make up most, as every next one makes up less.
    """
    gains, spans, asked = [np.zeros(0)], [np.zeros(0)], 0.0
    for outlet in outlets:
        least = (1.0 - share) * outlet.asked[begin:end]
        each = outlet.each[begin:end]
        grown = each > 0.0
        ends = least[grown] / each[grown]
        order = np.argsort(ends)
        # Up to each end the weeks that it and later ends belong to still gain.
        gains.append(np.cumsum(each[grown][order][::-1])[::-1])
        spans.append(np.diff(ends[order], prepend=0.0))
        asked += float(least[grown].sum())
    gain, span = np.concatenate(gains), np.concatenate(spans)
    order = np.argsort(-gain)
    filled = np.clip(most - (np.cumsum(span[order]) - span[order]), 0.0, span[order])
    return max(0.0, asked - float((gain[order] * filled).sum()))


def outlet_options(
    need: OutletNeed,
    begin: int,
    end: int,
    *,
    patterns: Patterns,
    longest: IntArray,
    timer: Timer,
    share: float,
    eased: float = 1.0,
) -> Options:
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
    eased : float
        Part of what the share leaves that is aimed at: less than 1 where outlets find no room together.

    Notes
    -----
    Patterns whose gap the beds do not last are left out. If that leaves none, those with the shortest gap
    that the timer and the hours allow are taken.
    """
    wanted = (1.0 - share) * need.minutes_a_day(begin, end)
    usable = (longest > 0).any(axis=1)
    if wanted * eased <= 0.0 or not usable.any():
        return _off(need, begin, end, share=share)
    gap = max(int(need.gap[begin:end].min()), int(patterns.gap[usable].min()))
    pattern, start = np.nonzero((longest > 0) & (patterns.gap <= gap)[:, None])
    runs_a_day = patterns.rate[pattern] * (start + 1)
    lengths = run_lengths(timer)
    steps = np.ceil(wanted * eased / runs_a_day / timer.step * (1.0 - ROUNDING)).astype(np.int64)
    minutes = np.clip(steps * timer.step, lengths[0], longest[pattern, start])
    # Many patterns come to the same minutes a day, and these alone matter.
    a_day = runs_a_day * minutes
    _, first, which = np.unique(np.round(a_day, 9), return_index=True, return_inverse=True)
    over = need.over(a_day[first], begin, end)[which]
    short = need.short(a_day[first], begin, end, share=share)[which]
    order = np.lexsort((pattern, start, patterns.rate[pattern], np.round(over, 6), np.round(short, 6)))
    return Options(pattern[order], start[order] + 1, minutes[order], over[order], short[order])


def _off(need: OutletNeed, begin: int, end: int, *, share: float) -> Options:
    """Return the one way to leave an outlet off."""
    nothing, none = np.zeros(1), np.zeros(1, dtype=np.int64)
    short = need.short(nothing, begin, end, share=share)
    return Options(np.array([OFF]), none, none, nothing, short)
