"""Runs split between morning and evening: hours that both share, and what the later half does."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.timetable.limits import days_ahead
from scheduler.timetable.outlook import course_under
from scheduler.timetable.split import split_hours, split_outlook, with_evening_twins
from scheduler.timetable.week import weekly_timetable
from scheduler.timetable.windows import NOON, watering_hours
from tests.builders import EVERY_DAY
from tests.timetable.cases import FIRST, make_limits, make_outlook, make_zones, outlooks, restriction, window
from tests.timetable.simulator import play

TUESDAY = date(2025, 6, 3)
BOTH = (window(time(4), time(7)), window(time(18), time(20)))


def test_the_shift_that_leaves_most_room_is_taken():
    hours = split_hours(FIRST, make_limits(windows=BOTH))
    # 4:00 to 7:00 and 18:00 to 20:00 share 2 h, whether the twin comes 13 h or 14 h later.
    assert hours.shift in (13 * 60, 14 * 60)
    spans = watering_hours(
        FIRST, 7, shortest=1, windows=hours.limits.windows, restrictions=hours.limits.restrictions
    ).spans
    assert all(sum(b - a for a, b in day) == 120 for day in spans)
    assert hours.limits.timer.starts_per_day == 1


def test_days_of_an_order_alone_are_shared_and_its_hours_cut_them():
    order = restriction(days=("Tue", "Sat"), begin=time(19), until=time(5))
    hours = split_hours(FIRST, make_limits(windows=BOTH, restrictions=(order,)))
    # Left are 4:00 to 5:00 and 19:00 to 20:00.
    assert hours.shift == 15 * 60
    assert {(w.days, w.begin, w.until) for w in hours.limits.windows} == {
        (("Tue",), time(4), time(5)),
        (("Sat",), time(4), time(5)),
    }


@pytest.mark.parametrize(
    "limits",
    [
        make_limits(windows=BOTH[:1]),
        make_limits(windows=BOTH[1:]),
        make_limits(windows=BOTH, starts_per_day=1),
        make_limits(windows=BOTH, restrictions=(restriction(days=()),)),
        make_limits(windows=(window(time(4), time(4, 10)), window(time(18), time(20))), shortest_run=11),
    ],
)
def test_where_there_is_no_room_for_both_halves(limits):
    assert split_hours(FIRST, limits) is None


@pytest.mark.parametrize(
    ("late", "days"),
    [(0.0, [5.0, 10.0]), (0.5, [8.0, 10.0]), (1.0, [11.0, 10.0]), (0.25, [6.5, 10.0])],
)
def test_the_late_share_of_a_day_comes_after_its_use(late, days):
    # 6 mm are missing, 6 mm are given, 5 mm used a day: driest is what the early part leaves, plus 5 mm.
    outlook = replace(make_outlook(n_days=2, et=5.0, depletion=6.0), evening=late)
    course = course_under(outlook, np.array([[1.0, 0.0]]), np.array([[30.0]]))
    assert course.depletion[:, 0, 0] == pytest.approx(days)


def test_split_runs_carry_a_bed_over_a_gap_that_whole_runs_do_not():
    limits = make_limits(windows=BOTH, restrictions=(restriction(days=("Tue", "Sat")),))
    outlook = make_outlook(n_days=days_ahead(TUESDAY, limits), et=5.0, depletion=10.0, reserve=0.0)
    zones = make_zones([[0]])
    whole = weekly_timetable(TUESDAY, outlook, zones=zones, limits=limits)
    # From a Tuesday morning to a Saturday's 4 x 5 = 20 mm are used, and 16 may be missing.
    assert whole.settings[0].shortage == pytest.approx(4.0**2)
    hours = split_hours(TUESDAY, limits)
    split = weekly_timetable(TUESDAY, split_outlook(outlook), zones=zones, limits=hours.limits)
    # From a Tuesday evening it is 15 mm alone. With x mm each half Tuesday night lacks 15 - 2 x, Friday's
    # 30 - 2 x <= 16, so x >= 7; Saturday night lacks 35 - 4 x, Monday's 45 - 4 x <= 16, so x >= 7.25 mm:
    # 36.25 min, and the timer's step makes it 37.
    assert split.settings[0].minutes == 37
    assert split.settings[0].shortage == 0.0
    with_twins = with_evening_twins(split, hours.shift)
    assert len(with_twins.settings[0].begins) == 2
    assert with_twins.settings[0].minutes_per_day == 74
    assert with_twins.bed_minutes.tolist() == [74]


@st.composite
def split_windows(draw):
    """A morning and an evening, each an hour at least and six hours apart at least."""
    first = draw(st.integers(0, 9))
    last = first + draw(st.integers(1, 2))
    evening = draw(st.integers(max(18, last + 6), 22))
    days = tuple(draw(st.sets(st.sampled_from(EVERY_DAY), min_size=1)))
    return (window(time(first), time(last), days), window(time(evening), time(evening + 1), days))


ORDERS = [(), (restriction(days=("Mon", "Thu")),), (restriction(begin=time(18, 30), until=time(8)),)]


@given(
    outlooks(n_beds=3, n_days=14),
    split_windows(),
    st.sampled_from(ORDERS),
    st.booleans(),
    st.integers(0, 6),
)
def test_a_timer_plays_split_runs_within_the_rules(outlook, windows, orders, alone, shift):
    first = FIRST + timedelta(days=shift)
    limits = make_limits(
        windows=windows,
        restrictions=orders,
        usable_flow=130.0,
        one_zone_at_a_time=alone,
        longest_run=20,
        starts_per_day=4,
    )
    hours = split_hours(first, limits)
    if hours is None:
        assert orders
        return
    zones = make_zones([[0], [1], [2]])
    plan = weekly_timetable(first, split_outlook(outlook), zones=zones, limits=hours.limits)
    whole = with_evening_twins(plan, hours.shift)
    assert play(whole, limits) == []
    for setting in whole.settings:
        early = [begin for begin in setting.begins if begin < NOON]
        assert [begin + hours.shift for begin in early] == [b for b in setting.begins if b >= NOON]
