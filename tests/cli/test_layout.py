"""rillbook layout: tables, JSON and CSV that agree, the drawing, exit codes, gardens that do not work."""

from __future__ import annotations

import csv
import io
from importlib import resources
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.cli.conftest import Answer, Run
from tests.garden.conftest import PLAN
from tests.layout.plans import plan_with

DEMO = Path(__file__).parents[2] / "config" / "demo_four_outlets.toml"
STATIC = ('flow = "5 gal/min"', 'flow = "5 gal/min"\nstatic_pressure = "40 psi"')
ENDINGS = ("_kpa", "_l_h", "_percent", "_m", "_mm", "count", "places", "value", "limit")
PARTS = ("rows", "to_do", "fine", "sources", "checks", "takeoff")


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    """Return a function that writes the small plan with a layout, changed."""

    def write(*pairs: tuple[str, str], **rest: str) -> Path:
        path = tmp_path_factory.mktemp("layout") / "garden.toml"
        path.write_text(plan_with(*pairs, **rest), encoding="utf-8")
        return path

    return write


def levels(answer: Answer, check: str) -> dict[str, str]:
    return {row["where"]: row["level"] for row in answer.json["checks"] if row["check"] == check}


class TestDemo:
    def test_text_is_whole_and_narrow(self, run: Run) -> None:
        for units, unit in (("us", "[psi]"), ("metric", "[kPa]")):
            answer = run("layout", DEMO, "--units", units).answered()
            assert unit in answer.out
            assert max(map(len, answer.out.splitlines())) <= 110
            assert not {"nan", "inf", "None"} & set(answer.out.replace(",", " ").split())
            for word in ("tall bed", "What to look at", "What is fine", "main line tube", "approves"):
                assert word in answer.out

    def test_json_head_keys_and_precision(self, run: Run) -> None:
        document = run("layout", DEMO, "--json").answered().json
        assert document["schema"] == "rillbook.layout/1"
        assert [row["bed"] for row in document["rows"]][:2] == ["tall bed", "round bed"]
        for part in PARTS:
            for row in document[part]:
                for key, value in row.items():
                    if isinstance(value, (int, float)):
                        assert key.endswith(ENDINGS), key
        row = document["rows"][0]
        assert row["lowest_kpa"] <= row["mean_kpa"] <= row["highest_kpa"]
        assert row["lowest_busy_kpa"] <= row["lowest_kpa"]
        assert run("layout", DEMO, "--json", "--units", "us").json == document

    def test_csv_holds_what_json_holds(self, run: Run) -> None:
        document = run("layout", DEMO, "--json").json
        assert run("layout", DEMO, "--csv").out == run("layout", DEMO, "--csv", "--part", "rows").out
        for part in PARTS:
            text = run("layout", DEMO, "--csv", "--part", part).answered().out
            read = list(csv.DictReader(io.StringIO(text)))
            assert len(read) == len(document[part]) > 0
            for line, row in zip(read, document[part], strict=True):
                for key, value in row.items():
                    cell = " ".join(map(str, value)) if isinstance(value, list) else value
                    assert line[key] == ("" if cell is None else str(cell))

    def test_every_finding_has_a_source_and_an_advice_unless_fine(self, run: Run) -> None:
        rows = run("layout", DEMO, "--json").json["checks"]
        assert all(row["source"] for row in rows)
        assert all(row["advice"] for row in rows if row["level"] != "fine")
        told = {row["check"] for row in rows}
        assert {
            "tap, house quiet",
            "tap, house busy",
            "lowest emitter pressure",
            "emission uniformity",
            "pressure before the regulator",
            "speed in the main",
            "flow of the half-inch main",
            "longest run, flows within 10%",
            "flushing speed",
            "minutes of flushing",
            "pressure at rest",
            "passage over filter opening",
        } <= told

    def test_hours_under_pressure_come_from_a_days_table(self, run: Run) -> None:
        check = "hours a day under pressure"
        without = [row for row in run("layout", DEMO, "--json").json["checks"] if row["check"] == check]
        assert {row["value"] for row in without} == {None}
        week = run("week", DEMO, "--on", "2026-07-13", "--json").json["rows"]
        day = {row["zone"]: row["run_time_min"] * len(row["starts"]) / 60 for row in week}
        rows = run("layout", DEMO, "--on", "2026-07-13", "--json").answered().json["checks"]
        assert {row["where"]: row["value"] for row in rows if row["check"] == check} == pytest.approx(day)

    @pytest.mark.parametrize("ending", ["svg", "png"])
    def test_drawing(self, run: Run, tmp_path: Path, ending: str) -> None:
        target = tmp_path / f"layout.{ending}"
        run("layout", DEMO, "--draw", target).answered()
        if ending == "svg":
            assert ElementTree.parse(target).getroot().tag.endswith("}svg")
            assert "tall bed" in target.read_text(encoding="utf-8")
        else:
            assert target.read_bytes().startswith(b"\x89PNG\r\n\x1a\n")

    def test_drawing_of_another_kind_is_refused(self, run: Run, tmp_path: Path) -> None:
        run("layout", DEMO, "--draw", tmp_path / "layout.pdf").refused(".svg or .png", code=2)


def test_starter_answers_and_its_breaker_stands_under_pressure(run: Run, tmp_path: Path) -> None:
    text = (resources.files("scheduler.garden.data") / "starter.toml").read_text(encoding="utf-8")
    path = tmp_path / "garden.toml"
    path.write_text(text, encoding="utf-8")
    rows = run("layout", path, "--json").answered().json["checks"]
    (hours,) = [row for row in rows if row["check"] == "hours a day under pressure"]
    assert (hours["value"], hours["limit"], hours["level"]) == (24.0, 12.0, "look")


def test_plan_without_a_layout_is_told_what_to_write(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "garden.toml"
    path.write_text(PLAN, encoding="utf-8")
    run("layout", path).refused("[main_line]", "position")


def test_without_the_pressure_of_the_tap_parts_are_told_and_flows_are_not(run: Run, plan) -> None:
    answer = run("layout", plan(), "--json").answered()
    assert answer.json["rows"] == []
    assert levels(answer, "pressure at rest") == {"tap": "look"}
    assert levels(answer, "lowest emitter pressure") == {}
    assert answer.json["takeoff"]
    assert "static_pressure" in run("layout", plan()).answered().out


def test_emitters_below_their_range_are_wrong(run: Run, plan) -> None:
    ranged = 'exponent = 0\nlowest_pressure = "12 psi"\nhighest_pressure = "50 psi"'
    head = '\n[[head]]\npart = "regulator"\nset_pressure = "10 psi"\n\n[main_line]'
    path = plan(STATIC, ("exponent = 0.5", ranged), ("\n[main_line]", head))
    answer = run("layout", path, "--json")
    assert answer.code == 3
    assert "looks wrong: lowest emitter pressure, tall bed" in answer.err
    assert levels(answer, "lowest emitter pressure") == {"tall bed": "wrong"}
    assert levels(answer, "highest emitter pressure") == {"tall bed": "fine"}


def test_regulator_that_gets_too_little(run: Run, plan) -> None:
    head = (
        '\n[[head]]\npart = "timer"\nloss = "20 psi"\nat_flow = "22 gal/h"\n'
        '\n[[head]]\npart = "regulator"\nset_pressure = "30 psi"\nlowest_flow = "60 gal/h"\n\n[main_line]'
    )
    answer = run("layout", plan(STATIC, ("\n[main_line]", head)), "--json")
    assert levels(answer, "pressure before the regulator") == {"regulator of north": "look"}
    assert levels(answer, "least flow of the regulator") == {"regulator of north": "look"}


def test_too_long_a_main(run: Run, plan) -> None:
    far = ('position = ["3 ft", "2 ft"]', 'position = ["250 ft", "2 ft"]')
    rows = run("layout", plan(STATIC, far), "--json").answered().json["checks"]
    (row,) = [row for row in rows if row["check"] == "length of the half-inch main"]
    # 250 ft along and 4 ft up to the middle of the left side.
    assert row["value"] == pytest.approx(254 * 0.3048)
    assert (row["limit"], row["level"]) == (pytest.approx(200 * 0.3048), "look")
    assert "common practice" in row["source"]


def test_zone_that_the_tap_cannot_feed(run: Run, plan) -> None:
    # 38 emitters of 0.6 gal/h want 22.8 gal/h; three quarters of 30 gal/h are 22.5.
    path = plan(('flow = "5 gal/min"', 'flow = "0.5 gal/min"\nstatic_pressure = "40 psi"'))
    answer = run("layout", path, "--json")
    assert answer.code == 3
    assert levels(answer, "tap, house quiet") == {"north": "wrong"}
