"""Days of a record: their place in the year, and their names for people."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["day_of_year", "name_days"]

# Spans of days named one by one in a fault or a note.
_SPANS_NAMED = 6
_ONE_DAY = np.timedelta64(1, "D")


def day_of_year(dates: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Return the day of the year, 1..366, of each date."""
    return (dates - dates.astype("datetime64[Y]")).astype(np.int64) + 1


def name_days(dates: NDArray[np.datetime64], chosen: NDArray[np.bool_]) -> str:
    """Return the chosen days in words, neighbours joined: ``2025-06-01 to 2025-06-03, 2025-06-07``.

    `dates` are the days of a record in order, shape (n_days,); `chosen` has the same shape. After six
    spans the days left over are only counted.
    """
    days = dates[chosen]
    starts = np.flatnonzero(np.diff(days, prepend=days[:1] - 2 * _ONE_DAY) != _ONE_DAY)
    ends = np.append(starts[1:], days.size) - 1
    spans = [
        str(days[start]) if start == end else f"{days[start]} to {days[end]}"
        for start, end in zip(starts[:_SPANS_NAMED], ends[:_SPANS_NAMED], strict=True)
    ]
    left = days.size - 1 - int(ends[:_SPANS_NAMED][-1]) if days.size else 0
    return ", ".join(spans) + (f" and {left} more days" if left > 1 else " and 1 more day" if left else "")
