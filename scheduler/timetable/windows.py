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


def _part(spans: Sequence[tuple[int, int]], begin: int, until: int) -> list[tuple[int, int]]:
    """Return what of the spans lies between two minutes."""
    return [(max(a, begin), min(b, until)) for a, b in spans if max(a, begin) < min(b, until)]


def _limits(day: date, restrictions: Sequence[Restriction]) -> list[Restriction]:
    """Return the restrictions in force on a day that the person has not entered as exempt."""
    return [r for r in restrictions if r.exempt != "yes" and r.begins <= day <= r.ends]


def _within_limits(
    day: date, spans: list[tuple[int, int]], restrictions: Sequence[Restriction]
) -> list[tuple[int, int]]:
    """Return what of the spans, all on one calendar day, that day's restrictions leave."""
    for limit in _limits(day, restrictions):
        if weekday(day) not in limit.days:
            return []
        if limit.begin is not None and limit.until is not None:
            begin, until = _span(limit.begin, limit.until)
            # Hours over midnight allow the day's small hours too.
            hours = [(begin, min(until, DAY)), (0, until - DAY)]
            spans = sorted(part for a, b in hours for part in _part(spans, a, b))
    return spans


def allowed_spans(
    day: date, windows: Sequence[WateringWindow], restrictions: Sequence[Restriction]
) -> list[tuple[int, int]]:
    """Return the spans in which a run that starts on `day` may lie.

    A span is (first minute, end minute) after that day's midnight; past 1440 it lies in the night that
    follows, where the next day's restrictions rule. A run belongs to the day on which its window opens.
    A restriction in force with no days forbids watering altogether; one whose exemption is 'unknown' is
    kept.
    """
    if any(weekday(day) not in limit.days for limit in _limits(day, restrictions)):
        return []
    spans = [_span(w.begin, w.until) for w in windows if weekday(day) in w.days]
    evening = _within_limits(day, _part(spans, 0, DAY), restrictions)
    night = [(a - DAY, b - DAY) for a, b in _part(spans, DAY, 2 * DAY)]
    night = _within_limits(day + timedelta(days=1), night, restrictions)
    return _joined([*evening, *((a + DAY, b + DAY) for a, b in night)])


def _joined(spans: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the spans in order, those that meet or overlap as one."""
    joined: list[tuple[int, int]] = []
    for begin, end in sorted(spans):
        if joined and begin <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((begin, end))
    return joined
