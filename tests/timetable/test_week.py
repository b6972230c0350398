"""The week's timer setting, against every setting tried in turn and against cases worked by hand."""

from datetime import date, time, timedelta
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.timetable.limits import LONGEST_OUTLOOK, days_ahead, hours_ahead
from scheduler.timetable.week import weekly_timetable
from tests.timetable.cases import (
    FIRST,
    make_limits,
    make_outlook,
    make_zones,
    outlooks,
    plain_depletion,
    plain_shortage,
    restriction,
    window,
)
from tests.timetable.simulator import play, settable

#: A timer that can only run every day, so that minutes can be reckoned by hand.
DAILY = {"day_choices": ("every n days",), "longest_interval": 1}


def plan_of(outlook, groups, limits, **zone):
    return weekly_timetable(FIRST, outlook, zones=make_zones(groups, **zone), limits=limits)


def litres(outlook, beds, mask, minutes):
    open_flow = outlook.in_use[:7][:, beds.index] @ beds.flow
    return float(sum(open_flow[day] * minutes / 60.0 for day in range(7) if mask[day]))


# --- one zone by hand


def test_a_bed_that_lasts_the_week_is_not_watered():
    plan = plan_of(make_outlook(et=1.0), [[0]], make_limits())
    (setting,) = plan.settings
    assert (setting.days, setting.begins, setting.minutes) == ("no run this week", (), 0)
    assert plan.bed_minutes.tolist() == [0]
    assert plan.depletion == pytest.approx(plan.untouched)
    assert plan.conflicts == ()


def test_one_run_late_enough_and_no_more_than_is_needed():
    # 2 mm/d from 0: 12.8 mm (RAW 16 less a fifth) would be passed on day 7, at 14 mm. 1.2 mm are 6 min
    # at 0.2 mm/min. Sunday, the 7th day, is as good as any; ties go to the earliest day.
    plan = plan_of(make_outlook(et=2.0), [[0]], make_limits())
    (setting,) = plan.settings
    assert setting.minutes_per_day * sum(setting.mask) == 6
    assert sum(setting.mask) == 1
    assert plan.depletion[6, 0] == pytest.approx(12.8)
    # On Monday nothing is missing yet and water would drain; 2 mm are missing on Tuesday morning.
    assert setting.days == "Tue"
    assert setting.begins == (180,)


def test_expected_depletion_and_what_it_would_be_without_water():
    outlook = make_outlook(2, 7, et=[5.0, 3.0], depletion=[10.0, 2.0], in_use=[True, False])
    plan = plan_of(outlook, [[0], [1]], make_limits())
    first, second = plan.settings
    assert second.begins == ()
    for bed, setting in ((0, first), (1, second)):
        course = plain_depletion(outlook, setting.mask, setting.minutes_per_day, bed)
        assert plan.depletion[:, bed] == pytest.approx(course)
        assert plan.untouched[:, bed] == pytest.approx(plain_depletion(outlook, (), 0, bed))
    assert plan.depletion[:, 0].max() <= 12.8 + 1e-9
    assert plan.bed_minutes.tolist() == [first.minutes_per_day, 0]


def test_the_driest_bed_rules_its_zone_and_the_table_tells_what_the_other_needs():
    outlook = make_outlook(2, 7, et=[6.0, 2.5], depletion=12.0)
    plan = plan_of(outlook, [[0, 1]], make_limits(**DAILY))
    (setting,) = plan.settings
    assert setting.days == "every day"
    assert setting.minutes_per_day == plan.bed_minutes[0] == 30  # 6 mm at 0.2 mm/min.
    # 2.5 mm are 12.5 min; with 12 the bed dries by 0.1 mm a day, and 0.8 mm are left to its limit.
    assert plan.bed_minutes[1] == 12


def test_the_area_mean_rule_waters_to_the_mean_and_leaves_the_driest_short():
    outlook = make_outlook(2, 7, et=[6.0, 2.0], depletion=12.8)
    limits = make_limits(**DAILY)
    plan = plan_of(outlook, [[0, 1]], limits, area=[1.0, 3.0], rule="area mean")
    (setting,) = plan.settings
    mean = (plan.depletion * [0.25, 0.75]).sum(axis=1)
    assert mean.max() <= 12.8 + 1e-9
    assert plan.depletion[:, 0].max() > 12.8
    # The beds use 3 mm a day on the mean, 15 min; a minute less would pass the limit of the mean.
    assert setting.minutes_per_day == 15
    one_less = [plain_depletion(outlook, setting.mask, 14, bed) for bed in (0, 1)]
    assert max(0.25 * a + 0.75 * b for a, b in zip(*one_less, strict=True)) > 12.8


def test_a_long_need_is_split_over_starts_that_rest_between():
    outlook = make_outlook(et=6.0, depletion=12.0, net_rate=0.1)
    limits = make_limits(longest_run=20, **DAILY)
    (setting,) = plan_of(outlook, [[0]], limits).settings
    # 6 mm at 0.1 mm/min are 60 min: three runs of 20, and 20 min of rest after each.
    assert (setting.minutes, setting.begins) == (20, (180, 220, 260))


def test_windows_shorter_than_the_need_take_more_starts():
    # 40 min fit neither window; twice 20 do.
    windows = (window(time(5, 0), time(5, 25)), window(time(20, 0), time(20, 25)))
    outlook = make_outlook(et=8.0, depletion=12.8, net_rate=0.2, raw=16.0, taw=60.0)
    limits = make_limits(windows=windows, **DAILY)
    plan = plan_of(outlook, [[0]], limits)
    assert (plan.settings[0].minutes, plan.settings[0].begins) == (20, (300, 1200))
    assert plan.conflicts == ()


# --- what cannot be kept


def test_limits_that_leave_a_bed_short_are_reported():
    limits = make_limits(windows=(window(time(5, 0), time(5, 10)),))
    plan = plan_of(make_outlook(et=6.0, depletion=12.0), [[0]], limits)
    (setting,) = plan.settings
    assert setting.days == "every day"
    assert setting.minutes == 10
    assert setting.shortage == pytest.approx(
        plain_shortage(make_outlook(et=6.0, depletion=12.0), make_zones([[0]])[0], (1,) * 7, 10), abs=6e-4
    )
    assert len(plan.conflicts) == 1
    assert 'zone "zone 1"' in plan.conflicts[0]
    assert "days, hours and run lengths allowed" in plan.conflicts[0]


def test_a_ban_on_watering_leaves_no_run_and_says_so():
    limits = make_limits(restrictions=(restriction(days=()),))
    plan = plan_of(make_outlook(n_days=14, et=4.0), [[0]], limits)
    assert plan.settings[0].begins == ()
    assert len(plan.conflicts) == 1


def test_a_shortage_that_no_watering_could_avoid_is_no_conflict():
    # 20 mm lack on Monday before anything can run; from the first run on all is well.
    outlook = make_outlook(et=[[14.0], *[[3.0]] * 6], taw=60.0, raw=16.0, net_rate=1.0)
    plan = plan_of(outlook, [[0]], make_limits())
    assert plan.settings[0].shortage > 0.5
    assert plan.conflicts == ()


def test_zones_that_do_not_fit_side_by_side_are_reported_and_still_sound():
    limits = make_limits(windows=(window(time(5, 0), time(5, 40)),), **DAILY)
    outlook = make_outlook(2, 7, et=6.0, depletion=12.0)
    plan = plan_of(outlook, [[0], [1]], limits)
    minutes = [setting.minutes_per_day for setting in plan.settings]
    # 40 min for two beds that need 30 each: both go short, as the squares of what they are past ask.
    (first, second) = make_zones([[0], [1]])
    daily = (True,) * 7
    by_share = {m: plain_shortage(outlook, first, daily, m) for m in range(11, 30)}
    least = min(by_share, key=lambda m: by_share[m] + plain_shortage(outlook, second, daily, 40 - m))
    assert sorted(minutes) == sorted([least, 40 - least]) == [19, 21]
    assert len(plan.conflicts) == 2
    assert all("beside the others" in text for text in plan.conflicts)
    assert [f'"{setting.zone}"' in text for setting, text in zip(plan.settings, plan.conflicts, strict=True)]
    assert play(plan, limits) == []


# --- several zones, one tap


@pytest.mark.parametrize(
    ("one_at_a_time", "usable_flow", "together"),
    [(True, 1000.0, False), (False, 120.0, True), (False, 119.0, False)],
)
def test_zones_run_together_only_within_the_usable_flow(one_at_a_time, usable_flow, together):
    limits = make_limits(one_zone_at_a_time=one_at_a_time, usable_flow=usable_flow, **DAILY)
    plan = plan_of(make_outlook(2, 7, et=6.0, depletion=12.0), [[0], [1]], limits)
    begins = [setting.begins for setting in plan.settings]
    assert sorted(begins) == ([(180,), (180,)] if together else [(180,), (210,)])
    assert plan.conflicts == ()


def test_a_zone_that_found_no_room_goes_first_in_the_next_try():
    # 6, 5, 4, 3, 3 and 3 min in two windows of 12. The longest first: 6 and 5, then 4, 3 and 3, and the
    # last 3 have no room. With that zone first they all have: 3, 6 and 3, then 5, 4 and 3.
    windows = (window(time(5, 0), time(5, 12)), window(time(20, 0), time(20, 12)))
    minutes = [6, 5, 4, 3, 3, 3]
    outlook = make_outlook(6, 7, et=minutes, depletion=12.8, taw=60.0, net_rate=1.0)
    limits = make_limits(windows=windows, starts_per_day=1, **DAILY)
    plan = plan_of(outlook, [[bed] for bed in range(6)], limits)
    assert [setting.minutes for setting in plan.settings] == minutes
    assert plan.conflicts == ()
    assert play(plan, limits) == []


# --- how far the planner looks


def test_the_planner_looks_to_the_next_day_that_allows_a_run():
    assert days_ahead(FIRST, make_limits()) == 7
    thursdays = make_limits(windows=(window(days=("Thu",)),))
    assert days_ahead(FIRST, thursdays) == 10
    assert days_ahead(FIRST, make_limits(restrictions=(restriction(days=()),))) == LONGEST_OUTLOOK
    ends_soon = restriction(days=(), ends=FIRST + timedelta(days=8))
    assert days_ahead(FIRST, make_limits(restrictions=(ends_soon,))) == 9


def test_water_for_the_days_after_the_week_is_put_down_within_it():
    limits = make_limits(windows=(window(days=("Thu",)),), longest_run=240)
    outlook = make_outlook(n_days=10, et=1.5, taw=40.0, raw=16.0)
    plan = plan_of(outlook, [[0]], limits)
    # Without a run 15 mm would lack on the Wednesday of the next week; 12.8 may.
    assert plan.settings[0].days == "Thu"
    assert plan.depletion[-1, 0] == pytest.approx(12.8, abs=0.2)
    assert plan.depletion.max() <= 12.8 + 1e-9


# --- against every setting


def every_setting(first, limits):
    """Yield every (mask, minutes a day) that the timer can hold and the hours of its days have room for."""
    timer = limits.timer
    hours = hours_ahead(first, limits).spans[:7]
    spans = [{m for a, b in allowed for m in range(a, b)} for allowed in hours]
    lengths = [m for m in range(timer.step, timer.longest_run + 1, timer.step) if m >= timer.shortest_run]
    fits = {}
    for mask in product((False, True), repeat=7):
        if not any(mask):
            yield mask, 0
            continue
        if not settable(mask, timer):
            continue
        common = frozenset.intersection(*(frozenset(spans[n]) for n in range(7) if mask[n]))
        for starts, minutes in product(range(1, timer.starts_per_day + 1), lengths):
            key = (common, starts, minutes)
            if key not in fits:
                fits[key] = _has_room(common, starts, minutes)
            if fits[key]:
                yield mask, starts * minutes


def _has_room(minutes_open, starts, minutes):
    """Return True if that many runs, each followed by a rest as long, fit into the open minutes."""
    found, at = 0, 0
    while at <= 2 * 1440:
        if all(at + n in minutes_open for n in range(minutes)):
            found += 1
            at += 2 * minutes
        else:
            at += 1
    return found >= starts


hours = st.sampled_from(
    [
        (window(time(5, 0), time(5, 12)),),
        (window(time(5, 0), time(5, 9)), window(time(19, 0), time(19, 7))),
        (window(time(23, 50), time(0, 15)),),
        (window(time(5, 0), time(5, 40), days=("Mon", "Tue", "Fri")), window(time(6, 0), time(6, 20))),
    ]
)
orders = st.sampled_from(
    [
        (),
        (restriction(days=("Tue", "Sat")),),
        (restriction(begin=time(5, 3), until=time(19, 5), begins=date(2025, 6, 4)),),
    ]
)


@st.composite
def small_limits(draw):
    return make_limits(
        windows=draw(hours),
        restrictions=draw(orders),
        starts_per_day=draw(st.integers(1, 3)),
        step=draw(st.sampled_from([1, 2, 5])),
        shortest_run=draw(st.sampled_from([1, 4])),
        longest_run=draw(st.sampled_from([8, 12])),
        day_choices=draw(st.sampled_from([("weekdays",), ("every n days",), ("weekdays", "every n days")])),
        longest_interval=draw(st.integers(1, 7)),
    )


@settings(max_examples=40, deadline=None)
@given(small_limits(), st.data(), st.sampled_from(["driest bed", "area mean"]))
def test_no_setting_of_a_zone_alone_is_better(limits, data, rule):
    n_beds = data.draw(st.integers(1, 2))
    outlook = data.draw(outlooks(n_beds=n_beds, n_days=days_ahead(FIRST, limits), rate=(0.2, 1.5)))
    (beds,) = make_zones(
        [list(range(n_beds))], flow=[50.0, 80.0][:n_beds], area=[1.0, 2.5][:n_beds], rule=rule
    )
    plan = weekly_timetable(FIRST, outlook, zones=[beds], limits=limits)
    (setting,) = plan.settings
    assert play(plan, limits) == []
    short = plain_shortage(outlook, beds, setting.mask, setting.minutes_per_day)
    water = litres(outlook, beds, setting.mask, setting.minutes_per_day)
    assert setting.shortage == pytest.approx(short, abs=6e-4)
    tried = {choice: plain_shortage(outlook, beds, *choice) for choice in set(every_setting(FIRST, limits))}
    assert (setting.mask, setting.minutes_per_day) in tried
    least = min(tried.values())
    # Shortages are told apart to 0.001 mm d; of those that are equal, the least water.
    assert short <= least + 1.1e-3
    assert water <= min(litres(outlook, beds, *c) for c, s in tried.items() if s <= least + 1e-9) + 1e-6


@settings(max_examples=25, deadline=None)
@given(small_limits(), st.data(), st.booleans())
def test_two_zones_take_no_more_room_than_there_is(limits, data, alone):
    outlook = data.draw(outlooks(n_beds=2, n_days=days_ahead(FIRST, limits), rate=(0.2, 1.5)))
    timer = make_limits(
        windows=limits.windows, restrictions=limits.restrictions, one_zone_at_a_time=alone, usable_flow=100.0
    )
    zones = make_zones([[0], [1]], flow=60.0)
    plan = weekly_timetable(FIRST, outlook, zones=zones, limits=timer)
    assert play(plan, timer) == []
    for bed, setting in enumerate(plan.settings):
        by_itself = weekly_timetable(FIRST, outlook, zones=[zones[bed]], limits=timer).settings[0]
        assert setting.shortage >= by_itself.shortage - 1.1e-3
        told = any(f'"{setting.zone}"' in text for text in plan.conflicts)
        if setting.shortage > by_itself.shortage + 0.51:
            assert told
    assert np.all(plan.depletion <= plan.untouched + 1e-9)
