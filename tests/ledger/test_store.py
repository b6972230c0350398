"""What is recorded comes back, corrections leave no gap, and a transaction is whole or not there."""

import datetime
import sqlite3
from dataclasses import replace
from decimal import Decimal

import pytest

from scheduler.errors import LedgerError
from scheduler.ledger import connection
from scheduler.ledger.columns import TABLES, find_table
from scheduler.ledger.entries import (
    Bill,
    Dig,
    Gauge,
    Moisture,
    PlanVersion,
    Reading,
    Relaid,
    Run,
    Timetable,
    Valve,
    WeatherDay,
)
from scheduler.ledger.store import Ledger
from tests.ledger.samples import DAY, NOW, SAMPLES, day, record_samples

CONTENT = "must be a number from 0 to 0.8 (a share of the soil's volume: 24 % is 0.24)"
TENSION = "must be a number from 0 to 100 (in kPa, which is centibar; a tensiometer stops near 80 to 85 kPa)"
LATER = NOW + datetime.timedelta(hours=1)


def entries(kept):
    return [each.entry for each in kept]


@pytest.mark.parametrize("entry", SAMPLES, ids=lambda entry: type(entry).__name__)
def test_every_entry_comes_back_as_it_was(path, entry):
    table = find_table(type(entry))
    with Ledger.open(path) as ledger:
        record_samples(ledger)
    with Ledger.open(path, create=False) as ledger:
        (kept,) = ledger.rows(table)
        assert (kept.id, kept.recorded_at, kept.entry) == (1, NOW, entry)


def test_methods_of_every_table(ledger):
    methods = [
        ledger.record_plan,
        ledger.record_weather,
        ledger.record_reference_et,
        ledger.record_timetable,
        ledger.record_timetable_run,
        ledger.record_run,
        ledger.record_valve,
        ledger.record_reading,
        ledger.record_gauge,
        ledger.record_dig,
        ledger.record_bill,
        ledger.record_relaid,
        ledger.record_moisture,
    ]
    assert [method(entry, recorded_at=NOW) for method, entry in zip(methods, SAMPLES, strict=True)] == [
        1
    ] * 13
    plan, weather, et, timetable, timetable_run, run, valve, reading, gauge, dig, bill, *added = SAMPLES
    assert entries(ledger.plan_versions()) == [plan]
    assert entries(ledger.weather_between(DAY, DAY)) == [weather]
    assert entries(ledger.reference_et_between(DAY, DAY)) == [et]
    assert entries(ledger.timetables()) == [timetable]
    assert entries(ledger.timetable_runs(1)) == [timetable_run]
    assert entries(ledger.runs_between(DAY, DAY)) == [run]
    assert entries(ledger.valves()) == [valve]
    assert entries(ledger.readings()) == [reading]
    assert entries(ledger.gauges_between(DAY, DAY)) == [gauge]
    assert entries(ledger.digs_between(DAY, DAY)) == [dig]
    assert entries(ledger.bills()) == [bill]
    assert entries([*ledger.relaid(), *ledger.moistures_between(DAY, DAY)]) == added


def test_spans_include_both_ends_and_come_in_order(ledger):
    for number in (15, 12, 14, 11, 13):
        ledger.record_gauge(Gauge(day(number), float(number)), recorded_at=NOW)
        ledger.record_run(Run(day(number), "ran"), recorded_at=NOW)
        ledger.record_dig(Dig(day(number), "low bed", "wet"), recorded_at=NOW)
        ledger.record_moisture(Moisture(day(number), "low bed", "content", 0.3), recorded_at=NOW)
    spans = (ledger.gauges_between, ledger.runs_between, ledger.digs_between, ledger.moistures_between)
    for found in spans:
        assert [kept.entry.date.day for kept in found(day(12), day(14))] == [12, 13, 14]
        assert found(day(14), day(12)) == ()


def test_readings_and_valves_come_by_instant(ledger):
    ledger.record_reading(Reading(LATER, "meter", 84512.0, as_written="84.512 m3"), recorded_at=NOW)
    ledger.record_reading(Reading(NOW, "bucket", 8.0, minutes=2.0), recorded_at=NOW)
    ledger.record_valve(Valve(LATER, "low bed", "open"), recorded_at=NOW)
    ledger.record_valve(Valve(NOW, "low bed", "shut"), recorded_at=NOW)
    ledger.record_relaid(Relaid(LATER, "low bed"), recorded_at=NOW)
    ledger.record_relaid(Relaid(NOW, "tall bed"), recorded_at=NOW)
    assert [kept.entry.bed for kept in ledger.relaid()] == ["tall bed", "low bed"]
    assert [kept.entry.kind for kept in ledger.readings()] == ["bucket", "meter"]
    assert [kept.entry.as_written for kept in ledger.readings("meter")] == ["84.512 m3"]
    assert [kept.entry.state for kept in ledger.valves()] == ["shut", "open"]
    assert [kept.entry.state for kept in ledger.valves(NOW)] == ["shut"]


def test_latest_timetable_is_the_last_advice_of_the_latest_week_begun(ledger):
    ledger.record_plan(PlanVersion("a1", ""), recorded_at=NOW)
    for first, document in ((6, "1"), (13, "2"), (13, "3"), (20, "4")):
        ledger.record_timetable(Timetable(day(first), 1, "c3", NOW, document), recorded_at=NOW)
    assert ledger.latest_timetable(day(5)) is None
    assert ledger.latest_timetable(day(12)).entry.document == "1"
    assert ledger.latest_timetable(day(19)).entry.document == "3"
    ledger.withdraw("timetable", 3, reason="wrong plan", recorded_at=LATER)
    assert ledger.latest_timetable(day(19)).entry.document == "2"
    assert [kept.entry.document for kept in ledger.timetables()] == ["1", "2", "4"]


def test_newest_weather_counts_whatever_the_order_it_came_in(ledger):
    older, newer = (NOW - datetime.timedelta(hours=6)), NOW
    for issued, rain in ((newer, 4.0), (older, 9.0), (None, 1.0)):
        forecast = WeatherDay(DAY, "forecast", "model", issued_at=issued, rain_mm=rain)
        ledger.record_weather(forecast, recorded_at=older)
    ledger.record_weather(WeatherDay(DAY, "station", "orchard", rain_mm=3.0), recorded_at=NOW)
    ledger.record_weather(WeatherDay(DAY, "station", "orchard", rain_mm=2.5), recorded_at=NOW)
    found = [(kept.entry.origin, kept.entry.rain_mm) for kept in ledger.weather_between(DAY, DAY)]
    assert found == [("forecast", 4.0), ("station", 2.5)]
    ledger.withdraw("weather_day", 1, reason="wrong station", recorded_at=NOW)
    # Without an instant of issue the instant of recording stands in; of equals the last entered counts.
    assert ledger.weather_between(DAY, DAY)[0].entry.rain_mm == 1.0


def test_last_reference_et_of_a_day_counts(ledger):
    et = SAMPLES[2]
    for value in (5.4, 5.9):
        ledger.record_reference_et(replace(et, reference_et_mm=value), recorded_at=NOW)
    assert [kept.entry.reference_et_mm for kept in ledger.reference_et_between(DAY, DAY)] == [5.9]


def test_a_plan_is_kept_once(ledger):
    plan = PlanVersion("a1", "text")
    assert [ledger.record_plan(plan, recorded_at=NOW) for _ in range(2)] == [1, 1]
    assert ledger.record_plan(PlanVersion("a2", "other"), recorded_at=NOW) == 2
    with pytest.raises(LedgerError, match="plan_version > hash: stands for another text"):
        ledger.record_plan(PlanVersion("a1", "other"), recorded_at=NOW)


def test_undo_takes_the_last_entry_whatever_the_clock_said(ledger):
    ledger.record_gauge(Gauge(DAY, 8.0), recorded_at=LATER)
    ledger.record_dig(Dig(DAY, "low bed", "wet"), recorded_at=NOW)
    ledger.record_weather(SAMPLES[1], recorded_at=LATER)
    assert [type(kept.entry) for kept in ledger.last_entries(9)] == [Dig, Gauge]
    assert ledger.last_entries(0) == ledger.last_entries(-1) == ()
    assert ledger.undo_last(LATER).entry == Dig(DAY, "low bed", "wet")
    assert ledger.digs_between(DAY, DAY) == ()
    assert ledger.undo_last(LATER).entry == Gauge(DAY, 8.0)
    assert ledger.undo_last(LATER) is None
    assert len(ledger.rows(TABLES["gauge"], withdrawn=True)) == 1
    assert len(ledger.weather_between(DAY, DAY)) == 1


def test_correction_keeps_both_and_shows_one(ledger):
    ledger.record_gauge(Gauge(DAY, 80.0), recorded_at=NOW)
    (wrong,) = ledger.gauges_between(DAY, DAY)
    assert ledger.correct(wrong, Gauge(DAY, 8.0), reason="a digit too many", recorded_at=LATER) == 2
    assert entries(ledger.gauges_between(DAY, DAY)) == [Gauge(DAY, 8.0)]
    assert ledger.row(TABLES["gauge"], 1).entry.rain_mm == 80.0
    assert entries(ledger.rows(TABLES["withdrawal"]))[0].reason == "a digit too many"


def test_a_refused_correction_withdraws_nothing(ledger):
    ledger.record_gauge(Gauge(DAY, 80.0), recorded_at=NOW)
    (kept,) = ledger.gauges_between(DAY, DAY)
    with pytest.raises(LedgerError):
        ledger.correct(kept, Gauge(DAY, -8.0), reason="sign", recorded_at=LATER)
    assert entries(ledger.gauges_between(DAY, DAY)) == [Gauge(DAY, 80.0)]


@pytest.mark.parametrize(
    ("table", "row_id", "reason", "fault"),
    [
        ("gauge", 7, "typing error", "no such row"),
        ("gauge", 0, "typing error", "row_id: 0; must be a whole number from 1"),
        ("plan_version", 1, "typing error", 'table_name: "plan_version"; must be weather_day or'),
        ("gauges", 1, "typing error", 'table_name: "gauges"'),
        ("gauge", 1, "", "reason"),
        ("dig", 1, "again", "withdrawn before"),
    ],
)
def test_withdrawals_that_are_refused(ledger, table, row_id, reason, fault):
    record_samples(ledger)
    ledger.withdraw("dig", 1, reason="other bed", recorded_at=NOW)
    with pytest.raises(LedgerError, match=fault):
        ledger.withdraw(table, row_id, reason=reason, recorded_at=NOW)


def test_runs_of_a_timetable_go_with_it(ledger):
    record_samples(ledger)
    ledger.withdraw("timetable", 1, reason="wrong plan", recorded_at=NOW)
    assert ledger.timetable_runs(1) == ()


def test_a_block_is_kept_whole_or_not_at_all(ledger):
    def break_off():
        with ledger.writing():
            ledger.record_gauge(Gauge(DAY, 8.0), recorded_at=NOW)
            ledger.record_dig(Dig(DAY, "low bed", "wet"), recorded_at=NOW)
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        break_off()
    assert ledger.last_entries(9) == ()

    def record_two():
        with ledger.writing():
            ledger.record_gauge(Gauge(DAY, 1.0), recorded_at=NOW)
            ledger.record_gauge(Gauge(DAY, -1.0), recorded_at=NOW)

    with ledger.writing():
        with pytest.raises(LedgerError):
            record_two()
        ledger.record_gauge(Gauge(DAY, 2.0), recorded_at=NOW)
    assert entries(ledger.gauges_between(DAY, DAY)) == [Gauge(DAY, 2.0)]


def test_what_was_not_committed_is_gone_after_closing(path):
    ledger = Ledger.open(path)
    ledger._connection.execute("BEGIN IMMEDIATE")
    ledger.record_gauge(Gauge(DAY, 8.0), recorded_at=NOW)
    ledger.close()
    with Ledger.open(path) as again:
        assert again.last_entries(1) == ()


@pytest.mark.parametrize(
    ("entry", "faults"),
    [
        (Gauge(DAY, -0.1), ["rain_mm: -0.1; must be a number from 0 to 500"]),
        (Gauge(DAY, float("nan"), "shed"), ["rain_mm: nan", 'place: "shed"; must be open or canopy']),
        (Gauge(DAY, True), ["rain_mm: True"]),
        (Gauge(DAY, "8"), ['rain_mm: "8"']),
        (Gauge(NOW, 8.0), ["date: 2026-07-13 04:10:00"]),
        (Gauge("2026-07-13", 8.0), ["date"]),
        (Gauge(datetime.date(226, 7, 13), 8.0), ["years 1900 to 2199"]),
        (Gauge(None, 10**400), ["date: empty; needs a date", "rain_mm"]),
        (Dig(DAY, "low bed ", "damp"), ["bed", "finding"]),
        (Dig(DAY, "low\nbed", "wet"), [r'bed: "low\nbed"; must be a text of one line']),
        (Dig(DAY, "\ud800", "wet"), ["bed"]),
        (Dig(DAY, "", "wet"), ["bed"]),
        (Run(DAY, "skipped", minutes=3.0), ["minutes: 3.0 for a run that was skipped; must be empty"]),
        (Run(DAY, "ran", minutes=1441.0), ["minutes"]),
        (Reading(NOW, "bucket", 8.0), ["minutes: empty; a bucket needs the minutes"]),
        (Reading(NOW, "bucket", 8.0, minutes=0.0), ["a bucket needs the minutes"]),
        (Relaid(NOW.replace(tzinfo=None), ""), ["at", "bed"]),
        (Moisture(DAY, "low bed", "content", 0.81), [f"content_share: 0.81; {CONTENT}"]),
        (Moisture(DAY, "low bed", "content", -0.1), [f"content_share: -0.1; {CONTENT}"]),
        (Moisture(DAY, "low bed", "tension", tension_kpa=100.5), [f"tension_kpa: 100.5; {TENSION}"]),
        (Moisture(DAY, "low bed", "tension", 0.24), ["content_share: 0.24 beside", "tension_kpa: empty"]),
        (Moisture(DAY, "low bed", "content", 0.24, 35.0), ["tension_kpa: 35.0 beside the kind content"]),
        (Moisture(DAY, "low bed", "content"), ["content_share: empty; needs what was measured"]),
        (Moisture(DAY, "low bed", "damp", 0.24), ["kind"]),
        (Reading(NOW.replace(tzinfo=None), "meter", float("inf")), ["at", "volume_l"]),
        (
            Bill(day(31), day(1), Decimal(1), "m3", Decimal(1), "EUR"),
            ["first_day: 2026-07-31, above last_day"],
        ),
        (Bill(day(1), day(31), Decimal("NaN"), "ft3", Decimal("1e12"), "E"), ["units", "unit:", "amount"]),
        (Bill(day(1), day(31), 12.5, "m3", Decimal(1), "EUR"), ["units: 12.5"]),
        (WeatherDay(DAY, "station", "s", tmax_c=10.0, tmin_c=20.0), ["tmin_c: 20.0, above tmax_c 10.0"]),
        (WeatherDay(DAY, "station", "s", rh_min_pct=60.0, rh_max_pct=50.0), ["rh_min_pct"]),
        (WeatherDay(DAY, "station", "s", wind_m_s=3.0), ["wind_height_m: empty beside a wind"]),
        (replace(SAMPLES[2], tmin_c=30.0, forecast=True), ["tmin_c"]),
        (replace(SAMPLES[2], forecast=1), ["forecast: 1; must be true or false"]),
        (replace(SAMPLES[3], document="{"), ["document"]),
        (replace(SAMPLES[3], document="[NaN]"), ["document"]),
        (replace(SAMPLES[3], document="[" * 100_000), ["document"]),
        (replace(SAMPLES[4], start_min=2880), ["start_min"]),
        (PlanVersion("a1", "null \0 byte"), ["text"]),
    ],
)
def test_what_cannot_be_true_is_refused_with_every_fault(ledger, entry, faults):
    with pytest.raises(LedgerError) as caught:
        ledger.record(entry, recorded_at=NOW.replace(tzinfo=None))
    *found, last = [str(fault) for fault in caught.value.faults]
    assert "recorded_at" in last
    assert len(found) == len(faults)
    assert [want for want, have in zip(faults, found, strict=True) if want not in have] == []


def test_a_timetable_needs_its_plan(ledger):
    with pytest.raises(LedgerError, match="FOREIGN KEY"):
        ledger.record_timetable(SAMPLES[3], recorded_at=NOW)
    assert ledger.timetables() == ()


def test_a_lock_that_stays_is_told(path, monkeypatch):
    with Ledger.open(path):
        monkeypatch.setattr(connection, "PATIENCE", 0.01)
        other = sqlite3.connect(path, isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        with Ledger.open(path) as waiting, pytest.raises(LedgerError, match="another program"):
            waiting.record_gauge(Gauge(DAY, 8.0), recorded_at=NOW)
        other.close()


def test_instants_are_kept_in_utc_to_the_second(ledger):
    local = datetime.datetime(2026, 7, 13, 6, 10, 0, 999_999, datetime.timezone(datetime.timedelta(hours=2)))
    ledger.record_valve(Valve(local, "low bed", "open"), recorded_at=local)
    (kept,) = ledger.valves()
    assert (kept.entry.at, kept.recorded_at) == (NOW, NOW)
    assert ledger._connection.execute("SELECT at FROM valve").fetchone() == ("2026-07-13T04:10:00Z",)
