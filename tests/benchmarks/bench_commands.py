"""Whole commands on the demo garden, as a ratio to importing pandas and pyet in the same run.

python -m tests.benchmarks.bench_commands [--runs 7] [--commands help,check,week,season]

Every round runs each command once in a fresh process, the reference among them, so that a machine that is
busy for a while slows them all alike. Bytecode is kept, as an installed program has it, wherever the
environment says otherwise.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

__all__ = ["COMMANDS", "TARGETS", "main", "measure", "table"]

PROJECT = Path(__file__).resolve().parents[2]
DEMO = "config/demo_four_outlets.toml"
REFERENCE = "import pandas, pyet"
COMMANDS = {
    "help": ("--help",),
    "check": ("check", DEMO),
    "week": ("week", DEMO, "--on", "2026-07-13"),
    "season": ("season", DEMO, "--year", "2025"),
}
#: Greatest ratio to the reference that is aimed at.
TARGETS = {"help": 0.3, "check": 1.0, "week": 1.5, "season": 2.5}


def _seconds(arguments: list[str], bytecode: str) -> float:
    """Return how long a fresh Python takes [s]; whatever ends with another code than 0 or 3 is no answer.

    `bytecode` is a folder that keeps compiled modules for all of them.
    """
    kept = {"PYTHONPYCACHEPREFIX": bytecode, "PYTHONDONTWRITEBYTECODE": ""}
    begin = time.perf_counter()
    process = subprocess.run(
        [sys.executable, *arguments],
        cwd=PROJECT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        encoding="utf-8",
        env=os.environ | {"PYTHONUTF8": "1", "PYTHONPATH": str(PROJECT)} | kept,
    )
    elapsed = time.perf_counter() - begin
    if process.returncode not in {0, 3}:
        raise RuntimeError(f"{' '.join(arguments)} failed: {process.stderr}")
    return elapsed


def measure(names: list[str], *, runs: int) -> dict[str, float]:
    """Return the median time [s] of the reference (under its own text) and of each command."""
    processes = {REFERENCE: ["-c", REFERENCE]}
    processes |= {name: ["-m", "scheduler", *COMMANDS[name]] for name in names}
    times: dict[str, list[float]] = {name: [] for name in processes}
    with tempfile.TemporaryDirectory() as bytecode:
        for arguments in processes.values():
            _seconds(arguments, bytecode)  # Once before: no round pays for compiling, nor for a cold disk.
        for _ in range(runs):
            for name, arguments in processes.items():
                times[name].append(_seconds(arguments, bytecode))
    return {name: median(values) for name, values in times.items()}


def table(medians: dict[str, float]) -> str:
    """Return medians [ms], ratios to the reference, and the ratios aimed at."""
    lines = [f"{'process':<22}{'median [ms]':>12}{'ratio':>8}{'target':>8}"]
    for name, seconds in medians.items():
        ratio = seconds / medians[REFERENCE]
        target = f"{TARGETS[name]:.1f}" if name in TARGETS else "-"
        lines.append(f"{name:<22}{1000 * seconds:>12.0f}{ratio:>8.2f}{target:>8}")
    return "\n".join(lines) + "\n"


def main(argv: list[str]) -> None:
    """Measure and write the table."""
    parser = argparse.ArgumentParser(description="Time whole commands against importing pandas and pyet.")
    parser.add_argument("--runs", type=int, default=7)
    parser.add_argument("--commands", default=",".join(COMMANDS))
    options = parser.parse_args(argv)
    sys.stdout.write(table(measure(options.commands.split(","), runs=options.runs)))


if __name__ == "__main__":
    main(sys.argv[1:])
