"""One week's timer setting for every zone: days, start times, minutes. Pure.

For every day pattern that the timer can hold, the fewest minutes are searched that keep the zone's beds
within their limits and have room in the watering hours; of those settings the one with the least water is
taken, ties going to fewer runs and earlier days. Zones are then placed on the clock, the longest first; a
zone that finds no room beside the others takes its next best pattern, and as a last resort shorter runs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Restriction, Timer, WateringWindow
from scheduler.timetable.choices import (
    ZoneBeds,
    ZoneChoices,
    flow_by_day,
    outlook_of,
    rank_patterns,
    zone_shortage,
)
from scheduler.timetable.least import bed_shortage, least_minutes_by_bed
from scheduler.timetable.outlook import BedOutlook, Course, course_under, depletion_under
from scheduler.timetable.patterns import DAYS_PER_WEEK, DayPattern, day_patterns
from scheduler.timetable.placing import WeekClock
from scheduler.timetable.room import totals_alone, totals_with_room
from scheduler.timetable.runtime import splits
from scheduler.timetable.windows import ClockChange, WateringHours, watering_hours

__all__ = [
    "LONGEST_OUTLOOK",
    "Limits",
    "WeekPlan",
    "ZoneSetting",
    "days_ahead",
    "expected_course",
    "hours_ahead",
    "weekly_timetable",
]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: The planner looks to the next day that allows a run after the week, at most this many days in all.
LONGEST_OUTLOOK = 14

#: A shortage that the limits cause counts as a conflict from here on [mm d].
NOTABLE_SHORTAGE = 0.5

#: How many of the best patterns are tried with shorter runs when nothing fits whole.
PATTERNS_TO_SHORTEN = 20


@dataclass(frozen=True, slots=True)
class Limits:
    """What the timer, the hours and the tap allow; flow in L/h."""

    timer: Timer
    windows: tuple[WateringWindow, ...]
    restrictions: tuple[Restriction, ...]
    usable_flow: float
    clock_changes: tuple[ClockChange, ...] = ()


@dataclass(frozen=True, slots=True)
class ZoneSetting:
    """What one outlet of the timer is set to for the week.

    `begins` are minutes after midnight, `minutes` is the length of each run, `flow` the greatest flow of
    the zone in the week [L/h].
    """

    zone: str
    outlet: int
    mask: tuple[bool, ...]
    days: str
    begins: tuple[int, ...]
    minutes: int
    flow: float
    shortage: float

    @property
    def minutes_per_day(self) -> int:
        """Minutes of all starts of one run day."""
        return self.minutes * len(self.begins)


@dataclass(frozen=True, slots=True, eq=False)
class WeekPlan:
    """The settings of one week and what they are expected to do.

    Attributes
    ----------
    first : date
        First of the seven days.
    settings : tuple of ZoneSetting
        In the plan's order of zones.
    bed_minutes : array of int, shape (n_beds,)
        Minutes a run day that each bed would need by itself on its zone's days.
    depletion, use : arrays, shape (n_days, n_beds)
        Expected depletion and water use under the settings [mm]; `untouched` is the depletion without any
        run.
    conflicts : tuple of str
        What the timer, the windows or the restrictions make impossible, in words.
    """

    first: date
    settings: tuple[ZoneSetting, ...]
    bed_minutes: IntArray
    depletion: FloatArray
    use: FloatArray
    untouched: FloatArray
    conflicts: tuple[str, ...]


class _Placed(NamedTuple):
    """A setting with room on the clock: pattern number, minutes a run, start times, shortage [mm d]."""

    pattern: int
    minutes: int
    begins: tuple[int, ...]
    shortage: float


def days_ahead(first: date, limits: Limits) -> int:
    """Return how many days the planner must see: the week, and on to the next day that allows a run."""
    hours = hours_ahead(first, limits)
    after = (day for day in range(DAYS_PER_WEEK, LONGEST_OUTLOOK) if hours.spans[day])
    # An evening run comes after the use of its own day, which must then be seen through as well.
    return min(next(after, LONGEST_OUTLOOK) + hours.evening, LONGEST_OUTLOOK)


def hours_ahead(first: date, limits: Limits) -> WateringHours:
    """Return the watering hours of the longest outlook from `first` on."""
    return watering_hours(
        first,
        LONGEST_OUTLOOK,
        shortest=limits.timer.shortest_run,
        windows=limits.windows,
        restrictions=limits.restrictions,
        clock_changes=limits.clock_changes,
    )


def _clock(spans: Sequence[Sequence[tuple[int, int]]], limits: Limits) -> WeekClock:
    """Return an empty clock."""
    return WeekClock(spans, capacity=limits.usable_flow, one_at_a_time=limits.timer.one_zone_at_a_time)


def _place(
    mask: Sequence[bool], total: int, clock: WeekClock, limits: Limits, *, flow: float
) -> tuple[int, tuple[int, ...]] | None:
    """Return (minutes a run, begins) of a day's total with the fewest starts that fit, None if none do."""
    if total == 0:
        return 0, ()
    for starts, minutes in splits(total, limits.timer):
        begins = clock.place(mask, starts=starts, minutes=minutes, flow=flow)
        if begins is not None:
            return minutes, begins
    return None


def _place_whole(
    choices: ZoneChoices, patterns: Sequence[DayPattern], clock: WeekClock, limits: Limits, *, flow: float
) -> _Placed | None:
    """Return the best setting that finds room without notably more shortage."""
    best = choices.shortage[choices.order[0]]
    for pattern in choices.order:
        shortage = float(choices.shortage[pattern])
        if shortage > best + NOTABLE_SHORTAGE:
            return None
        placed = _place(patterns[pattern][0], int(choices.minutes[pattern]), clock, limits, flow=flow)
        if placed is not None:
            return _Placed(int(pattern), *placed, shortage)
    return None


def _place_shortened(
    choices: ZoneChoices,
    patterns: Sequence[DayPattern],
    clock: WeekClock,
    limits: Limits,
    outlook: BedOutlook,
    *,
    flow: float,
) -> _Placed:
    """Return the setting with the least shortage of those that fit, runs cut as the room demands."""
    fullest = max(range(len(patterns)), key=lambda p: sum(patterns[p][0]))
    tried = [*(int(p) for p in choices.order[:PATTERNS_TO_SHORTEN]), fullest]
    masks = np.array([patterns[pattern][0] for pattern in tried], dtype=float)
    totals = totals_with_room(
        [patterns[pattern][0] for pattern in tried], clock, timer=limits.timer, flow=flow
    )
    part = outlook_of(outlook, choices.beds.index)
    alone = replace(choices.beds, index=np.arange(part.n_beds))
    by_bed = least_minutes_by_bed(part, masks, totals)
    (ranked,) = rank_patterns([alone], part, masks, by_bed, totals)
    first = int(ranked.order[0])
    placed = _place(patterns[tried[first]][0], int(ranked.minutes[first]), clock, limits, flow=flow)
    minutes, begins = placed or (0, ())
    return _Placed(tried[first], minutes, begins, float(ranked.shortage[first]))


def _set_zone(
    choices: ZoneChoices,
    patterns: Sequence[DayPattern],
    clock: WeekClock,
    limits: Limits,
    outlook: BedOutlook,
) -> tuple[ZoneSetting, int]:
    """Return the setting of one zone and the number of its pattern, its water taken from the clock."""
    zone = choices.beds.zone
    flow = float(flow_by_day(choices.beds, outlook).max())
    placed = _place_whole(choices, patterns, clock, limits, flow=flow)
    if placed is None:
        placed = _place_shortened(choices, patterns, clock, limits, outlook, flow=flow)
    mask, days = patterns[placed.pattern] if placed.begins else patterns[0]
    clock.take(mask, placed.begins, minutes=placed.minutes, flow=flow)
    setting = ZoneSetting(
        zone=zone.name,
        outlet=zone.outlet,
        mask=mask,
        days=days,
        begins=placed.begins,
        minutes=placed.minutes,
        flow=flow,
        shortage=round(placed.shortage, 3),
    )
    return setting, placed.pattern


def _unlimited_shortage(beds: ZoneBeds, outlook: BedOutlook) -> float:
    """Return how short a zone would be if it were refilled every day [mm d]."""
    daily = replace(outlook, net_rate=np.where(outlook.in_use, np.maximum(outlook.net_rate, 1.0), 0.0))
    masks = np.ones((1, outlook.n_days))
    plenty = np.array([float(outlook.conditions.storage.max()) + 1.0])
    return float(zone_shortage(beds, daily, masks, plenty)[0])


def _conflicts(setting: ZoneSetting, choices: ZoneChoices, outlook: BedOutlook) -> list[str]:
    """Return what keeps a zone short, in words: room on the clock first, then the limits themselves."""
    best = float(choices.shortage[choices.order[0]])
    if setting.shortage > best + NOTABLE_SHORTAGE:
        return [
            f'zone "{setting.zone}": its runs do not fit into the watering hours beside the others; '
            f"{setting.minutes_per_day} min a run day is what fits, and a bed passes its limit"
        ]
    if best > NOTABLE_SHORTAGE and best > _unlimited_shortage(choices.beds, outlook) + NOTABLE_SHORTAGE:
        return [
            f'zone "{setting.zone}": the days, hours and run lengths allowed cannot keep its beds within '
            "their limits; this is the setting that falls least short"
        ]
    return []


def _set_all(
    order: Sequence[ZoneChoices],
    patterns: Sequence[DayPattern],
    clock: WeekClock,
    limits: Limits,
    outlook: BedOutlook,
) -> dict[str, tuple[ZoneSetting, int]]:
    """Return every zone's setting and pattern, placed on an empty clock in the order given."""
    return {choices.beds.zone.name: _set_zone(choices, patterns, clock, limits, outlook) for choices in order}


def _arrange(
    ranked: Sequence[ZoneChoices],
    patterns: Sequence[DayPattern],
    spans: Sequence[Sequence[tuple[int, int]]],
    limits: Limits,
    outlook: BedOutlook,
) -> dict[str, tuple[ZoneSetting, int]]:
    """Return the arrangement with the least shortage; who found no room goes first in the next try."""
    order = sorted(ranked, key=lambda choices: -int(choices.minutes[choices.order[0]]))
    best: dict[str, tuple[ZoneSetting, int]] = {}
    least = np.inf
    for _ in range(len(order)):
        tried = _set_all(order, patterns, _clock(spans, limits), limits, outlook)
        shortage = sum(setting.shortage for setting, _ in tried.values())
        if shortage < least:
            best, least = tried, shortage
        squeezed = [
            choices
            for choices in order
            if tried[choices.beds.zone.name][0].shortage
            > choices.shortage[choices.order[0]] + NOTABLE_SHORTAGE
        ]
        if not squeezed or squeezed[0] is order[0]:
            break
        order = [*squeezed, *(choices for choices in order if choices not in squeezed)]
    return best


def weekly_timetable(
    first: date, outlook: BedOutlook, *, zones: Sequence[ZoneBeds], limits: Limits
) -> WeekPlan:
    """Return the setting of every zone for the seven days from `first`.

    Parameters
    ----------
    first : date
    outlook : BedOutlook
        At least `days_ahead(first, limits)` days.
    zones : sequence of ZoneBeds
    limits : Limits
    """
    spans = hours_ahead(first, limits).spans[:DAYS_PER_WEEK]
    n_beds = outlook.n_beds
    untouched = depletion_under(outlook, np.zeros((1, DAYS_PER_WEEK)), np.zeros((1, n_beds)))
    patterns = day_patterns(first, [bool(day_spans) for day_spans in spans], limits.timer)
    if not bed_shortage(outlook, untouched).any():
        patterns = patterns[:1]  # Nothing falls short: no other pattern can use less water.
    masks = np.array([mask for mask, _ in patterns], dtype=float)
    totals = totals_alone([mask for mask, _ in patterns], _clock(spans, limits), spans, timer=limits.timer)
    by_bed = least_minutes_by_bed(outlook, masks, totals)
    ranked = rank_patterns(zones, outlook, masks, by_bed, totals)
    arranged = _arrange(ranked, patterns, spans, limits, outlook)

    bed_minutes = np.zeros(n_beds, dtype=np.int64)
    conflicts: list[str] = []
    for choices in ranked:
        setting, pattern = arranged[choices.beds.zone.name]
        if setting.begins:
            bed_minutes[choices.beds.index] = by_bed[pattern, choices.beds.index]
        conflicts += _conflicts(setting, choices, outlook)
    settings = tuple(arranged[beds.zone.name][0] for beds in zones)
    expected = expected_course(settings, zones, outlook)
    return WeekPlan(
        first,
        settings,
        bed_minutes,
        depletion=expected.depletion,
        use=expected.use,
        untouched=untouched[:, 0, :],
        conflicts=tuple(conflicts),
    )


def expected_course(
    settings: Sequence[ZoneSetting], zones: Sequence[ZoneBeds], outlook: BedOutlook
) -> Course:
    """Return what the settings do to each bed; both arrays of shape (n_days, n_beds)."""
    masks = np.array([setting.mask for setting in settings], dtype=float)
    minutes = np.array([[setting.minutes_per_day] for setting in settings])
    # Every bed under every zone's setting, in one go; each bed's own is then taken out.
    course = course_under(outlook, masks, minutes)
    own = np.zeros(outlook.n_beds, dtype=np.int64)
    for number, beds in enumerate(zones):
        own[beds.index] = number
    bed = np.arange(outlook.n_beds)
    return Course(course.depletion[:, own, bed], course.use[:, own, bed])
