"""Limits that conflict, and the least that would have to give way: worked by hand, and tried anew."""

from dataclasses import replace
from datetime import time

import pytest

from scheduler.timetable.conflict import conflict_of_week
from scheduler.timetable.limits import days_ahead
from scheduler.timetable.week import weekly_timetable
from tests.timetable.cases import FIRST, make_limits, make_outlook, make_zones, restriction, window
from tests.timetable.simulator import play

DAILY = {"day_choices": ("every n days",), "longest_interval": 1}


def conflict_of(outlook, groups, limits):
    zones = make_zones(groups)
    plan = weekly_timetable(FIRST, outlook, zones=zones, limits=limits)
    assert plan.conflicts
    return conflict_of_week(FIRST, outlook, zones=zones, limits=limits)


def thirsty(n_beds=1, n_days=7):
    """Return beds that need 30 min a day: 6 mm at 0.2 mm a minute."""
    return make_outlook(n_beds, n_days, et=6.0, depletion=12.0)


def test_hours_that_are_too_short_are_the_whole_conflict():
    limits = make_limits(windows=(window(time(5, 0), time(5, 10)),))
    found = conflict_of(thirsty(), [[0]], limits)
    assert found.limits == ("the watering hours",)
    # 10 min are there and 30 are needed less what the reserve still holds: 15 min more are too few.
    least = found.easings[0]
    assert least.change == "watering hours that end later by 30 min"
    assert play(least.plan, replace(limits, windows=(window(time(5, 0), time(5, 40)),))) == []


def test_two_outlets_and_short_hours_conflict_only_together():
    limits = make_limits(windows=(window(time(5, 0), time(5, 40)),), **DAILY)
    found = conflict_of(thirsty(2), [[0], [1]], limits)
    assert found.limits == ("the watering hours", "one outlet at a time")
    assert {easing.limit for easing in found.easings} == set(found.limits)
    assert all(not easing.plan.conflicts for easing in found.easings)


def test_a_tap_that_cannot_feed_both_is_named():
    limits = make_limits(
        windows=(window(time(5, 0), time(5, 40)),), one_zone_at_a_time=False, usable_flow=100.0, **DAILY
    )
    found = conflict_of(thirsty(2), [[0], [1]], limits)
    assert found.limits == ("the watering hours", "the flow of the tap")
    assert "a tap that gives 1.25 times as much" in {easing.change for easing in found.easings}


def test_a_ban_is_in_the_way_whatever_the_timer_does():
    limits = make_limits(restrictions=(restriction(days=()),))
    # 14 days at 1.5 mm are 21 mm; a day each week bridges the 10.5 mm between.
    outlook = make_outlook(n_days=days_ahead(FIRST, limits), et=1.5)
    found = conflict_of(outlook, [[0]], limits)
    assert found.limits == ('the restriction "order"',)
    assert found.easings[0].change == 'leave to water on Mon under "order"'


def test_an_exempt_restriction_is_never_in_the_way():
    limits = make_limits(
        windows=(window(time(5, 0), time(5, 10)),), restrictions=(restriction(days=(), exempt="yes"),)
    )
    assert conflict_of(thirsty(), [[0]], limits).limits == ("the watering hours",)


def test_a_timer_with_too_short_runs_and_few_starts():
    limits = make_limits(longest_run=10, starts_per_day=2, **DAILY)
    found = conflict_of(thirsty(), [[0]], limits)
    assert found.limits == ("the timer's starts a day", "the timer's longest run")
    changes = {easing.limit: easing.change for easing in found.easings}
    # Three starts of 10 min are the 30 min; so are two of 15.
    assert changes == {
        "the timer's starts a day": "3 starts a day",
        "the timer's longest run": "runs of up to 15 min",
    }


@pytest.mark.parametrize("minutes", [5, 12, 20])
def test_the_set_is_smallest_and_what_is_said_to_do_does(minutes):
    limits = make_limits(windows=(window(time(5, 0), time(5, minutes)),), longest_run=8, starts_per_day=1)
    found = conflict_of(thirsty(2), [[0], [1]], limits)
    assert found.limits
    for easing in found.easings:
        assert easing.plan.conflicts == ()
