"""The ledger's entries as the notes that the balance follows."""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from scheduler.ledger.entries import Dig, Gauge, Moisture, PlanVersion, Run, Timetable, TimetableRun, Valve
from scheduler.ledger.fieldnotes import field_notes
from scheduler.ledger.store import Ledger
from scheduler.season.field import DigNote, GaugeNote, MoistureNote, RunNote
from tests.builders import make_bed, make_garden

NOW = datetime(2025, 7, 15, 12, tzinfo=UTC)
MON = date(2025, 7, 7)
GARDEN = make_garden([make_bed("a"), make_bed("b"), make_bed("c", zone="two")])


@pytest.fixture
def ledger(tmp_path):
    with Ledger.open(tmp_path / "l.sqlite") as book:
        yield book


def notes(book, begins=MON, ends=MON + timedelta(days=6)):
    return field_notes(book, GARDEN, begins=begins, ends=ends)


def day(n):
    return MON + timedelta(days=n)


def test_runs_gauges_and_digs_of_the_span(ledger):
    for entry in (
        Run(day(1), "ran", bed="a", minutes=25.0),
        Run(day(2), "skipped", zone="two"),
        Run(day(9), "skipped"),
        Gauge(day(3), 4.0),
        Gauge(day(3), 2.5),
        Gauge(day(3), 1.0, "canopy"),
        Dig(day(4), "a", "dry"),
    ):
        ledger.record(entry, recorded_at=NOW)
    found = notes(ledger)
    assert found.runs == (RunNote(day(1), True, bed="a", minutes=25.0), RunNote(day(2), False, zone="two"))
    assert found.gauges == (GaugeNote(day(3), 6.5),)
    assert found.digs == (DigNote(day(4), "a", "dry"),)


def test_soil_moistures_of_the_span_in_the_order_they_were_entered(ledger):
    for entry in (
        Moisture(day(4), "a", "content", content_share=0.24),
        Moisture(day(3), "b", "tension", tension_kpa=35.0),
        Moisture(day(4), "a", "content", content_share=0.26),
        Moisture(day(9), "a", "content", content_share=0.2),
    ):
        ledger.record(entry, recorded_at=NOW)
    assert notes(ledger).moistures == (
        MoistureNote(day(4), "a", content=0.24),
        MoistureNote(day(3), "b", tension=35.0),
        MoistureNote(day(4), "a", content=0.26),
    )
    ledger.undo_last(NOW)
    ledger.undo_last(NOW)
    assert notes(ledger).moistures == (
        MoistureNote(day(4), "a", content=0.24),
        MoistureNote(day(3), "b", tension=35.0),
    )


def test_a_run_without_minutes_takes_those_that_were_advised(ledger):
    plan = ledger.record_plan(PlanVersion("hash", "text"), recorded_at=NOW)
    table = ledger.record_timetable(Timetable(MON, plan, "w", NOW, "{}"), recorded_at=NOW)
    for zone, minutes in (("one", 20.0), ("one", 20.0), ("two", 9.0)):
        ledger.record_timetable_run(TimetableRun(table, day(1), zone, 240, minutes, 10.0), recorded_at=NOW)
    ledger.record(Run(day(1), "ran"), recorded_at=NOW)
    ledger.record(Run(day(2), "ran", bed="c"), recorded_at=NOW)
    found = notes(ledger).runs
    # What was advised stands for every day but the last, of which the table is yet to be made.
    told = [run for run in found if not run.recorded]
    assert [run.on for run in told] == [day(n) for n in range(6) for _ in GARDEN.zones]
    assert [(run.zone, run.minutes) for run in told if run.minutes] == [("one", 40.0), ("two", 9.0)]
    assert tuple(run for run in found if run.recorded) == (
        RunNote(day(1), True, zone="one", minutes=40.0),
        RunNote(day(1), True, zone="two", minutes=9.0),
        # Nothing was advised for the second day.
        RunNote(day(2), True, zone="two", bed="c", minutes=0.0),
    )


def test_without_advice_a_run_is_as_reckoned(ledger):
    ledger.record(Run(day(1), "ran"), recorded_at=NOW)
    assert notes(ledger).runs == (RunNote(day(1), True),)


def test_a_shut_valve_is_a_day_without_water_unless_a_run_is_recorded(ledger):
    zone = timezone(timedelta(hours=-8))
    ledger.record(Valve(datetime(2025, 7, 8, 18, tzinfo=zone), "b", "shut"), recorded_at=NOW)
    ledger.record(Valve(datetime(2025, 7, 11, 2, tzinfo=zone), "b", "open"), recorded_at=NOW)
    ledger.record(Run(day(3), "ran", bed="b", minutes=5.0), recorded_at=NOW)
    found = notes(ledger).runs
    # Shut from Tuesday evening to before Friday's run: Wednesday and Thursday.
    assert found[:2] == (RunNote(day(2), False, bed="b"), RunNote(day(3), False, bed="b"))
    assert found[2] == RunNote(day(3), True, bed="b", minutes=5.0)
    assert len(found) == 3
