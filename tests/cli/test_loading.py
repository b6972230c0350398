"""What a command does not do while it loads and ends: modules of no use to it, searches for cycles."""

from __future__ import annotations

import gc
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from scheduler.cli import main
from scheduler.errors import RillbookError

PROJECT = Path(__file__).resolve().parents[2]
WEEK = ["week", "config/demo_four_outlets.toml", "--on", "2026-07-13"]


def last_word(program: str) -> str:
    """Return the last word that a program prints in a fresh process."""
    done = subprocess.run(
        [sys.executable, "-c", program],
        cwd=PROJECT,
        capture_output=True,
        encoding="utf-8",
        check=True,
        timeout=120,
        env=os.environ | {"PYTHONUTF8": "1", "PYTHONPATH": str(PROJECT)},
    )
    return done.stdout.split()[-1]


@pytest.fixture
def collector() -> Iterator[None]:
    """Give the collector back running."""
    yield
    gc.enable()


@pytest.mark.usefixtures("collector")
@pytest.mark.parametrize("looks", [True, False])
def test_no_search_for_cycles_during_a_command(monkeypatch: pytest.MonkeyPatch, looks: bool) -> None:
    seen = []

    def refuse(path: Path) -> None:
        seen.append(gc.isenabled())
        raise RillbookError(f"{path}: refused")

    monkeypatch.setattr("scheduler.garden.planfile.load_plan", refuse)
    (gc.enable if looks else gc.disable)()
    assert main(["check", "garden.toml"]) == 1
    assert seen == [False]
    assert gc.isenabled() is looks


def test_service_that_stays_searches_for_cycles(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []
    monkeypatch.setattr("scheduler.service.serve.serve", lambda *_, **__: seen.append(gc.isenabled()))
    assert main(["serve", "garden.toml"]) == 0
    assert seen == [True]


def test_no_search_for_cycles_on_the_way_out() -> None:
    # What was registered first is called last.
    program = "import atexit, gc\natexit.register(lambda: print(gc.get_freeze_count()))\nimport scheduler.cli"
    assert int(last_word(program)) > 0
    assert last_word(program.replace("scheduler.cli", "click")) == "0"


def test_without_a_ledger_nothing_is_loaded_that_fills_one() -> None:
    program = (
        f"import sys\nfrom scheduler.cli import main\nmain({WEEK})\nprint(','.join(sorted(sys.modules)))"
    )
    loaded = set(last_word(program).split(","))
    assert {"scheduler.ledger.place", "scheduler.weather.readers"} <= loaded
    assert {"scheduler.ledger.entries", "scheduler.weather.sources.from_plan"} & loaded == set()
