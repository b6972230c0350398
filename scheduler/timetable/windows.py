"""When water may run: watering windows cut by the restrictions that apply and by changes of clocks. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, time, timedelta
from typing import NamedTuple

from scheduler.garden.plan import Restriction, WateringWindow, Weekday

__all__ = ["NOON", "WEEKDAYS", "ClockChange", "WateringHours", "allowed_spans", "watering_hours", "weekday"]

WEEKDAYS: tuple[Weekday, ...] = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
DAY = 24 * 60
NOON = 12 * 60

#: Minutes after a skipped hour in which no run starts if runs may come before it that day: the rest between
#: two starts that the wall clock shows is an hour longer than it is, and this much of it is left.
REST_AFTER_SKIPPED = 60


def weekday(day: date) -> Weekday:
    """Return the short name of a date's weekday."""
    return WEEKDAYS[day.weekday()]


class ClockChange(NamedTuple):
    """Wall-clock minutes after midnight of a date that a change of clocks touches: `begin` to before `until`.

    They never come if `skipped`, else they come twice.
    """

    on: date
    begin: int
    until: int
    skipped: bool


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
    """Return the spans of a calendar day in which water may run, as minutes after its midnight.

    A window over midnight gives the evening of its own day and the small hours of the next. A restriction
    in force with no days forbids watering altogether; one whose exemption is 'unknown' is kept.
    """
    own = [_span(w.begin, w.until) for w in windows if weekday(day) in w.days]
    before = [_span(w.begin, w.until) for w in windows if weekday(day - timedelta(days=1)) in w.days]
    small_hours = [(a - DAY, b - DAY) for a, b in _part(before, DAY, 2 * DAY)]
    return _within_limits(day, _joined([*small_hours, *_part(own, 0, DAY)]), restrictions)


def _outside_changes(
    day: date, spans: list[tuple[int, int]], changes: Sequence[ClockChange]
) -> list[tuple[int, int]]:
    """Return what of the spans of a calendar day no change of clocks touches.

    A run within such minutes would not come, or come twice; one across them would end at another time than
    the wall clock promises.
    """
    for change in changes:
        if change.on != day:
            continue
        earlier = _part(spans, 0, change.begin)
        rest = REST_AFTER_SKIPPED if change.skipped and earlier else 0
        spans = [*earlier, *_part(spans, change.until + rest, DAY)]
    return spans


class WateringHours(NamedTuple):
    """Where runs may lie: spans of (first minute, end minute) after midnight for each day.

    `evening` is True if no day allows a run before noon: a run's water then comes after the day's use. An
    evening run beside morning hours is reckoned as water of its own day's morning.
    """

    spans: tuple[tuple[tuple[int, int], ...], ...]
    evening: bool


def watering_hours(
    first: date,
    n_days: int,
    *,
    shortest: int,
    windows: Sequence[WateringWindow],
    restrictions: Sequence[Restriction],
    clock_changes: Sequence[ClockChange] = (),
) -> WateringHours:
    """Return where runs may lie on `n_days` calendar days from `first`.

    Spans shorter than the timer's `shortest` run [min] are left out. Since a setting keeps its start times on
    all its days, minutes that a change of clocks takes from one day are no start on the others either; a day
    that it leaves without room is simply no run day.
    """
    dates = [first + timedelta(days=n) for n in range(n_days)]
    days = [_outside_changes(day, allowed_spans(day, windows, restrictions), clock_changes) for day in dates]
    usable = [tuple((a, b) for a, b in spans if b - a >= shortest) for spans in days]
    evening = all(begin >= NOON for spans in usable for begin, _ in spans)
    return WateringHours(tuple(usable), evening)


def _joined(spans: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the spans in order, those that meet or overlap as one."""
    joined: list[tuple[int, int]] = []
    for begin, end in sorted(spans):
        if joined and begin <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((begin, end))
    return joined
