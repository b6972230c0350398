"""Settings left standing on a timer: their run days, and those that usual weather asks for. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Timer
from scheduler.season.ahead import Ahead
from scheduler.season.days import outlook_from
from scheduler.season.growth import slice_growth
from scheduler.season.setup import Setup
from scheduler.timetable.choices import ZoneBeds
from scheduler.timetable.limits import Limits, days_ahead, hours_ahead
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.placing import WeekClock
from scheduler.timetable.runtime import splits
from scheduler.timetable.week import ZoneSetting, weekly_timetable
from scheduler.timetable.windows import weekday
from scheduler.water.balance import SoilState

__all__ = [
    "GivenSetting",
    "advised_setting",
    "empty_clock",
    "outlook_on",
    "placed",
    "run_days",
    "set_by_hand",
    "standing_settings",
    "water_of",
]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class GivenSetting:
    """What a zone is known to be set to: run days of the week ahead, in words, and minutes a run day.

    `begins` are its starts [min after midnight]; empty if they are not known. `starts` is their number; 0 for
    as few as the timer holds the minutes in.
    """

    mask: tuple[bool, ...]
    days: str
    minutes: int
    begins: tuple[int, ...] = ()
    starts: int = 0


def advised_setting(
    runs: Sequence[tuple[date, int, float]], timer: Timer, *, first: date, on: date
) -> GivenSetting:
    """Return what a zone was set to by an advised table, for the week from `on`.

    Parameters
    ----------
    runs : sequence of (date, int, float)
        Day, start [min after midnight] and length [min] of each run of the zone in that table.
    timer : Timer
    first : date
        First day of that table.
    on : date
    """
    if not runs:
        return GivenSetting((False,) * DAYS_PER_WEEK, "no run", 0)
    days = sorted({(day - first).days for day, _, _ in runs})
    begins = tuple(sorted({start for _, start, _ in runs}))
    mask = tuple(day in days for day in range(DAYS_PER_WEEK))
    shift = (on - first).days
    minutes = round(runs[0][2])
    setting = ZoneSetting("", 0, mask, "", begins, minutes, 0.0, 0.0)
    moved = run_days(setting, timer, shift + DAYS_PER_WEEK)[shift:]
    if len(days) == DAYS_PER_WEEK:
        text = "every day"
    elif "weekdays" in timer.day_choices:
        text = " ".join(weekday(on + timedelta(days=n)) for n in np.flatnonzero(moved).tolist())
    else:
        text = f"every {days[1] - days[0]} days" if len(days) > 1 else f"from {runs[0][0]} on"
    return GivenSetting(tuple(moved.tolist()), text, minutes * len(begins), begins)


def run_days(setting: ZoneSetting, timer: Timer, n_days: int) -> BoolArray:
    """Return the days on which a setting runs if it stays on the timer, from the first of its week on.

    A mask that a timer with weekdays holds comes again each week; any other is taken as the shortest interval
    that gives it.
    """
    mask = np.array(setting.mask)
    day = np.arange(n_days)
    if "weekdays" in timer.day_choices or not mask.any():
        return mask[day % DAYS_PER_WEEK]
    week = np.arange(DAYS_PER_WEEK)
    first = int(np.argmax(mask))
    for interval in range(first + 1, timer.longest_interval + 1):
        if np.array_equal(week % interval == first, mask):
            return np.asarray(day % interval == first)
    return mask[day % DAYS_PER_WEEK]


def water_of(
    settings: Sequence[ZoneSetting],
    zones: Sequence[ZoneBeds],
    ahead: Ahead,
    *,
    timer: Timer,
    n_days: int,
) -> tuple[FloatArray, FloatArray]:
    """Return minutes and net water [mm] of every day and bed under settings that stay, (n_days, n_beds)."""
    minutes = np.zeros((n_days, ahead.net_rate.shape[1]))
    for setting, beds in zip(settings, zones, strict=True):
        runs = run_days(setting, timer, n_days)
        minutes[:, beds.index] = (runs * setting.minutes_per_day)[:, None]
    minutes = minutes * ahead.growth.in_use[:n_days]
    return minutes, minutes * ahead.net_rate[:n_days]


def outlook_on(
    setup: Setup, ahead: Ahead, state: SoilState, *, first: int, on: date, n_days: int
) -> BedOutlook:
    """Return what the planner is told of `n_days` from day `first` on, which is the date `on`."""
    days = slice(first, first + n_days)
    beds = replace(
        ahead.days,
        conditions=ahead.conditions.between(first, first + n_days),
        usual=ahead.days.usual[days],
        reached=ahead.days.reached[days],
    )
    return outlook_from(
        slice_growth(ahead.growth, first, first + n_days),
        beds,
        state=state,
        net_rate=ahead.net_rate[days],
        reserve=setup.garden.planning.reserve,
        evening=hours_ahead(on, setup.limits).evening,
    )


def standing_settings(setup: Setup, usual: Ahead, today: SoilState, *, on: date) -> tuple[ZoneSetting, ...]:
    """Return the setting that keeps the beds within their limits week after week in usual weather.

    It is planned from beds that stand at their limits, so that it lives on no store.
    """
    limit = usual.limit[0]
    grows = np.isfinite(limit)
    at_limit = SoilState(
        depletion=np.where(grows, limit, today.depletion),
        below=np.where(grows, 0.0, today.below),
        strip=today.strip,
        rest=today.rest,
        reach=np.where(grows, usual.conditions.taw[0], today.reach),
    )
    n_days = days_ahead(on, setup.limits)
    outlook = outlook_on(setup, usual, at_limit, first=0, on=on, n_days=n_days)
    return weekly_timetable(on, outlook, zones=setup.zones, limits=setup.limits).settings


def set_by_hand(
    setup: Setup,
    usual: Ahead,
    settings: Sequence[ZoneSetting],
    given: Mapping[int, GivenSetting],
    *,
    on: date,
) -> tuple[tuple[ZoneSetting, ...], tuple[int, ...]]:
    """Return the settings with those that are known in place of some, and the zones without room.

    Parameters
    ----------
    setup : Setup
    usual : Ahead
    settings : sequence of ZoneSetting
        One a zone.
    given : mapping of int to GivenSetting
        By the number of the zone.
    on : date
        First day of all masks.
    """
    clock = empty_clock(setup.limits, on)
    wanted = list(settings)
    for number, hand in given.items():
        flow = float((usual.growth.in_use[:DAYS_PER_WEEK] @ _flows(setup, number)).max())
        wanted[number] = replace(
            wanted[number],
            mask=hand.mask,
            days=hand.days,
            begins=hand.begins or ((0,) if hand.minutes and any(hand.mask) else ()),
            minutes=hand.minutes // max(len(hand.begins), 1),
            flow=flow,
        )
    found: dict[int, ZoneSetting | None] = {}
    known = [number for number, hand in given.items() if hand.begins]
    for number in known:
        one = wanted[number]
        clock.take(one.mask, one.begins, minutes=one.minutes, flow=one.flow)
        found[number] = one
    # Those given go first: the others are guesses.
    order = sorted(range(len(wanted)), key=lambda n: (n not in given, -wanted[n].minutes_per_day))
    starts = {number: hand.starts for number, hand in given.items()}
    found |= {
        n: placed(wanted[n], clock, setup.garden.timer, starts=starts.get(n, 0))
        for n in order
        if n not in known
    }
    lost = tuple(number for number in range(len(wanted)) if found[number] is None)
    return tuple(found[n] or wanted[n] for n in range(len(wanted))), lost


def _flows(setup: Setup, number: int) -> FloatArray:
    """Return the flow of every bed of one zone, 0 for the others [L/h]."""
    flow = np.zeros_like(setup.flow)
    index = setup.zones[number].index
    flow[index] = setup.flow[index]
    return flow


def empty_clock(limits: Limits, on: date) -> WeekClock:
    """Return the clock of the week from `on`, nothing on it."""
    return limits.clock(hours_ahead(on, limits).spans[:DAYS_PER_WEEK])


def placed(setting: ZoneSetting, clock: WeekClock, timer: Timer, *, starts: int = 0) -> ZoneSetting | None:
    """Return a setting with starts that have room on the clock, which then holds it; None without room.

    Its minutes a day stay; they are split among as many `starts`, or if that is 0 among as few as fit.
    """
    total = setting.minutes_per_day
    if not total or not any(setting.mask):
        return replace(setting, begins=(), minutes=0)
    for count, minutes in splits(total, timer):
        if starts not in (0, count):
            continue
        begins = clock.place(setting.mask, starts=count, minutes=minutes, flow=setting.flow)
        if begins is not None:
            clock.take(setting.mask, begins, minutes=minutes, flow=setting.flow)
            return replace(setting, begins=begins, minutes=minutes)
    return None
