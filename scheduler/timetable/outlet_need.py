"""What the beds of one outlet need week by week, and what a setting that stays leaves them. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["ANY_GAP", "ROUNDING", "OutletNeed", "least_short"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: Days between runs of an outlet whose beds all lie empty, and of one that is off: any.
ANY_GAP = 366

#: Relative error of a sum of floats: a run is not made a step longer for it.
ROUNDING = 1e-9


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
    longest_pulse : float
        Longest run that the beds' soil takes at once [min].
    soak : float
        Pause that such a run asks for [min].
    """

    need: FloatArray
    days: FloatArray
    flow: FloatArray
    asked: FloatArray
    each: FloatArray
    gap: IntArray
    longest_pulse: float = np.inf
    soak: float = 0.0

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

    def thirsty(self, begin: int, end: int) -> IntArray:
        """Return the weeks of `begin`..`end` (end left out) in which something is asked."""
        return begin + np.flatnonzero((self.asked[begin:end] > 0.0).any(axis=1))

    def dry(self, gap: IntArray, begin: int, end: int) -> FloatArray:
        """Return the squares of the parts of a gap that beds do not last, summed over the weeks; as `gap`.

        Weeks in which nothing is asked do not count. Of a bed that lasts no day only what is beyond a day
        does: no runs are closer than daily ones.
        """
        parts = 1.0 - np.maximum(self.gap[self.thirsty(begin, end)], 1) / gap[:, None]
        return np.asarray((np.maximum(parts, 0.0) ** 2).sum(axis=-1))

    def hasty(self, runs_a_day: FloatArray, minutes: IntArray, begin: int, end: int) -> FloatArray:
        """Return the water of runs beyond what the soil takes at once [L]; as `minutes`.

        Begun minutes count in full, so that a run within the pulse is always better than one beyond it.
        """
        beyond = np.ceil(np.maximum(minutes - self.longest_pulse, 0.0))
        return np.asarray(runs_a_day * beyond * float((self.days[begin:end] @ self.flow).sum()))

    def pause(self, starts: IntArray, minutes: IntArray) -> IntArray:
        """Return the pause that runs of a day ask for [min], longer after one beyond the pulse."""
        times = np.maximum(minutes / self.longest_pulse, 1.0)
        return np.where(starts > 1, np.ceil(self.soak * times), 0.0).astype(np.int64)


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
