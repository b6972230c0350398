"""What the week's table says of a change of clocks."""

from dataclasses import replace
from datetime import date, timedelta

from scheduler.season.run import run_week
from scheduler.show.notes import clock_notes
from scheduler.show.week_view import week_report
from tests.builders import make_daily, make_garden

GARDEN = make_garden()
THERE = replace(GARDEN, site=replace(GARDEN.site, timezone="America/Los_Angeles"))
AUTUMN = date(2025, 10, 27)


def test_the_hour_and_the_day_are_told():
    spring = date(2025, 3, 3)
    assert clock_notes(THERE, spring, spring + timedelta(days=6)) == (
        "Clocks change: on Sun 9 Mar 02:00 to 03:00 never comes. No run of that day lies in it or across it; "
        "look whether the timer's clock has followed.",
    )
    (text,) = clock_notes(THERE, AUTUMN, AUTUMN + timedelta(days=6))
    assert "Sun 2 Nov 01:00 to 02:00 comes twice" in text
    assert clock_notes(THERE, AUTUMN, AUTUMN + timedelta(days=5)) == ()
    assert clock_notes(GARDEN, AUTUMN, AUTUMN + timedelta(days=6)) == ()


def test_the_week_tells_it():
    daily = make_daily()
    for garden, told in ((THERE, 1), (GARDEN, 0)):
        result = run_week(garden, daily, on=AUTUMN)
        report = week_report(garden, daily, result=result, system="metric")
        assert sum("Clocks change" in note for note in report.notes) == told
