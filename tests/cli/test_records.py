"""The logbook by command: what is entered, taken back, imported, and how the week follows it."""

from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from scheduler.cli.daywords import parse_day
from scheduler.errors import RillbookError
from scheduler.ledger.reading import open_reader

ON = "2026-07-13"


@pytest.fixture
def garden(place, monkeypatch):
    """A plan in a folder of its own, the default of the log commands, and the day it is."""
    place.write_plan()
    monkeypatch.setenv("RILLBOOK_GARDEN", str(place.plan))
    return place


def entered(place):
    with open_reader(place.plan.with_suffix(".ledger.sqlite")) as reader:
        return [kept.entry for kept in reader.last_entries(100)]


def log(run, *words):
    answer = run("log", *words)
    assert answer.out == ""
    return answer


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("today", "2026-07-15"),
        ("Yesterday", "2026-07-14"),
        ("wednesday", "2026-07-15"),
        ("tue", "2026-07-14"),
        ("thursday", "2026-07-09"),
        ("2026-07-01", "2026-07-01"),
    ],
)
def test_days_as_people_say_them(text, day):
    assert parse_day(text, today=date(2026, 7, 15)) == date.fromisoformat(day)


@pytest.mark.parametrize("text", ["tomorrow", "2026-07-16", "t", "15/07/2026", ""])
def test_days_that_cannot_be_meant(text):
    with pytest.raises(RillbookError):
        parse_day(text, today=date(2026, 7, 15))


def test_each_kind_of_entry_is_kept_in_canonical_units(garden, run):
    bed = "tall bed"
    for words in (
        ("meter", "84.512", "m3"),
        ("meter", "412.5", "CCF", "--bed", bed),
        ("bucket", bed, "1 gal", "10 min", "--on", "2026-07-10"),
        ("rain", "1", "in", "--on", "2026-07-11"),
        ("ran", "--on", "2026-07-11"),
        ("ran", "bed", bed, "--minutes", "1 h 5 min", "--on", "2026-07-12"),
        ("skipped", "bed", bed, "--on", "2026-07-10"),
        ("dig", bed, "wet", "--on", "2026-07-12"),
        ("valve", bed, "shut", "--on", "2026-07-12", "--at", "07:30"),
    ):
        assert log(run, *words).err.startswith("kept: ")
    valve, dig, skipped, ran_bed, ran, rain, bucket, second, first = entered(garden)
    assert first.volume_l == pytest.approx(84512.0)
    # 1 CCF is 100 cubic feet of 28.316846592 L.
    assert second.volume_l == pytest.approx(412.5 * 2831.6846592)
    assert (bucket.volume_l, bucket.minutes) == (pytest.approx(3.785411784), 10.0)
    assert rain.rain_mm == pytest.approx(25.4)
    assert (ran.status, ran.zone, ran.bed, ran.minutes) == ("ran", None, None, None)
    assert (ran_bed.bed, ran_bed.minutes) == (bed, pytest.approx(65.0))
    assert (skipped.status, dig.finding, valve.state) == ("skipped", "wet", "shut")
    assert valve.at.minute == 30


def test_soil_moisture_is_kept_as_a_share_and_a_tension_in_kpa(garden, run):
    bed = "tall bed"
    for words in (
        ("moisture", bed, "24", "%", "--on", "2026-07-10"),
        ("moisture", bed, "0.8"),
        ("tension", bed, "35", "kPa", "--on", "2026-07-10"),
        ("tension", bed, "12.5 cbar"),
        ("tension", bed, "0 centibar"),
    ):
        answer = log(run, *words)
        assert answer.err.startswith("kept: ")
        assert "caution" not in answer.err
    last, cbar, kpa, bare, percent = entered(garden)
    assert (percent.kind, percent.content_share, percent.tension_kpa) == (
        "content",
        pytest.approx(0.24),
        None,
    )
    assert (percent.as_written, percent.date.isoformat()) == ("24 %", "2026-07-10")
    assert bare.content_share == 0.8
    assert (kpa.kind, kpa.content_share, kpa.tension_kpa) == ("tension", None, 35.0)
    assert (cbar.tension_kpa, last.tension_kpa) == (12.5, 0.0)
    rows = run("ledger", "list", "--json").json["rows"]
    assert {row["kind"] for row in rows} == {"moisture"}
    assert rows[1]["entry"].endswith("tall bed, soil moisture 12.5 cbar of tension")
    assert rows[4]["entry"] == "2026-07-10: tall bed, soil moisture 24 % by volume"
    assert run("ledger", "export", "--table", "moisture").out.splitlines()[1].endswith("content,0.24,,24 %")
    assert "0 centibar of tension" in log(run, "undo").err


def test_a_tension_that_a_tensiometer_hardly_shows_is_kept_with_a_caution(garden, run):
    told = log(run, "tension", "tall bed", "82 kPa").err
    assert "caution: a tensiometer stops near 80 to 85 kPa" in told
    assert "common practice, no source" in told
    assert [entry.tension_kpa for entry in entered(garden)] == [82.0]


def test_a_relaid_line_counts_from_the_moment_that_is_told(garden, run, monkeypatch):
    zone = ZoneInfo("Etc/GMT+1")
    monkeypatch.setattr("scheduler.clock.now", lambda _: datetime(2026, 7, 13, 9, 30, tzinfo=zone))
    for words in ((), ("--on", "yesterday"), ("--on", "yesterday", "--at", "17:15")):
        assert "line of tall bed relaid, 2026-07-1" in log(run, "relaid", "tall bed", *words).err
    found = [f"{entry.at.astimezone(zone):%d %H:%M}" for entry in entered(garden)]
    assert found == ["12 17:15", "12 12:00", "13 09:30"]
    assert "relaid" in log(run, "undo").err
    (row, _) = run("ledger", "list", "--json").json["rows"]
    assert (row["kind"], row["entry"]) == ("relaid", "2026-07-12 13:00: line of tall bed relaid")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("moisture", "tall bed", "85 %"), "content_share: 0.85; must be a number from 0 to 0.8 (a share of"),
        (("moisture", "tall bed", "24"), 'write "24 %" or 0.24'),
        (("moisture", "tall bed", "240 %"), "not within 0 % to 100 %"),
        (("moisture", "tall bed", "24 kPa"), "is a pressure, not a share"),
        (("moisture", "tall bid", "24 %"), 'did you mean "tall bed"'),
        (("skipped", "bed", "low bed"), "not in the plan; one of tall bed"),
        (("skipped", "bed", "Tall"), 'did you mean "tall bed"'),
        (("tension", "tall bed", "101 kPa"), "a tensiometer stops near 80 to 85 kPa"),
        (("tension", "tall bed", "35"), "has no unit"),
        (("tension", "tall bed", "24 %"), "not a pressure"),
        (("relaid", "tall bid"), 'did you mean "tall bed"'),
        (("relaid", "tall bed", "--on", "2099-01-01"), "still to come"),
        (("meter", "84.512"), "unit"),
        (("rain", "8", "L"), "volume"),
        (("dig", "tall bid", "dry"), 'did you mean "tall bed"'),
        (("rain", "8", "mm", "--on", "2099-01-01"), "still to come"),
        (("bucket", "tall bed", "3 L", "0 min"), "minutes"),
        (("rain", "9000", "mm"), "rain_mm"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_kept(garden, run, words, told):
    answer = log(run, *words)
    assert (answer.code, told in answer.err) == (1, True), answer.err
    ledger = garden.plan.with_suffix(".ledger.sqlite")
    assert not ledger.exists() or entered(garden) == []


@pytest.mark.parametrize(
    "words",
    [
        ("skipped", "bed"),
        ("ran", "tall bed"),
        ("dig", "tall bed", "damp"),
        ("relaid",),
        ("tension", "tall bed"),
        (),
    ],
)
def test_usage(garden, run, words):
    assert run("log", *words).code == 2


def test_undo_takes_back_the_last_entry_only(garden, run):
    log(run, "rain", "8", "mm")
    log(run, "rain", "80", "mm")
    assert "80 mm" in log(run, "undo").err
    assert [entry.rain_mm for entry in entered(garden)] == [8.0]
    log(run, "undo")
    assert log(run, "undo").code == 1


def test_a_spreadsheet_is_taken_whole_or_not_at_all(garden, run, tmp_path):
    sheet = tmp_path / "gauge.csv"
    sheet.write_text("date,rain_mm\n2026-07-01,4.5\n2026-07-02,-1\n2026-07-33,2\n", encoding="utf-8")
    answer = log(run, "import", str(sheet), "--as", "gauge")
    assert answer.code == 1
    assert "-1" in answer.err
    assert "2026-07-33" in answer.err
    sheet.write_text("date,rain_mm\n2026-07-01,4.5\n2026-07-02,1\n", encoding="utf-8")
    assert "kept 2 rows" in log(run, "import", str(sheet), "--as", "gauge").err
    assert "kept 0 rows; 2 were there" in log(run, "import", str(sheet), "--as", "gauge").err
    assert log(run, "import", str(sheet)).code == 2


def test_export_and_restore(garden, run, tmp_path, monkeypatch):
    log(run, "rain", "8", "mm", "--on", "2026-07-11")
    log(run, "dig", "tall bed", "dry")
    log(run, "undo")
    listed = run("ledger", "list", "--json").json["rows"]
    assert [row["kind"] for row in listed] == ["gauge"]
    whole = tmp_path / "all.json"
    assert run("ledger", "export", "--withdrawn", "--out", str(whole)).code == 0
    assert run("ledger", "export", "--table", "gauge").out.splitlines()[1].endswith("2026-07-11,8.0,open")
    monkeypatch.setenv("RILLBOOK_GARDEN", str(garden.plan))
    garden.plan.with_suffix(".ledger.sqlite").rename(tmp_path / "old.sqlite")
    assert "restored" in run("ledger", "restore", str(whole)).err
    assert [entry.rain_mm for entry in entered(garden)] == [8.0]


def week(garden):
    return garden.run("week", "--on", ON, "--json").json


def before(document, bed="tall bed"):
    return next(row for row in document["beds"] if row["bed"] == bed)["deficit_before_mm"]


def test_the_week_follows_what_is_recorded_and_says_from_when(garden, run):
    assumed = week(garden)
    assert not [note for note in assumed["notes"] if "known from" in note]
    log(run, "ran", "--minutes", "40 min", "--on", "2026-07-12")
    ran = week(garden)
    assert before(ran) < before(assumed) - 5.0
    assert any("Runs are known from 2026-07-12 on" in note for note in ran["notes"])
    log(run, "skipped", "--on", "2026-07-12")
    assert before(week(garden)) == pytest.approx(before(assumed))
    log(run, "rain", "60", "mm", "--on", "2026-07-12")
    wet = week(garden)
    assert before(wet) < 10.0
    assert any("gauge's rain stands for the record's on 1 day." in note for note in wet["notes"])


def test_a_dig_moves_the_state_only_when_it_contradicts_it(garden, run):
    log(run, "dig", "tall bed", "dry", "--on", "2026-07-12")
    dry = week(garden)
    assert any("Set right on the morning of Mon 13 Jul: tall bed" in note for note in dry["notes"])
    log(run, "dig", "tall bed", "wet", "--on", "2026-07-12")
    assert before(week(garden)) < before(dry)


def test_the_ledger_lies_beside_the_plan(garden, run):
    log(run, "rain", "8", "mm")
    names = {path.name for path in Path(garden.folder).iterdir()}
    assert "garden.ledger.sqlite" in names
