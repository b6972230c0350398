"""`rillbook rain` on the demo gardens and the small one: dates, trifles, the ledger left alone, refusals."""

from __future__ import annotations

import pytest

from tests.cli.conftest import ON, Place, Run

DAY = "2026-07-12"


def test_demo_answer_as_a_document(demo: Run) -> None:
    document = demo("rain", "four_outlets", "18 mm", "--on", DAY, "--json").answered().json
    assert document["schema"] == "rillbook.rain/1"
    assert document["counts_mm"] == document["gauge_mm"] == 18.0
    assert document["recorded"] is False
    beds = {row["bed"]: row for row in document["beds"]}
    for row in beds.values():
        assert row["stored_mm"] + row["drained_mm"] == pytest.approx(row["reached_mm"])
        assert row["stored_mm"] <= row["lacked_mm"] + 1e-9
    for outlet in document["rows"]:
        dates = [row["no_run_before"] for row in beds.values() if row["zone"] == outlet["zone"]]
        assert outlet["no_run_before"] == min(dates)
        assert set(outlet["asked_for_by"]) == {
            name
            for name, row in beds.items()
            if row["zone"] == outlet["zone"] and row["no_run_before"] == outlet["no_run_before"]
        }
    assert beds["tall bed"]["no_run_before"] == "2026-07-16"


def test_words_and_units_as_people_write_them(demo: Run) -> None:
    one = demo("rain", "four_outlets", "18", "mm", "--on", DAY).answered()
    text = " ".join(one.out.split())
    assert "18 mm of rain" in text
    assert "off until then, its first run on Thu 16 Jul" in text
    assert "hand valves shut longer: squash bed until Thu 16 Jul" in text
    assert 'rillbook log rain "18 mm" --on 2026-07-12' in text
    inches = demo("rain", "four_outlets", "0.7 in", "--on", DAY, "--units", "us").answered()
    assert "[in]" in inches.out


def test_a_trifle_skips_nothing(demo: Run) -> None:
    answer = demo("rain", "four_outlets", "0.5 mm", "--on", DAY).answered()
    assert "Skip nothing" in " ".join(answer.out.split())
    assert "no run before Thu" not in answer.out
    document = demo("rain", "four_outlets", "0.5 mm", "--on", DAY, "--json").json
    assert document["counts_mm"] == 0.0
    assert {row["no_run_before"] for row in (*document["rows"], *document["beds"])} == {None}


def test_a_can_under_the_leaves(demo: Run) -> None:
    words = ("--under-leaves", "tall bed=9 mm")
    document = demo("rain", "four_outlets", "18 mm", "--on", DAY, *words, "--json").answered().json
    reached = {row["bed"]: row["reached_mm"] for row in document["beds"]}
    assert reached["tall bed"] == 9.0
    assert reached["round bed"] == 18.0


def test_nothing_is_recorded_and_the_ledgers_reading_gives_way(place: Place, run: Run) -> None:
    plain = place.run("rain", "12 mm", "--on", ON, "--json").answered().json
    kept = run("log", "rain", "4 mm", "--on", ON, "--garden", place.plan)
    assert kept.code == 0
    ledger = place.plan.with_suffix(".ledger.sqlite")
    before = ledger.read_bytes()
    answer = place.run("rain", "12 mm", "--on", ON, "--json").answered().json
    assert ledger.read_bytes() == before
    assert answer["ledger_mm"] == 4.0
    assert answer["beds"] == plain["beds"]
    text = place.run("rain", "12 mm", "--on", ON).answered().out
    assert "The ledger has 4.0 mm" in text
    assert "log undo" in text


def test_all_faults_are_told_at_once(place: Place) -> None:
    words = ("--under-leaves", "tool bed=3 mm", "--under-leaves", "tall bed=3")
    place.run("rain", "5", "--on", ON, *words).refused('"5" has no unit', "tool bed", '"3" has no unit')


@pytest.mark.parametrize(
    ("depth", "can", "word"),
    [
        ("18 m", "tall bed=9 mm", "more than a day can rain"),
        ("9 mm", "tall bed=18 mm", "more than the 9 mm"),
        ("-9 mm", "tall bed=1 mm", "below zero"),
        ("9 mm", "tall bed", "names no bed"),
    ],
)
def test_readings_that_cannot_be(place: Place, depth: str, can: str, word: str) -> None:
    place.run("rain", "--on", ON, "--under-leaves", can, "--", depth).refused(word)


def test_one_bed_twice_is_refused(place: Place) -> None:
    words = ("--under-leaves", "tall bed=3 mm", "--under-leaves", "tall bed=4 mm")
    place.run("rain", "9 mm", "--on", ON, *words).refused("a second time")


def test_before_anything_grows(place: Place) -> None:
    answer = place.run("rain", "9 mm", "--on", "2026-04-16").answered()
    assert "nothing grows" in answer.out
