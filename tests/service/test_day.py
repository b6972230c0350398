"""One day's work, then many: recorded once, made good after a sleep, quiet while nothing changes."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from scheduler.errors import PlanError, SourceError, WeatherError
from scheduler.ledger.reading import open_reader
from scheduler.ledger.store import Ledger
from scheduler.service.day import daily_job, has_table, missing_days
from scheduler.service.notices import Doubt
from tests.service.conftest import MONDAY

DAY = timedelta(days=1)
NOW = datetime(2026, 6, 15, 2, 10, tzinfo=UTC)


def test_a_day_records_plan_table_and_runs(place):
    report = place.day(MONDAY)
    assert report.recorded
    assert report.problems == ()
    count = place.count()
    assert (count["plan_version"], count["timetable"]) == (1, 1)
    assert count["timetable_run"] == sum(len(zone.runs) for zone in report.table.zones) > 0
    (kept,) = place.tables()
    assert kept.entry.first_day == MONDAY
    assert kept.recorded_at.isoformat() == "2026-06-15T02:10:00+00:00"
    assert json.loads(kept.entry.document)["schema"] == "rillbook.week/1"


def test_runs_of_ledger_are_those_of_the_table(place):
    report = place.day(MONDAY)
    with open_reader(place.ledger) as reader:
        rows = [kept.entry for kept in reader.timetable_runs(report.timetable_id)]
    runs = [(run, zone.zone) for zone in report.table.zones for run in zone.runs]
    assert {(row.date, row.zone, row.minutes) for row in rows} == {
        (run.date, zone, run.run_time_min) for run, zone in runs
    }
    assert {row.start_min for row in rows} == {run.begins.hour * 60 + run.begins.minute for run, _ in runs}


def test_the_same_day_twice_records_nothing_new(place):
    first = place.day(MONDAY)
    before = place.count()
    again = place.day(MONDAY, hour=16)
    assert not again.recorded
    assert again.notices == ()
    assert place.count() == before
    assert again.table == first.table
    assert again.timetable_id == first.timetable_id


def test_new_weather_on_the_same_day_is_a_new_table(place):
    place.day(MONDAY)
    place.rain = {MONDAY - DAY: 30.0}
    again = place.day(MONDAY, hour=16)
    assert again.recorded
    assert [kept.entry.first_day for kept in place.tables()] == [MONDAY, MONDAY]


def test_a_logged_dig_is_a_new_table(place):
    from scheduler.ledger.entries import Dig

    place.day(MONDAY)
    with Ledger.open(place.ledger) as ledger:
        ledger.record_dig(Dig(MONDAY - DAY, "tall bed", "wet"), recorded_at=place.tables()[0].recorded_at)
    assert place.day(MONDAY, hour=16).recorded


def test_first_table_tells_every_setting(place):
    (notice,) = place.day(MONDAY).notices
    assert notice.kind == "setting"
    assert notice.text.startswith('Test garden: set outlet 1, zone "north" to: ')
    assert "min each" in notice.text


def test_steady_weeks_are_quiet(place):
    reports = place.days(MONDAY, 15)
    told = [report.on for report in reports if report.notices]
    # The season's slow change may move minutes, and only on Mondays.
    assert told[0] == MONDAY
    assert {day.weekday() for day in told} == {0}
    assert len(told) <= 3
    assert all(report.recorded for report in reports)
    assert len(place.tables()) == 15


def test_setting_stands_through_the_week(place):
    reports = place.days(MONDAY, 7)
    first = reports[0].table.zones[0]
    for report in reports[1:]:
        zone = report.table.zones[0]
        assert (zone.days, zone.starts, zone.run_time_min) == (first.days, first.starts, first.run_time_min)
        same = {run.date for run in zone.runs} & {MONDAY + k * DAY for k in range(7)}
        assert same == {run.date for run in first.runs if run.date >= report.on}


def test_change_of_plan_is_told_at_once(place):
    place.days(MONDAY, 2)
    text = place.plan.read_text(encoding="utf-8").replace('longest_run = "120 min"', 'longest_run = "7 min"')
    place.plan.write_text(text, encoding="utf-8")
    report = place.day(MONDAY + 2 * DAY)
    assert [notice.kind for notice in report.notices] == ["setting"]
    assert "until now" in report.notices[0].text
    assert place.count()["plan_version"] == 2


def test_restriction_that_begins_midweek_is_told(place):
    order = "\n".join(
        [
            "[[restriction]]",
            'reason = "order"',
            "begins = 2026-06-18",
            "ends = 2026-07-30",
            'days = ["Tue", "Sat"]',
            'exempt = "no"',
        ]
    )
    place.write(order)
    reports = place.days(MONDAY, 5)
    runs = [run.date for run in reports[-1].table.zones[0].runs]
    assert all(day.strftime("%a") in {"Tue", "Sat"} for day in runs if day >= date(2026, 6, 18))


def test_rain_makes_a_run_needless_once(place):
    place.days(MONDAY, 2)
    runs = [run.date for run in place.day(MONDAY + 2 * DAY).table.zones[0].runs]
    run_day = next(day for day in runs if day - DAY > MONDAY + 2 * DAY)
    eve = run_day - DAY
    place.days(MONDAY + 3 * DAY, (eve - MONDAY).days - 3)
    place.rain = {run_day: 40.0}
    (notice,) = place.day(eve, hour=16).notices
    assert notice.kind == "needless run"
    assert f"{run_day:%a} {run_day.day} {run_day:%b}" in notice.text
    assert "of rain are counted on in the coming days" in notice.text
    # Neither on the day itself nor at a second run is it told again.
    assert place.day(eve, hour=17).notices == ()
    assert place.day(run_day).notices == ()


def test_run_that_keeps_a_bed_within_its_limit_is_not_called_needless(place):
    place.days(MONDAY, 2)
    run_day = place.day(MONDAY + 2 * DAY).table.zones[0].runs[0].date
    place.rain = {run_day: 4.0}
    assert place.day(run_day - DAY, hour=16).notices == ()


def test_rain_that_does_not_reach_is_no_reason(place):
    place.days(MONDAY, 3)
    place.rain = {MONDAY + 2 * DAY: 0.4}
    report = place.day(MONDAY + 3 * DAY)
    assert [notice.kind for notice in report.notices] == []


def test_doubtful_reading_is_told_while_it_is_new(place):
    place.day(MONDAY)
    place.doubts = [Doubt("leak", "The meter moved overnight: look for a leak.")]
    told = [[notice.text for notice in place.day(MONDAY + k * DAY).notices] for k in (1, 2)]
    assert told == [["The meter moved overnight: look for a leak."], []]
    place.doubts = []
    assert place.day(MONDAY + 3 * DAY).notices == ()
    place.doubts = [Doubt("leak", "The meter moved overnight: look for a leak.")]
    assert len(place.day(MONDAY + 4 * DAY).notices) == 1


def test_source_that_fails_is_a_problem_not_an_end(place):
    place.fault = SourceError("service", [])
    report = place.day(MONDAY)
    assert report.recorded
    assert len(report.problems) == 1
    assert report.problems[0].startswith("weather: service")


def test_source_that_fails_with_nothing_stored_keeps_its_exit_code(place):
    def nothing(*_arguments, **_more):
        raise WeatherError("weather", [])

    place.fault = SourceError("service", [])
    with pytest.raises(SourceError):
        daily_job(place.plan, on=MONDAY, moment=NOW, tools=replace(place.tools(MONDAY), gather=nothing))


def test_three_days_asleep_are_made_good(place):
    place.days(MONDAY, 2)
    report = place.day(MONDAY + 5 * DAY)
    assert report.missed == (MONDAY + 2 * DAY, MONDAY + 3 * DAY, MONDAY + 4 * DAY)
    # Weather is asked for once, and one table is made, today's.
    assert [on for on, _ in place.fetched] == [MONDAY, MONDAY + DAY, MONDAY + 5 * DAY]
    assert [kept.entry.first_day for kept in place.tables()] == [MONDAY, MONDAY + DAY, MONDAY + 5 * DAY]
    assert place.day(MONDAY + 6 * DAY).missed == ()


def test_sleeping_over_a_monday_looks_at_the_setting_anew(place):
    place.day(MONDAY)
    sleepy = place.day(MONDAY + 9 * DAY)
    other = type(place)(place.folder / "other")
    other.folder.mkdir()
    other.write()
    assert sleepy.table.zones[0].run_time_min == pytest.approx(
        other.day(MONDAY + 9 * DAY).table.zones[0].run_time_min, abs=1
    )


def test_clock_set_back_and_right_again(place):
    place.day(MONDAY)
    ahead = place.day(MONDAY + 30 * DAY)
    assert len(ahead.missed) == 29
    # The clock is right again: that table has not been missed, nor is it in the way.
    right = place.day(MONDAY + DAY)
    assert right.recorded
    assert right.missed == ()
    assert not place.day(MONDAY).recorded or place.tables()[-1].entry.first_day == MONDAY + 30 * DAY
    with open_reader(place.ledger) as reader:
        assert missing_days(reader, MONDAY + 4 * DAY) == (MONDAY + 2 * DAY, MONDAY + 3 * DAY)
    days = [kept.entry.first_day for kept in place.tables()]
    assert days.count(MONDAY + DAY) == 1
    assert days[-1] == MONDAY + 30 * DAY


def test_leap_day_has_a_table(place):
    text = place.plan.read_text(encoding="utf-8").replace("2026-", "2028-")
    place.plan.write_text(text.replace("planted = 2028-04-20", "planted = 2028-01-20"), encoding="utf-8")
    text = place.plan.read_text(encoding="utf-8").replace("on = 2028-04-15", "on = 2028-01-10")
    place.plan.write_text(text, encoding="utf-8")
    first = date(2028, 2, 27)
    reports = place.days(first, 4)
    assert [report.on for report in reports][1:3] == [date(2028, 2, 28), date(2028, 2, 29)]
    assert reports[-1].missed == ()
    assert [kept.entry.first_day for kept in place.tables()][-1] == date(2028, 3, 1)


def test_nothing_is_missing_without_a_ledger(place):
    assert not has_table(place.plan, on=MONDAY)
    assert not place.ledger.exists()
    place.day(MONDAY)
    assert has_table(place.plan, on=MONDAY)
    assert not has_table(place.plan, on=MONDAY + DAY)


def test_faulty_plan_records_nothing(place):
    place.plan.write_text("format = 1\n", encoding="utf-8")
    with pytest.raises(PlanError):
        place.day(MONDAY)
    assert not place.ledger.exists()


def test_weather_that_does_not_reach_leaves_no_table(place):
    def refuse(*_arguments, **_more):
        raise WeatherError("weather", [])

    with pytest.raises(WeatherError):
        daily_job(place.plan, on=MONDAY, moment=NOW, tools=replace(place.tools(MONDAY), gather=refuse))
    assert place.count()["timetable"] == 0
