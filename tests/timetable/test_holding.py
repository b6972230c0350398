"""What a timer, its hours and restrictions say to a fixed timetable."""

from datetime import date, time, timedelta

import numpy as np
import pytest

from scheduler.timetable.fixed import FixedSetting
from scheduler.timetable.holding import cannot_hold
from tests.timetable.cases import make_limits, make_zones, restriction, window

MONDAY = date(2025, 6, 2)
MWF = frozenset({"Mon", "Wed", "Fri"})


def against(days, starts=1, minutes=20, *, n_zones=1, n_days=28, in_use=None, **limits):
    zones = make_zones([[number] for number in range(n_zones)])
    settings = [FixedSetting(zone.zone.name, MONDAY, days, starts, minutes) for zone in zones]
    used = np.ones((n_days, n_zones), dtype=bool) if in_use is None else in_use
    return cannot_hold(settings, zones, limits=make_limits(**limits), first=MONDAY, in_use=used)


@pytest.mark.parametrize("days", [1, 3, MWF, frozenset({"Tue"}), None])
def test_what_the_timer_holds_has_nothing_against_it(days):
    assert against(days) == ()


@pytest.mark.parametrize(
    ("days", "choices", "text"),
    [
        (MWF, ("every n days",), "the timer cannot be set by weekdays"),
        (3, ("weekdays",), "the timer cannot be set by intervals of days"),
        (9, ("weekdays", "every n days"), "runs every 9 days, and the timer counts to 7"),
        # One weekday is every seventh day, all of them are every day, and the other way round.
        (frozenset({"Tue"}), ("every n days",), None),
        (frozenset({"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"}), ("every n days",), None),
        (1, ("weekdays",), None),
        (7, ("weekdays",), None),
    ],
)
def test_days_that_the_timer_does_not_know(days, choices, text):
    assert against(days, day_choices=choices) == (() if text is None else (text,))


def test_starts_lengths_and_steps():
    assert against(1, 4, 12, starts_per_day=3, longest_run=10, step=5) == (
        "4 runs a day, and the timer has 3 starts",
        "runs of 12 min, and the timer's longest is 10 min",
        "runs of 12 min, and the timer goes in steps of 5 min",
    )
    assert against(1, 1, 2, shortest_run=3) == ("runs of 2 min, and the timer's shortest is 3 min",)


def test_days_without_watering_hours_are_counted():
    limit = restriction(begins=date(2025, 6, 9), ends=date(2025, 6, 22), days=("Mon", "Thu"), exempt="no")
    # Wed and Fri of two weeks.
    assert against(MWF, restrictions=(limit,)) == (
        "4 run days fall on days without watering hours, the first on 2025-06-11",
    )
    only_sunday = (window(days=("Sun",)),)
    assert against(frozenset({"Sun"}), windows=only_sunday) == ()


def test_runs_that_find_no_room_are_told_by_zone():
    hour = (window(time(3, 0), time(4, 0)),)
    assert against(1, 1, 30, n_zones=2, windows=hour) == ()
    (text,) = against(1, 1, 40, n_zones=2, windows=hour)
    assert text.startswith(
        "its runs find no room in the watering hours in 4 weeks, the first from 2025-06-02"
    )
    assert text.count("(zone ") == 1
    (text,) = against(1, 1, 70, n_zones=2, windows=hour)
    assert "(zone" not in text


def test_a_zone_where_nothing_grows_takes_no_room():
    hour = (window(time(3, 0), time(4, 0)),)
    used = np.ones((28, 2), dtype=bool)
    used[:14, 1] = False
    (text,) = against(1, 1, 40, n_zones=2, windows=hour, in_use=used)
    assert f"in 2 weeks, the first from {MONDAY + timedelta(days=14)}" in text
