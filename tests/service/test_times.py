"""The job's next runs through clock changes, leap days, sleep and clocks set back, and the ledger with it.

The rule is asked as the scheduler asks it, without waiting: what comes after this run, at this moment?
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduler.errors import RillbookError
from scheduler.service.serve import USUAL_HOUR, check_hour, job_trigger
from tests.service.conftest import MONDAY

DAY = timedelta(days=1)


def fires(timezone, first, n, *, at=USUAL_HOUR):
    """Return the next `n` runs after the midnight that begins a day."""
    trigger = job_trigger(at, timezone)
    moment = datetime(first.year, first.month, first.day, tzinfo=ZoneInfo(timezone))
    found, previous = [], None
    for _ in range(n):
        previous = trigger.get_next_fire_time(previous, moment)
        found.append(previous)
        moment = previous
    return found


@pytest.mark.parametrize(
    "timezone", ["Europe/Berlin", "America/Los_Angeles", "Australia/Lord_Howe", "Etc/GMT+1"]
)
def test_once_on_every_day_of_a_year(timezone):
    found = fires(timezone, date(2028, 1, 1), 366)
    assert [one.date() for one in found] == [date(2028, 1, 1) + k * DAY for k in range(366)]
    assert date(2028, 2, 29) in {one.date() for one in found}
    assert {one.time() for one in found} == {time(4, 10)}


# The day before a change, the day of it, and the hours that lie between their runs.
@pytest.mark.parametrize(
    ("timezone", "eve", "hours"),
    [
        ("Europe/Berlin", date(2026, 3, 28), 23),
        ("Europe/Berlin", date(2026, 10, 24), 25),
        ("America/Los_Angeles", date(2026, 3, 7), 23),
        ("America/Los_Angeles", date(2026, 10, 31), 25),
    ],
)
def test_hours_between_runs_over_a_change(timezone, eve, hours):
    before, after = (one.astimezone(UTC) for one in fires(timezone, eve, 2))
    assert after - before == timedelta(hours=hours)


def live(place, moments, *, timezone="Europe/Berlin"):
    """Let a machine look at its clock at some moments, as the scheduler does, and run what is due, once."""
    trigger = job_trigger(USUAL_HOUR, timezone)
    due = trigger.get_next_fire_time(None, moments[0])
    ran = []
    for moment in moments:
        if due > moment:
            continue
        last = due
        # Several missed runs are one (coalesce), however late (no limit of grace).
        while (following := trigger.get_next_fire_time(last, moment)) <= moment:
            last = following
        on = moment.astimezone(ZoneInfo(timezone)).date()
        place.day(on, timezone=timezone)
        ran.append(on)
        due = following
    return ran


def hourly(begin, hours):
    return [begin + timedelta(hours=k) for k in range(hours)]


def first_days(place):
    return [kept.entry.first_day for kept in place.tables()]


@pytest.mark.parametrize(
    ("timezone", "eve"),
    [("Europe/Berlin", date(2026, 10, 24)), ("America/Los_Angeles", date(2026, 10, 31))],
)
def test_autumn_change_has_one_table_a_day(place, timezone, eve):
    place.write(timezone=timezone)
    begin = datetime(eve.year, eve.month, eve.day, 6, tzinfo=UTC) - DAY
    ran = live(place, hourly(begin, 4 * 24), timezone=timezone)
    assert ran == first_days(place)
    assert ran == [ran[0] + k * DAY for k in range(len(ran))]
    assert ran[0] <= eve < ran[-1] - DAY


@pytest.mark.parametrize(
    ("timezone", "eve"),
    [("Europe/Berlin", date(2026, 3, 28)), ("America/Los_Angeles", date(2026, 3, 7))],
)
def test_spring_change_has_one_table_a_day(place, timezone, eve):
    place.write(timezone=timezone)
    text = place.plan.read_text(encoding="utf-8")
    place.plan.write_text(text.replace("on = 2026-04-15", "on = 2026-03-01"), encoding="utf-8")
    begin = datetime(eve.year, eve.month, eve.day, 6, tzinfo=UTC) - DAY
    ran = live(place, hourly(begin, 4 * 24), timezone=timezone)
    assert ran == first_days(place)
    assert ran == [ran[0] + k * DAY for k in range(len(ran))]
    assert ran[0] <= eve < ran[-1] - DAY


def test_three_days_asleep(place):
    begin = datetime(2026, 6, 15, 0, 0, tzinfo=UTC)
    awake = [*hourly(begin, 30), *hourly(begin + timedelta(hours=30 + 72), 30)]
    ran = live(place, awake)
    assert ran == [MONDAY, MONDAY + DAY, MONDAY + 4 * DAY, MONDAY + 5 * DAY]
    assert first_days(place) == ran


def test_clock_set_back_two_days_and_on(place):
    begin = datetime(2026, 6, 15, 0, 0, tzinfo=UTC)
    ran = live(place, [*hourly(begin, 76), *hourly(begin + timedelta(hours=28), 80)])
    # While the clock is back, what is due is still ahead; nothing is recorded twice.
    assert ran == [MONDAY + k * DAY for k in range(5)]
    assert first_days(place) == ran


def test_start_with_the_clock_set_back(place):
    for on in (MONDAY, MONDAY + DAY, MONDAY + 2 * DAY):
        place.day(on)
    before = place.count()
    # A service that starts while the clock is wrong finds that day's table there.
    place.day(MONDAY + DAY)
    after = place.count()
    assert after["timetable"] - before["timetable"] <= 1
    assert not place.day(MONDAY + DAY).recorded
    assert first_days(place)[-1] == MONDAY + 2 * DAY


@pytest.mark.parametrize("at", [time(1, 0), time(2, 30), time(2, 59)])
def test_hours_in_which_clocks_change_are_refused(at):
    with pytest.raises(RillbookError, match="clocks change"):
        check_hour(at)


@pytest.mark.parametrize("at", [time(0, 59), time(3, 0), time(4, 10), time(23, 59)])
def test_other_hours_are_taken(at):
    check_hour(at)
