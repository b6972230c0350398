"""The commands daily, publish, serve and unit, in this process, on weather from a file."""

import json
from datetime import date, timedelta

import pytest
from click.testing import CliRunner

from scheduler.cli.service import daily, publish, serve, unit
from scheduler.errors import RillbookError, WeatherError
from tests.cli.conftest import weather_text
from tests.service.conftest import plan_text

ON = "2026-06-15"
PUBLISH = '[publish]\njson = "timetable.json"\ncalendar = "watering.ics"'


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "garden.toml").write_text(plan_text(PUBLISH), encoding="utf-8")
    (tmp_path / "weather.csv").write_text(weather_text(), encoding="utf-8")
    return tmp_path


def call(command, *arguments):
    """Run a command; return (what it printed, what it said), or raise what it raised."""
    answer = CliRunner().invoke(command, [str(one) for one in arguments], standalone_mode=False)
    if answer.exception is not None:
        raise answer.exception
    return answer.stdout, answer.stderr


def test_daily_answers_and_publishes(folder):
    out, err = call(daily, folder / "garden.toml", "--on", ON)
    assert err == ""
    assert "The table of the week from Mon 15 Jun recorded." in out
    assert "Published: timetable.json." in out
    assert 'set outlet 1, zone "north" to:' in " ".join(out.split())
    made = json.loads((folder / "timetable.json").read_text(encoding="utf-8"))
    assert made["first_day"] == ON


def test_daily_as_json_twice(folder):
    first, again = (
        json.loads(call(daily, folder / "garden.toml", "--on", ON, "--json")[0]) for _ in range(2)
    )
    assert first["schema"] == "rillbook.daily/1"
    assert (first["recorded"], again["recorded"]) == (True, False)
    assert [row["kind"] for row in first["notices"]] == ["setting"]
    assert again["notices"] == []
    assert first["rows"] == again["rows"]
    assert first["published"] == ["timetable.json", "watering.ics"]


def test_daily_tells_problems_beside_the_answer(folder):
    (folder / "timetable.json").mkdir()
    out, err = call(daily, folder / "garden.toml", "--on", ON)
    assert "watering.ics" in out
    assert err.startswith("problem: publish > ")


def test_daily_refuses_weather_that_does_not_reach(folder):
    with pytest.raises(WeatherError):
        call(daily, folder / "garden.toml", "--on", "2026-08-30")


def test_daily_counts_the_days_without_a_table(folder):
    call(daily, folder / "garden.toml", "--on", ON)
    out, _ = call(daily, folder / "garden.toml", "--on", "2026-06-19")
    assert "3 days before had no table (2026-06-16 to 2026-06-18); made good." in out


def test_publish_without_a_ledger_records_nothing(folder):
    out, err = call(publish, folder / "garden.toml", "--on", ON)
    assert err == ""
    assert out.splitlines() == [
        f"timetable.json: table of the week from {ON}, not recorded",
        f"watering.ics: table of the week from {ON}, not recorded",
    ]
    assert not (folder / "garden.ledger.sqlite").exists()


def test_publish_gives_what_was_recorded(folder):
    call(daily, folder / "garden.toml", "--on", ON)
    recorded = {name: (folder / name).read_bytes() for name in ("timetable.json", "watering.ics")}
    for name in recorded:
        (folder / name).unlink()
    out, _ = call(publish, folder / "garden.toml", "--on", ON)
    assert out.count("as recorded") == 2
    assert {name: (folder / name).read_bytes() for name in recorded} == recorded


def test_publish_of_a_later_day_keeps_the_setting_that_stands(folder):
    call(daily, folder / "garden.toml", "--on", ON)
    before = json.loads((folder / "timetable.json").read_text(encoding="utf-8"))
    next_day = date.fromisoformat(ON) + timedelta(days=1)
    out, _ = call(publish, folder / "garden.toml", "--on", next_day)
    after = json.loads((folder / "timetable.json").read_text(encoding="utf-8"))
    assert "not recorded" in out
    assert after["first_day"] == next_day.isoformat()
    assert after["zones"][0]["days"] == before["zones"][0]["days"]


def test_publish_without_a_place_says_what_to_write(folder):
    (folder / "garden.toml").write_text(plan_text(), encoding="utf-8")
    with pytest.raises(RillbookError, match='add \\[publish\\] with json = "timetable.json"'):
        call(publish, folder / "garden.toml", "--on", ON)


def test_publish_that_fails_is_an_error(folder):
    (folder / "timetable.json").mkdir()
    with pytest.raises(RillbookError, match="timetable.json"):
        call(publish, folder / "garden.toml", "--on", ON)
    assert (folder / "watering.ics").exists()


def test_unit_names_the_plan_in_full(folder, monkeypatch):
    monkeypatch.chdir(folder)
    out, _ = call(unit, "garden.toml", "--at", "05:30")
    assert f'"serve" "{folder / "garden.toml"}" "--at" "05:30"' in out


@pytest.mark.parametrize("command", [serve, unit])
def test_hour_of_clock_changes_is_refused(folder, command):
    with pytest.raises(RillbookError, match="clocks change"):
        call(command, folder / "garden.toml", "--at", "02:30")


@pytest.mark.parametrize("command", [daily, publish, serve, unit])
def test_help(command):
    out, _ = call(command, "--help")
    assert "GARDEN" in out
