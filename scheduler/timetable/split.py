"""Runs split between morning and evening of one day: where both halves have room. Pure.

Every morning run has a twin of the same length a fixed time later. Zones that do not meet in the morning then
do not meet in the evening either, so the week is planned on the hours that mornings and evenings share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, time, timedelta
from typing import NamedTuple

from scheduler.garden.plan import WateringWindow
from scheduler.timetable.limits import Limits, hours_ahead
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.week import WeekPlan, ZoneSetting
from scheduler.timetable.windows import NOON, weekday

__all__ = ["SplitHours", "split_hours", "split_outlook", "with_evening_twins"]

Spans = Sequence[tuple[int, int]]


class SplitHours(NamedTuple):
    """Limits whose hours are those of mornings that an evening shares, and minutes from a run to its twin."""

    limits: Limits
    shift: int


def _shared(spans: Spans, shift: int, *, shortest: int) -> list[tuple[int, int]]:
    """Return the parts of a day's morning that are open in the evening too, `shift` minutes later."""
    morning = [(a, min(b, NOON)) for a, b in spans if a < NOON]
    evening = [(max(a, NOON) - shift, b - shift) for a, b in spans if b > NOON]
    both = [(max(a, c), min(b, d)) for a, b in morning for c, d in evening]
    return sorted((a, b) for a, b in both if b - a >= shortest)


def _shifts(days: Sequence[Spans]) -> list[int]:
    """Return the shifts worth trying: those that lay a morning's begin or end on an evening's."""
    found = set()
    for spans in days:
        for a, b in ((a, min(b, NOON)) for a, b in spans if a < NOON):
            for c, d in ((max(c, NOON), d) for c, d in spans if d > NOON):
                found |= {c - a, d - b}
    return sorted(found)


def split_hours(first: date, limits: Limits) -> SplitHours | None:
    """Return where runs of the seven days from `first` may be split between morning and evening.

    The shift is the one that serves most days, then the one with most minutes. A timer with one start a
    day, or days without both a morning and an evening, give None.
    """
    starts = limits.timer.starts_per_day // 2
    days = hours_ahead(first, limits).spans[:DAYS_PER_WEEK]
    shortest = limits.timer.shortest_run
    best: tuple[int, int] = (0, 0)
    chosen: tuple[int, list[list[tuple[int, int]]]] | None = None
    for shift in _shifts(days) if starts else ():
        shared = [_shared(spans, shift, shortest=shortest) for spans in days]
        worth = (sum(map(bool, shared)), sum(b - a for spans in shared for a, b in spans))
        if worth > best:
            best, chosen = worth, (shift, shared)
    if chosen is None:
        return None
    windows = tuple(
        WateringWindow((weekday(first + timedelta(days=day)),), _clock(begin), _clock(end))
        for day, spans in enumerate(chosen[1])
        for begin, end in spans
    )
    timer = replace(limits.timer, starts_per_day=starts)
    return SplitHours(replace(limits, timer=timer, windows=windows), chosen[0])


def _clock(minute: int) -> time:
    """Return minutes after midnight, before 24 h, as a time of day."""
    return time(minute // 60, minute % 60)


def split_outlook(outlook: BedOutlook) -> BedOutlook:
    """Return the outlook in which each minute planned for a morning comes once more in the evening."""
    return replace(outlook, net_rate=2.0 * outlook.net_rate, evening=0.5)


def with_evening_twins(plan: WeekPlan, shift: int) -> WeekPlan:
    """Return a plan made for mornings with the evening twin of every run in its settings."""

    def whole(setting: ZoneSetting) -> ZoneSetting:
        return replace(setting, begins=(*setting.begins, *(begin + shift for begin in setting.begins)))

    return replace(plan, settings=tuple(map(whole, plan.settings)), bed_minutes=2 * plan.bed_minutes)
