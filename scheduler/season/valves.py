"""Hand valves behind one outlet: for each zone of a week's table, water by the trips that a person makes."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Garden
from scheduler.season.field import FieldNotes
from scheduler.season.results import WeekResult
from scheduler.season.setup import set_up
from scheduler.timetable.choices import ZoneBeds, outlook_of
from scheduler.timetable.least import bed_shortage, past_limit
from scheduler.timetable.limits import Limits, hours_ahead
from scheduler.timetable.outlook import BedOutlook, depletion_under
from scheduler.timetable.patterns import DAYS_PER_WEEK, DayPattern, day_patterns
from scheduler.timetable.placing import WeekClock
from scheduler.timetable.recipe import (
    Room,
    ValveRecipe,
    recipe_within,
    share_trips,
    valve_ladder,
)
from scheduler.timetable.room import longest_alone, totals_alone, totals_with_room
from scheduler.timetable.runtime import splits
from scheduler.timetable.week import ZoneSetting
from scheduler.weather.record import DailyWeather

__all__ = ["WORTH_WALKING", "WithinRuns", "ZoneValves", "zone_valves"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

_MINUTES_PER_HOUR = 60.0

#: More trips must save this much beside fewer to be worth a line, or a walk [L]. Judgement.
WORTH_WALKING = 0.5


@dataclass(frozen=True, slots=True)
class WithinRuns:
    """The other way: each valve is shut within every run, after the minutes that its own bed needs.

    `volume` is the water of the week [L], `visits` how often a valve must be shut while water runs; each has
    to be opened again before the next run.
    """

    volume: float
    visits: int


@dataclass(frozen=True, slots=True, eq=False)
class ZoneValves:
    """One zone, its ladder of recipes, and the one asked for.

    Attributes
    ----------
    beds : ZoneBeds
    before : ZoneSetting
        The setting of the week's table, all valves open.
    litres_before : array, shape (n_beds,)
        Water of the week under it [L].
    shortage_before : array, shape (n_beds,)
        By how much each bed passes the limit that the planner is told (eased for a bed that catches up) under
        it, summed over the days [mm d].
    excess_before : array, shape (n_days, n_beds)
        By how much each bed passes its own limit under it [mm], 0 within it.
    patterns : tuple of DayPattern
        What the recipes' numbers of patterns stand for.
    ladder : tuple of ValveRecipe
        From none up, each with notably less water than the one before.
    recipe : ValveRecipe
        The one for the trips asked for.
    setting : ZoneSetting
        Its setting of the timer.
    depletion : array, shape (n_days, n_beds)
        Expected under the recipe [mm].
    shortage : array, shape (n_beds,)
        By how much each bed passes the limit that the planner is told under the recipe, summed over the days
        [mm d]: what may not exceed `shortage_before`.
    excess : array, shape (n_days, n_beds)
        By how much each bed passes its own limit under the recipe [mm], 0 within it.
    growing : array of bool, shape (n_beds, 7)
        Days on which something grows in each bed.
    may_pass : array, shape (n_beds,)
        By how much each bed may pass its limit without counting as short [mm]; 0, or what was accepted.
    within_runs : WithinRuns
    """

    beds: ZoneBeds
    before: ZoneSetting
    litres_before: FloatArray
    shortage_before: FloatArray
    excess_before: FloatArray
    patterns: tuple[DayPattern, ...]
    ladder: tuple[ValveRecipe, ...]
    recipe: ValveRecipe
    setting: ZoneSetting
    depletion: FloatArray
    shortage: FloatArray
    excess: FloatArray
    growing: BoolArray
    may_pass: FloatArray
    within_runs: WithinRuns

    def pattern_of(self, recipe: ValveRecipe) -> DayPattern:
        """Return the days of a recipe's runs, as a mask and in words."""
        return self.patterns[recipe.pattern]


class _Climbed(NamedTuple):
    """A zone's ladder and what it was found with."""

    patterns: tuple[DayPattern, ...]
    ladder: tuple[ValveRecipe, ...]
    clock: WeekClock


def zone_valves(
    garden: Garden,
    daily: DailyWeather,
    result: WeekResult,
    *,
    zones: Collection[str],
    trips: int,
    may_pass: Mapping[str, float] | None = None,
) -> tuple[ZoneValves, ...]:
    """Return the recipes of some zones of a week's table, in the plan's order.

    No bed is left shorter than the table leaves it, but for those named in `may_pass`. The trips go to
    the zones where they save most. Each zone keeps to the room that the other zones leave on the clock: those
    before it with their recipe, those after it as the table has them.

    Parameters
    ----------
    garden : Garden
    daily : DailyWeather
    result : WeekResult
    zones : collection of str
    trips : int
        Trips a week to all valves of these zones.
    may_pass : mapping, optional
        Beds that may go short, and by how much each may pass its limit [mm]: infinite for as far as it likes.
    """
    setup = set_up(garden, daily, FieldNotes())
    eased = np.array([(may_pass or {}).get(bed.name, 0.0) for bed in garden.beds])
    chosen = [(n, beds) for n, beds in enumerate(setup.zones) if beds.zone.name in zones]
    settings = list(result.plan.settings)
    climbed = [_climb(beds, n, settings, result, setup.limits, eased) for n, beds in chosen]
    shares = share_trips([one.ladder for one in climbed], trips)
    answers = []
    for (number, beds), found, share in zip(chosen, climbed, shares, strict=True):
        if tuple(settings) != result.plan.settings:
            # A recipe before has moved on the clock: what had room beside the table may have none now.
            found = _climb(beds, number, settings, result, setup.limits, eased)
        one = _answer(beds, settings[number], found, share, result=result, limits=setup.limits, eased=eased)
        settings[number] = one.setting
        answers.append(one)
    return tuple(answers)


def _climb(
    beds: ZoneBeds,
    number: int,
    settings: Sequence[ZoneSetting],
    result: WeekResult,
    limits: Limits,
    eased: FloatArray,
) -> _Climbed:
    """Return the ladder of zone `number` beside the settings of the others."""
    others = [setting for at, setting in enumerate(settings) if at != number]
    clock = _clock_beside(others, result, limits)
    alone = not any(setting.begins for setting in others)
    patterns, room = _room(clock, result, limits, before=settings[number], alone=alone)
    outlook = replace(result.outlook, limit=result.outlook.limit + eased)
    allowed = _shortage_of(outlook_of(outlook, beds.index), settings[number])
    # The table's own setting has room and leaves nobody shorter: there always is a recipe without trips.
    every = valve_ladder(beds, outlook, room=room, allowed=allowed)
    return _Climbed(patterns, _worth_walking(every), clock)


def _worth_walking(ladder: Sequence[ValveRecipe]) -> tuple[ValveRecipe, ...]:
    """Return the recipes that save notably more than the one kept before."""
    kept = [ladder[0]]
    for recipe in ladder[1:]:
        if recipe.volume <= kept[-1].volume - WORTH_WALKING:
            kept.append(recipe)
    return tuple(kept)


def _answer(
    beds: ZoneBeds,
    before: ZoneSetting,
    found: _Climbed,
    trips: int,
    *,
    result: WeekResult,
    limits: Limits,
    eased: FloatArray,
) -> ZoneValves:
    """Return the recipes of one zone, and of them the one for so many trips."""
    recipe = recipe_within(found.ladder, trips)
    mask, days = found.patterns[recipe.pattern]
    minutes, begins = _begins(found.clock, mask, recipe.minutes, before=before, limits=limits)
    part = outlook_of(result.outlook, beds.index)
    own = result.limit[:, beds.index]
    depletion = _depletion_of(part, recipe)
    shortage = bed_shortage(part, depletion[:, None, :])[0]
    growing = part.in_use[:DAYS_PER_WEEK].T
    reach = growing & np.array(before.mask)
    return ZoneValves(
        beds=beds,
        before=before,
        litres_before=reach.sum(axis=1) * before.minutes_per_day * beds.flow / _MINUTES_PER_HOUR,
        shortage_before=_shortage_of(part, before),
        excess_before=np.maximum(_depletion_before(part, before) - own, 0.0),
        patterns=found.patterns,
        ladder=found.ladder,
        recipe=recipe,
        setting=replace(
            before,
            mask=mask,
            days=days,
            begins=begins,
            minutes=minutes,
            shortage=round(float((past_limit(part, depletion[:, None, :]) ** 2).sum()), 3),
        ),
        depletion=depletion,
        shortage=shortage,
        excess=np.maximum(depletion - own, 0.0),
        growing=growing,
        may_pass=eased[beds.index],
        within_runs=_within_runs(beds, before, reach, result.plan.bed_minutes[beds.index]),
    )


def _clock_beside(others: Sequence[ZoneSetting], result: WeekResult, limits: Limits) -> WeekClock:
    """Return the week's clock with the water of the other zones taken."""
    spans = hours_ahead(result.on, limits).spans[:DAYS_PER_WEEK]
    clock = limits.clock(spans)
    for setting in others:
        clock.take(setting.mask, setting.begins, minutes=setting.minutes, flow=setting.flow)
    return clock


def _room(
    clock: WeekClock, result: WeekResult, limits: Limits, *, before: ZoneSetting, alone: bool
) -> tuple[tuple[DayPattern, ...], Room]:
    """Return the day patterns that the timer holds, and the minutes that each has room for.

    `alone` is True if no other zone takes water, which makes it quick.
    """
    spans = hours_ahead(result.on, limits).spans[:DAYS_PER_WEEK]
    patterns = day_patterns(result.on, [bool(day) for day in spans], limits.timer)
    masks = [mask for mask, _ in patterns]
    if alone:
        longest = longest_alone(masks, clock, spans, timer=limits.timer)
        by_pattern = totals_alone(longest, limits.timer)
    else:
        by_pattern = totals_with_room(masks, clock, timer=limits.timer, flow=before.flow)
    totals = np.unique(np.append(by_pattern, before.minutes_per_day))
    fits = np.array([np.isin(totals, row) & (totals > 0) for row in by_pattern])
    fits[0] = totals == 0
    if before.begins:
        fits[masks.index(before.mask), np.searchsorted(totals, before.minutes_per_day)] = True
    return patterns, Room(masks, totals, fits)


def _begins(
    clock: WeekClock, mask: Sequence[bool], total: int, *, before: ZoneSetting, limits: Limits
) -> tuple[int, tuple[int, ...]]:
    """Return minutes a run and start times of a day's total that has room, the table's own if it is that."""
    if total == 0:
        return 0, ()
    if (tuple(mask), total) == (before.mask, before.minutes_per_day):
        return before.minutes, before.begins
    placed = (
        (minutes, clock.place(mask, starts=starts, minutes=minutes, flow=before.flow))
        for starts, minutes in splits(total, limits.timer)
    )
    return next((minutes, begins) for minutes, begins in placed if begins is not None)


def _shortage_of(part: BedOutlook, setting: ZoneSetting) -> FloatArray:
    """Return how short a setting leaves each bed with all valves open [mm d], (n_beds,)."""
    return bed_shortage(part, _depletion_before(part, setting)[:, None, :])[0]


def _depletion_before(part: BedOutlook, setting: ZoneSetting) -> FloatArray:
    """Return the depletion of each bed with all valves open [mm], (n_days, n_beds)."""
    minutes = np.array([[setting.minutes_per_day]])
    return depletion_under(part, np.array([setting.mask], dtype=float), minutes)[:, 0, :]


def _depletion_of(part: BedOutlook, recipe: ValveRecipe) -> FloatArray:
    """Return the depletion of each bed under its own days [mm], (n_days, n_beds)."""
    every = depletion_under(part, recipe.open_on.astype(float), np.array([[recipe.minutes]]))
    bed = np.arange(part.n_beds)
    return every[:, bed, bed]


def _within_runs(beds: ZoneBeds, before: ZoneSetting, reach: BoolArray, needed: IntArray) -> WithinRuns:
    """Return what shutting each valve after its own bed's minutes comes to."""
    runs = reach.sum(axis=1)
    minutes = np.minimum(needed, before.minutes_per_day)
    return WithinRuns(
        volume=float((runs * minutes * beds.flow).sum() / _MINUTES_PER_HOUR),
        visits=int(runs[needed < before.minutes_per_day].sum()) * max(len(before.begins), 1),
    )
