"""One setting of one outlet for a stretch of weeks: every way to hold it, the least over-supply first. Pure.

The water of a setting counts evenly over its days: soil carries it from run to run. How long a bed lasts from
one run to the next is a question of its own, asked of the longest gap of a pattern.

All that matters of a setting is then the minutes a day that it comes to on average. More of them never leave
a week shorter and never over-supply less, and a longer run never keeps better to what soil takes at once, so
of each pattern and number of starts the shortest run that meets the need is the only one to look at.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Timer
from scheduler.timetable.lasting import LastingPattern
from scheduler.timetable.outlet_need import ANY_GAP, ROUNDING, OutletNeed
from scheduler.timetable.runtime import day_totals, run_lengths, splits

__all__ = [
    "HASTE",
    "OFF",
    "PENALTY",
    "OutletOptions",
    "Patterns",
    "outlet_ladder",
    "outlet_options",
    "patterns_of",
]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

#: Pattern of an outlet that is switched off.
OFF = -1

#: What shortage beyond the share, and gaps that beds do not last, weigh against a litre over: they go first.
#: A week short by a hundredth of its need weighs as much as a hundred thousand litres that come too fast.
PENALTY = 1e12

#: What a litre beyond what the soil takes at once weighs against a litre over.
HASTE = 1e3


class Patterns(NamedTuple):
    """Rates [runs a day] and longest gaps [d] of patterns, each of shape (n_patterns,)."""

    rate: FloatArray
    gap: IntArray


def patterns_of(patterns: Sequence[LastingPattern]) -> Patterns:
    """Return what the choice needs to know of each pattern."""
    return Patterns(np.array([p.rate for p in patterns]), np.array([p.gap for p in patterns], dtype=np.int64))


class OutletOptions(NamedTuple):
    """Ways to set an outlet, best first; arrays of shape (n_options,).

    `pattern` is `OFF` for an outlet that is switched off; `minutes` of each run, `pause` [min] that they ask
    for; `over` [L], `short`, `dry` and `hasty` [L] as `OutletNeed` has them.
    """

    pattern: IntArray
    starts: IntArray
    minutes: IntArray
    pause: IntArray
    over: FloatArray
    short: FloatArray
    dry: FloatArray
    hasty: FloatArray

    @property
    def cost(self) -> FloatArray:
        """What an option weighs: shortage goes before haste, haste before over-supply."""
        return self.plain_cost + HASTE * self.hasty

    @property
    def plain_cost(self) -> FloatArray:
        """What an option weighs if runs may be as long as they like."""
        return self.over + PENALTY * (self.short + self.dry)

    def taken(self, order: IntArray) -> OutletOptions:
        """Return options by their numbers."""
        return OutletOptions._make(part[order] for part in self)

    def load(self, used: BoolArray) -> IntArray:
        """Return the minutes of the clock that each option takes on each weekday, (n_options, 7)."""
        days = np.where((self.pattern == OFF)[:, None], False, used[self.pattern])
        return np.asarray(days * (self.starts * self.minutes)[:, None])


def _allowed(need: OutletNeed, begin: int, end: int, patterns: Patterns, longest: IntArray) -> BoolArray:
    """Return the patterns that have room and whose gap the beds last, else those with the shortest gap."""
    usable = (longest > 0).any(axis=1)
    closest = int(patterns.gap[usable].min(initial=np.iinfo(np.int64).max))
    return np.asarray(usable & (patterns.gap <= max(int(need.gap[begin:end].min()), closest)))


def _options(
    need: OutletNeed, begin: int, end: int, *, patterns: Patterns, ways: Sequence[IntArray], share: float
) -> OutletOptions:
    """Return options from their patterns, starts a day and minutes of each run, in the order given."""
    pattern, starts, minutes = ways
    runs_a_day = patterns.rate[pattern] * starts
    # Many patterns come to the same minutes a day, and for need these alone matter.
    a_day = runs_a_day * minutes
    _, first, which = np.unique(np.round(a_day, 9), return_index=True, return_inverse=True)
    return OutletOptions(
        pattern,
        starts,
        minutes,
        need.pause(starts, minutes),
        need.over(a_day[first], begin, end)[which],
        need.short(a_day[first], begin, end, share=share)[which],
        need.dry(patterns.gap[pattern], begin, end),
        need.hasty(runs_a_day, minutes, begin, end),
    )


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

    Least short beyond the share goes first, then least water beyond what soil takes at once, then least
    over-supply; then come fewer runs, fewer starts, and the order of the patterns.

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
    allowed = _allowed(need, begin, end, patterns, longest)
    if wanted <= 0.0 or not allowed.any():
        return _off(need, begin, end, share=share)
    pattern, start = np.nonzero((longest > 0) & allowed[:, None])
    lengths = run_lengths(timer)
    steps = np.ceil(wanted / (patterns.rate[pattern] * (start + 1)) / timer.step * (1.0 - ROUNDING))
    minutes = np.clip(steps.astype(np.int64) * timer.step, lengths[0], longest[pattern, start])
    found = _options(need, begin, end, patterns=patterns, ways=(pattern, start + 1, minutes), share=share)
    keys = np.round(found.over, 6), np.round(found.hasty, 6), np.round(found.short + found.dry, 12)
    return found.taken(np.lexsort((pattern, start, patterns.rate[pattern], *keys)))


def outlet_ladder(
    need: OutletNeed,
    begin: int,
    end: int,
    *,
    patterns: Patterns,
    longest: IntArray,
    timer: Timer,
    share: float,
    keep_pulse: bool = True,
) -> OutletOptions:
    """Return the ways to run an outlet on as many days as it may, from off up to what meets all asked.

    Parameters are those of `outlet_options`. The minutes a day rise, each held with the fewest starts that
    keep within what the soil takes at once, else with those that come nearest to it; with the fewest of all
    without `keep_pulse`, as that takes the least room.
    """
    off = _off(need, begin, end, share=share)
    wanted = (1.0 - share) * need.minutes_a_day(begin, end)
    allowed = _allowed(need, begin, end, patterns, longest)
    most = patterns.rate * (longest * (1 + np.arange(longest.shape[1]))).max(axis=1) * allowed
    if wanted <= 0.0 or most.max() <= 0.0:
        return off
    # Of as much water the evenest: later patterns of one rate are less even, later rates run more often.
    pattern = int(np.flatnonzero(most >= most.max() * (1.0 - ROUNDING))[0])
    pulse = need.longest_pulse if keep_pulse else np.inf
    totals = day_totals(timer, longest[pattern].tolist(), longest_pulse=pulse)[1:]
    enough = int(np.searchsorted(totals * patterns.rate[pattern], wanted * (1.0 - ROUNDING)))
    totals = totals[: enough + 1]
    starts = np.array([_starts(int(t), timer, longest[pattern], pulse) for t in totals], dtype=np.int64)
    ways = np.full(totals.shape, pattern), starts, totals // starts
    ladder = _options(need, begin, end, patterns=patterns, ways=ways, share=share)
    return OutletOptions._make(np.concatenate(parts) for parts in zip(off, ladder, strict=True))


def _starts(total: int, timer: Timer, longest: IntArray, pulse: float) -> int:
    """Return the starts that hold a day's total in the best way that has room."""
    return next(starts for starts, minutes in splits(total, timer, pulse) if minutes <= longest[starts - 1])


def _off(need: OutletNeed, begin: int, end: int, *, share: float) -> OutletOptions:
    """Return the one way to leave an outlet off."""
    nothing, none = np.zeros(1), np.zeros(1, dtype=np.int64)
    short = need.short(nothing, begin, end, share=share)
    dry = need.dry(np.array([ANY_GAP]), begin, end)
    return OutletOptions(np.array([OFF]), none, none, none, nothing, short, dry, nothing)
