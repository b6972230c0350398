"""A bed of even use under a watering restriction, and remedies tried otherwise than the program does."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time

import numpy as np

from scheduler.garden.plan import SoilState, StageLengths
from scheduler.season.order import order_case, order_day
from scheduler.season.remedies import remedy_steps
from scheduler.season.run import run_week
from scheduler.season.run_remedies import split_fare
from tests.builders import EVERY_DAY, make_bed, make_daily, make_garden, make_planting
from tests.timetable.cases import restriction, window

TUESDAY = date(2025, 7, 15)
EVEN = make_planting(kc_ini=1.0, kc_mid=1.0, kc_end=1.0, stages=StageLengths(10, 20, 80, 35))


def steady(et=5.0):
    daily = make_daily(rain_scale=0.0)
    return replace(daily, reference_et=np.full(daily.dates.shape, et), rain=np.zeros(daily.dates.shape))


STEADY = steady()


def garden_of(depth, *, days=("Tue", "Sat"), bed=None, order=None, **changes):
    own = {"soil_depth": depth, "plantings": (EVEN,)} | (bed or {})
    base = make_garden([make_bed(**own)], soil_states=(SoilState(date(2025, 6, 17), "full", None),))
    told = {
        "planning": replace(base.planning, reserve=0.0),
        "restrictions": (restriction(days=days, **(order or {})),),
    }
    return replace(base, **(told | changes))


def case_of(garden, daily=STEADY, *, on=TUESDAY):
    return order_case(garden, daily, order_day(garden, daily, on=on))


def tried(case):
    trials = []
    for step in remedy_steps(case):
        trials += step(trials)
    return {trial.remedy: trial for trial in trials}


def excess_of(garden, daily=STEADY, *, on=TUESDAY):
    """How far each bed passes its limit in the week of a garden, from the planner's own figures."""
    result = run_week(garden, daily, on=on)
    return np.maximum(result.plan.depletion - result.limit, 0.0).max(axis=0)


def timer_of(garden, **changes):
    return replace(garden, timer=replace(garden.timer, **changes))


def changed_by(garden, trial):
    """Return the gardens that a remedy of the plan or the rules makes, written out anew."""
    (bed,), (order,) = garden.beds, garden.restrictions
    timer = garden.timer
    match trial.remedy:
        case "deeper soil":
            return [replace(garden, beds=(replace(bed, soil_depth=bed.soil_depth + trial.amount),))]
        case "another day":
            freer = [tuple(name for name in EVERY_DAY if name in (*order.days, day)) for day in trial.days]
            return [replace(garden, restrictions=(replace(order, days=days),)) for days in freer]
        case "more hours":
            every = replace(garden, windows=(window(time(0), time(0)),))
            return [replace(every, restrictions=(replace(order, begin=None, until=None),))]
        case "longer runs":
            return [timer_of(garden, longest_run=timer.longest_run + int(trial.amount))]
        case "weekday timer":
            return [timer_of(garden, day_choices=("weekdays", "every n days"))]
    return []


def tried_otherwise(case, garden, trials):
    """Return the worst excess that the one bed of a garden has under any of the remedies [mm]."""
    found = []
    for trial in trials:
        if trial.remedy == "by hand":
            found.append(by_hand_excess(case, trial))
        elif trial.remedy == "split runs":
            found.append(split_excess(case, refilled=trial.reason.startswith("refilled")))
        else:
            planned = [excess_of(one, case.setup.daily)[0] for one in changed_by(garden, trial)]
            assert planned, trial.remedy
            found += planned
    return max(found, default=0.0)


def by_hand_excess(case, trial):
    """Relive the week under the order with its water by hand."""
    given = {
        (date.fromisoformat(day) - case.day.on).days: volume / case.setup.garden.beds[0].area
        for day, volume in zip(trial.days, trial.volumes, strict=True)
    }
    return relived(case, case.kept.plan, start=float(case.result.outlook.depletion[0]), given=given)


def split_excess(case, *, refilled):
    """Relive the week with the minutes of the split plan, half before and half after each day's use."""
    garden = case.setup.garden
    fare = split_fare(case, garden, case.result, bed=0)
    if fare is None:
        evening = window(time(18), time(0))
        fare = split_fare(case, replace(garden, windows=(*garden.windows, evening)), case.result, bed=0)
    start = 0.0 if refilled else float(case.result.outlook.depletion[0])
    return relived(case, fare.plan, start=start, late=0.5)


def relived(case, plan, *, start, late=0.0, given=None):
    """Return how far the one bed passes its limit in plain arithmetic: single coefficient, no rain."""
    seen, setting = case.result.outlook, plan.settings[0]
    depletion, worst = start, 0.0
    for day in range(seen.n_days):
        taw, raw, use = (float(getattr(seen.conditions, name)[day, 0]) for name in ("taw", "raw", "basal"))
        runs = setting.minutes_per_day if day < 7 and setting.mask[day] else 0
        water = runs * float(seen.net_rate[day, 0])
        depletion = max(depletion - water * (1.0 - late) - (given or {}).get(day, 0.0), 0.0)
        depletion += min(use * min(1.0, (taw - depletion) / (taw - raw)), taw - depletion)
        worst = max(worst, depletion - float(case.result.limit[day, 0]))
        depletion = max(depletion - water * late, 0.0)
    return worst
