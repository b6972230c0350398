"""Runs at instants: on the garden's clock, over clock changes, and as JSON."""

import json
from datetime import UTC, date, datetime

import pytest

from scheduler.publish.timetable import ADVICE, timetable_json, zone_json
from tests.publish.tables import COMPUTED, table


def test_runs_are_on_the_clock_of_the_garden():
    north, sown = table().zones
    assert [run.begins.isoformat() for run in north.runs] == [
        "2026-06-15T05:00:00+02:00",
        "2026-06-18T05:00:00+02:00",
    ]
    assert north.runs[0].ends.isoformat() == "2026-06-15T05:54:00+02:00"
    assert sown.runs == ()
    assert [bed.bed for bed in north.beds] == ["tall bed", "low bed"]


# Clock changes of the European Union (last Sundays of March and October, 01:00 UTC) and of the United
# States (second Sunday of March, first of November, 02:00 local); a start in the hour left out is as long
# after midnight as it says, one in the doubled hour is the first (RFC 5545, section 3.3.5).
@pytest.mark.parametrize(
    ("zone", "first", "start", "begins"),
    [
        ("Europe/Berlin", date(2026, 3, 29), "01:30", "2026-03-29T00:30:00+00:00"),
        ("Europe/Berlin", date(2026, 3, 29), "02:30", "2026-03-29T01:30:00+00:00"),
        ("Europe/Berlin", date(2026, 3, 29), "03:30", "2026-03-29T01:30:00+00:00"),
        ("Europe/Berlin", date(2026, 10, 25), "01:30", "2026-10-24T23:30:00+00:00"),
        ("Europe/Berlin", date(2026, 10, 25), "02:30", "2026-10-25T00:30:00+00:00"),
        ("Europe/Berlin", date(2026, 10, 25), "03:30", "2026-10-25T02:30:00+00:00"),
        ("America/Los_Angeles", date(2026, 3, 8), "05:00", "2026-03-08T12:00:00+00:00"),
        ("America/Los_Angeles", date(2026, 11, 1), "05:00", "2026-11-01T13:00:00+00:00"),
        ("Etc/GMT+1", date(2028, 2, 29), "05:00", "2028-02-29T06:00:00+00:00"),
    ],
)
def test_start_on_a_day_of_change(zone, first, start, begins):
    run = table(first, starts=(start,), days=(0,), timezone=zone).zones[0].runs[0]
    assert run.begins.astimezone(UTC).isoformat() == begins
    assert (run.ends.astimezone(UTC) - run.begins.astimezone(UTC)).total_seconds() == 54 * 60


def test_run_over_a_change_takes_its_minutes():
    run = table(date(2026, 10, 25), starts=("02:40",), minutes=40, days=(0,)).zones[0].runs[0]
    assert run.begins.isoformat() == "2026-10-25T02:40:00+02:00"
    assert run.ends.isoformat() == "2026-10-25T02:20:00+01:00"


def test_runs_of_a_day_are_numbered():
    runs = table(starts=("04:00", "05:00")).zones[0].runs
    assert [(run.date.day, run.number) for run in runs] == [(15, 1), (15, 2), (18, 1), (18, 2)]


def test_json_is_whole_and_says_what_it_is():
    made = json.loads(timetable_json(table()))
    assert made["schema"] == "rillbook.timetable/1"
    assert made["advice"] == ADVICE
    assert "opens no valve" in made["advice"]
    assert (made["first_day"], made["last_day"]) == ("2026-06-15", "2026-06-21")
    assert datetime.fromisoformat(made["computed_at"]) == COMPUTED
    assert made["zones"][0]["runs"][1] == {
        "begins": "2026-06-18T05:00:00+02:00",
        "ends": "2026-06-18T05:54:00+02:00",
        "run_time_min": 54,
        "volume_l": 61.5,
    }
    assert made["zones"][1] == {
        "zone": "sown",
        "outlet": 2,
        "days": "no run this week",
        "starts": [],
        "run_time_min": 0,
        "volume_l": 0.0,
        "beds": [{"bed": "seedlings", "needs_min": 0, "gets_min": 0}],
        "runs": [],
    }


def test_a_zone_alone_says_the_same():
    whole = table()
    alone = json.loads(zone_json(whole, whole.zones[0]))
    both = json.loads(timetable_json(whole))
    assert alone["schema"] == "rillbook.timetable-zone/1"
    assert alone["runs"] == both["zones"][0]["runs"]
    assert alone["advice"] == both["advice"]
