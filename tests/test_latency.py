"""What a command loads, in a fresh process: module sets are the same everywhere, times are not.

Times stand in benchmarks/bench_commands.py.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from scheduler.cli import rillbook

PROJECT = Path(__file__).resolve().parent.parent
DEMO = "config/demo_four_outlets.toml"
SLOW = {
    "matplotlib",
    "pandas",
    "pint",
    "pyet",
    "requests_cache",
    "scipy",
    "sqlite_utils",
    "xarray",
}
NO_WEATHER = [["--help"], ["--version"], ["check", DEMO], ["schema"], ["crops"]]

# Runs commands one after the other, then lists the packages loaded on the last line of stderr.
RUNNER = """
import json, sys
from scheduler.cli import main
codes = [main(command) for command in json.loads(sys.argv[1])]
packages = sorted({name.partition(".")[0] for name in sys.modules})
print(json.dumps([codes, packages]), file=sys.stderr)
"""


def run_fresh(*commands):
    """Return exit codes of commands run in one fresh process, what they printed, and the packages loaded."""
    process = subprocess.run(
        [sys.executable, "-c", RUNNER, json.dumps(commands)],
        cwd=PROJECT,
        capture_output=True,
        encoding="utf-8",
        check=True,
        timeout=600,
        env=os.environ | {"PYTHONUTF8": "1", "PYTHONPATH": str(PROJECT)},
    )
    codes, packages = json.loads(process.stderr.splitlines()[-1])
    return codes, process.stdout, set(packages)


@pytest.mark.parametrize("command", NO_WEATHER, ids=" ".join)
def test_command_without_weather_loads_nothing_slow(command):
    codes, answer, packages = run_fresh(command)
    assert codes == [0]
    assert answer
    assert "scheduler" in packages
    assert packages & SLOW == set()


def test_week_draws_nothing_and_meets_no_rare_unit():
    codes, answer, packages = run_fresh(["week", DEMO, "--on", "2026-07-13"])
    assert codes == [0]
    assert "tall bed" in answer
    # Reference ET is what loads pandas and pyet: with them in sight, the sets above are no accident.
    assert {"pandas", "pyet"} <= packages
    assert packages & {"matplotlib", "pint"} == set()


def test_layout_loads_no_weather_and_draws_only_when_asked():
    codes, answer, packages = run_fresh(["layout", DEMO])
    assert codes == [0]
    assert "tall bed" in answer
    assert packages & {"matplotlib", "pandas", "pint", "pyet"} == set()


def test_help_of_every_command_works_and_is_quick():
    """Imports inside functions hide a broken one until the command runs; help at least builds its options."""
    names = sorted(rillbook.commands)
    assert {"bed", "check", "crops", "new", "schema", "season", "weather", "week"} <= set(names)
    codes, answer, packages = run_fresh(*([name, "--help"] for name in names))
    assert codes == [0] * len(names)
    assert [name for name in names if f"Usage: rillbook {name} " not in answer] == []
    assert packages & SLOW == set()
