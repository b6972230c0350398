"""What a clock on the wall shows, minute by minute of real time, by the rules of a time zone."""

from __future__ import annotations

from datetime import UTC, datetime, time, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

#: Real minutes that are walked after the week's end, for runs that are still on.
AFTER_THE_WEEK = 24 * 60


@lru_cache(maxsize=512)
def wall_minutes(first, timezone):
    """Return what the wall clock shows in each real minute from a date's first on, a week and a day long."""
    zone = ZoneInfo(timezone)

    def begin(day):
        return datetime.combine(day, time(), zone).astimezone(UTC)

    minutes = (begin(first + timedelta(days=7)) - begin(first)) // timedelta(minutes=1) + AFTER_THE_WEEK
    real = (begin(first) + timedelta(minutes=n) for n in range(minutes))
    return tuple(moment.astimezone(zone).replace(tzinfo=None) for moment in real)


def changed_days(year, timezone):
    """Return the dates of a year whose noon is more or less than 24 hours after the noon before."""
    zone = ZoneInfo(timezone)
    noons = [datetime(year, 1, 1, 12, tzinfo=zone) + timedelta(days=n) for n in range(-1, 366)]
    pairs = zip(noons, noons[1:], strict=False)
    return [b.date() for a, b in pairs if a.utcoffset() != b.utcoffset() and b.year == year]
