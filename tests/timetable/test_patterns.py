"""Day patterns that a timer can hold."""

from datetime import timedelta
from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from scheduler.timetable.patterns import day_patterns
from tests.builders import make_timer
from tests.timetable.cases import FIRST
from tests.timetable.simulator import settable

ALL = [True] * 7
INTERVALS = make_timer(day_choices=("every n days",), longest_interval=7)


def days_of(mask):
    return tuple(number for number, runs in enumerate(mask) if runs)


def test_weekdays_give_every_set_of_allowed_days_once():
    allowed = [True, False, True, True, False, False, True]
    masks = [mask for mask, _ in day_patterns(FIRST, allowed, make_timer(day_choices=("weekdays",)))]
    wanted = {
        m
        for m in product((False, True), repeat=7)
        if all(a or not r for a, r in zip(allowed, m, strict=True))
    }
    assert set(masks) == wanted
    assert len(masks) == 2**4


def test_no_run_comes_first_then_fewer_runs_before_more_and_earlier_days_before_later():
    masks = [mask for mask, _ in day_patterns(FIRST, ALL, make_timer())]
    assert masks[0] == (False,) * 7
    assert [days_of(mask) for mask in masks[1:8]] == [(n,) for n in range(7)]
    assert days_of(masks[8]) == (0, 1)
    counts = [sum(mask) for mask in masks]
    assert counts == sorted(counts)


def test_intervals_alone_give_periodic_days_and_say_from_when():
    patterns = dict(day_patterns(FIRST, ALL, INTERVALS))
    told = {text: days_of(mask) for mask, text in patterns.items()}
    assert told["every day"] == tuple(range(7))
    assert told["every 3 days from Wed 4 Jun"] == (2, 5)
    assert told["every 3 days from Mon 2 Jun"] == (0, 3, 6)
    assert told["every 7 days from Sun 8 Jun"] == (6,)
    assert (False, True, True, False, False, False, False) not in patterns


def test_a_longer_interval_than_a_week_gives_single_days():
    timer = make_timer(day_choices=("every n days",), longest_interval=10)
    told = {text: days_of(mask) for mask, text in day_patterns(FIRST, ALL, timer)}
    # Intervals that look alike within one week are one pattern, told by the shortest of them.
    assert told["every 6 days from Tue 3 Jun"] == (1,)
    assert told["every 4 days from Thu 5 Jun"] == (3,)
    assert len([days for days in told.values() if days == (1,)]) == 1


def test_intervals_that_meet_a_forbidden_day_are_left_out():
    allowed = [True] * 5 + [False] * 2
    masks = [mask for mask, _ in day_patterns(FIRST, allowed, INTERVALS)]
    assert not any(mask[5] or mask[6] for mask in masks)
    assert (True, False, False, False, True, False, False) in masks  # every 4 days
    assert (True, False, False, True, False, False, True) not in masks  # every 3 days meets Sunday


def test_weekday_text_is_in_the_order_of_the_week_ahead():
    thursday = FIRST + timedelta(days=3)
    told = dict(day_patterns(thursday, ALL, make_timer(day_choices=("weekdays",))))
    assert told[(True, False, False, False, True, False, False)] == "Thu Mon"
    assert told[(True,) * 7] == "every day"
    assert told[(False,) * 7] == "no run this week"


@given(st.lists(st.booleans(), min_size=7, max_size=7), st.integers(1, 9))
def test_intervals_are_just_the_masks_that_some_interval_makes(allowed, longest):
    timer = make_timer(day_choices=("every n days",), longest_interval=longest)
    found = {mask for mask, _ in day_patterns(FIRST, allowed, timer)}
    wanted = {
        mask
        for mask in product((False, True), repeat=7)
        if all(a or not r for a, r in zip(allowed, mask, strict=True))
        and (not any(mask) or settable(mask, timer))
    }
    assert found == wanted
