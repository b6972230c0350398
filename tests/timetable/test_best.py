"""The week's timetable is the best there is: against every timetable of small weeks, and against bounds."""

from dataclasses import replace
from datetime import time

import numpy as np
import pytest

from scheduler.timetable.effort import QUICK_EFFORT, Effort
from scheduler.timetable.limits import days_ahead
from scheduler.timetable.week import weekly_timetable
from tests.timetable.brute import best_score
from tests.timetable.cases import FIRST, make_limits, make_outlook, make_zones, restriction, window
from tests.timetable.simulator import play

CHOICES = [("weekdays",), ("every n days",), ("weekdays", "every n days")]


def small_week(seed, n_zones, *, crowded):
    """Return outlook, zones and limits of a week with few ways to water, drawn from a seed."""
    draw = np.random.default_rng([seed, n_zones, crowded])
    step = int(draw.choice([2, 3, 4]))
    length = int(draw.integers(step, 2 * step * n_zones + 1)) if crowded else 60
    days = [("Mon", "Wed", "Sat"), ("Tue", "Fri"), ("Mon", "Tue", "Thu")][int(draw.integers(3))]
    windows = [window(time(5, 0), time(5, length) if length < 60 else time(6, 0), days=days)]
    if draw.random() < 0.3:
        windows.append(window(time(19, 0), time(19, int(draw.integers(step, 3 * step))), days=days))
    orders = (restriction(days=("Mon", "Tue", "Wed", "Sat")),) if draw.random() < 0.25 else ()
    limits = make_limits(
        windows=tuple(windows),
        restrictions=orders,
        starts_per_day=int(draw.integers(1, 3)),
        step=step,
        shortest_run=step,
        longest_run=int(draw.integers(1, 4)) * step,
        day_choices=CHOICES[int(draw.integers(3))],
        longest_interval=4,
        one_zone_at_a_time=bool(draw.random() < 0.6),
        usable_flow=100.0,
    )
    n_days = days_ahead(FIRST, limits)
    taw = draw.uniform(15.0, 50.0, n_zones)
    outlook = make_outlook(
        n_zones,
        n_days,
        et=draw.uniform(1.0, 6.0, (n_days, n_zones)),
        rain=np.where(draw.random((n_days, 1)) < 0.2, 5.0, 0.0),
        taw=taw,
        raw=taw * draw.uniform(0.3, 0.6, n_zones),
        depletion=taw * draw.uniform(0.0, 0.5, n_zones),
        net_rate=draw.uniform(0.4, 2.0, n_zones),
    )
    zones = make_zones([[n] for n in range(n_zones)], flow=float(draw.choice([40.0, 60.0, 120.0])))
    if draw.random() < 0.4:
        # The soil of the first zone takes no more at once than this, and then needs a rest.
        pulse = float(draw.integers(step, 3 * step)) + 0.5
        zones[0] = replace(zones[0], longest_pulse=pulse, soak=float(draw.integers(1, 4 * step)))
    return outlook, zones, limits


@pytest.mark.parametrize("crowded", [True, False])
@pytest.mark.parametrize(("n_zones", "seeds"), [(1, range(60)), (2, range(120)), (3, range(24))])
def test_no_timetable_is_better(n_zones, seeds, crowded):
    for seed in seeds:
        outlook, zones, limits = small_week(seed, n_zones, crowded=crowded)
        plan = weekly_timetable(FIRST, outlook, zones=zones, limits=limits, effort=Effort(combinations=1000))
        assert play(plan, limits) == [], seed
        assert plan.proven, seed
        assert tuple(plan.score) == best_score(outlook, zones, limits), seed


def test_a_day_is_given_in_runs_that_the_soil_takes_with_rests_between():
    # 6 mm a day at 0.2 mm/min are 30 min; the soil takes 8 min and then soaks for 15: of four starts of the
    # timer 8 min each are 32 min. Twice 15 min would do with less water, but run off.
    limits = make_limits(day_choices=("every n days",), longest_interval=1, starts_per_day=4)
    outlook = make_outlook(et=6.0, depletion=12.8, net_rate=0.2)
    (beds,) = make_zones([[0]])
    slow = replace(beds, longest_pulse=8.4, soak=15.0)
    (setting,) = weekly_timetable(FIRST, outlook, zones=[slow], limits=limits).settings
    assert (setting.minutes, setting.begins) == (8, (180, 203, 226, 249))
    # With two starts it cannot: it is watered all the same, in the shortest runs there are.
    two = make_limits(day_choices=("every n days",), longest_interval=1, starts_per_day=2)
    (setting,) = weekly_timetable(FIRST, outlook, zones=[slow], limits=two).settings
    assert (setting.minutes, setting.begins) == (15, (180, 210))


def by_themselves(outlook, zones, limits):
    """Return the score of the zones if each had the clock to itself."""
    each = [weekly_timetable(FIRST, outlook, zones=[beds], limits=limits).score for beds in zones]
    return tuple(sum(part) for part in zip(*each, strict=True))


def test_the_small_weeks_are_crowded_enough_to_mean_something():
    weeks = [small_week(seed, 2, crowded=True) for seed in range(120)]
    plans = [weekly_timetable(FIRST, o, zones=z, limits=limits) for o, z, limits in weeks]
    alone = [by_themselves(*week) for week in weeks]
    worse = [tuple(plan.score) > best for plan, best in zip(plans, alone, strict=True)]
    shorter = [plan.score.shortage > best[0] for plan, best in zip(plans, alone, strict=True)]
    assert sum(worse) >= 40
    assert sum(shorter) >= 30
    assert sum(worse) > sum(shorter)  # In some of them water or runs alone had to give way.


@pytest.mark.parametrize("seed", range(6))
def test_a_large_week_is_no_better_than_its_bound_and_no_worse_than_its_gap(seed):
    draw = np.random.default_rng(seed)
    n_zones = int(draw.integers(4, 9))
    limits = make_limits(
        windows=(window(time(4, 0), time(5, int(draw.integers(0, 60)))),),
        starts_per_day=2,
        one_zone_at_a_time=bool(seed % 2),
        usable_flow=200.0,
    )
    taw = draw.uniform(20.0, 50.0, n_zones)
    outlook = make_outlook(
        n_zones,
        7,
        et=draw.uniform(3.0, 6.0, (7, n_zones)),
        taw=taw,
        raw=0.4 * taw,
        depletion=0.3 * taw,
        net_rate=draw.uniform(0.15, 0.5, n_zones),
    )
    zones = make_zones([[n] for n in range(n_zones)], flow=70.0)
    plan = weekly_timetable(FIRST, outlook, zones=zones, limits=limits, effort=QUICK_EFFORT)
    assert play(plan, limits) == []
    assert by_themselves(outlook, zones, limits) <= tuple(plan.bound) <= tuple(plan.score)
    assert plan.proven == (plan.bound == plan.score)


def test_no_time_gives_a_sound_timetable_and_says_how_far_it_may_be_off():
    weeks = [small_week(seed, 3, crowded=True) for seed in range(24)]
    open_ended = 0
    for outlook, zones, limits in weeks:
        hasty = Effort(seconds_left=lambda: 0.0)
        plan = weekly_timetable(FIRST, outlook, zones=zones, limits=limits, effort=hasty)
        best = weekly_timetable(FIRST, outlook, zones=zones, limits=limits)
        assert play(plan, limits) == []
        assert plan.bound <= best.bound <= best.score <= plan.score
        open_ended += not plan.proven
    assert open_ended >= 5


def test_equal_water_goes_to_fewer_runs_and_to_hours_before_dawn():
    # 6 mm in two runs or in three: without rain and with room in the soil the water is the same.
    limits = make_limits(windows=(window(time(0, 0), time(23, 59)),))
    outlook = make_outlook(et=2.0, depletion=9.0, taw=60.0, raw=20.0, net_rate=0.5)
    plan = weekly_timetable(FIRST, outlook, zones=make_zones([[0]]), limits=limits)
    (setting,) = plan.settings
    assert sum(setting.mask) * len(setting.begins) == 1
    assert setting.begins == (180,)
