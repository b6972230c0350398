"""A small garden in a folder of its own, a record of invented weather beside it, and runs of the command."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from scheduler.cli import main

ROOT = Path(__file__).parents[2]
DEMOS = ROOT / "config"

PLAN = """\
format = 1
name = "Test garden"

[site]
latitude = "44.6 N"
elevation = "230 ft"
timezone = "Etc/GMT+1"

[weather]
file = "weather.csv"
wind_height = "10 ft"

[soil.mix]
field_capacity = "32 %"
wilting_point = "13 %"

[water_source]
flow = "5 gal/min"

[drip.line]
emitter_flow = "0.6 gal/h"
at_pressure = "20 psi"
exponent = 0.5
emitter_spacing = "6 in"

[[zone]]
name = "north"
outlet = 1
rule = "driest bed"

[[bed]]
name = "tall bed"
zone = "north"
soil = "mix"
shape = "rectangle"
length = "10 ft"
width = "4 ft"
soil_depth = "14 in"
drip = "line"
runs = 2

[[bed.planting]]
crop = "tomato"
planted = 2026-05-12
removed = 2026-07-12
share = "60 %"

[[bed.planting]]
crop = "kale"
planted = 2026-04-20
removed = 2026-07-14
share = "40 %"

[[soil_state]]
on = 2026-04-15
depletion = "full"

[timer]
outlets = 2
starts_per_day = 3
step = "1 min"
longest_run = "120 min"

[[watering_window]]
from = 05:00:00
to = 09:00:00

[tariff]
currency = "USD"
unit = "CCF"
whole_units = true
period = "1 month"
first_reading = 2026-01-15
fixed_charge = "9.40"

[[tariff.block]]
up_to = "7 CCF"
price = "2.10 per CCF"

[[tariff.block]]
up_to = "14 CCF"
price = "3.64 per CCF"

[[tariff.block]]
price = "4.10 per CCF"

[household]
use_per_day = "180 gal"
"""

HEADER = "date,origin,tmax_c,tmin_c,rh_max_pct,rh_min_pct,wind_m_s,solar_mj_m2,rain_mm"
FIRST_DAY, N_DAYS = date(2025, 1, 1), 562
#: Day in mid-season on which the tests ask for a table, and the last day of the record.
ON, LAST_DAY = "2026-06-15", "2026-07-16"


def weather_rows() -> dict[str, list[str]]:
    """Return the cells of every day after the date; a plain season with rain on every ninth day."""
    rows = {}
    for n in range(N_DAYS):
        day = FIRST_DAY + timedelta(days=n)
        warm = math.cos(2 * math.pi * (n - 200) / 365.25)
        wobble = math.sin(1.7 * n)
        tmax, tmin = 17.0 + 9 * warm + 2 * wobble, 7.0 + 7 * warm + wobble
        rain = 6.0 + 2 * wobble if n % 9 == 0 else 0.0
        numbers = (tmax, tmin, 92 + 4 * wobble, 50 - 9 * warm + 5 * wobble, 2.2 + 0.6 * wobble)
        solar = 14.0 + 9.5 * warm + 0.8 * wobble
        rows[day.isoformat()] = ["observed", *(f"{x:.1f}" for x in (*numbers, solar, rain))]
    return rows


def weather_text(
    rows: dict[str, list[str]] | None = None, *, header: str = HEADER, separator: str = ","
) -> str:
    """Return a weather file; `rows` maps dates to cells."""
    rows = weather_rows() if rows is None else rows
    lines = [",".join([day, *cells]) for day, cells in rows.items()]
    return "\n".join(line.replace(",", separator) for line in (header, *lines)) + "\n"


@dataclass(frozen=True)
class Answer:
    """What one run of the command gave."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> dict[str, Any]:
        """The answer as a JSON document, which may hold no NaN or infinity."""

        def refuse(word: str) -> None:
            raise AssertionError(f"{word} in JSON")

        return json.loads(self.out, parse_constant=refuse)

    def refused(self, *words: str, code: int = 1) -> None:
        """Assert that the input was refused without an answer, in a message that holds the words."""
        assert self.code == code, self.err or self.out[:300]
        assert self.out == ""
        assert "Traceback" not in self.err
        missing = [word for word in words if word.casefold() not in self.err.casefold()]
        assert not missing, f"{missing} not in: {self.err}"

    def answered(self) -> Answer:
        """Assert that the command answered without a word beside the answer, and return itself."""
        assert (self.code, self.err) == (0, "")
        assert self.out
        return self


Run = Callable[..., Answer]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a function that runs the command in this process."""

    def run_once(*arguments: str | Path) -> Answer:
        capsys.readouterr()
        code = main([str(argument) for argument in arguments])
        captured = capsys.readouterr()
        return Answer(code, captured.out, captured.err)

    return run_once


@pytest.fixture(scope="session")
def seen() -> dict[tuple[str, ...], Answer]:
    """Return the answers that the demo gardens have given so far."""
    return {}


@pytest.fixture
def demo(run: Run, seen: dict[tuple[str, ...], Answer]) -> Run:
    """Return a function that runs a command on a demo garden, each wording of it once a session."""

    def run_demo(command: str, plan: str, *arguments: str) -> Answer:
        key = (command, plan, *arguments)
        if key not in seen:
            seen[key] = run(command, DEMOS / f"demo_{plan}.toml", *arguments)
        return seen[key]

    return run_demo


class Place:
    """A folder with a plan and a weather file, each of which a test may change."""

    def __init__(self, folder: Path, run: Run) -> None:
        self.folder, self._run = folder, run
        self.plan, self.record = folder / "garden.toml", folder / "weather.csv"
        self.write_plan()
        self.write_weather(weather_text())

    def write_plan(self, *changes: tuple[str, str]) -> None:
        """Write the plan with pieces of its text replaced, each of which must be there."""
        text = PLAN
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        self.plan.write_text(text, encoding="utf-8")

    def write_weather(self, text: str) -> None:
        """Write the weather file."""
        self.record.write_text(text, encoding="utf-8")

    def change_weather(self, **changes: list[str] | None) -> None:
        """Write the weather with the cells of some days replaced; None leaves the day out."""
        rows = weather_rows()
        for day, cells in changes.items():
            key = day.removeprefix("d").replace("_", "-")
            assert key in rows
            if cells is None:
                del rows[key]
            else:
                rows[key] = cells
        self.write_weather(weather_text(rows))

    def week(self, *arguments: str | Path) -> Answer:
        """Run `week` in mid-season."""
        return self._run("week", self.plan, "--on", ON, *arguments)

    def check(self) -> Answer:
        """Run `check`."""
        return self._run("check", self.plan)

    def run(self, command: str, *arguments: str | Path) -> Answer:
        """Run any command on the plan."""
        return self._run(command, self.plan, *arguments)


@pytest.fixture
def place(tmp_path: Path, run: Run) -> Place:
    """Return a small sound garden in a folder of its own."""
    return Place(tmp_path, run)
