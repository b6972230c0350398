"""Which minutes a change of clocks takes from which date, against dates that are past, and against a walk."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.season.clock_changes import clock_changes
from scheduler.season.field import FieldNotes
from scheduler.season.setup import set_up, timer_limits
from scheduler.timetable.limits import hours_ahead
from scheduler.timetable.windows import ClockChange
from tests.builders import EVERY_DAY, make_daily, make_garden
from tests.timetable.cases import window

JANUARY, DECEMBER = date(2025, 1, 1), date(2025, 12, 31)


@pytest.mark.parametrize(
    ("timezone", "expected"),
    [
        (
            "America/Los_Angeles",
            [(date(2025, 3, 9), 120, 180, True), (date(2025, 11, 2), 60, 120, False)],
        ),
        # Half an hour, and autumn comes first.
        (
            "Australia/Lord_Howe",
            [(date(2025, 4, 6), 90, 120, False), (date(2025, 10, 5), 120, 150, True)],
        ),
        # At midnight: the last hour of a Saturday comes twice, the first of a Sunday not at all.
        (
            "America/Santiago",
            [(date(2025, 4, 5), 1380, 1440, False), (date(2025, 9, 7), 0, 60, True)],
        ),
        # An offset from UTC that is the greater in winter is a change all the same.
        ("Europe/Dublin", [(date(2025, 3, 30), 60, 120, True), (date(2025, 10, 26), 60, 120, False)]),
        ("Etc/GMT+8", []),
        ("Asia/Kathmandu", []),
    ],
)
def test_the_changes_of_a_past_year(timezone, expected):
    assert clock_changes(JANUARY, DECEMBER, timezone) == tuple(ClockChange(*change) for change in expected)


def test_a_day_that_never_was():
    # Samoa went from Thursday 29 to Saturday 31 December 2011.
    assert clock_changes(date(2011, 12, 1), date(2012, 1, 31), "Pacific/Apia") == (
        ClockChange(date(2011, 12, 30), 0, 1440, True),
    )


def test_only_the_dates_asked_for():
    sunday = date(2025, 3, 9)
    one = clock_changes(sunday, sunday, "America/Los_Angeles")
    assert [change.on for change in one] == [sunday]
    before, after = sunday - timedelta(days=1), sunday + timedelta(days=1)
    assert clock_changes(JANUARY, before, "America/Los_Angeles") == ()
    assert clock_changes(after, date(2025, 11, 1), "America/Los_Angeles") == ()


ZONES = [
    *("America/Los_Angeles", "America/Havana", "America/Santiago", "America/Nuuk", "Africa/Cairo"),
    *("Africa/Casablanca", "Atlantic/Azores", "Australia/Lord_Howe", "Pacific/Auckland", "Asia/Tehran"),
    *("Europe/Dublin", "Pacific/Apia", "Asia/Kolkata"),
]


def walked(day, timezone):
    """Return the wall minutes of a date that never come, and those that come twice, by a walk through UTC."""
    zone, seen = ZoneInfo(timezone), {}
    moment = datetime.combine(day - timedelta(days=1), time(), UTC)
    while moment.date() <= day + timedelta(days=1):
        wall = moment.astimezone(zone)
        if wall.date() == day:
            minute = wall.hour * 60 + wall.minute
            seen[minute] = seen.get(minute, 0) + 1
        moment += timedelta(minutes=1)
    return (
        {minute for minute in range(1440) if minute not in seen},
        {minute for minute, times in seen.items() if times > 1},
    )


def minutes_of(changes, *, skipped):
    return {m for change in changes if change.skipped is skipped for m in range(change.begin, change.until)}


@settings(max_examples=12, deadline=None)
@given(st.sampled_from(ZONES), st.integers(1990, 2025), st.data())
def test_the_minutes_are_those_of_a_walk(timezone, year, data):
    changes = clock_changes(date(year, 1, 1), date(year, 12, 31), timezone)
    days = [change.on for change in changes] + [date(year, 7, 1)]
    day = data.draw(st.sampled_from(days))
    here = clock_changes(day, day, timezone)
    assert here == tuple(change for change in changes if change.on == day)
    assert (minutes_of(here, skipped=True), minutes_of(here, skipped=False)) == walked(day, timezone)


def test_a_garden_keeps_clear_of_the_changes_of_its_own_zone():
    garden = make_garden(windows=(window(time(0, 0), time(5, 0), days=EVERY_DAY),))
    clock = make_garden(
        site=garden.site.__class__(43.5, 120.0, "America/Los_Angeles"), windows=garden.windows
    )
    daily = make_daily(date(2024, 1, 1), 366 + 60)
    week = date(2025, 3, 3)
    plain = [hours_ahead(week, set_up(g, daily, FieldNotes()).limits).spans for g in (garden, clock)]
    assert plain[0] == (((0, 300),),) * 14
    # Sunday: to 02:00; the hour after the skipped one rests what was watered before it.
    assert plain[1] == (*(((0, 300),),) * 6, ((0, 120), (240, 300)), *(((0, 300),),) * 7)
    # The record ends on 29 February: the last table it allows sees the change that comes after.
    assert daily.dates[-1].item() == date(2025, 3, 1)
    assert timer_limits(clock, week, week).clock_changes == (ClockChange(date(2025, 3, 9), 120, 180, True),)
