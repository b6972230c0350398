"""`rillbook settings` on the demo gardens and on the small one: cards, tables, forms, refusals."""

from __future__ import annotations

import csv
import io
import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from tests.cli.conftest import Answer, Place, Run

CARD = ("--changes", "4")


@pytest.fixture
def card(demo: Run) -> dict[str, Any]:
    """Return the card of four settings for the garden with four outlets."""
    return demo("settings", "four_outlets", *CARD, "--json").answered().json


@pytest.fixture
def table(place: Place) -> dict[str, Any]:
    """Return what each number of settings costs the small garden."""
    return place.run("settings", "--up-to", "3", "--json").answered().json


def test_a_card_has_a_line_for_each_outlet_of_each_setting_and_one_to_switch_off(
    card: dict[str, Any],
) -> None:
    *lines, off = card["rows"]
    dates = list(dict.fromkeys(row["begins"] for row in lines))
    assert len(dates) == card["times"] == 4
    assert dates == sorted(dates)
    assert all(date.fromisoformat(day).weekday() == 0 for day in dates)
    assert [row["outlet"] for row in lines] == [1, 2, 3, 4] * 4
    assert off["begins"] == card["off_on"] == "2026-10-20"  # The day on which the carrots are out.
    assert off["days"] == "switch the timer off"
    for row in lines:
        assert (row["days"] == "off") == (row["starts"] is None) == (row["run_time_min"] is None)
        assert all("04:00" <= start < "07:30" for start in row["starts"] or [])


def test_the_card_says_that_the_first_setting_counts(demo: Run) -> None:
    text = demo("settings", "four_outlets", *CARD).answered().out
    assert "The timer is set 4 times, the first time included, and switched off on Tue 20 Oct." in text
    assert "Mon 23 Mar" in text
    assert "switch the timer off" in text
    assert text.index("Set the timer") < text.index("What more or fewer settings cost")


def test_the_table_stands_beside_the_card(card: dict[str, Any]) -> None:
    rows = card["changes"]
    assert [row["changes"] for row in rows[:-1]] == list(range(1, 9))
    assert rows[-1]["times"] == "weekly, ahead"
    over = [row["over_l"] for row in rows]
    assert over == sorted(over, reverse=True)
    assert {row["weeks_beyond_share"] for row in rows} == {0}
    for row in rows:
        assert row["over_percent"] == pytest.approx(100.0 * row["over_l"] / card["need_l"])
        assert row["volume_l"] > 0.9 * card["need_l"]
        assert 0.0 <= row["worst_percent"] < 100.0


def test_the_weekly_table_is_the_reference(table: dict[str, Any], place: Place) -> None:
    rows = table["rows"]
    assert [row["times"] for row in rows] == [
        "once",
        "2 times",
        "3 times",
        "weekly, ahead",
        "weekly, by soil",
    ]
    seasons = place.run("season", "--every-year", "--json").json["rows"]
    assert table["replayed_years"] == [row["year"] for row in seasons]
    assert rows[-1]["volume_l"] == pytest.approx(sum(row["volume_l"] for row in seasons) / len(seasons))
    assert rows[-1]["short_days"] == pytest.approx(sum(row["short_days"] for row in seasons) / len(seasons))
    assert rows[-1]["over_l"] is None


def test_every_card_is_among_the_parts_of_the_table(table: dict[str, Any], place: Place) -> None:
    cards = {n: [row for row in table["settings"] if row["changes"] == n] for n in (1, 2, 3)}
    assert [len(rows) for rows in cards.values()] == [1, 2, 3]
    alone = place.run("settings", "--changes", "2", "--json").json
    keys = ("begins", "outlet", "zone", "days", "starts", "run_time_min")
    assert [[row[key] for key in keys] for row in cards[2]] == [
        [row[key] for key in keys] for row in alone["rows"][:-1]
    ]


def test_where_more_settings_stop_paying(table: dict[str, Any], place: Place) -> None:
    eight = place.run("settings", "--json").answered().json
    litres = {row["changes"]: row["volume_l"] for row in eight["rows"][:8]}
    fewest = min(n for n, volume in litres.items() if volume <= 1.05 * min(litres.values()))
    assert eight["times"] == fewest < 8
    text = " ".join(place.run("settings").out.split())
    assert f"More settings than {fewest} pay little: " in text
    assert f"Its card: --changes {fewest}." in text
    # Of three the last saves more than a twentieth, so that more should be looked at.
    assert table["times"] == 3
    assert "Up to 3 settings pay: " in place.run("settings", "--up-to", "3").out
    assert "Only one setting" in place.run("settings", "--up-to", "1").out


@pytest.mark.parametrize(
    ("form", "parts"), [(("--changes", "2"), ("rows", "changes")), (("--up-to", "2"), ("rows", "settings"))]
)
def test_csv_holds_what_json_holds(place: Place, form: tuple[str, ...], parts: tuple[str, ...]) -> None:
    document = place.run("settings", *form, "--json").json
    for part in parts:
        text = place.run("settings", *form, "--csv", "--part", part).answered().out
        read = list(csv.DictReader(io.StringIO(text)))
        assert [tuple(row) for row in read] == [tuple(row) for row in document[part]]
        for line, row in zip(read, document[part], strict=True):
            for key, value in row.items():
                whole = " ".join(value) if isinstance(value, list) else value
                assert line[key] == ("" if whole is None else str(whole))


def test_units_do_not_touch_machines(demo: Run) -> None:
    metric, us = (
        demo("settings", "four_outlets", *CARD, "--json", "--units", u).out for u in ("metric", "us")
    )
    assert metric == us
    assert "gal" in demo("settings", "four_outlets", *CARD, "--units", "us").out


def test_less_short_takes_more_water(place: Place) -> None:
    litres = []
    for share in ("0 %", "10 %", "0.3"):
        document = place.run("settings", "--changes", "2", "--short", share, "--json").answered().json
        litres.append(document["changes"][1]["volume_l"])
    assert litres[0] > litres[1] > litres[2]


def test_the_worst_year_takes_more_than_the_usual(place: Place) -> None:
    by_basis = {
        basis: place.run("settings", "--changes", "2", "--years", basis, "--json").answered().json
        for basis in ("normals", "worst")
    }
    assert by_basis["normals"]["years"] == "normals"
    normals, worst = (by_basis[basis]["changes"][1]["volume_l"] for basis in ("normals", "worst"))
    assert worst > normals


def test_more_settings_than_weeks_change_nothing(place: Place) -> None:
    text = place.run("settings", "--changes", "40").answered().out
    assert "a setting more" in text
    assert "would change nothing" in text


def test_hours_that_are_too_few_are_told_with_3(place: Place) -> None:
    place.write_plan(("to = 09:00:00", "to = 05:06:00"))
    answer = place.run("settings", "--changes", "3", "--json")
    assert answer.code == 3
    (told,) = answer.json["conflicts"]
    assert told.startswith('outlet 1, zone "north": short by up to ')
    assert "whatever the timer is set to" in told
    assert answer.err.startswith("does not fit: outlet 1")
    text = place.run("settings", "--changes", "3")
    assert "DOES NOT FIT: outlet 1" in text.out
    assert "05:00" in text.out  # The least short setting is given.
    assert " *" in text.out
    assert place.run("settings").code == 3


def test_an_order_that_only_more_settings_meet(place: Place) -> None:
    place.write_plan(
        (
            "[[watering_window]]",
            '[[restriction]]\nreason = "order"\nbegins = 2026-06-15\nends = 2026-06-28\n'
            'days = ["Mon"]\nexempt = "no"\n\n[[watering_window]]',
        ),
        ("starts_per_day = 3", "starts_per_day = 1"),
        ('longest_run = "120 min"', 'longest_run = "70 min"\nday_choices = ["every n days"]'),
    )
    once = place.run("settings", "--changes", "1", "--json")
    three = place.run("settings", "--changes", "3", "--json")
    beyond = [row["weeks_beyond_share"] for row in three.json["changes"]]
    assert beyond[0] > beyond[2]
    assert once.code == 3
    for row in three.json["rows"][:-1]:
        if "2026-06-15" <= row["begins"] <= "2026-06-28":
            assert row["days"].startswith("every 7 days from Mon")


def test_runs_keep_to_what_the_soil_takes(place: Place) -> None:
    place.write_plan(("runs = 2\n", 'runs = 2\nruns_through_after = "25 min"\n'))
    answer = place.run("settings", "--changes", "2", "--json").answered()
    for row in answer.json["rows"][:-1]:
        assert row["run_time_min"] <= 25
        assert row["too_long_for"] is None
    text = " ".join(place.run("settings", "--changes", "2").answered().out.split())
    assert "tall bed: a day's minutes come in several runs (setting" in text
    assert "water was seen to come out at the bottom after 25 min" in text


def test_runs_that_are_too_long_for_the_soil_are_told(place: Place) -> None:
    place.write_plan(
        ("runs = 2\n", 'runs = 2\nruns_through_after = "3 min"\n'),
        ("starts_per_day = 3", "starts_per_day = 2"),
    )
    answer = place.run("settings", "--changes", "2", "--json").answered()  # A line, and no fault.
    rows = answer.json["rows"][:-1]
    assert {row["too_long_for"] for row in rows} == {"tall bed"}
    assert all(len(row["starts"]) == 2 for row in rows)  # The most that there are.
    text = " ".join(place.run("settings", "--changes", "2").answered().out.split())
    assert "are longer than its soil takes at once, 3 min, since water was seen" in text
    assert "may run through and be lost, for 2 starts a day are all that the timer has" in text


def test_soil_that_takes_water_in_slowly_makes_it_run_off(place: Place) -> None:
    place.write_plan(
        ('wilting_point = "13 %"', 'wilting_point = "13 %"\nintake_rate = "0.1 in/h"'),
        ("starts_per_day = 3", "starts_per_day = 1"),
    )
    text = " ".join(place.run("settings", "--changes", "1").answered().out.split())
    assert "some water may run off, for 1 start a day is all" in text


def test_gaps_that_beds_do_not_last_are_told_with_3(place: Place) -> None:
    place.write_plan(
        (
            "[[watering_window]]",
            '[[restriction]]\nreason = "order"\nbegins = 2026-05-01\nends = 2026-07-31\n'
            'days = ["Tue", "Sat"]\nexempt = "no"\n\n[[watering_window]]',
        ),
        ('soil_depth = "14 in"', 'soil_depth = "6 in"'),
    )
    answer = place.run("settings", "--changes", "2", "--json")
    assert answer.code == 3
    (told,) = answer.json["conflicts"]
    assert told.startswith('outlet 1, zone "north": beds pass their readily available water between runs: ')
    assert "4 days between runs (setting" in told
    assert "where they last " in told
    assert answer.json["changes"][1]["weeks_not_lasted"] > 0
    assert answer.json["changes"][1]["weeks_beyond_share"] == 0
    text = place.run("settings", "--changes", "2")
    assert "DOES NOT FIT: outlet 1" in text.out
    assert " *" in text.out
    # However often the timer is set, the order leaves the gap.
    every = place.run("settings", "--up-to", "1")
    assert every.code == 3
    assert "whatever the timer is set to" in " ".join(every.out.split())


def test_beds_that_no_daily_run_keeps_are_a_note(place: Place) -> None:
    place.write_plan(('soil_depth = "14 in"', 'soil_depth = "2 in"'))
    text = " ".join(place.run("settings", "--changes", "1").answered().out.split())
    assert "north: even daily runs let a bed pass its readily available water" in text


def test_an_interval_is_told_with_its_first_day(place: Place) -> None:
    place.write_plan(('longest_run = "120 min"', 'longest_run = "120 min"\nday_choices = ["every n days"]'))
    rows = place.run("settings", "--changes", "2", "--json").answered().json["rows"]
    for row in rows[:-1]:
        if row["days"] != "every day":
            words = row["days"].split()
            assert words[:1] + words[2:4] == ["every", "days", "from"]
            begins = date.fromisoformat(row["begins"])
            within = [begins + timedelta(days=n) for n in range(int(words[1]))]
            assert " ".join(words[4:]) in [f"{day:%a} {day.day} {day:%b}" for day in within]


def test_a_picture(place: Place, tmp_path: Path) -> None:
    drawn = tmp_path / "settings.svg"
    place.run("settings", "--up-to", "2", "--plot", drawn).answered()
    texts = " ".join(ElementTree.parse(drawn).getroot().itertext())
    for word in ("water a season", "garden's cost", "worst week short", "set every Monday"):
        assert word in texts


def test_without_a_tariff_there_is_no_money(place: Place, tmp_path: Path) -> None:
    text = place.plan.read_text(encoding="utf-8")
    begin = text.index("[tariff]")
    place.plan.write_text(text[:begin], encoding="utf-8")
    drawn = tmp_path / "settings.svg"
    document = place.run("settings", "--changes", "1", "--json", "--plot", drawn).answered().json
    assert {row["cost"] for row in document["changes"]} == {None}
    assert "cost" not in " ".join(ElementTree.parse(drawn).getroot().itertext())


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--changes", "0"), ("--changes",)),
        (("--short", "100 %"), ("--short", "less than 100 %")),
        (("--short", "ten"), ("--short",)),
        (("--years", "best"), ("--years",)),
        (("--up-to", "90"), ("--up-to",)),
        (("--plot", "card.pdf"), (".svg",)),
        (("--part", "rows"), ("--csv",)),
    ],
)
def test_usage(place: Place, arguments: tuple[str, ...], words: tuple[str, ...]) -> None:
    place.run("settings", *arguments).refused(*words, code=2)


def test_a_record_without_a_whole_season_is_refused(place: Place) -> None:
    place.write_plan(("removed = 2026-07-14", "removed = 2026-09-14"), ("on = 2026-04-15", "on = 2026-01-05"))
    text = place.record.read_text(encoding="utf-8").splitlines()
    # A record that begins after the season of 2025 has, and ends before that of 2026 does.
    kept = [line for line in text[1:] if line >= "2025-03-01"]
    place.write_weather("\n".join([text[0], *kept]) + "\n")
    place.run("settings").refused("no whole season")


def test_answers_go_into_a_file(place: Place, tmp_path: Path) -> None:
    out = tmp_path / "card.json"
    answer = place.run("settings", "--changes", "1", "--json", "--out", out)
    assert (answer.code, answer.out) == (0, "")
    assert json.loads(out.read_text(encoding="utf-8"))["schema"] == "rillbook.settings/1"


def test_the_answer_says_what_it_rests_on(demo: Run) -> None:
    answer: Answer = demo("settings", "four_outlets", *CARD)
    for word in ("eight years in ten", "Weeks begin on Mondays", "rain that soil keeps", "entered as exempt"):
        assert word in " ".join(answer.out.split())
