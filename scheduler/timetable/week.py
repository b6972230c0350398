"""One week's timer setting for every zone: days, start times, minutes. Pure.

For every day pattern that the timer can hold, the fewest minutes are searched that keep the zone's beds
within their limits and have room in the watering hours. Of all combinations of these that find room on one
clock the one that leaves beds least short is taken, then the one with the least water, then with the fewest
runs; starts are before dawn where there is room.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.timetable.arrange import arrange
from scheduler.timetable.board import Arranged, Board
from scheduler.timetable.choices import ZoneBeds, ZoneChoices, flow_by_day, rank_patterns, zone_shortage
from scheduler.timetable.effort import USUAL_EFFORT, Effort
from scheduler.timetable.least import bed_shortage, least_minutes_by_bed
from scheduler.timetable.limits import Limits, hours_ahead
from scheduler.timetable.options import Score
from scheduler.timetable.outlook import BedOutlook, Course, course_under, depletion_under
from scheduler.timetable.patterns import DAYS_PER_WEEK, day_patterns
from scheduler.timetable.room import longest_alone, totals_alone

__all__ = ["WeekPlan", "WeekWays", "ZoneSetting", "expected_course", "ways_of_week", "weekly_timetable"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: A shortage that the limits cause counts as a conflict from here on [mm2 d].
NOTABLE_SHORTAGE = 0.5


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
    score, bound : Score
        How good the settings are together, and what no timetable of this timer can be better than.
    kept : tuple of str
        Zones whose setting is not of this search, but stands on the timer from before.
    """

    first: date
    settings: tuple[ZoneSetting, ...]
    bed_minutes: IntArray
    depletion: FloatArray
    use: FloatArray
    untouched: FloatArray
    conflicts: tuple[str, ...]
    score: Score
    bound: Score
    kept: tuple[str, ...] = ()

    @property
    def proven(self) -> bool:
        """True if no other timetable is better."""
        return self.score == self.bound


@dataclass(frozen=True, slots=True, eq=False)
class WeekWays:
    """Every day pattern of a week and what it would do for each zone by itself.

    Attributes
    ----------
    board : Board
        The clock; its masks are the patterns, `days` say how a person sets each.
    longest : array of int, shape (n_patterns, n_starts)
        Longest runs that the hours of each pattern hold [min].
    by_bed : array of int, shape (n_patterns, n_beds)
        Fewest minutes a run day that leave each bed least short.
    ranked : list of ZoneChoices
    flows : list of float
        Greatest flow of each zone in the week [L/h].
    untouched : array, shape (n_days, n_beds)
        Depletion without any run [mm].
    """

    board: Board
    days: tuple[str, ...]
    longest: IntArray
    by_bed: IntArray
    ranked: list[ZoneChoices]
    flows: list[float]
    untouched: FloatArray


def ways_of_week(first: date, outlook: BedOutlook, *, zones: Sequence[ZoneBeds], limits: Limits) -> WeekWays:
    """Return every way to water the seven days from `first`, each zone by itself."""
    spans = hours_ahead(first, limits).spans[:DAYS_PER_WEEK]
    untouched = depletion_under(outlook, np.zeros((1, DAYS_PER_WEEK)), np.zeros((1, outlook.n_beds)))
    patterns = day_patterns(first, [bool(day_spans) for day_spans in spans], limits.timer)
    if not bed_shortage(outlook, untouched).any():
        patterns = patterns[:1]  # Nothing falls short: no other pattern can use less water.
    board = Board(spans, limits.timer, limits.usable_flow, np.array([mask for mask, _ in patterns]))
    longest = longest_alone(board.masks.tolist(), board.clock(), spans, timer=limits.timer)
    totals = totals_alone(longest, limits.timer)
    masks = board.masks.astype(float)
    by_bed = least_minutes_by_bed(outlook, masks, totals)
    return WeekWays(
        board=board,
        days=tuple(days for _, days in patterns),
        longest=longest,
        by_bed=by_bed,
        ranked=rank_patterns(zones, outlook, masks, by_bed, totals),
        flows=[float(flow_by_day(beds, outlook).max()) for beds in zones],
        untouched=untouched[:, 0, :],
    )


def _unlimited_shortage(beds: ZoneBeds, outlook: BedOutlook) -> float:
    """Return how short a zone would be if it were refilled every day [mm2 d]."""
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


def _setting(
    choices: ZoneChoices, arranged: Arranged, days: str, *, board: Board, flow: float, outlook: BedOutlook
) -> ZoneSetting:
    """Return what a zone's outlet is set to."""
    beds, pattern = choices.beds, arranged.pattern
    total = arranged.starts * arranged.minutes
    short = float(choices.shortage[pattern])
    if total != choices.minutes[pattern]:
        masks = board.masks[[pattern]].astype(float)
        short = float(zone_shortage(beds, outlook, masks, np.array([total]))[0])
    return ZoneSetting(
        zone=beds.zone.name,
        outlet=beds.zone.outlet,
        mask=tuple(board.masks[pattern].tolist()),
        days=days,
        begins=arranged.begins,
        minutes=arranged.minutes,
        flow=flow,
        shortage=round(short, 3),
    )


def _bed_minutes(choices: ZoneChoices, pattern: int, by_bed: IntArray) -> IntArray:
    """Return the minutes a run day that each bed of a zone needs; of its driest bed those of the zone."""
    needed = by_bed[pattern, choices.beds.index]
    if choices.beds.zone.rule == "area mean":
        return needed
    # The zone's own may be fewer by what its driest bed lacks by a hair.
    return np.minimum(needed, choices.minutes[pattern])


def weekly_timetable(
    first: date,
    outlook: BedOutlook,
    *,
    zones: Sequence[ZoneBeds],
    limits: Limits,
    effort: Effort = USUAL_EFFORT,
) -> WeekPlan:
    """Return the setting of every zone for the seven days from `first`.

    Parameters
    ----------
    first : date
    outlook : BedOutlook
        At least `days_ahead(first, limits)` days.
    zones : sequence of ZoneBeds
    limits : Limits
    effort : Effort
        How hard to look where zones crowd each other; the answer tells how far from the best it may be.
    """
    ways = ways_of_week(first, outlook, zones=zones, limits=limits)
    arranged = arrange(
        ways.ranked, outlook, ways.board, flows=ways.flows, longest=ways.longest, effort=effort
    )
    bed_minutes = np.zeros(outlook.n_beds, dtype=np.int64)
    settings: list[ZoneSetting] = []
    conflicts: list[str] = []
    for choices, flow, way in zip(ways.ranked, ways.flows, arranged.zones, strict=True):
        days = ways.days[way.pattern]
        setting = _setting(choices, way, days, board=ways.board, flow=flow, outlook=outlook)
        if setting.begins:
            bed_minutes[choices.beds.index] = _bed_minutes(choices, way.pattern, ways.by_bed)
        settings.append(setting)
        conflicts += _conflicts(setting, choices, outlook)
    expected = expected_course(settings, zones, outlook)
    return WeekPlan(
        first,
        tuple(settings),
        bed_minutes,
        depletion=expected.depletion,
        use=expected.use,
        untouched=ways.untouched,
        conflicts=tuple(conflicts),
        score=arranged.score,
        bound=arranged.bound,
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
