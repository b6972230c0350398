"""`rillbook heat` on the demo gardens and the small one: spell, dates, standing settings, none invented."""

from __future__ import annotations

import pytest

from tests.cli.conftest import ON, Place, Run, weather_rows, weather_text

DAY = "2026-07-13"


def with_forecast(place: Place, hot: dict[str, float], *, rain: float = 1.2) -> None:
    """End the record the day before ON and put a week of forecast after it, some days hotter by degC."""
    rows = weather_rows()
    kept = {day: cells for day, cells in rows.items() if day < ON}
    for n in range(8):
        day = f"2026-06-{15 + n:02d}"
        tmax, tmin = 24.0 + hot.get(day, 0.0), 13.0 + hot.get(day, 0.0) / 2
        dry = 42.0 - 1.5 * hot.get(day, 0.0)
        solar = 21.5 + 0.4 * hot.get(day, 0.0)
        kept[day] = ["forecast", *(f"{x:.1f}" for x in (tmax, tmin, 92.0, dry, 2.2, solar, rain))]
    place.write_weather(weather_text(kept))


def test_demo_answer_as_a_document(demo: Run) -> None:
    document = demo("heat", "four_outlets", "--on", DAY, "--json").answered().json
    assert document["schema"] == "rillbook.heat/1"
    assert document["spell"] == ["2026-07-16", "2026-07-19"]
    assert (document["first"], document["last"]) == ("2026-07-16", "2026-07-19")
    assert document["forecast_days"] == len(document["days"]) == 7
    assert [row["zone"] for row in document["rows"]] == ["fruit", "vines", "salad", "sown"]
    assert document["more_l"] == pytest.approx(sum(row["more_l"] for row in document["rows"]))
    assert document["more_l"] > 0.0
    # In heat no outlet is told to give less, though the soil of the fruit beds has some in store.
    assert all(row["more_l"] >= 0.0 for row in document["rows"])
    changed = [row for row in document["rows"] if row["days"] != "as it stands"]
    assert changed
    assert {(row["first"], row["last"]) for row in changed} == {("2026-07-16", "2026-07-19")}
    failing = {row["zone"] for row in document["beds"]}
    assert {row["zone"] for row in changed} <= failing
    assert all(row["left_mm_d"] < row["excess_mm_d"] for row in document["beds"])


def test_text_names_first_day_last_day_and_what_to_put_back(demo: Run) -> None:
    text = " ".join(demo("heat", "four_outlets", "--on", DAY).answered().out.split())
    assert "from Thu 16 Jul up to and with Sun 19 Jul" in text
    assert "then put back:" in text
    assert "Run before dawn" in text


def test_without_a_forecast_it_says_so(demo: Run) -> None:
    answer = demo("heat", "one_outlet", "--on", "2026-07-20", "--json")
    assert answer.code == 0
    assert answer.json["spell"] is None
    assert answer.json["forecast_days"] == 0
    assert answer.json["beds"] == answer.json["days"] == []
    text = demo("heat", "one_outlet", "--on", "2026-07-20").out
    assert "There are no forecast rows" in text


def test_a_spell_put_into_the_forecast_is_found_with_its_dates(place: Place) -> None:
    hot = {f"2026-06-{day}": 13.0 for day in (18, 19, 20)}
    with_forecast(place, hot)
    document = place.run("heat", "--on", ON, "--json").answered().json
    assert [row["date"] for row in document["days"] if row["hot"]] == sorted(hot)
    assert document["spell"] == ["2026-06-18", "2026-06-20"]


def test_no_spell_is_invented(place: Place) -> None:
    with_forecast(place, {})
    document = place.run("heat", "--on", ON, "--json").answered().json
    assert document["spell"] is None
    assert document["first"] is None
    text = " ".join(place.run("heat", "--on", ON).answered().out.split())
    assert "Leave the timer as it is" in text


def test_want_of_rain_is_told_as_what_it_is(place: Place) -> None:
    with_forecast(place, {}, rain=0.0)
    answer = place.run("heat", "--on", ON).answered()
    assert "No hot spell, yet tall bed" in answer.out
    assert "See rillbook week" in " ".join(answer.out.split())


def test_a_standing_setting_of_ones_own(place: Place) -> None:
    with_forecast(place, {f"2026-06-{day}": 13.0 for day in (18, 19, 20)})
    words = ("--standing", "north=Tue, Sat 20 min")
    document = place.run("heat", "--on", ON, *words, "--json").answered().json
    assert document["rows"][0]["standing"].startswith("Tue Sat, 20 min at ")
    assert document["beds"]
    plenty = place.run("heat", "--on", ON, "--standing", "north=every day 100 min", "--json").answered()
    assert sum(row["excess_mm_d"] for row in plenty.json["beds"]) < sum(
        row["excess_mm_d"] for row in document["beds"]
    )
    every = place.run("heat", "--on", ON, "--standing", "north=every 2 days 20 min", "--json").answered()
    assert "every 2 days" in every.json["rows"][0]["standing"]


def test_the_table_that_the_ledger_keeps_can_stand(place: Place) -> None:
    place.run("heat", "--on", ON, "--advised").refused("keeps no table")
    with_forecast(place, {f"2026-06-{day}": 13.0 for day in (18, 19, 20)})
    made = place.run("daily", "--on", ON, "--json")
    assert made.code == 0
    week = place.run("week", "--on", ON, "--json").json["rows"][0]
    document = place.run("heat", "--on", ON, "--advised", "--json").answered().json
    starts = " ".join(week["starts"])
    assert document["rows"][0]["standing"] == f"{week['days']}, {week['run_time_min']} min at {starts}"
    assert any("as the table from Mon 15 Jun in the ledger advised" in note for note in document["notes"])
    own = place.run("heat", "--on", ON, "--advised", "--standing", "north=Tue 20 min", "--json").answered()
    assert own.json["rows"][0]["standing"].startswith("Tue, 20 min")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("west=Mon 20 min", ('no zone "west"', "one of north")),
        ("nort=Mon 20 min", ('did you mean "north"',)),
        ("tall bed=Mon 20 min", ('"tall bed" is a bed, not a zone', 'behind zone "north"')),
        ("north", ("has no = after the name of a zone",)),
        ("north=20 min", ("names no run days",)),
        ("north=Tue Sat 20", ("no unit",)),
        ("north=Mon", ("no length of a run",)),
        ("north=Mon Funday 20 min", ('"Funday" is no run day',)),
        ("north=every 9 days 20 min", ("cannot be set", "every 9 days, and the timer counts to 7")),
        ("north=every 0 days 20 min", ('"every 0 days" is no interval',)),
        ("north=Mon 999 min", ("cannot be set", "360 min a day in all")),
        ("north=Mon 4 x 5 min", ("4 runs a day, and the timer has 3 starts",)),
    ],
)
def test_settings_that_cannot_be(place: Place, text: str, words: tuple[str, ...]) -> None:
    answer = place.run("heat", "--on", ON, "--standing", text)
    answer.refused(*words)
    assert "outlet" not in answer.err


def test_runs_as_said_stand(place: Place) -> None:
    words = ("--standing", "north=Mon Thu 2 x 15 min")
    standing = place.run("heat", "--on", ON, *words, "--json").answered().json["rows"][0]["standing"]
    assert standing.startswith("Mon Thu, 15 min at ")
    assert standing.count(":") == 2


def test_all_faults_are_told_at_once(place: Place) -> None:
    words = (
        "--standing",
        "north=Mon 20 min",
        "--standing",
        "north=Tue 20 min",
        "--standing",
        "west=Tue 1",
    )
    place.run("heat", "--on", ON, *words).refused("a second time", 'no zone "west"', "no unit")


ORDER = """[[restriction]]
reason = "dry summer, invented"
begins = 2026-06-01
ends = 2026-09-15
days = ["Tue", "Sat"]
exempt = "no"
"""


@pytest.mark.parametrize(
    ("more", "text", "words"),
    [
        ("", "north=Mon 360 min", ("360 min a day do not fit into the watering hours of its days;",)),
        (ORDER, "north=Mon Tue 20 min", ("no run is allowed on Mon: the restriction", "leaves them out")),
        (
            ORDER + "from = 20:00:00\nto = 22:00:00\n",
            "north=Tue 20 min",
            (
                'no run is allowed on Tue: the hours of the restriction "dry summer, invented"',
                "none in common",
            ),
        ),
        (
            ORDER + "from = 04:00:00\nto = 05:10:00\n",
            "north=Tue 20 min",
            ("20 min a day do not fit", 'as the restriction "dry summer, invented" leaves them'),
        ),
    ],
)
def test_a_setting_without_room_is_refused_with_its_reason(
    place: Place, more: str, text: str, words: tuple[str, ...]
) -> None:
    place.write_plan(("[tariff]", f"{more}[tariff]"))
    answer = place.run("heat", "--on", ON, "--standing", text)
    answer.refused(*words)
    assert "beside the others" not in answer.err


def test_windows_that_leave_a_day_out_are_the_reason(place: Place) -> None:
    place.write_plan(("from = 05:00:00\n", 'days = ["Tue", "Sat"]\nfrom = 05:00:00\n'))
    place.run("heat", "--on", ON, "--standing", "north=Wed 20 min").refused(
        "no run is allowed on Wed: your watering windows leave them out"
    )


def test_a_setting_that_others_leave_no_room_for_is_told_so(demo: Run) -> None:
    words = ("--standing", "fruit=every day 120 min", "--standing", "vines=every day 120 min")
    answer = demo("heat", "four_outlets", "--on", DAY, *words)
    answer.refused("no room in the watering hours beside the others", "the setting of every zone")
