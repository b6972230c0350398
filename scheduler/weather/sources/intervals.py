"""Spans of time and local days: values that hold for an interval, cut at local midnight.

Moments are seconds since 1970-01-01 00:00 UTC. A local day has 23 or 25 hours where clocks change.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

__all__ = ["Interval", "LocalDays", "day_of", "read_duration", "read_interval", "read_moment", "zone_named"]

FloatArray = NDArray[np.float64]

_DURATION = re.compile(
    r"P(?=[\dT])(?:(?P<weeks>\d{1,3})W)?(?:(?P<days>\d{1,4})D)?"
    r"(?:T(?=\d)(?:(?P<hours>\d{1,5})H)?(?:(?P<minutes>\d{1,6})M)?(?:(?P<seconds>\d{1,8})S)?)?",
    re.ASCII,
)
_MOMENT = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?(?:Z|[+-]\d{2}:\d{2})", re.ASCII)
# Far from the ends of what a calendar date can hold, whatever the offset.
_FIRST_YEAR, _LAST_YEAR = 1800, 2200


@dataclass(frozen=True, slots=True)
class Interval:
    """A value that holds from one moment to another; NaN where none is known."""

    begins: float
    ends: float
    value: float


def zone_named(name: str) -> ZoneInfo:
    """Return a time zone of the IANA database.

    Raises
    ------
    ValueError
        If there is none of that name.
    """
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise ValueError(f"no time zone named {name[:60]!r}") from error


def read_duration(text: str) -> timedelta:
    """Return an ISO 8601 duration of weeks, days, hours, minutes and seconds, such as ``P1DT6H``.

    Raises
    ------
    ValueError
        If it is none, is zero, or has years or months, whose length is not fixed.
    """
    match = _DURATION.fullmatch(text)
    if match is None:
        raise ValueError(f"not a duration: {text[:40]!r}")
    length = timedelta(**{name: int(number) for name, number in match.groupdict().items() if number})
    if not length:
        raise ValueError(f"a duration of nothing: {text[:40]!r}")
    return length


def read_moment(text: str) -> float:
    """Return an ISO 8601 moment with its offset; raises ValueError if it is none."""
    if not _MOMENT.fullmatch(text):
        raise ValueError(f"not a moment with its offset: {text[:40]!r}")
    moment = datetime.fromisoformat(text)
    if not _FIRST_YEAR < moment.year < _LAST_YEAR:
        raise ValueError(f"a year out of all reach: {text[:40]!r}")
    return moment.timestamp()


def read_interval(text: str) -> tuple[float, float]:
    """Return begin and end of an ISO 8601 interval such as ``2024-06-01T18:00:00+00:00/PT6H``.

    Raises
    ------
    ValueError
        If it is none.
    """
    begin, _, duration = text.partition("/")
    begins = read_moment(begin)
    return begins, begins + read_duration(duration).total_seconds()


def day_of(moment: float, zone: ZoneInfo) -> date:
    """Return the local day on which a moment falls."""
    return datetime.fromtimestamp(moment, UTC).astimezone(zone).date()


class LocalDays:
    """A run of local days in one time zone, each from midnight to midnight.

    Attributes
    ----------
    dates : array of datetime64[D], shape (n_days,)
    edges : array, shape (n_days + 1,)
        Moments of the midnights.
    lengths : array, shape (n_days,)
        Seconds; 23 or 25 hours where clocks change.
    """

    def __init__(self, first: date, last: date, *, zone: ZoneInfo) -> None:
        number = (last - first).days + 1
        midnights = [_midnight(first + timedelta(days=day), zone) for day in range(number + 1)]
        self.dates = np.arange(number) + np.datetime64(first, "D")
        self.edges = np.array(midnights)
        self.lengths = np.diff(self.edges)

    def split_amounts(self, intervals: Sequence[Interval]) -> FloatArray:
        """Return what falls on each day of amounts that are spread evenly over their intervals."""
        share = self._parts(intervals) / np.array([[i.ends - i.begins] for i in intervals]).reshape(-1, 1)
        amounts = np.nan_to_num(np.array([i.value for i in intervals]).reshape(-1, 1))
        return np.asarray((share * amounts).sum(axis=0))

    def covered(self, intervals: Sequence[Interval]) -> FloatArray:
        """Return the seconds of each day for which a value is known; intervals must not overlap."""
        return np.asarray(self._parts([i for i in intervals if np.isfinite(i.value)]).sum(axis=0))

    def means(self, intervals: Sequence[Interval]) -> FloatArray:
        """Return the mean of each day weighted by time, over the part that is known; NaN for none."""
        known = [i for i in intervals if np.isfinite(i.value)]
        seconds = self.covered(known)
        sums = (self._parts(known) * np.array([i.value for i in known]).reshape(-1, 1)).sum(axis=0)
        return np.divide(sums, seconds, out=np.full(seconds.size, np.nan), where=seconds > 0)

    def extremes(self, intervals: Sequence[Interval]) -> tuple[FloatArray, FloatArray]:
        """Return the least and the greatest value that holds for some part of each day; NaN for none."""
        known = [i for i in intervals if np.isfinite(i.value)]
        least = np.full(self.dates.size, np.inf)
        greatest = np.full(self.dates.size, -np.inf)
        for interval, parts in zip(known, self._parts(known), strict=True):
            within = parts > 0
            least[within] = np.minimum(least[within], interval.value)
            greatest[within] = np.maximum(greatest[within], interval.value)
        return np.where(np.isinf(least), np.nan, least), np.where(np.isinf(greatest), np.nan, greatest)

    def _parts(self, intervals: Sequence[Interval]) -> FloatArray:
        """Return the seconds of each interval that lie in each day, shape (n_intervals, n_days)."""
        begins = np.array([i.begins for i in intervals]).reshape(-1, 1)
        ends = np.array([i.ends for i in intervals]).reshape(-1, 1)
        inside = np.minimum(ends, self.edges[1:]) - np.maximum(begins, self.edges[:-1])
        return np.asarray(np.clip(inside, 0.0, None))


def _midnight(day: date, zone: ZoneInfo) -> float:
    """Return the moment at which a local day begins; where clocks skip midnight, that of the change."""
    return datetime.combine(day, time(), tzinfo=zone).timestamp()
