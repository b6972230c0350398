"""The simulated timer finds what is broken: every kind of fault, in a week that is sound without it."""

from datetime import date, time, timedelta
from types import SimpleNamespace

import pytest

from scheduler.timetable.week import ZoneSetting
from tests.timetable.cases import FIRST, make_limits, restriction, window
from tests.timetable.simulator import play, run_days
from tests.timetable.wall_clock import changed_days

ALL_DAY = (window(time(0, 0), time(0, 0)),)
LOS_ANGELES = "America/Los_Angeles"
#: Mondays before the Sundays on which clocks change there: 02:00 to 03:00 skipped, 01:00 to 02:00 twice.
FORWARD, BACK = date(2025, 3, 3), date(2025, 10, 27)
DAILY = ((True,) * 7, "every day")


def setting(zone="one", days=DAILY, begins=(180,), minutes=20, flow=60.0):
    return ZoneSetting(
        zone=zone,
        outlet=1,
        mask=days[0],
        days=days[1],
        begins=tuple(begins),
        minutes=minutes,
        flow=flow,
        shortage=0.0,
    )


def faults(*settings, first=FIRST, timezone="UTC", **limits):
    plan = SimpleNamespace(first=first, settings=settings)
    return play(plan, make_limits(**({"windows": ALL_DAY} | limits)), timezone)


def days(*numbers, told):
    return tuple(number in numbers for number in range(7)), told


def test_a_sound_week_has_no_fault():
    both = (setting("one", begins=(180, 240)), setting("two", days(0, 3, told="Mon Thu"), begins=(200, 300)))
    assert faults(*both) == []
    assert faults(setting(days=days(told="no run this week"), begins=(), minutes=0)) == []


#: What is wrong, settings, limits, and words of the report.
BROKEN = {
    "two outlets": ([setting("one"), setting("two", begins=(199,))], {}, "open together"),
    "the tap": (
        [setting("one"), setting("two", begins=(199,))],
        {"one_zone_at_a_time": False, "usable_flow": 119.0},
        "more than the tap gives",
    ),
    "before the window": ([setting(begins=(179,))], {"windows": (window(),)}, "on at 2025-06-02 02:59"),
    "after the window": ([setting(begins=(401,))], {"windows": (window(),)}, "on at 2025-06-02 07:00"),
    "the evening before a window over midnight": (
        [setting(begins=(60,))],
        {"windows": (window(time(22, 0), time(5, 0), days=("Mon",)),)},
        "on at 2025-06-02 01:00",
    ),
    "a day of a restriction": (
        [setting()],
        {"restrictions": [restriction(days=("Tue",))]},
        "on at 2025-06-02",
    ),
    "hours of a restriction": (
        [setting()],
        {"restrictions": [restriction(begin=time(4, 0), until=time(9, 0), exempt="unknown")]},
        "on at 2025-06-02 03:00",
    ),
    "starts": ([setting(begins=(180, 220, 260, 300))], {"starts_per_day": 3}, "4 starts a day"),
    "step": ([setting(minutes=21)], {"step": 5}, "no whole number of steps"),
    "too short": ([setting(minutes=4)], {"shortest_run": 5}, "a run of 4 min"),
    "too long": ([setting(minutes=121)], {}, "a run of 121 min"),
    "its own run": ([setting(begins=(180, 190))], {}, "open twice"),
    "no rest": ([setting(begins=(180, 219))], {}, "no rest before 2025-06-02 03:39"),
    "its own next morning": ([setting(begins=(0, 1430))], {}, "open twice"),
    "the next week's first run": (
        [
            setting("one", days(6, told="Sun"), begins=(1430,)),
            setting("two", days(0, told="Mon"), begins=(5,)),
        ],
        {},
        "open together",
    ),
    "order": ([setting(begins=(300, 180))], {}, "out of order"),
    "25 o'clock": ([setting(begins=(1500,))], {}, "no clock shows"),
    "days without a start": ([setting(begins=(), minutes=0)], {}, "starts ()"),
    "weekdays on a timer without": (
        [setting(days=days(0, 2, told="Mon Wed"))],
        {"day_choices": ("every n days",)},
        "cannot hold",
    ),
    "an interval on a timer without": (
        [setting(days=days(0, 2, 4, 6, told="every 2 days from Mon 2 Jun"))],
        {"day_choices": ("weekdays",)},
        "cannot hold",
    ),
    "too long an interval": (
        [setting(days=days(0, 5, told="every 5 days from Mon 2 Jun"))],
        {"longest_interval": 4},
        "cannot hold",
    ),
    "a date that is another weekday": (
        [setting(days=days(0, 5, told="every 5 days from Tue 2 Jun"))],
        {},
        "cannot hold",
    ),
    "other days than told": ([setting(days=days(0, 3, told="Mon Fri"))], {}, "gives other days"),
    "other days than counted": (
        [setting(days=days(0, 4, told="every 3 days from Mon 2 Jun"))],
        {},
        "gives other days",
    ),
}


@pytest.mark.parametrize("name", BROKEN)
def test_every_kind_of_fault_is_found(name):
    settings, limits, words = BROKEN[name]
    assert any(words in text for text in faults(*settings, **limits)), faults(*settings, **limits)


def test_an_exempt_restriction_and_a_zone_beyond_the_tap_are_no_faults():
    assert faults(setting(), restrictions=[restriction(days=(), exempt="yes")]) == []
    # A zone that alone takes more than the tap may still run by itself.
    assert faults(setting(flow=5000.0)) == []


def test_days_are_counted_on_over_the_new_year():
    first = date(2025, 12, 29)
    counted = days(1, 4, told="every 3 days from Tue 30 Dec")
    assert faults(setting(days=counted), first=first) == []
    anew = days(1, 3, 6, told="every 3 days from Tue 30 Dec")  # As if the count began again on 1 January.
    assert "gives other days" in faults(setting(days=anew), first=first)[0]
    assert faults(setting(days=counted), first=date(2026, 1, 5)) != []
    on = run_days("every 3 days from Tue 30 Dec", date(2026, 1, 5), make_limits().timer)
    assert on == [date(2026, 1, 5), date(2026, 1, 8), date(2026, 1, 11)]


def test_a_skipped_start_never_comes_and_a_repeated_one_comes_twice():
    lost = faults(setting(begins=(150,)), first=FORWARD, timezone=LOS_ANGELES)
    assert lost == ["one: its start at 2025-03-09 02:30:00 never comes"]
    twice = faults(setting(begins=(90,)), first=BACK, timezone=LOS_ANGELES)
    assert twice == ["one: its start at 2025-11-02 01:30:00 comes 2 times"]
    on_saturday = days(5, told="Sat")
    assert faults(setting(days=on_saturday, begins=(150,)), first=FORWARD, timezone=LOS_ANGELES) == []


def test_a_run_across_the_skipped_hour_is_found_and_one_that_ends_with_it_is_not():
    found = faults(setting(begins=(101,)), first=FORWARD, timezone=LOS_ANGELES)
    assert "one: the clocks change during its run of 2025-03-09 01:41:00" in found
    assert faults(setting(begins=(100,)), first=FORWARD, timezone=LOS_ANGELES) == []
    assert faults(setting(begins=(180,)), first=FORWARD, timezone=LOS_ANGELES) == []


def test_a_run_into_the_repeated_hour_and_past_its_end_is_found():
    found = faults(setting(begins=(50,), minutes=80), first=BACK, timezone=LOS_ANGELES)
    assert found == ["one: the clocks change during its run of 2025-11-02 00:50:00"]


def test_a_rest_that_the_skipped_hour_takes_away_is_found():
    assert faults(setting(begins=(100, 180)), first=FORWARD, timezone=LOS_ANGELES) == [
        "one: no rest before 2025-03-09 03:00:00"
    ]
    assert faults(setting(begins=(100, 200)), first=FORWARD, timezone=LOS_ANGELES) == []


def test_zones_meet_in_real_time_though_the_wall_clock_keeps_them_apart():
    # 00:50 for 80 min lasts to what the clock shows as 01:10 for the second time.
    pair = (setting("one", begins=(50,), minutes=80), setting("two", begins=(65,), minutes=5))
    assert any("open together" in text for text in faults(*pair, first=BACK, timezone=LOS_ANGELES))


def touches(begin, minutes, hole):
    return begin < hole[1] and begin + minutes > hole[0]


@pytest.mark.parametrize(
    ("timezone", "first", "hole", "skipped"),
    [
        (LOS_ANGELES, FORWARD, (120, 180), True),
        (LOS_ANGELES, BACK, (60, 120), False),
        ("Australia/Lord_Howe", date(2025, 9, 29), (120, 150), True),
        ("Australia/Lord_Howe", date(2025, 3, 31), (90, 120), False),
    ],
)
def test_just_the_runs_that_a_change_harms_are_found(timezone, first, hole, skipped):
    """Every start of a night against what the change does, reckoned by hand."""
    sunday = first + timedelta(days=6)
    assert sunday in changed_days(sunday.year, timezone)
    for minutes in (1, 25, 75):
        for begin in range(40, 200):
            found = faults(
                setting(days=days(6, told="Sun"), begins=(begin,), minutes=minutes),
                first=first,
                timezone=timezone,
            )
            lost = skipped and hole[0] <= begin < hole[1]
            across = skipped and begin < hole[0] < begin + minutes
            twice = not skipped and hole[0] <= begin < hole[1]
            # In the repeated hour the clock jumps back at its first end.
            jumps = not skipped and begin < hole[1] < begin + minutes
            assert bool(found) == (lost or across or twice or jumps), (begin, minutes, found)
            # So a plan that keeps these minutes free is harmed by nothing.
            assert not found or touches(begin, minutes, hole)
