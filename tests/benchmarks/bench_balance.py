"""The daily balance: nanoseconds per bed and day, against the smallest versions of it in the same run.

python -m tests.benchmarks.bench_balance [--days 365] [--beds 1,1000,100000] [--repeats 5] [--years 30]
                                         [--block 8192]

Columns: the engine's dual balance (`scheduler.water.balance.step`) on beds where it comes down to the
smallest version; "whole", the engine where roots grow, soil lies below them, ground beside the strips is bare
and roots draw on the surface; the smallest version in numpy, compiled by numba, and as a plain loop, which
costs the same for any number of beds and is timed on at most 30. The versions must agree, and the whole
balance must lose no water, before a time is told.

Many beds are run in blocks, see `BLOCK`. One bed over many years is run both ways: its years one after the
other, and side by side as columns.
"""

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from functools import partial
from statistics import median

import numpy as np
from numpy.typing import NDArray

from scheduler.water.balance import Conditions, SoilState, step
from scheduler.water.evaporation import SurfaceDay
from tests.benchmarks import smallest
from tests.benchmarks.smallest import Case

__all__ = ["NO_NUMBA", "engine_days", "main", "measure", "reduced", "whole"]

#: Beds that are run together. Measured on two cores of a server, the engine's ns per bed-day for 100,000
#: beds in blocks of 512: 134, 1024: 81, 2048: 54, 4096: 42, 8192: 36, 16384: 33 to 50, all at once: 71. In
#: small blocks the calls weigh that a day costs however few its beds; in large ones a day's arrays outgrow
#: the cache.
BLOCK = 8192
MOST_PLAIN_BEDS = 30
AGREEMENT = 1e-9  # mm
HEADS = ("engine", "whole", "numpy", "numba", "plain")
NO_NUMBA = 'numba is not installed; its column needs the extra "bench": pip install "rillbook[bench]"'

FloatArray = NDArray[np.float64]
#: A version of the balance: for every block what reckons it and returns its last depletions.
Blocks = list[Callable[[], FloatArray]]


def reduced(case: Case) -> Conditions:
    """Return a case as the engine takes it: nothing exposed but the strips, no soil below the roots."""
    none, one = (np.broadcast_to(value, case.basal.shape) for value in (0.0, 1.0))
    surface = SurfaceDay(case.most, case.exposed, none, case.wetted, case.tew, case.rew, one, none)
    return Conditions(case.basal, case.rain, case.taw, case.raw, case.taw, surface)


def whole(case: Case) -> Conditions:
    """Return the same beds with all that the smallest version leaves out."""
    grown = case.taw * np.linspace(0.4, 1.0, case.taw.shape[0])[:, None]
    storage = 1.5 * np.maximum(case.taw[:1], case.tew[:1])
    rest, kept, roots = 0.5 * (1.0 - case.wetted[:1]), np.array([[0.8]]), np.array([[0.4]])
    lasting = (np.broadcast_to(values, grown.shape) for values in (storage, rest, kept, roots))
    deep, rest, kept, roots = lasting
    surface = SurfaceDay(case.most, case.exposed, rest, case.wetted, case.tew, case.rew, kept, roots)
    return Conditions(case.basal, case.rain, grown, 0.4 * grown, deep, surface)


def _wet_soil(conditions: Conditions) -> SoilState:
    """Return soil that lacks nothing on the morning of the first day."""
    nothing = np.zeros(conditions.basal.shape[1])
    return SoilState(nothing, nothing, nothing, nothing, conditions.taw[0])


def engine_days(conditions: Conditions, applied: FloatArray) -> FloatArray:
    """Return the last depletion of every bed [mm], all beds a day at a time."""
    state = _wet_soil(conditions)
    for day in range(applied.shape[0]):
        state = step(state, conditions.on(day), applied=applied[day]).state
    return state.depletion


def _lost_water(conditions: Conditions, applied: FloatArray) -> float:
    """Return the most water [mm] that a bed's balance makes or loses."""
    state, lacking = _wet_soil(conditions), np.zeros(applied.shape[1])
    for day in range(applied.shape[0]):
        result = step(state, conditions.on(day), applied=applied[day])
        state = result.state
        lacking += result.evaporation + result.transpiration + result.deep_percolation
        lacking -= conditions.rain[day] + applied[day]
    return float(np.abs(state.depletion + state.below - lacking).max())


def _all_beds(blocks: Blocks) -> FloatArray:
    return np.concatenate([reckon() for reckon in blocks])


def _median_times(versions: dict[str, Blocks], repeats: int) -> dict[str, float]:
    """Return median seconds of each version; they take turns, so that a busy machine slows all alike."""
    times: dict[str, list[float]] = {name: [] for name in versions}
    for _ in range(repeats):
        for name, blocks in versions.items():
            begin = time.perf_counter()
            _all_beds(blocks)
            times[name].append(time.perf_counter() - begin)
    return {name: median(values) for name, values in times.items()}


def _versions(case: Case, block: int, compiled: Callable[[Case], FloatArray] | None) -> dict[str, Blocks]:
    """Return the versions of the balance for a case, its beds in blocks."""
    n_beds = case.basal.shape[1]
    parts = [case.beds(begin, begin + block) for begin in range(0, n_beds, block)]
    versions = {
        "engine": [partial(engine_days, reduced(part), part.applied) for part in parts],
        "whole": [partial(engine_days, whole(part), part.applied) for part in parts],
        "numpy": [partial(smallest.numpy_days, part) for part in parts],
        "plain": [partial(smallest.plain_days, case.beds(0, MOST_PLAIN_BEDS))],
    }
    if compiled is not None:
        versions["numba"] = [partial(compiled, part) for part in parts]
    return versions


def measure(
    case: Case, *, repeats: int, block: int = BLOCK, compiled: Callable[[Case], FloatArray] | None = None
) -> dict[str, float]:
    """Return nanoseconds per bed and day of every version, by the name of its column."""
    n_days, n_beds = case.basal.shape
    versions = _versions(case, block, compiled)
    last = {name: _all_beds(blocks) for name, blocks in versions.items() if name != "whole"}
    for name, depletion in last.items():
        difference = float(np.abs(last["engine"][: depletion.shape[0]] - depletion).max())
        if not difference <= AGREEMENT:
            raise RuntimeError(f"the engine and the {name} version differ by {difference} mm")
    some = case.beds(0, block)
    lost = _lost_water(whole(some), some.applied)
    if not lost <= AGREEMENT:
        raise RuntimeError(f"the whole balance makes or loses {lost} mm")
    n_timed = dict.fromkeys(versions, n_beds) | {"plain": min(n_beds, MOST_PLAIN_BEDS)}
    times = _median_times(versions, repeats)
    return {name: 1e9 * seconds / (n_days * n_timed[name]) for name, seconds in times.items()}


def _row(label: str, times: dict[str, float]) -> str:
    """Return one line of the table; a version that is not there has a dash."""
    cells = "".join(f"{times[name]:>11.1f}" if name in times else f"{'-':>11}" for name in HEADS)
    ratios = "".join(f"{times[name] / times['numpy']:>14.2f}" for name in ("engine", "whole"))
    return f"{label:<26}{cells}{ratios}\n"


def _cases(days: int, beds: Sequence[int], years: int) -> list[tuple[str, Case]]:
    """Return what is measured, each with its label; the years of one bed last."""
    cases = [(f"{n_beds:,} bed{'s' * (n_beds > 1)}", smallest.make_case(days, n_beds)) for n_beds in beds]
    if years:
        cases.append((f"{years} years in a row", smallest.make_case(days * years, 1)))
        cases.append((f"{years} years side by side", smallest.make_case(days, years)))
    return cases


def main(argv: list[str]) -> None:
    """Measure and write the table."""
    parser = argparse.ArgumentParser(description="Time the daily balance against its smallest versions.")
    parser.add_argument("--days", type=int, default=365)
    parser.add_argument("--beds", default="1,1000,100000")
    parser.add_argument("--repeats", type=int, default=5)
    parser.add_argument("--years", type=int, default=30, help="of one bed; 0 for none")
    parser.add_argument("--block", type=int, default=BLOCK, help="beds that are run together")
    options = parser.parse_args(argv)
    try:
        compiled = smallest.compiled()
    except ImportError:
        compiled = None
    heads = "".join(f"{f'{name} [ns]':>11}" for name in HEADS)
    sys.stdout.write(f"{'':<26}{heads}{'engine/numpy':>14}{'whole/numpy':>14}\n")
    beds = [int(text) for text in options.beds.split(",")]
    for label, case in _cases(options.days, beds, options.years):
        times = measure(case, repeats=options.repeats, block=options.block, compiled=compiled)
        sys.stdout.write(_row(label, times))
    if compiled is None:
        sys.stdout.write(f"{NO_NUMBA}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
