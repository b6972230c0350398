"""Few settings over a season: seconds of each part, against a plain reckoning in the same run.

python -m tests.benchmarks.bench_settings [--years 12] [--up-to 8] [--weeks 53] [--repeats 3]

The demo garden with four outlets over the newest years of its record. Reading the weather is told by itself.
The plain version looks through the same patterns for every stretch of weeks and outlet, sums up what lies
beyond each need and divides the season, all in loops of plain Python; both must agree on the water of
every number of settings before a time is told.
"""

import argparse
import math
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import median
from typing import Any

from scheduler.cli.answering import load
from scheduler.garden.plan import Timer
from scheduler.season.few_settings import SeasonWeeks
from scheduler.season.field import FieldNotes
from scheduler.season.other_year import covered_years
from scheduler.season.outlet_settings import FewSettings, fixed_settings
from scheduler.season.settings_replay import replay_settings
from scheduler.season.setup import set_up
from scheduler.season.side_by_side import seasons_of, usual_season
from scheduler.season.week_needs import WeekNeeds, week_needs
from scheduler.timetable.lasting import lasting_patterns
from scheduler.timetable.outlet_need import OutletNeed

__all__ = ["TARGET", "main", "measure", "plain_overs"]

DEMO = Path(__file__).resolve().parents[2] / "config" / "demo_four_outlets.toml"
SHARE = 0.1
#: Seconds of computing that are aimed at for eight numbers of settings over twelve years.
TARGET = 5.0
AGREEMENT = 1e-6  # of the water beyond need


def _timed(work: Callable[[], Any], repeats: int) -> tuple[float, Any]:
    """Return the median time [s] of some work, and its result."""
    times, result = [], None
    for _ in range(repeats):
        begin = time.perf_counter()
        result = work()
        times.append(time.perf_counter() - begin)
    return median(times), result


def _first_weeks(needs: WeekNeeds, n_weeks: int) -> WeekNeeds:
    """Return the needs of the first weeks."""
    return replace(
        needs,
        begins=needs.begins[:n_weeks],
        minutes=needs.minutes[:, :n_weeks],
        use=needs.use[:, :n_weeks],
        **{name: getattr(needs, name)[:n_weeks] for name in ("usual", "usual_use", "days", "raw", "kept")},
    )


def _plain_over(need: OutletNeed, timer: Timer, begin: int, end: int) -> float:
    """Return the least water beyond need of one outlet in a stretch [L], in plain loops."""
    asked, each = need.asked.tolist(), need.each.tolist()
    wanted = 0.0
    for week in range(begin, end):
        for share_of, gives in zip(asked[week], each[week], strict=True):
            if gives > 0.0:
                wanted = max(wanted, (1.0 - SHARE) * share_of / gives)
    if wanted == 0.0:
        return 0.0
    gap = max(1, min(need.gap.tolist()[begin:end]))
    a_day = math.inf
    for pattern in lasting_patterns(timer):
        if pattern.gap > gap:
            continue
        for starts in range(1, timer.starts_per_day + 1):
            runs = pattern.rate * starts
            minutes = max(math.ceil(wanted / runs / timer.step * (1.0 - 1e-9)), 1) * timer.step
            if minutes <= timer.longest_run:
                a_day = min(a_day, runs * minutes)
    total, flow, days = 0.0, need.flow.tolist(), need.days.tolist()
    for year in need.need.tolist():
        for week in range(begin, end):
            for bed, litres in enumerate(flow):
                total += max(a_day * days[week][bed] - year[week][bed], 0.0) * litres
    return total / need.need.shape[0]


def plain_overs(weeks: SeasonWeeks, timer: Timer, up_to: int) -> list[float]:
    """Return the least water beyond need for 1 to `up_to` settings [L], in plain loops."""
    n_weeks = weeks.n_weeks
    cost = {
        (begin, end): sum(_plain_over(outlet, timer, begin, end) for outlet in weeks.outlets)
        for begin in range(n_weeks)
        for end in range(begin + 1, n_weeks + 1)
    }
    least = [0.0] + [math.inf] * n_weeks
    overs = []
    for _ in range(up_to):
        least = [
            0.0,
            *(min(least[begin] + cost[begin, end] for begin in range(end)) for end in range(1, n_weeks + 1)),
        ]
        overs.append(least[n_weeks])
    return overs


def _agree(found: tuple[FewSettings, ...], plain: list[float]) -> None:
    """Raise RuntimeError if the two differ."""
    for few, over in zip(found, plain, strict=True):
        if not abs(few.over - over) <= AGREEMENT * max(over, 1.0):
            raise RuntimeError(f"{few.changes} settings: {few.over} L and {over} L by the plain version")


def measure(*, n_years: int, up_to: int, n_weeks: int, repeats: int) -> dict[str, float]:
    """Return the seconds of each part by its name."""
    reading, (garden, daily) = _timed(lambda: load(DEMO), 1)
    years = covered_years(garden, daily)[-n_years:]
    setup = set_up(garden, daily, FieldNotes())

    def needs_of() -> Any:
        seasons = seasons_of(setup, years)
        return seasons, _first_weeks(week_needs(usual_season(setup), seasons), n_weeks)

    needing, (seasons, needs) = _timed(needs_of, repeats)

    def weeks_of() -> SeasonWeeks:
        return SeasonWeeks(setup, needs, share=SHARE, years="p80")

    counts = range(1, up_to + 1)
    dividing, found = _timed(lambda: weeks_of().divide(counts), repeats)
    replaying, _ = _timed(
        lambda: replay_settings(
            seasons, [fixed_settings(few) for few in found], own_year=needs.begins[0].year
        ),
        repeats,
    )
    looping, plain = _timed(lambda: plain_overs(weeks_of(), garden.timer, up_to), 1)
    _agree(found, plain)
    return {
        "reading the weather": reading,
        "needs by week": needing,
        "settings": dividing,
        "settings, plain": looping,
        "replays": replaying,
        "all but reading": needing + dividing + replaying,
    }


def main(arguments: list[str]) -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--years", type=int, default=12)
    parser.add_argument("--up-to", type=int, default=8)
    parser.add_argument("--weeks", type=int, default=53)
    parser.add_argument("--repeats", type=int, default=3)
    given = parser.parse_args(arguments)
    times = measure(n_years=given.years, up_to=given.up_to, n_weeks=given.weeks, repeats=given.repeats)
    plain = times["settings, plain"]
    sys.stdout.write(f"{'part':22}{'[s]':>9}{'ratio to plain':>16}{'target [s]':>12}\n")
    for name, seconds in times.items():
        target = f"{TARGET:.1f}" if name == "all but reading" else "-"
        sys.stdout.write(f"{name:22}{seconds:9.3f}{seconds / plain:16.3f}{target:>12}\n")


if __name__ == "__main__":
    main(sys.argv[1:])
