"""Pressures and flows of drip layouts: the solver against EPANET, both in the same run.

python -m tests.benchmarks.bench_network [--emitters 5000] [--repeats 9]

EPANET is timed three ways by way of wntr: a whole call that writes the layout's file, solves it and reads the
results; opening a file and solving it through the toolkit; and the bare solve of what is open, each to the
accuracy that the tests ask of it. Ours is the whole of `solve_network`, with its checks. Both must agree
before a time is told.
"""

import argparse
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from statistics import median

import numpy as np
import wntr
from numpy.typing import NDArray
from wntr.epanet.toolkit import ENepanet

from scheduler.drip.friction import head_of
from scheduler.drip.network import Network, Source, make_emitters, make_pipes
from scheduler.drip.network_solve import solve_network
from tests.drip.epanet import input_text, solve_file
from tests.published.test_networks import read

__all__ = ["TARGETS", "garden", "large_layout", "main", "measure"]

FloatArray = NDArray[np.float64]

GARDEN = Path(__file__).parents[1] / "published" / "networks" / "a3_four_beds_branched_main.json"
AGREEMENT = 0.01  # m
BED_EMITTERS = 100
RUNS_PER_BED = 4

#: Way of calling EPANET -> most that ours should take, as a ratio.
TARGETS = {"whole call": "0.5", "open and solve": "2.0", "bare solve": "-"}


def garden() -> Network:
    """Return the four beds of the published layout a3."""
    return read(GARDEN)[0]


def large_layout(emitters: int) -> Network:
    """Return beds of up to 100 emitters in four runs, along a main line that is wide enough for them."""
    start, end, bore, length, emitting = [], [], [], [], []

    def lay(before: int, metres: float, millimetres: float) -> int:
        start.append(before)
        end.append(len(end) + 1)
        length.append(metres)
        bore.append(millimetres)
        return len(end)

    main = 0
    while len(emitting) < emitters:
        main = lay(main, 2.0, 60.0)
        bed = lay(main, 1.0, 15.24)
        for _ in range(RUNS_PER_BED):
            at = bed
            for _ in range(min(BED_EMITTERS // RUNS_PER_BED, emitters - len(emitting))):
                at = lay(at, 0.3048, 4.3)
                emitting.append(at)
    return Network(
        np.zeros(len(end) + 1),
        Source(0, 170.0),
        make_pipes(start, end, length=length, inside_diameter=bore, minor_loss=0.5),
        make_emitters(emitting, 2.0, nominal_pressure=100.0, exponent=0.5),
        1.004e-6,
    )


def _median_seconds(work: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return median(times)


def _simulator(path: Path) -> wntr.sim.EpanetSimulator:
    with warnings.catch_warnings():
        # It tells that the unit of roughness goes with the law of friction, as the file has it.
        warnings.filterwarnings("ignore", "Changing the headloss formula", UserWarning)
        return wntr.sim.EpanetSimulator(wntr.network.WaterNetworkModel(str(path)))


def _whole_heads(path: Path, count: int) -> FloatArray:
    """Return the heads [m] of the nodes by a whole call, so that it is the same layout that is timed."""
    results = _simulator(path).run_sim(file_prefix=str(path.with_name("whole")))
    return results.node["head"].loc[0, [f"N{node}" for node in range(count)]].to_numpy(dtype=float)


def _epanet_seconds(path: Path, repeats: int) -> dict[str, float]:
    """Return the seconds of each way of calling EPANET."""
    simulator = _simulator(path)
    prefix = str(path.with_name("whole"))
    whole = _median_seconds(lambda: simulator.run_sim(file_prefix=prefix), repeats)
    report, results = str(path.with_suffix(".rpt")), str(path.with_suffix(".bin"))
    engine = ENepanet()

    def open_and_solve() -> None:
        engine.ENopen(str(path), report, results)
        engine.ENsolveH()
        engine.ENclose()

    opened = _median_seconds(open_and_solve, repeats)
    engine.ENopen(str(path), report, results)
    bare = _median_seconds(engine.ENsolveH, repeats)
    engine.ENclose()
    return {"whole call": whole, "open and solve": opened, "bare solve": bare}


def measure(network: Network, *, repeats: int) -> tuple[float, dict[str, float]]:
    """Return the seconds of our solver, and of each way of calling EPANET."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "layout.inp"
        path.write_text(input_text(network), encoding="utf-8")
        answer, solution = solve_file(network, path), solve_network(network)
        heads = np.array([answer.heads, _whole_heads(path, network.elevation.size)])
        difference = float(np.abs(heads - solution.head).max())
        if not difference <= AGREEMENT:
            raise RuntimeError(f"the solvers differ by {difference} m of head")
        theirs = _epanet_seconds(path, repeats)
        return _median_seconds(lambda: solve_network(network), repeats), theirs


def main(argv: list[str]) -> None:
    """Measure and write the table."""
    parser = argparse.ArgumentParser(description="Time the network solver against EPANET.")
    parser.add_argument("--emitters", type=int, default=5000)
    parser.add_argument("--repeats", type=int, default=9)
    options = parser.parse_args(argv)
    layouts = {"garden of 4 beds": garden(), "large layout": large_layout(options.emitters)}
    head = f"{'layout':<18}{'emitters':>9}{'head [m]':>10}{'ours [ms]':>11}  "
    sys.stdout.write(f"{head}{'EPANET':<16}{'[ms]':>8}{'ratio':>8}{'target':>8}\n")
    for name, network in layouts.items():
        ours, theirs = measure(network, repeats=options.repeats)
        lost = float(head_of(np.ptp(solve_network(network).pressure)))
        for way, seconds in theirs.items():
            row = f"{name:<18}{network.emitters.node.size:>9}{lost:>10.2f}{1e3 * ours:>11.2f}  {way:<16}"
            sys.stdout.write(f"{row}{1e3 * seconds:>8.2f}{ours / seconds:>8.2f}{TARGETS[way]:>8}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
