"""A week's timetable as beds and outlets grow, against living through every setting one after the other.

python -m tests.benchmarks.bench_timetable [--beds 8,16,24,32,40] [--repeats 3] [--plot growth.png]

A roomy week has hours for all outlets; a crowded one has half of what they need, so that the search goes to
its limits. The reference lives every bed through every day pattern and every number of minutes of a roomy
week, which is what the planner's own search spares itself; it must come to the same fewest minutes.
"""

import argparse
import sys
import time
from collections.abc import Callable
from datetime import time as clock
from pathlib import Path
from statistics import median

import numpy as np

from scheduler.timetable.effort import Effort
from scheduler.timetable.least import bed_shortage
from scheduler.timetable.outlook import BedOutlook, depletion_under
from scheduler.timetable.week import ways_of_week, weekly_timetable
from tests.timetable.cases import FIRST, make_limits, make_outlook, make_zones, window

__all__ = ["TARGET", "garden", "main", "measure"]

#: Seconds for a typical week of 8 beds behind 4 outlets.
TARGET = 2.0
BEDS_PER_OUTLET = 2
LONGEST_RUN = 60
SECONDS_OF_SEARCH = 10.0


def garden(n_beds: int) -> BedOutlook:
    """Return the week of some beds, invented, in dry weather."""
    draw = np.random.default_rng(n_beds)
    taw = draw.uniform(25.0, 60.0, n_beds)
    return make_outlook(
        n_beds,
        7,
        et=draw.uniform(2.5, 5.5, (7, n_beds)),
        taw=taw,
        raw=0.45 * taw,
        depletion=0.2 * taw,
        net_rate=draw.uniform(0.3, 0.8, n_beds),
    )


def _seconds(work: Callable[[], object], repeats: int) -> float:
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return median(times)


def _limits(minutes: int):
    return make_limits(
        windows=(window(clock(3, 0), clock(3 + minutes // 60, minutes % 60)),),
        starts_per_day=1,
        longest_run=LONGEST_RUN,
        outlets=40,
    )


def _every_setting(outlook: BedOutlook, masks: np.ndarray) -> np.ndarray:
    """Return the fewest minutes of each pattern and bed, from every number of minutes lived through."""
    best, fewest = np.full((masks.shape[0], outlook.n_beds), np.inf), np.zeros((0, 0), dtype=int)
    fewest = np.zeros(best.shape, dtype=int)
    for minutes in range(LONGEST_RUN + 1):
        given = np.full((masks.shape[0], outlook.n_beds), float(minutes))
        short = bed_shortage(outlook, depletion_under(outlook, masks, given))
        better = short < best - 1e-6
        best, fewest = np.where(better, short, best), np.where(better, minutes, fewest)
    return fewest


def measure(n_beds: int, *, repeats: int) -> dict[str, float | bool]:
    """Return the seconds of a roomy week, of a crowded one, and of the reference."""
    outlook = garden(n_beds)
    groups = [list(range(first, min(first + BEDS_PER_OUTLET, n_beds))) for first in range(0, n_beds, 2)]
    zones = make_zones(groups)
    roomy = _limits(12 * 60)
    ways = ways_of_week(FIRST, outlook, zones=zones, limits=roomy)
    masks = ways.board.masks.astype(float)
    reference = _every_setting(outlook, masks)
    if not np.array_equal(reference[1:], ways.by_bed[1:]):
        raise RuntimeError("the planner's fewest minutes are not those of every setting tried")
    plan = weekly_timetable(FIRST, outlook, zones=zones, limits=roomy)
    a_day = sum(s.minutes_per_day * sum(s.mask) for s in plan.settings) // 7
    crowded = _limits(max(a_day // 2, 5))

    def search() -> object:
        begin = time.perf_counter()
        effort = Effort(seconds_left=lambda: SECONDS_OF_SEARCH - (time.perf_counter() - begin))
        return weekly_timetable(FIRST, outlook, zones=zones, limits=crowded, effort=effort)

    found = search()
    return {
        "roomy": _seconds(lambda: weekly_timetable(FIRST, outlook, zones=zones, limits=roomy), repeats),
        "crowded": _seconds(search, 1),
        "reference": _seconds(lambda: _every_setting(outlook, masks), repeats),
        "proven": plan.proven,
        "crowded proven": found.proven,
        "gap": 1.0 - found.bound.shortage / max(found.score.shortage, 1),
    }


def _plot(rows: list[tuple[int, dict[str, float | bool]]], path: Path) -> None:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7, 4.5), layout="constrained")
    axes = figure.subplots()
    beds = [n for n, _ in rows]
    for name, style in (("roomy", "o-"), ("crowded", "s--"), ("reference", "^:")):
        axes.plot(beds, [float(row[name]) for _, row in rows], style, label=name)
    axes.set(xlabel="beds, two behind each outlet", ylabel="seconds a week", yscale="log")
    axes.legend()
    figure.savefig(path)


def main(argv: list[str]) -> None:
    """Measure and write the table."""
    parser = argparse.ArgumentParser(description="Time the week's planner as beds and outlets grow.")
    parser.add_argument("--beds", default="8,16,24,32,40")
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--plot", type=Path)
    options = parser.parse_args(argv)
    sys.stdout.write(
        f"{'beds':>5}{'outlets':>9}{'roomy [s]':>11}{'proven':>8}{'crowded [s]':>13}{'proven':>8}{'gap':>7}"
        f"{'reference [s]':>15}{'ratio':>8}\n"
    )
    rows = []
    for n_beds in (int(text) for text in options.beds.split(",")):
        row = measure(n_beds, repeats=options.repeats)
        rows.append((n_beds, row))
        sys.stdout.write(
            f"{n_beds:>5}{-(-n_beds // BEDS_PER_OUTLET):>9}{row['roomy']:>11.3f}{row['proven']!s:>8}"
            f"{row['crowded']:>13.2f}{row['crowded proven']!s:>8}{row['gap']:>7.0%}"
            f"{row['reference']:>15.3f}{row['roomy'] / row['reference']:>8.2f}\n"
        )
        sys.stdout.flush()
    sys.stdout.write(f"target for 8 beds behind 4 outlets: {TARGET} s\n")
    if options.plot is not None:
        _plot(rows, options.plot)


if __name__ == "__main__":
    main(sys.argv[1:])
