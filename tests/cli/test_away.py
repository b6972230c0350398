"""`rillbook away` on the demo gardens and the small one: tables, visits, a stuck timer, refusals."""

from __future__ import annotations

import csv
import io

import pytest

from tests.cli.conftest import ON, Place, Run

DAY = "2026-07-13"


def test_demo_answer_as_a_document(demo: Run) -> None:
    document = demo("away", "four_outlets", "--on", DAY, "--json").answered().json
    assert document["schema"] == "rillbook.away/1"
    assert document["back"] == "2026-07-20"
    assert document["look_first"][0] == "salad bed"
    rows = document["rows"]
    assert {(row["soil"], row["weather"]) for row in rows} == {
        (soil, weather) for soil in ("full", "today") for weather in ("normals", "forecast", "hottest")
    }
    by_key = {(row["bed"], row["soil"], row["weather"]): row for row in rows}
    for bed in {row["bed"] for row in rows}:
        for weather in ("normals", "forecast", "hottest"):
            full, today = (by_key[bed, soil, weather] for soil in ("full", "today"))
            assert today["to_stress_days"] <= full["to_stress_days"]
            assert full["to_stress_days"] <= full["to_half_days"]
    singles = [row for row in document["days"] if row["date"]]
    assert [row["date"] for row in singles] == [f"2026-07-{day}" for day in range(13, 20)]
    least = min(singles, key=lambda row: row["shortage_mm_d"])
    assert least["date"] == document["best_visit"] == document["visit"][0]["date"]
    assert (
        sum(row["short_before_days"] + row["short_after_days"] for row in document["visit"])
        == (least["short_bed_days"])
    )


def test_demo_stuck_outlets_close_and_cost(demo: Run) -> None:
    rows = demo("away", "four_outlets", "--on", DAY, "--json").json["stuck_open"]
    assert [row["zone"] for row in rows] == ["fruit", "vines", "salad", "sown"]
    for row in rows:
        assert row["volume_l"] == pytest.approx(row["stored_l"] + row["drained_l"] + row["used_l"])
        assert row["volume_l"] == pytest.approx(7 * row["volume_per_day_l"])
        assert float(row["cost"]) > 0.0
        assert row["currency"] == "USD"


def test_text_says_what_to_do(demo: Run) -> None:
    text = demo("away", "four_outlets", "--on", DAY, "--units", "us").answered().out
    for words in (
        "Look at these first",
        "best single day",
        "bring a fresh battery",
        "fail silently",
        "best\n",
    ):
        assert words.strip() in text
    assert "Days that each bed lasts" in text


def test_the_best_day_is_told_by_what_it_was_chosen_for(demo: Run) -> None:
    # Another day leaves fewer bed-days short here.
    days = demo("away", "four_outlets", "--on", DAY, "--json").answered().json["days"]
    text = " ".join(demo("away", "four_outlets", "--on", DAY, "--units", "metric").answered().out.split())
    singles = [row for row in days if row["date"]]
    best = min(singles, key=lambda row: row["shortage_mm_d"])
    assert min(row["short_bed_days"] for row in singles) < best["short_bed_days"]
    told = [f"{row['shortage_mm_d']:.1f} mm short over all beds and days" for row in (best, days[0])]
    assert f"leaves {told[0]} ({best['short_bed_days']} bed-days); if nobody comes, {told[1]}" in text
    assert "The best single day leaves the least depth short" in text


def test_lines_of_many_visits_tell_which(demo: Run) -> None:
    form = ("--on", DAY, "--visit", "2026-07-15", "--visit", "2026-07-18")
    text = " ".join(demo("away", "four_outlets", *form, "--units", "us").answered().out.split())
    assert "Visit on Sat 18 Jul, seed bed: full, its soil holds no more; short again from Sun 19 Jul." in text
    assert "The visits you named (Wed 15 Jul and Sat 18 Jul) leave " in text
    assert "drains through the beds. This water adds " in text


def test_visits_given_are_those_told(place: Place) -> None:
    answer = place.run(
        "away", "--on", ON, "--days", "9", "--visit", "2026-06-20", "--visit", "2026-06-17", "--json"
    )
    document = answer.answered().json
    assert list(dict.fromkeys(row["date"] for row in document["visit"])) == ["2026-06-17", "2026-06-20"]
    last = document["days"][-1]
    assert last["visit"] == "those named"
    assert last["shortage_mm_d"] <= min(row["shortage_mm_d"] for row in document["days"][:-1]) + 1e-6


def test_a_visit_outside_the_absence_is_a_usage_fault(place: Place) -> None:
    place.run("away", "--on", ON, "--visit", "2026-07-01").refused("2026-07-01", "2026-06-21", code=2)


def test_without_a_tariff_there_is_no_money(demo: Run) -> None:
    answer = demo("away", "open_record", "--on", "2015-07-15", "--json").answered()
    assert [row["cost"] for row in answer.json["stuck_open"]] == [None]
    assert any("No money" in note for note in answer.json["notes"])


def test_a_day_on_which_little_grows(demo: Run) -> None:
    answer = demo("away", "one_outlet", "--on", "2026-04-02", "--days", "1").answered()
    assert "Nothing grows on that day in" in answer.out


def test_nothing_grows_at_all(place: Place) -> None:
    answer = place.run("away", "--on", "2026-04-16", "--days", "2").answered()
    assert "no bed needs looking at" in answer.out
    assert "does no harm" in answer.out


def test_csv_is_the_long_table(place: Place) -> None:
    rows = list(csv.DictReader(io.StringIO(place.run("away", "--on", ON, "--csv").answered().out)))
    assert {row["soil"] for row in rows} == {"full", "today"}
    assert all(row["bed"] == "tall bed" for row in rows)
    part = place.run("away", "--on", ON, "--csv", "--part", "stuck_open").answered()
    assert part.out.startswith("zone,flow_l_h")
