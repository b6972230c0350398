"""Rules that fill gaps in a series of days; a gap that a rule does not reach stays NaN."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["LEAST_OTHER_YEARS", "LONGEST_GAP", "long_term_mean", "mean_of_neighbours"]

FloatArray = NDArray[np.float64]

#: Days in a row that neighbours can stand in for.
LONGEST_GAP = 3
#: Other years with a value near the day that a long-term mean needs.
LEAST_OTHER_YEARS = 2
# Days before and after the day of the year that count as the same season.
_SEASON_DAYS = 3


def mean_of_neighbours(values: FloatArray) -> FloatArray:
    """Return `values`, shape (n_days,), with gaps of up to three days filled.

    Every day of a gap gets the mean of the nearest value before and the nearest after it; a gap at
    either end of the series, or of more than three days, stays.
    """
    known = np.flatnonzero(np.isfinite(values))
    missing = np.flatnonzero(~np.isfinite(values))
    after = np.searchsorted(known, missing)
    inside = (after > 0) & (after < known.size)
    missing, after = missing[inside], after[inside]
    first, last = known[after - 1], known[after]
    short = last - first - 1 <= LONGEST_GAP
    filled = values.copy()
    filled[missing[short]] = (values[first[short]] + values[last[short]]) / 2
    return filled


def long_term_mean(
    values: FloatArray, dates: NDArray[np.datetime64], *, measured: NDArray[np.bool_]
) -> FloatArray:
    """Return `values` with each gap filled by the mean of other years' values of the same season.

    Parameters
    ----------
    values : array, shape (n_days,)
    dates : array of datetime64[D], shape (n_days,)
        Every day from the first to the last.
    measured : array of bool, shape (n_days,)
        Which values may stand in for others; a forecast should not.

    Returns
    -------
    array, shape (n_days,)
        The mean is over the measured values within three days of the same date in all other years; a
        gap with such values from fewer than two other years stays.
    """
    usable = np.where(measured, values, np.nan)
    years = np.arange(*(dates[[0, -1]].astype("datetime64[Y]") + [0, 1]))
    filled = values.copy()
    for gap in np.flatnonzero(~np.isfinite(values)):
        own = dates[gap].astype("datetime64[Y]")
        into_month = dates[gap] - dates[gap].astype("datetime64[M]")
        in_year = dates[gap].astype("datetime64[M]") - own.astype("datetime64[M]")
        months = years[years != own].astype("datetime64[M]") + in_year
        centres = (months.astype("datetime64[D]") + into_month - dates[0]).astype(np.int64)
        begins, ends = np.maximum(centres - _SEASON_DAYS, 0), np.maximum(centres + _SEASON_DAYS + 1, 0)
        seasons = [usable[begin:end] for begin, end in zip(begins, ends, strict=True)]
        found = [season[np.isfinite(season)] for season in seasons]
        if sum(part.size > 0 for part in found) >= LEAST_OTHER_YEARS:
            filled[gap] = np.concatenate(found).mean()
    return filled
