"""Patterns that stay for weeks, against a calendar, and the hours that their days share."""

from datetime import time, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.timetable.lasting import (
    LastingPattern,
    LastingRoom,
    hours_in_common,
    lasting_patterns,
    weekdays_used,
)
from scheduler.timetable.placing import WeekClock
from scheduler.timetable.windows import watering_hours
from tests.builders import EVERY_DAY, make_timer
from tests.timetable.cases import FIRST, restriction, window


def runs_of(pattern, n_days):
    """Return the days of a pattern, counted from the Monday on which it begins."""
    if pattern.weekdays is not None:
        return [day for day in range(n_days) if pattern.weekdays[day % 7]]
    return list(range(pattern.offset, n_days, pattern.interval))


BOTH = lasting_patterns(make_timer(longest_interval=10))


def test_a_timer_of_weekdays_holds_every_set_of_them_once():
    patterns = lasting_patterns(make_timer(day_choices=("weekdays",)))
    assert len(patterns) == 2**7 - 1
    assert len({pattern.weekdays for pattern in patterns}) == len(patterns)


def test_a_timer_of_intervals_holds_each_from_each_first_day():
    patterns = lasting_patterns(make_timer(day_choices=("every n days",), longest_interval=4))
    found = {(pattern.interval, pattern.offset) for pattern in patterns}
    assert found == {(n, first) for n in range(1, 5) for first in range(n)}
    assert len(patterns) == len(found)


def test_what_weekdays_say_is_not_said_by_an_interval_too():
    assert {p.interval for p in BOTH if p.weekdays is None} == {2, 3, 4, 5, 6, 8, 9, 10}


def test_fewest_runs_come_first_then_the_evenest():
    rates = [pattern.rate for pattern in BOTH]
    assert rates == sorted(rates)
    three = [pattern for pattern in BOTH if pattern.weekdays and sum(pattern.weekdays) == 3]
    assert three[0].weekdays == (True, False, True, False, True, False, False)


@pytest.mark.parametrize("pattern", BOTH[::7], ids=str)
def test_rate_and_gap_are_those_of_the_days(pattern):
    n_days = 7 * 8 * 9 * 10 * pattern.gap
    days = np.array(runs_of(pattern, n_days))
    assert len(days) / n_days == pytest.approx(pattern.rate, abs=2e-3)
    assert np.diff(days).max() == pattern.gap


@given(st.sampled_from(BOTH), st.integers(1, 12))
def test_weekdays_used_are_those_of_the_calendar(pattern, n_weeks):
    (used,) = weekdays_used([pattern], n_weeks)
    assert {day % 7 for day in runs_of(pattern, 7 * n_weeks)} == set(np.flatnonzero(used))


@st.composite
def limits(draw):
    days = st.lists(st.sampled_from(EVERY_DAY), min_size=1, unique=True)
    hours = st.integers(0, 23).map(lambda hour: time(hour, 0))
    windows = [window(*draw(st.lists(hours, min_size=2, max_size=2, unique=True)), days=draw(days))]
    begins = FIRST + timedelta(days=draw(st.integers(0, 20)))
    rules = [
        restriction(
            begins=begins,
            ends=begins + timedelta(days=draw(st.integers(0, 20))),
            days=tuple(draw(days)),
            begin=draw(st.sampled_from([None, time(5, 0)])),
            until=time(8, 0),
        )
    ]
    return windows, rules


@given(limits(), st.integers(1, 4))
def test_hours_in_common_are_the_minutes_of_every_date(limit, n_weeks):
    windows, rules = limit
    hours = watering_hours(FIRST, 7 * n_weeks, shortest=1, windows=windows, restrictions=rules)
    for day, spans in enumerate(hours_in_common(hours)):
        shared = {minute for a, b in spans for minute in range(a, b)}
        dates = [hours.spans[day + 7 * week] for week in range(n_weeks)]
        each = [{minute for a, b in one for minute in range(a, b)} for one in dates]
        assert shared == set.intersection(*each)


def test_the_longest_runs_are_those_of_the_clock():
    timer = make_timer(starts_per_day=2, longest_run=90)
    spans = (((240, 300),), ((240, 300),), (), ((300, 420),), ((240, 420),), ((240, 300),), ((240, 420),))
    patterns = lasting_patterns(timer)
    used = weekdays_used(patterns, 5)
    longest = LastingRoom(timer).longest(used, spans)
    for number in range(0, len(patterns), 5):
        clock = WeekClock(spans, capacity=0.0, one_at_a_time=True)
        assert tuple(longest[number]) == clock.longest_runs(used[number], timer=timer, flow=0.0)


def test_a_day_without_hours_leaves_no_room():
    timer = make_timer(starts_per_day=3)
    spans = (((240, 300),),) * 6 + ((),)
    daily = LastingPattern((True,) * 7, 0, 0)
    longest = LastingRoom(timer).longest(weekdays_used([daily], 2), spans)
    assert longest.tolist() == [[0, 0, 0]]
