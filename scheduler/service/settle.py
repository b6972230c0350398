"""Whether the timer can stay as it is set, or a new setting is worth a walk to it. Pure.

A table made afresh each day would move run days and minutes nearly every day, and nobody would follow it. So
a setting stands: it is looked at anew on Mondays, as the balance of past days does. On any other day it is
changed only if it no longer lies in the hours allowed, or if plants would run short within three days: the
reserve that the limits keep back is there to be used by weather that comes differently.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Garden
from scheduler.season.results import WeekResult
from scheduler.season.setup import timer_limits
from scheduler.service.standing import Standing, mask_from, standing_of
from scheduler.timetable.choices import ZoneBeds, outlook_of, zone_shortage
from scheduler.timetable.least import area_mean_shortage, bed_shortage, least_minutes_by_bed
from scheduler.timetable.limits import hours_ahead
from scheduler.timetable.options import Score, score_of, total_score
from scheduler.timetable.outlook import BedOutlook, depletion_under
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.week import WeekPlan, ZoneSetting, expected_course

__all__ = ["Change", "Settled", "same_setting", "settle"]

#: Days ahead on which a setting must not leave plants short; what a forecast says of later days can wait, for
#: the question is put again tomorrow. Judgement, no source: time enough to walk to the timer.
DAYS_TO_ACT = 3

#: How much shorter a setting may leave a zone than a new one would before it is changed [mm d]. Judgement.
NOTABLE_SHORTAGE = 0.5

Spans = Sequence[Sequence[tuple[int, int]]]


class Change(NamedTuple):
    """A setting that should change: what stood before (None for a first one) and what should stand now."""

    before: Standing | None
    after: Standing


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """The week as the timer will run it: the result with kept settings, what stands, what changed."""

    result: WeekResult
    standing: tuple[Standing, ...]
    changes: tuple[Change, ...]


def same_setting(standing: Standing, setting: ZoneSetting, *, first: date, step: int) -> bool:
    """Return True if a setting for the week from `first` is what stands, to within the timer's step.

    Start times do not count: other hours for the same water are no reason to touch the timer.
    """
    return (
        standing.outlet == setting.outlet
        and mask_from(standing, first) == setting.mask
        and len(standing.begins) == len(setting.begins)
        and abs(standing.minutes - setting.minutes) <= step
    )


def settle(
    garden: Garden, fresh: WeekResult, *, standing: Mapping[str, Standing], made_on: date | None
) -> Settled:
    """Return the week with every setting kept that can be.

    Parameters
    ----------
    garden : Garden
    fresh : WeekResult
        The week planned as if no timer had been set yet.
    standing : mapping
        What each zone's outlet is set to.
    made_on : date or None
        First day of the newest table; None to look at every setting anew, as after a change of the plan.
    """
    monday = fresh.on - timedelta(days=fresh.on.weekday())
    anew = made_on is None or made_on < monday
    places = {beds.zone.name: beds for beds in fresh.zones}
    hours = _hours(garden, fresh)
    kept: dict[str, ZoneSetting] = {}
    for setting in fresh.plan.settings:
        old = standing.get(setting.zone)
        if old is None or not _fits(old, setting, garden, hours=hours, first=fresh.on):
            continue
        if anew and not same_setting(old, setting, first=fresh.on, step=garden.timer.step):
            continue
        held = _held(old, setting, fresh, places[setting.zone])
        beds = places[setting.zone]
        days = DAYS_PER_WEEK if anew else min(DAYS_TO_ACT, DAYS_PER_WEEK - fresh.on.weekday())
        least = _stress(setting, fresh.outlook, beds, days=days)
        if _stress(held, fresh.outlook, beds, days=days) <= least + NOTABLE_SHORTAGE:
            kept[setting.zone] = held
    if _clash([kept.get(setting.zone, setting) for setting in fresh.plan.settings], kept):
        kept = {}
    return _settled(garden, fresh, kept, standing=standing)


def _hours(garden: Garden, fresh: WeekResult) -> Spans:
    """Return the watering hours of the week."""
    return hours_ahead(fresh.on, timer_limits(garden, fresh.on, fresh.on)).spans


def _fits(old: Standing, setting: ZoneSetting, garden: Garden, *, hours: Spans, first: date) -> bool:
    """Return True if the timer and the watering hours still hold a setting."""
    timer = garden.timer
    if old.outlet != setting.outlet or len(old.begins) > timer.starts_per_day:
        return False
    if old.begins and not (timer.shortest_run <= old.minutes <= timer.longest_run):
        return False
    return all(
        any(begin <= start and start + old.minutes <= end for begin, end in hours[day])
        for day, runs in enumerate(mask_from(old, first))
        if runs
        for start in old.begins
    )


def _held(old: Standing, setting: ZoneSetting, fresh: WeekResult, beds: ZoneBeds) -> ZoneSetting:
    """Return a standing setting as one of this week, with the shortage that it leaves."""
    mask = mask_from(old, fresh.on)
    held = replace(setting, mask=mask, days=old.days, begins=old.begins, minutes=old.minutes)
    masks = np.array([mask], dtype=float)
    short = zone_shortage(beds, fresh.outlook, masks, np.array([held.minutes_per_day]))
    return replace(held, shortage=round(float(short[0]), 3))


def _stress(setting: ZoneSetting, outlook: BedOutlook, beds: ZoneBeds, *, days: int) -> float:
    """Return by how much a setting lets a zone pass its readily available water on the next days [mm d].

    The limit takes its place where that is the greater, as in shallow beds. By its squares a hair more would
    count for much in beds that are dry anyway, and no walk to the timer mends that.
    """
    ahead = replace(
        outlook,
        conditions=outlook.conditions.between(0, days),
        in_use=outlook.in_use[:days],
        net_rate=outlook.net_rate[:days],
        limit=np.maximum(outlook.limit, outlook.conditions.raw)[:days],
    )
    part = outlook_of(ahead, beds.index)
    masks = np.array([setting.mask[:days]], dtype=float)
    depletion = depletion_under(part, masks, np.array([[setting.minutes_per_day]]))
    if beds.zone.rule == "area mean":
        return float(area_mean_shortage(part, depletion, beds.area)[0])
    return float(bed_shortage(part, depletion).sum())


def _clash(settings: Sequence[ZoneSetting], kept: Mapping[str, ZoneSetting]) -> bool:
    """Return True if a run of a setting that is kept meets a run of a new one.

    Settings of one table were placed together, so only kept and new ones can meet.
    """
    old = [setting for setting in settings if setting.zone in kept]
    new = [setting for setting in settings if setting.zone not in kept]
    return any(
        max(start, other) < min(start + one.minutes, other + two.minutes)
        for one in old
        for two in new
        if any(a and b for a, b in zip(one.mask, two.mask, strict=True))
        for start in one.begins
        for other in two.begins
    )


def _settled(
    garden: Garden, fresh: WeekResult, kept: Mapping[str, ZoneSetting], *, standing: Mapping[str, Standing]
) -> Settled:
    """Return the week in which some settings are kept."""
    stands, changes = [], []
    for setting in fresh.plan.settings:
        old = standing.get(setting.zone)
        if old is not None and setting.zone in kept:
            stands.append(old)
            continue
        new = standing_of(setting, fresh.on)
        stands.append(new)
        if old is None or not _untouched(old, setting, first=fresh.on):
            changes.append(Change(old, new))
    if not kept:
        return Settled(fresh, tuple(stands), tuple(changes))
    plan = _plan_with(garden, fresh, kept)
    return Settled(replace(fresh, plan=plan), tuple(stands), tuple(changes))


def _untouched(old: Standing, setting: ZoneSetting, *, first: date) -> bool:
    """Return True if a new setting is the old one to the minute, start times too."""
    same = same_setting(old, setting, first=first, step=0)
    return same and old.begins == setting.begins


def _plan_with(garden: Garden, fresh: WeekResult, kept: Mapping[str, ZoneSetting]) -> WeekPlan:
    """Return the week's plan with some settings taken from before, and what they do to the beds."""
    plan = fresh.plan
    bed_minutes = plan.bed_minutes.copy()
    settings = tuple(kept.get(setting.zone, setting) for setting in plan.settings)
    for setting, beds in zip(settings, fresh.zones, strict=True):
        if setting.zone in kept:
            part = outlook_of(fresh.outlook, beds.index)
            masks = np.array([setting.mask], dtype=float)
            totals = _totals(garden, setting.minutes_per_day)
            bed_minutes[beds.index] = least_minutes_by_bed(part, masks, totals)[0]
    expected = expected_course(settings, fresh.zones, fresh.outlook)
    score = _score(settings, fresh.zones, fresh.outlook)
    return replace(
        plan,
        settings=settings,
        bed_minutes=bed_minutes,
        depletion=expected.depletion,
        use=expected.use,
        score=score,
        bound=min(plan.bound, score),
        kept=tuple(setting.zone for setting in settings if setting.zone in kept),
    )


def _score(settings: Sequence[ZoneSetting], zones: Sequence[ZoneBeds], outlook: BedOutlook) -> Score:
    """Return how good settings are together."""
    scores = []
    for setting, beds in zip(settings, zones, strict=True):
        between = np.diff(setting.begins) - setting.minutes
        pause = int(between.min()) if between.size else setting.minutes
        way = (0, len(setting.begins), setting.minutes, pause)
        scores.append(score_of(beds, outlook, np.array([setting.mask], dtype=float), way))
    return total_score(scores)


def _totals(garden: Garden, most: int) -> NDArray[np.int64]:
    """Return the minutes a day that a bed's valve can be open while its zone runs `most`."""
    step = garden.timer.step
    return np.array([sorted({*range(0, most, step), most})], dtype=np.int64)
