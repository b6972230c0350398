"""When water may run: watering windows cut by the restrictions that apply. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, time, timedelta

from scheduler.garden.plan import Restriction, WateringWindow, Weekday

__all__ = ["WEEKDAYS", "allowed_spans", "weekday"]

WEEKDAYS: tuple[Weekday, ...] = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
DAY = 24 * 60


def weekday(day: date) -> Weekday:
    """Return the short name of a date's weekday."""
    return WEEKDAYS[day.weekday()]


def _span(begin: time, until: time) -> tuple[int, int]:
    """Return minutes after midnight; the end lies past 1440 when the span runs over midnight."""
    first = begin.hour * 60 + begin.minute
    last = until.hour * 60 + until.minute
    return first, last if last > first else last + DAY


def _cut(spans: list[tuple[int, int]], by: tuple[int, int]) -> list[tuple[int, int]]:
    """Return what of the spans lies inside `by`, taken on its own day and on the days either side."""
    kept = []
    for shift in (-DAY, 0, DAY):
        low, high = by[0] + shift, by[1] + shift
        kept += [(max(a, low), min(b, high)) for a, b in spans if max(a, low) < min(b, high)]
    return sorted(kept)


def _limits(day: date, restrictions: Sequence[Restriction]) -> list[Restriction]:
    """Return the restrictions in force on a day that the person has not entered as exempt."""
    return [r for r in restrictions if r.exempt != "yes" and r.begins <= day <= r.ends]


def allowed_spans(
    day: date, windows: Sequence[WateringWindow], restrictions: Sequence[Restriction]
) -> list[tuple[int, int]]:
    """Return the spans in which a run that starts on `day` may lie.

    A span is (first minute, end minute) after that day's midnight; past 1440 it lies in the night that
    follows. A run belongs to the day on which its window opens. A restriction in force with no days
    forbids watering altogether; one whose exemption is 'unknown' is kept.
    """
    spans = [_span(w.begin, w.until) for w in windows if weekday(day) in w.days]
    for limit in _limits(day, restrictions):
        if weekday(day) not in limit.days:
            return []
        if limit.begin is not None and limit.until is not None:
            spans = _cut(spans, _span(limit.begin, limit.until))
        # Past midnight the next day's own limit rules.
    return _past_midnight_allowed(spans, day + timedelta(days=1), restrictions)


def _past_midnight_allowed(
    spans: list[tuple[int, int]], following: date, restrictions: Sequence[Restriction]
) -> list[tuple[int, int]]:
    """Return the spans without the part after midnight if the following day allows no watering."""
    if all(weekday(following) in limit.days for limit in _limits(following, restrictions)):
        return spans
    return [(a, min(b, DAY)) for a, b in spans if a < DAY]
