"""The calendar read back by its own library: times, zones, names of events that last."""

import io
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from scheduler.publish.calendar import calendar_file
from tests.publish.tables import COMPUTED, table


def events(content):
    return Calendar.from_ical(content).events


def test_one_event_a_run():
    first, second = events(calendar_file(table(), stamp=COMPUTED))
    assert first.start.isoformat() == "2026-06-15T05:00:00+02:00"
    assert first.duration == timedelta(minutes=54)
    assert first["dtstart"].params["TZID"] == "Europe/Berlin"
    assert first["dtstamp"].dt == COMPUTED
    assert str(first["summary"]) == "north: 54 min of water"
    assert first["uid"] != second["uid"]
    assert second.start.date() == date(2026, 6, 18)


def test_description_holds_bed_minutes():
    text = str(events(calendar_file(table(), stamp=COMPUTED))[0]["description"])
    assert "tall bed: 54 min" in text
    assert "low bed: shut after 30 of 54 min" in text
    assert "opens no valve" in text


def test_lines_are_as_the_standard_asks():
    content = calendar_file(table(garden="Grüner Garten " * 9), stamp=COMPUTED)
    lines = content.split(b"\r\n")
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert lines[-2:] == [b"END:VCALENDAR", b""]
    assert b"\n" not in content.replace(b"\r\n", b"")
    # RFC 5545, section 3.1: no line longer than 75 octets.
    assert max(len(line) for line in lines) <= 75
    assert b"METHOD" not in content
    assert b"DTSTAMP:20260615T021000Z" in lines
    assert b"REFRESH-INTERVAL;VALUE=DURATION:PT6H" in lines
    assert b"BEGIN:VTIMEZONE" in lines


def test_names_last_when_a_run_moves_or_grows():
    before = events(calendar_file(table(), stamp=COMPUTED))
    after = events(calendar_file(table(starts=("04:30",), minutes=60), stamp=COMPUTED))
    assert [event["uid"] for event in before] == [event["uid"] for event in after]
    tomorrow = table(date(2026, 6, 16), days=(2,))
    assert events(calendar_file(tomorrow, stamp=COMPUTED))[0]["uid"] == before[1]["uid"]


def test_names_differ_between_gardens_zones_and_runs():
    made = [
        table(starts=("04:00", "05:00")),
        table(starts=("04:00", "05:00"), zone="south"),
        table(starts=("04:00", "05:00"), garden="Other"),
    ]
    names = [str(event["uid"]) for one in made for event in events(calendar_file(one, stamp=COMPUTED))]
    assert len(names) == len(set(names)) == 12


def test_same_table_same_bytes():
    assert calendar_file(table(), stamp=COMPUTED) == calendar_file(table(), stamp=COMPUTED)


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/Los_Angeles", "Etc/GMT+1", "Asia/Kathmandu"])
@pytest.mark.parametrize("first", [date(2026, 3, 8), date(2026, 10, 25), date(2028, 2, 29)])
def test_times_come_back_whatever_the_clock_does(zone, first):
    made = table(first, timezone=zone, starts=("05:00",), days=(0, 1, 6))
    read = events(calendar_file(made, stamp=COMPUTED))
    assert [event.start.astimezone(UTC) for event in read] == [
        run.begins.astimezone(UTC) for run in made.zones[0].runs
    ]


def test_week_without_a_run_is_an_empty_calendar():
    content = calendar_file(table(days=()), stamp=COMPUTED)
    assert events(content) == []
    assert Calendar.from_ical(content)["version"] == "2.0"


def test_stamp_is_written_in_utc():
    local = datetime(2026, 6, 15, 7, 55, tzinfo=ZoneInfo("Asia/Kathmandu"))
    assert b"DTSTAMP:20260615T021000Z" in calendar_file(table(), stamp=local)


@pytest.mark.parametrize("zone", ["Europe/Berlin", "America/Los_Angeles", "Australia/Sydney"])
def test_rules_of_the_clock_are_read_alike_by_another_library(zone):
    """The VTIMEZONE as dateutil reads it gives the offsets of the time zone database."""
    from dateutil.tz import tzical

    content = calendar_file(table(date(2026, 3, 5), timezone=zone), stamp=COMPUTED).decode()
    read = tzical(io.StringIO(content)).get(zone)
    noons = [datetime(2026, 1, 1, 12) + timedelta(days=n) for n in range(365)]  # noqa: DTZ001 - given below
    expected = [noon.replace(tzinfo=ZoneInfo(zone)).utcoffset() for noon in noons]
    assert [noon.replace(tzinfo=read).utcoffset() for noon in noons] == expected
