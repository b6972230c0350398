"""The logbook by command: what is entered, taken back, imported, and how the week follows it."""

from datetime import date
from pathlib import Path

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


@pytest.mark.parametrize(
    ("words", "told"),
    [
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


@pytest.mark.parametrize("words", [("skipped", "bed"), ("ran", "tall bed"), ("dig", "tall bed", "damp"), ()])
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
