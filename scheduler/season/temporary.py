"""The setting for the days of a hot spell, beside what stays on the other outlets. Pure."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Timer
from scheduler.season.ahead import course_with
from scheduler.season.heat_days import DAYS_SEEN, Heat, Temporary, beyond_usual, driest_past_limit
from scheduler.season.results import WeekResult
from scheduler.season.setup import Setup
from scheduler.season.standing import empty_clock, outlook_on, placed, run_days, water_of
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.runtime import run_lengths
from scheduler.timetable.week import ZoneSetting, weekly_timetable

__all__ = ["temporary_setting"]

FloatArray = NDArray[np.float64]


def temporary_setting(
    setup: Setup,
    result: WeekResult,
    heat: Heat,
    *,
    water: FloatArray,
    usual: FloatArray,
    touched: tuple[bool, ...],
) -> Temporary:
    """Return the setting of the zones `touched` for the days of a spell, at most a week of them.

    Parameters
    ----------
    setup : Setup
    result : WeekResult
        Today's table, whose morning gives the soil.
    heat : Heat
        With its spell; runs of an evening timer begin and end an evening earlier.
    water : array, shape (DAYS_SEEN, n_beds)
        Net water of the standing setting [mm].
    usual : array, shape (DAYS_SEEN, n_beds)
        Depletion past the limit that usual weather brings under it [mm].
    touched : tuple of bool
        One a zone.
    """
    begin, end = heat.spell or (0, 0)
    evening, timer = bool(result.outlook.evening), setup.garden.timer
    first = max(begin - int(evening), 0)
    whole = max(end - int(evening), first)
    last = min(whole, first + DAYS_PER_WEEK - 1)
    settings, changed = _settings(setup, result, heat, water=water, span=(first, last), touched=touched)
    beds = heat.ahead.forecast
    before, standing = water_of(heat.standing, setup.zones, beds, timer=timer, n_days=DAYS_SEEN)
    minutes, lived = before.copy(), standing.copy()
    for setting, zone in zip(settings, setup.zones, strict=True):
        days = np.arange(first, last + 1)
        own = np.array(setting.mask)[days - first] * setting.minutes_per_day
        spot = np.ix_(days, zone.index)
        minutes[spot] = own[:, None] * beds.growth.in_use[spot]
        lived[spot] = minutes[spot] * beds.net_rate[spot]
    over = driest_past_limit(beds, result.outlook.state, lived, evening=evening)
    litres = (minutes - before).sum(axis=0) / 60.0 * setup.flow
    return Temporary(
        first=first,
        last=last,
        settings=settings,
        changed=changed,
        litres_more=np.array([litres[zone.index].sum() for zone in setup.zones]),
        heat_excess=beyond_usual(over, usual, heat.ahead.foretold).sum(axis=0),
        goes_on=whole > last,
    )


def _settings(
    setup: Setup,
    result: WeekResult,
    heat: Heat,
    *,
    water: FloatArray,
    span: tuple[int, int],
    touched: tuple[bool, ...],
) -> tuple[tuple[ZoneSetting, ...], tuple[bool, ...]]:
    """Return the setting of every zone for the days of `span`, and which of them differ from the standing.

    Zones that are not touched keep theirs, if what the others need has room beside it.
    """
    first, last = span
    on = result.on + timedelta(days=first)
    timer, limits = setup.garden.timer, setup.limits
    outlook = _spell_outlook(setup, result, heat, water=water, span=span)
    planned = weekly_timetable(on, outlook, zones=setup.zones, limits=limits).settings
    stands = [_from_day(setting, timer, first) for setting in heat.standing]
    n_days = last - first + 1
    wanted = [_no_less(new, old, timer, n_days) for new, old in zip(planned, stands, strict=True)]
    for moved in (touched, (True,) * len(planned)):
        clock = empty_clock(limits, on)
        chosen: dict[int, ZoneSetting | None] = {}
        for number, setting in enumerate(stands):
            if not moved[number]:
                if setting.begins:
                    clock.take(setting.mask, setting.begins, minutes=setting.minutes, flow=setting.flow)
                chosen[number] = setting
        for number in sorted(np.flatnonzero(moved).tolist(), key=lambda n: -wanted[n].minutes_per_day):
            chosen[number] = placed(wanted[number], clock, timer)
        found = tuple(one for _, one in sorted(chosen.items()) if one is not None)
        if len(found) == len(planned):
            return found, moved
    return planned, (True,) * len(planned)


def _from_day(setting: ZoneSetting, timer: Timer, first: int) -> ZoneSetting:
    """Return a standing setting with the mask of the week that begins on day `first`."""
    mask = run_days(setting, timer, first + DAYS_PER_WEEK)[first:]
    return replace(setting, mask=tuple(mask.tolist()))


def _no_less(new: ZoneSetting, old: ZoneSetting, timer: Timer, n_days: int) -> ZoneSetting:
    """Return a new setting with at least the minutes that the old one gives in `n_days`.

    The planner would live on what the soil has in store; in a hot spell nobody should be told to water less
    (judgement, no source). A new one without any run gives way to the old.
    """
    runs, wanted = sum(new.mask[:n_days]), sum(old.mask[:n_days]) * old.minutes_per_day
    if not runs or not new.minutes_per_day:
        return old
    if runs * new.minutes_per_day >= wanted:
        return new
    totals = (
        starts * length for starts in range(1, timer.starts_per_day + 1) for length in run_lengths(timer)
    )
    enough = [total for total in totals if runs * total >= wanted]
    # `placed` splits the minutes anew.
    return replace(new, begins=(0,), minutes=min(enough)) if enough else new


def _spell_outlook(
    setup: Setup, result: WeekResult, heat: Heat, *, water: FloatArray, span: tuple[int, int]
) -> BedOutlook:
    """Return what the planner is told: runs on the days of the span, limits until the standing runs again.

    Water past the span would never run, so it neither helps nor counts.
    """
    first, last = span
    beds, evening = heat.ahead.forecast, bool(result.outlook.evening)
    state = result.outlook.state
    if first:
        early, late = (np.zeros_like(water), water) if evening else (water, np.zeros_like(water))
        state = course_with(beds.conditions, state, early[:first], late=late[:first]).soil
    on = result.on + timedelta(days=first)
    n_days = DAYS_SEEN - first
    outlook = outlook_on(setup, beds, state, first=first, on=on, n_days=n_days)
    day = np.arange(n_days)
    open_days = (day <= last - first)[:, None]
    limit = outlook.limit.copy()
    for setting, zone in zip(heat.standing, setup.zones, strict=True):
        runs = run_days(setting, setup.garden.timer, DAYS_SEEN)[last + 1 :]
        resumes = last + 1 + int(np.argmax(runs)) if runs.any() else last + 1
        # A morning run comes before its day's use, an evening run after it.
        free = day >= resumes + int(evening) - first
        limit[np.ix_(free, zone.index)] = np.inf
    return replace(
        outlook,
        in_use=outlook.in_use & open_days,
        net_rate=outlook.net_rate * open_days,
        limit=limit,
    )
