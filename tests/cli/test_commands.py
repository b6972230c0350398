"""Each command on the demo gardens: text, JSON, CSV, pictures, files, units and exit codes."""

from __future__ import annotations

import csv
import io
import json
import tomllib
from datetime import date, time
from importlib import resources
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import jsonschema
import pytest

import scheduler
from tests.cli.conftest import DEMOS, HEADER, ON, PLAN, Answer, Place, Run, weather_rows, weather_text

DAY = {"four_outlets": "2026-07-13", "one_outlet": "2026-07-13", "open_record": "2015-07-13"}
BED = {"four_outlets": "tall bed", "one_outlet": "salad bed", "open_record": "kale bed"}
COMMANDS = ["week", "bed", "season", "spacing", "check", "weather", "crops"]
#: Commands whose machine format has a name of its own.
SCHEMAS = {"spacing": "advice"}
ALL = [(command, plan) for command in COMMANDS[:-1] for plan in DAY]

#: Endings that name the unit of a number, and keys of plain numbers: counts, ranks, shares, coefficients.
UNIT_ENDINGS = (
    "_mm",
    "_l",
    "_m",
    "_min",
    "_percent",
    "_degc",
    "_m_s",
    "_l_h",
    "_mm_h",
    "_days",
    "_coefficient",
    "_fraction",
)
PLAIN = {
    "outlet",
    "runs",
    "emitters",
    "changes",
    "step",
    "year",
    "weeks_with_conflict",
    "kc_ini",
    "kc_mid",
    "kc_end",
}


def arguments_of(command: str, plan: str) -> tuple[str, ...]:
    """Return what a command needs beside the plan."""
    span = DAY[plan][:8]
    return {
        "week": ("--on", DAY[plan]),
        "spacing": ("--on", DAY[plan]),
        "bed": (BED[plan], "--on", DAY[plan]),
        "weather": ("--from", f"{span}01", "--to", f"{span}16"),
    }.get(command, ())


@pytest.fixture
def ask(demo: Run) -> Run:
    """Return a function that runs a command on a demo garden with what the command needs."""

    def ask_demo(command: str, plan: str, *form: str) -> Answer:
        return demo(command, plan, *arguments_of(command, plan), *form)

    return ask_demo


def tables(document: dict[str, Any]) -> dict[str, list[dict[str, Any]]]:
    """Return the tables of a JSON answer by their names."""
    return {key: rows for key, rows in document.items() if key != "notes" and _is_table(rows)}


def _is_table(value: object) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], dict)


def numbers(value: Any, path: str = "") -> dict[str, float]:
    """Return every number of a JSON answer by its path."""
    if isinstance(value, dict):
        pairs = [(f"{path}/{key}", item) for key, item in value.items()]
    elif isinstance(value, list):
        pairs = [(f"{path}/{at}", item) for at, item in enumerate(value)]
    else:
        return {path: value} if isinstance(value, (int, float)) and not isinstance(value, bool) else {}
    return {at: number for key, item in pairs for at, number in numbers(item, key).items()}


class TestText:
    @pytest.mark.parametrize(("command", "plan"), ALL)
    def test_plain_text_and_silence_beside_it(self, ask: Run, command: str, plan: str) -> None:
        out = ask(command, plan).answered().out
        assert "\x1b" not in out
        assert max(map(len, out.splitlines())) <= 110
        assert not {"nan", "inf", "None"} & set(out.replace(",", " ").split())
        name = tomllib.loads((DEMOS / f"demo_{plan}.toml").read_text(encoding="utf-8"))["name"]
        assert out.startswith(name)

    @pytest.mark.parametrize(("command", "plan"), [pair for pair in ALL if pair[0] != "check"])
    def test_us_units(self, ask: Run, command: str, plan: str) -> None:
        metric, us = ask(command, plan).answered().out, ask(command, plan, "--units", "us").answered().out
        for unit in ("[mm]", "[L]", "[°C]", " mm/h", " L/h", " kPa"):
            assert unit not in us.partition("\nNotes\n")[0]
        for unit in ("[in]", "[gal]", "[°F]", " ft²", "gal/h"):
            assert unit not in metric.partition("\nNotes\n")[0]

    def test_week_tells_settings_valves_weather_and_why(self, ask: Run) -> None:
        out = ask("week", "four_outlets").out
        for bed in ("tall bed", "round bed", "bean row", "squash bed", "salad bed", "seed bed"):
            assert f"\n{bed}: uses " in out
        for word in ("start at", "each run", "deficit", "limit", "forecast", "salad bed is mixed"):
            assert word in out

    def test_week_without_forecast_says_normals(self, ask: Run) -> None:
        out = ask("week", "open_record").out
        assert "normals of the record" in out
        assert "normal\n" in out

    def test_one_outlet_gives_all_beds_one_run(self, ask: Run) -> None:
        document = ask("week", "one_outlet", "--json").json
        assert [row["zone"] for row in document["rows"]] == ["all beds"]
        assert {bed["gets_min"] for bed in document["beds"]} == {document["rows"][0]["run_time_min"]}
        assert min(bed["surplus_percent"] for bed in document["beds"]) == 0
        assert max(bed["surplus_percent"] for bed in document["beds"]) > 0

    @pytest.mark.parametrize("form", [(), ("--json",)])
    @pytest.mark.parametrize("command", ["week", "bed", "season", "weather"])
    def test_estimates_are_told(self, ask: Run, command: str, form: tuple[str, ...]) -> None:
        text = " ".join(ask(command, "open_record", *form).out.split())
        assert "humidity estimated" in text
        assert "radiation estimated" in text

    @pytest.mark.parametrize("plan", DAY)
    @pytest.mark.parametrize("command", ["week", "bed", "season"])
    def test_borrowed_coefficients_are_told(self, ask: Run, command: str, plan: str) -> None:
        crop = {"tall bed": "basil", "salad bed": "chard", "kale bed": "kale"}[BED[plan]]
        for out in (ask(command, plan).out, " ".join(ask(command, plan, "--json").json["notes"])):
            assert "borrowed" in out.lower()
            assert crop in out

    def test_check_gives_both_units(self, ask: Run) -> None:
        out = ask("check", "four_outlets").out
        for text in ("no faults", "40.6 cm (16.0 in)", "1476.3 L/h", "(20 psi)", "2.97 m² (32.0 ft²)"):
            assert text in out

    def test_bill_adds_up(self, ask: Run) -> None:
        document = ask("season", "four_outlets", "--json").json
        bill = [row for row in document["bill"] if row["label"] == "this bill"]
        cost = sum(round(100 * float(row["difference"])) for row in bill)
        assert cost == round(100 * float(document["cost"])) > 0

    def test_season_of_another_year_and_of_every_year(self, place: Place) -> None:
        assert place.run("season", "--year", "2026").answered() == place.run("season")
        moved = place.run("season", "--year", "2025", "--json").answered().json
        every = place.run("season", "--every-year", "--json").answered().json
        assert [row["year"] for row in every["rows"]] == [2025, 2026]
        assert every["rows"][0]["volume_l"] == moved["volume_l"]
        assert [date.fromisoformat(row["peak_week_from"]).year for row in every["rows"]] == [2025, 2026]

    def test_today_at_the_garden_unless_told(self, place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
        asked = []

        def today(zone: str) -> date:
            asked.append(zone)
            return date.fromisoformat(ON)

        monkeypatch.setattr("scheduler.clock.today", today)
        assert place.run("week").answered() == place.week()
        assert place.run("bed", "tall bed").answered() == place.run("bed", "tall bed", "--on", ON)
        assert asked == ["Etc/GMT+1", "Etc/GMT+1"]


class TestJson:
    @pytest.mark.parametrize(("command", "plan"), ALL)
    def test_head_and_keys(self, ask: Run, command: str, plan: str) -> None:
        document = ask(command, plan, "--json").answered().json
        assert document["schema"] == f"rillbook.{SCHEMAS.get(command, command)}/1"
        assert document["as_of"] is None if command == "check" else date.fromisoformat(document["as_of"])
        assert document["title"]
        assert document["notes"]
        assert document["rows"]
        for path in numbers(document):
            # Numbers of a list go by the list's key.
            key = next(part for part in reversed(path.split("/")) if not part.isdigit())
            in_row_with_unit = command == "bed" and key == "value"
            assert key.endswith(UNIT_ENDINGS) or key in PLAIN or in_row_with_unit, path

    def test_crops(self, run: Run) -> None:
        document = run("crops", "--json").answered().json
        assert document["schema"] == "rillbook.crops/1"
        assert len(document["rows"]) >= 45
        assert all(row["source"] for row in document["rows"])
        for path in numbers(document):
            key = path.rpartition("/")[2]
            assert key.endswith(UNIT_ENDINGS) or key in PLAIN, path

    @pytest.mark.parametrize(("command", "plan"), ALL)
    def test_dates_are_iso(self, ask: Run, command: str, plan: str) -> None:
        for rows in tables(ask(command, plan, "--json").json).values():
            for row in rows:
                for key in {"date", "first", "last", "week", "peak_week_from"} & row.keys():
                    assert date.fromisoformat(row[key]).isoformat() == row[key]

    @pytest.mark.parametrize("plan", DAY)
    def test_numbers_of_the_working_are_numbers_with_their_unit(self, ask: Run, plan: str) -> None:
        rows = ask("bed", plan, "--json").json["rows"]
        assert all(isinstance(row["value"], (int, float)) for row in rows)
        assert {row["unit"] for row in rows} >= {"m2", "L/h", "mm/h", "mm", "min"}

    def test_full_precision(self, ask: Run) -> None:
        for command in ("week", "season"):
            litres = [n for p, n in numbers(ask(command, "four_outlets", "--json").json).items() if "_l" in p]
            assert any(n != round(n, 6) for n in litres)

    @pytest.mark.parametrize(("command", "plan"), [pair for pair in ALL if pair[0] != "check"])
    def test_units_do_not_touch_it(self, ask: Run, command: str, plan: str) -> None:
        assert ask(command, plan, "--json", "--units", "us").out == ask(command, plan, "--json").out

    def test_week_parts_agree(self, ask: Run) -> None:
        document = ask("week", "four_outlets", "--json").json
        for row in document["rows"]:
            runs = [run for run in document["runs"] if run["zone"] == row["zone"]]
            beds = [bed for bed in document["beds"] if bed["zone"] == row["zone"]]
            assert len(runs) == row["runs"]
            assert sum(run["volume_l"] for run in runs) == pytest.approx(row["volume_l"], rel=1e-9)
            assert sum(bed["volume_l"] for bed in beds) == pytest.approx(row["volume_l"], rel=1e-9)
        assert [day["date"] for day in document["days"]][:2] == ["2026-07-13", "2026-07-14"]


class TestCsv:
    @pytest.mark.parametrize(("command", "plan"), ALL)
    def test_every_part_holds_what_json_holds(self, ask: Run, command: str, plan: str) -> None:
        document = ask(command, plan, "--json").json
        first = ask(command, plan, "--csv").answered().out
        assert first == ask(command, plan, "--csv", "--part", "rows").out
        for part, rows in tables(document).items():
            text = ask(command, plan, "--csv", "--part", part).answered().out
            read = list(csv.DictReader(io.StringIO(text)))
            assert [tuple(row) for row in read] == [tuple(row) for row in rows]
            for line, row in zip(read, rows, strict=True):
                for key, value in row.items():
                    assert line[key] == _as_cell(value)

    @pytest.mark.parametrize("command", ["week", "season"])
    def test_units_do_not_touch_it(self, ask: Run, command: str) -> None:
        metric, us = (ask(command, "four_outlets", "--csv", "--units", u).out for u in ("metric", "us"))
        assert metric == us


def _as_cell(value: Any) -> str:
    if isinstance(value, list):
        return " ".join(map(str, value))
    return "" if value is None else str(value)


# The same measures as in the plan of the tests, written in metric units.
METRIC = [
    ('elevation = "230 ft"', 'elevation = "70.104 m"'),
    ('wind_height = "10 ft"', 'wind_height = "304.8 cm"'),
    ('field_capacity = "32 %"', "field_capacity = 0.32"),
    ('flow = "5 gal/min"', 'flow = "18.92705892 L/min"'),
    ('emitter_flow = "0.6 gal/h"', 'emitter_flow = "2.2712470704 L/h"'),
    ('at_pressure = "20 psi"', 'at_pressure = "1.3789514586336722 bar"'),
    ('emitter_spacing = "6 in"', 'emitter_spacing = "15.24 cm"'),
    ('length = "10 ft"', 'length = "3.048 m"'),
    ('width = "4 ft"', 'width = "1219.2 mm"'),
    ('soil_depth = "14 in"', 'soil_depth = "35.56 cm"'),
    ('share = "60 %"', "share = 0.6"),
    ('use_per_day = "180 gal"', 'use_per_day = "681.37412112 L"'),
]


class TestSpellings:
    @pytest.mark.parametrize(
        "command", [("week", "--on", ON), ("bed", "tall bed", "--on", ON), ("season",)], ids=lambda c: c[0]
    )
    def test_us_and_metric_plans_of_one_garden(self, place: Place, command: tuple[str, ...]) -> None:
        us = place.run(*command, "--json").answered().json
        place.write_plan(*METRIC)
        header = HEADER.replace("_c", "_f").replace("wind_m_s", "wind_mph").replace("rain_mm", "rain_in")
        place.write_weather(weather_text(_in_us_units(), header=header))
        metric = place.run(*command, "--json").answered().json
        assert numbers(metric) == pytest.approx(numbers(us), rel=1e-9, abs=1e-9)
        assert metric.get("cost") == us.get("cost")


def _in_us_units() -> dict[str, list[str]]:
    rows = weather_rows()
    for cells in rows.values():
        cells[1], cells[2] = (repr(float(cell) * 1.8 + 32) for cell in cells[1:3])
        cells[5], cells[7] = repr(float(cells[5]) / 0.44704), repr(float(cells[7]) / 25.4)
    return rows


class TestFiles:
    def test_bed_whose_name_is_a_formula(self, place: Place) -> None:
        place.write_plan(('name = "tall bed"', """name = '=HYPERLINK("http://127.0.0.1")'"""))
        told = place.week("--csv", "--part", "beds").answered().out
        (row,) = csv.DictReader(io.StringIO(told))
        assert row["bed"] == """'=HYPERLINK("http://127.0.0.1")"""
        beds = json.loads(place.week("--json").answered().out)["beds"]
        assert beds[0]["bed"] == '=HYPERLINK("http://127.0.0.1")'

    @pytest.mark.parametrize("form", [(), ("--json",), ("--csv",)])
    @pytest.mark.parametrize("command", ["week", "season"])
    def test_out_is_the_whole_answer(self, place: Place, command: str, form: tuple[str, ...]) -> None:
        day = ("--on", ON) if command == "week" else ()
        target = place.folder / "answer.txt"
        target.write_text("old", encoding="utf-8")
        answer = place.run(command, *day, *form, "--out", target)
        assert (answer.code, answer.out, answer.err) == (0, "", "")
        assert target.read_text(encoding="utf-8") == place.run(command, *day, *form).out
        assert {file.name for file in place.folder.iterdir()} == {"garden.toml", "weather.csv", "answer.txt"}

    def test_out_is_all_or_nothing(self, place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
        def full(_path: Path, _target: Path) -> Path:
            raise OSError(28, "No space left on device")

        target = place.folder / "answer.txt"
        target.write_text("old", encoding="utf-8")
        monkeypatch.setattr(Path, "replace", full)
        place.week("--out", target).refused("answer.txt", "No space left")
        assert target.read_text(encoding="utf-8") == "old"

    @pytest.mark.parametrize(("units", "unit"), [("metric", "[mm]"), ("us", "[in]")])
    @pytest.mark.parametrize("command", ["week", "bed", "season"])
    def test_svg(self, place: Place, command: str, units: str, unit: str) -> None:
        target = place.folder / "plot.svg"
        rest = {"week": ("--on", ON), "bed": ("tall bed", "--on", ON), "season": ()}[command]
        answer = place.run(command, *rest, "--units", units, "--plot", target).answered()
        assert answer == place.run(command, *rest, "--units", units)
        assert ElementTree.parse(target).getroot().tag.endswith("}svg")
        text = target.read_text(encoding="utf-8")
        assert unit in text
        assert "tall bed" in text
        if command == "season":
            assert {"metric": "[L]", "us": "[gal]"}[units] in text

    @pytest.mark.parametrize("command", ["week", "season"])
    def test_png(self, place: Place, command: str) -> None:
        target = place.folder / "plot.PNG"
        place.run(command, *(("--on", ON) if command == "week" else ()), "--plot", target).answered()
        content = target.read_bytes()
        assert content.startswith(b"\x89PNG\r\n\x1a\n")
        assert content.endswith(b"IEND\xaeB`\x82")


class TestWhatDoesNotFit:
    """Ten minutes a day for a bed that needs an hour twice a week."""

    @pytest.fixture
    def short(self, place: Place) -> Place:
        place.write_plan(("to = 09:00:00", "to = 05:10:00"))
        return place

    def test_the_table_is_printed_all_the_same(self, short: Place) -> None:
        answer = short.week()
        assert answer.code == 3
        assert "north" in answer.err
        assert "DOES NOT FIT" in answer.out
        for word in ("each run", "limit", "Notes"):
            assert word in answer.out

    def test_json_and_files(self, short: Place) -> None:
        answer = short.week("--json")
        assert answer.code == 3
        assert 'zone "north"' in answer.json["conflicts"][0]
        target = short.folder / "week.json"
        assert short.week("--json", "--out", target).code == 3
        assert json.loads(target.read_text(encoding="utf-8")) == answer.json

    def test_season(self, short: Place) -> None:
        answer = short.run("season")
        assert answer.code == 3
        assert "DOES NOT FIT" in answer.out
        assert short.run("season", "--json").json["weeks_with_conflict"] > 0

    def test_what_is_in_the_way_and_the_least_that_would_do(self, short: Place) -> None:
        answer = short.week()
        assert "IN THE WAY: the watering hours." in answer.out
        assert "Any one of these would do" in answer.out
        document = short.week("--json").json
        assert document["limits_in_conflict"] == ["the watering hours"]
        assert document["changes"][0]["change"].startswith("watering hours that ")
        assert document["eased"][0]["run_time_min"] > document["rows"][0]["run_time_min"]

    def test_what_a_bed_needs_is_not_told_as_what_fits(self, short: Place) -> None:
        (bed,) = short.week("--json").json["beds"]
        assert (bed["needs_min"], bed["needs_low_min"], bed["surplus_percent"]) == (None, None, None)
        assert bed["gets_min"] > 0
        text = " ".join(short.week().out.split())
        assert "it needs more than these days, hours and runs can give it" in text
        assert "brings it back over the week" not in text
        working = " ".join(short.run("bed", "tall bed", "--on", ON).out.split())
        assert "keep it within its limit" not in working

    def test_why_these_days_and_how_sure(self, place: Place) -> None:
        document = place.week("--json").answered().json
        assert document["proven_best"] is True
        (row,) = document["rows"]
        assert {why["zone"] for why in document["why"]} == {"north"}
        days = {date.fromisoformat(why["date"]).strftime("%a") for why in document["why"]}
        assert days == (
            {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"}
            if row["days"] == "every day"
            else set(row["days"].split())
        )
        text = place.week().out
        assert "Why these days, north: tall bed would pass its limit without the run of " in " ".join(
            text.split()
        )
        assert "all were ruled out" in " ".join(text.split())

    def test_a_date_in_another_order_is_refused_in_words(self, place: Place) -> None:
        answer = place.run("week", "--on", "13.7.2026")
        assert answer.code == 2
        assert '"13.7.2026" is no date: write year-month-day, such as 2026-07-13' in answer.err

    def test_no_time_to_search_still_gives_a_table(self, place: Place) -> None:
        assert place.week("--seconds", "0", "--json").answered().json["rows"][0]["runs"] > 0

    def test_a_plan_that_fits(self, place: Place) -> None:
        assert place.week("--json").answered().json["conflicts"] == []
        assert place.run("season", "--json").answered().json["weeks_with_conflict"] == 0


class TestNew:
    @pytest.fixture
    def plan(self, tmp_path: Path, run: Run) -> Path:
        answer = run("new", tmp_path / "my garden")
        assert (answer.code, answer.out) == (0, "")
        assert "rillbook check" in answer.err
        return tmp_path / "my garden" / "garden.toml"

    def test_the_starter_runs(self, plan: Path, run: Run) -> None:
        raw = tomllib.loads(plan.read_text(encoding="utf-8"))
        assert "no faults" in run("check", plan).answered().out
        run("week", plan, "--on", "2026-07-13").answered()
        run("bed", plan, raw["bed"][0]["name"], "--on", "2026-07-13").answered()
        run("season", plan).answered()

    def test_nothing_is_overwritten(self, plan: Path, run: Run) -> None:
        plan.write_text("mine", encoding="utf-8")
        run("new", plan.parent).refused("my garden", "garden.toml", "already there")
        assert plan.read_text(encoding="utf-8") == "mine"

    def test_a_name_that_is_taken_by_a_file(self, plan: Path, run: Run) -> None:
        run("new", plan).refused("garden.toml", code=2)
        run("new", plan / "deeper").refused("deeper", "cannot be written")


class TestSchema:
    def test_valid_and_accepts_the_plans(self, run: Run) -> None:
        schema = json.loads(run("schema").answered().out)
        jsonschema.Draft202012Validator.check_schema(schema)
        validator = jsonschema.Draft202012Validator(schema)
        plans = [DEMOS / f"demo_{plan}.toml" for plan in DAY]
        texts = [path.read_text(encoding="utf-8") for path in plans]
        texts.append((resources.files("scheduler.garden.data") / "starter.toml").read_text(encoding="utf-8"))
        for text in (*texts, PLAN):
            validator.validate(_as_editors_hold(tomllib.loads(text)))
        slip = _as_editors_hold(tomllib.loads(PLAN.replace("runs = 2", "rnus = 2")))
        assert not validator.is_valid(slip)

    def test_out(self, run: Run, tmp_path: Path) -> None:
        assert run("schema", "--out", tmp_path / "schema.json") == Answer(0, "", "")
        assert (tmp_path / "schema.json").read_text(encoding="utf-8") == run("schema").out


def _as_editors_hold(value: Any) -> Any:
    """Return TOML values with dates and times as text."""
    if isinstance(value, dict):
        return {key: _as_editors_hold(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_as_editors_hold(item) for item in value]
    return value.isoformat() if isinstance(value, (date, time)) else value


class TestHelp:
    @pytest.mark.parametrize("command", [*COMMANDS, "new", "schema"])
    @pytest.mark.parametrize("option", ["--help", "-h"])
    def test_of_every_command(self, run: Run, command: str, option: str) -> None:
        out = run(command, option).answered().out
        assert out.startswith(f"Usage: rillbook {command}")
        assert command in run("--help").answered().out

    def test_version(self, run: Run) -> None:
        assert scheduler.__version__ in run("--version").answered().out
