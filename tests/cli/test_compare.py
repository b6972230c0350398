"""`rillbook compare` on the demo gardens and on the small one: tables, forms, units, refusals."""

from __future__ import annotations

import csv
import io

import pytest

from tests.cli.conftest import Place, Run, weather_rows, weather_text

LITRES_PER_GALLON = 3.785411784


@pytest.mark.parametrize("plan", ["four_outlets", "one_outlet"])
def test_the_demo_gardens(demo: Run, plan: str) -> None:
    document = demo("compare", plan, "--json").answered().json
    assert document["schema"] == "rillbook.compare/1"
    ours, daily, depth = document["rows"]
    assert [row["timetable"] for row in document["rows"]] == [
        "weekly table",
        "every day 20 min",
        "1 inch a week in 2 runs",
    ]
    season = demo("season", plan, "--json").answered().json
    assert ours["volume_l"] == season["volume_l"]
    assert ours["cost"] == season["cost"]
    assert ours["short_days"] == sum(bed["short_days"] for bed in season["beds"])
    assert depth["volume_l"] < ours["volume_l"] < daily["volume_l"]
    assert depth["short_days"] > 10 * ours["short_days"]
    for beside, row in zip(document["beside"], (daily, depth), strict=True):
        assert beside["more_volume_l"] == row["volume_l"] - ours["volume_l"]
        assert beside["more_short_days"] == row["short_days"] - ours["short_days"]
        assert float(beside["more_cost"]) == pytest.approx(float(row["cost"]) - float(ours["cost"]))
    for row in document["rows"]:
        beds = [bed for bed in document["beds"] if bed["timetable"] == row["timetable"]]
        assert len(beds) == 6
        assert sum(bed["volume_l"] for bed in beds) == pytest.approx(row["volume_l"])
        assert sum(bed["drained_l"] for bed in beds) == pytest.approx(row["drained_l"])
        assert sum(bed["short_days"] for bed in beds) == row["short_days"]
        assert max(bed["short_days"] for bed in beds) == row["hardest_bed_short_days"]
    assert any("No timetable was named" in note for note in document["notes"])


def test_sentences_say_a_gain_and_a_loss(demo: Run) -> None:
    text = " ".join(demo("compare", "four_outlets").answered().out.split())
    assert 'less than "every day 20 min"' in text
    assert 'more than "1 inch a week in 2 runs", because that leaves beds too dry' in text
    assert "judgement, no source" in text
    assert "moved to 2025" in text


def test_own_timetables_by_zone_and_depth(demo: Run) -> None:
    own = "fruit: every day 20 min; vines: Mon Thu 30 min; every 3 days 45 min"
    arguments = (
        "--fixed",
        own,
        "--fixed",
        "every 2 days 200 min",
        "--depth",
        "1 in a week in 3 runs less rain",
    )
    document = demo("compare", "four_outlets", *arguments, "--year", "2021", "--json").answered().json
    labels = [row["timetable"] for row in document["rows"]]
    assert labels == ["weekly table", own, "every 2 days 200 min", "1 inch a week in 3 runs less rain"]
    assert not any("No timetable was named" in note for note in document["notes"])
    text = " ".join(demo("compare", "four_outlets", *arguments, "--year", "2021").answered().out.split())
    assert text.count("CANNOT BE SET") == 1
    assert "runs of 200 min, and the timer's longest is 120 min" in text


def test_a_simple_timer_is_told_what_it_cannot_hold(demo: Run) -> None:
    text = " ".join(demo("compare", "one_outlet", "--fixed", "Mon Wed Fri 20 min").answered().out.split())
    assert 'all the same: "Mon Wed Fri 20 min": the timer cannot be set by weekdays.' in text


def test_every_year_gives_means_and_extremes(place: Place) -> None:
    years = place.run("compare", "--every-year", "--json").answered().json
    assert years["schema"] == "rillbook.compare-years/1"
    single = {
        year: place.run("compare", "--year", year, "--json").answered().json["rows"]
        for year in ("2025", "2026")
    }
    for number, row in enumerate(years["rows"]):
        litres = [rows[number]["volume_l"] for rows in single.values()]
        assert row["volume_l"] == pytest.approx(sum(litres) / 2)
        assert (row["least_volume_l"], row["most_volume_l"]) == (min(litres), max(litres))
        days = [rows[number]["short_days"] for rows in single.values()]
        assert row["short_days"] == pytest.approx(sum(days) / 2)
        assert row["most_short_days"] == max(days)
    assert [row["volume_l"] for row in years["years"]] == [
        row["volume_l"] for rows in single.values() for row in rows
    ]
    out = place.run("compare", "--every-year").answered().out
    assert "Means of 2 years" in out
    assert "of 2 years" in out


def test_a_record_of_one_season_has_no_means(place: Place) -> None:
    place.write_weather(weather_text({day: row for day, row in weather_rows().items() if day > "2025-06-01"}))
    out = place.run("compare", "--every-year").answered().out
    assert "The one year of the record" in out
    assert "1 years" not in out
    assert "means of the years" not in out
    card = " ".join(place.run("settings", "--changes", "1").out.split())
    assert "in the one year replayed" in card


def test_csv_units_and_file(place: Place) -> None:
    text = place.run("compare", "--csv", "--part", "beds").answered().out
    rows = list(csv.DictReader(io.StringIO(text)))
    assert {row["timetable"] for row in rows} == {
        "weekly table",
        "every day 20 min",
        "1 inch a week in 2 runs",
    }
    assert place.run("compare", "--csv", "--units", "us").answered() == place.run("compare", "--csv")
    first = next(csv.DictReader(io.StringIO(place.run("compare", "--csv").out)))
    gallons = f"{float(first['volume_l']) / LITRES_PER_GALLON:,.0f}"
    assert gallons in place.run("compare", "--units", "us").answered().out
    out = place.folder / "answer.json"
    place.run("compare", "--json", "--out", out)
    assert out.read_text(encoding="utf-8") == place.run("compare", "--json").out


def test_everything_that_cannot_be_read_is_told_at_once(place: Place) -> None:
    answer = place.run(
        "compare",
        *("--fixed", "every day 20", "--fixed", "Mn 5 min", "--depth", "1 a week", "--depth", "2 mm"),
    )
    answer.refused("has no unit", '"Mn" is no run day', "no unit", "how much water a week", code=2)
    twice = place.run("compare", "--fixed", "every day 5 min", "--fixed", "every  day 5 min")
    twice.refused("more than once", code=2)
    place.run("compare", "--year", "2025", "--every-year").refused("does not go with", code=2)
    place.run("compare", "--depth", "9 m a week").refused("h a run day")
    place.run("compare", "--year", "1999").refused("the record runs from")
