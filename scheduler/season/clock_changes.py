"""The wall-clock minutes that a change of clocks skips or repeats, by the rules of a time zone. Pure.

The rules of a zone are data that came with the machine, like a table of crops; what time it is now is not
asked.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from scheduler.timetable.windows import ClockChange

__all__ = ["clock_changes"]

DAY = timedelta(days=1)
MINUTE = timedelta(minutes=1)


# A season asks for the same record again and again, and a record of fifty years takes some 20 ms.
@lru_cache(maxsize=16)
def clock_changes(first: date, last: date, timezone: str) -> tuple[ClockChange, ...]:
    """Return the changes of clocks that touch the dates from `first` to `last`, both included.

    Parameters
    ----------
    first, last : date
    timezone : str
        Name in the IANA list.

    Returns
    -------
    tuple of ClockChange
        In order of time; one that reaches over midnight stands once for each of its dates, and a zone that
        keeps its clocks has none.
    """
    zone = ZoneInfo(timezone)
    found: list[ClockChange] = []
    # Local dates lie up to 14 hours before or after those of UTC.
    midnight = datetime.combine(first - DAY, time(), UTC)
    before = _offset(midnight, zone)
    while midnight.date() <= last + DAY:
        after = _offset(midnight + DAY, zone)
        if after != before:
            found += _touched(_first_minute_of(after, midnight, zone), before, after)
        midnight, before = midnight + DAY, after
    return tuple(change for change in found if first <= change.on <= last)


def _offset(moment: datetime, zone: ZoneInfo) -> timedelta:
    """Return how far the zone's clocks are ahead of UTC at a moment."""
    return moment.astimezone(zone).utcoffset() or timedelta()


def _first_minute_of(after: timedelta, midnight: datetime, zone: ZoneInfo) -> datetime:
    """Return the first minute of the UTC day from `midnight` at which the clocks are `after` ahead."""
    low, high = 0, DAY // MINUTE
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _offset(midnight + middle * MINUTE, zone) == after else (middle, high)
    return midnight + high * MINUTE


def _touched(change: datetime, before: timedelta, after: timedelta) -> list[ClockChange]:
    """Return the minutes that the clocks skip or show twice, date by date."""
    moment = change.replace(tzinfo=None)
    begin, end = moment + min(before, after), moment + max(before, after)
    found = []
    midnight = datetime.combine(begin.date(), time())
    while midnight < end:
        first = max((begin - midnight) // MINUTE, 0)
        until = min(-((midnight - end) // MINUTE), DAY // MINUTE)
        found.append(ClockChange(midnight.date(), first, until, after > before))
        midnight += DAY
    return found
