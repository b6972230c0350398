"""The daily balance: nanoseconds per bed and day for one bed and for many, against a plain loop in Python.

python -m tests.benchmarks.bench_balance [--days 365] [--beds 1,100,10000] [--repeats 5]

The plain loop does a bed and a day at a time, as a reader of the handbook would write it. It costs the
same per bed and day whatever their number, so it is timed on at most 100 beds. Both must agree before a
time is told.
"""

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from statistics import median

import numpy as np
from numpy.typing import NDArray

from scheduler.water.rootzone import step

__all__ = ["Case", "main", "make_case", "measure", "plain_loop", "stepped"]

MOST_PLAIN_BEDS = 100
AGREEMENT = 1e-9  # mm

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Case:
    """Invented beds; demand and irrigation (n_days, n_beds), rain (n_days, 1), the rest (n_beds,)."""

    et_crop: FloatArray
    rain: FloatArray
    applied: FloatArray
    taw: FloatArray
    raw: FloatArray
    storage: FloatArray


def make_case(n_days: int, n_beds: int) -> Case:
    """Return beds that dry, drain and are irrigated every third day."""
    rng = np.random.default_rng(20260713)
    taw = rng.uniform(20.0, 60.0, n_beds)
    applied = np.where(np.arange(n_days)[:, None] % 3 == 0, rng.uniform(8.0, 16.0, (1, n_beds)), 0.0)
    rain = np.where(rng.random((n_days, 1)) < 0.1, rng.uniform(1.0, 30.0, (n_days, 1)), 0.0)
    return Case(
        rng.uniform(1.0, 8.0, (n_days, n_beds)),
        rain,
        applied,
        taw,
        0.4 * taw,
        rng.uniform(1.0, 1.5, n_beds) * taw,
    )


def stepped(case: Case) -> FloatArray:
    """Return the last depletion of every bed [mm], all beds a day at a time."""
    depletion = np.zeros(case.taw.shape)
    for et_crop, rain, applied in zip(case.et_crop, case.rain, case.applied, strict=True):
        depletion = step(
            depletion,
            et_crop=et_crop,
            rain=rain,
            applied=applied,
            taw=case.taw,
            raw=case.raw,
            storage=case.storage,
        ).depletion
    return depletion


def plain_loop(case: Case, n_beds: int) -> FloatArray:
    """Return the last depletion of the first beds [mm], one bed and day at a time."""
    et_crop, applied = case.et_crop[:, :n_beds].tolist(), case.applied[:, :n_beds].tolist()
    taw, raw, storage = (values[:n_beds].tolist() for values in (case.taw, case.raw, case.storage))
    rain = case.rain[:, 0].tolist()
    result = []
    for bed in range(n_beds):
        depletion = 0.0
        for day in range(len(rain)):
            depletion = max(depletion - rain[day] - applied[day][bed], 0.0)
            stress = min(max((taw[bed] - depletion) / (taw[bed] - raw[bed]), 0.0), 1.0)
            depletion += min(stress * et_crop[day][bed], max(storage[bed] - depletion, 0.0))
        result.append(depletion)
    return np.array(result)


def _median_seconds(work: Callable[[], FloatArray], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return median(times)


def measure(n_days: int, n_beds: int, *, repeats: int) -> tuple[float, float]:
    """Return nanoseconds per bed and day of the balance and of the plain loop."""
    case = make_case(n_days, n_beds)
    plain_beds = min(n_beds, MOST_PLAIN_BEDS)
    difference = float(np.abs(stepped(case)[:plain_beds] - plain_loop(case, plain_beds)).max())
    if not difference <= AGREEMENT:
        raise RuntimeError(f"the balance and the plain loop differ by {difference} mm")
    balance = _median_seconds(lambda: stepped(case), repeats) / (n_days * n_beds)
    plain = _median_seconds(lambda: plain_loop(case, plain_beds), repeats) / (n_days * plain_beds)
    return 1e9 * balance, 1e9 * plain


def main(argv: list[str]) -> None:
    """Measure and write the table."""
    parser = argparse.ArgumentParser(description="Time the daily balance against a plain loop.")
    parser.add_argument("--days", type=int, default=365)
    parser.add_argument("--beds", default="1,100,10000")
    parser.add_argument("--repeats", type=int, default=5)
    options = parser.parse_args(argv)
    sys.stdout.write(f"{'beds':>8}{'balance [ns]':>14}{'plain loop [ns]':>17}{'times as fast':>15}\n")
    for n_beds in (int(text) for text in options.beds.split(",")):
        balance, plain = measure(options.days, n_beds, repeats=options.repeats)
        sys.stdout.write(f"{n_beds:>8}{balance:>14.1f}{plain:>17.1f}{plain / balance:>15.2f}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
