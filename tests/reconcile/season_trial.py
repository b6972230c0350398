"""Seasons with injected faults: how soon they are found, and how often a sound garden is accused.

Five beds, a round of tests a week, each bed alone for 10 minutes with the meter read before and after: from
register to diagnosis through the package itself. `python -m tests.reconcile.season_trial` prints the table.
"""

import math
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal

import numpy as np

from scheduler.reconcile.baseline import baseline_from_tests
from scheduler.reconcile.bed_flow import check_flow
from scheduler.reconcile.diagnose import diagnose
from scheduler.reconcile.drift import detect, plan_drift
from scheduler.reconcile.flow_tests import meter_flow
from scheduler.reconcile.meters import Meter, Reading, volumes_between
from scheduler.reconcile.refused import ReadingError

__all__ = ["FAULTS", "Garden", "Outcome", "play_season", "table", "trial"]

START = datetime(2027, 4, 1, 20, 0, tzinfo=UTC)
#: Bed, sound flow [L/h] and emitters.
BEDS = (
    ("tall bed", 86.3, 38),
    ("low bed", 54.5, 24),
    ("short bed", 45.4, 20),
    ("round bed", 95.4, 42),
    ("long bed", 77.2, 34),
)
FAULTY = 2
MINUTES, WATCH = 10.0, 0.1
METER = Meter(capacity=100_000.0, smallest_digit=1.0)
BASELINE, WEEKS, FAULT_WEEK = 8, 26, 6


@dataclass(frozen=True)
class Garden:
    """How sound flows vary, and how often accusing one is acceptable."""

    day_variation: float = 0.02
    #: Sound rounds called changed, a season; and sound beds in which drift is called, a season.
    round_alarms: float = 0.5
    drift_alarms: float = 0.5
    drift_shift: float = 2.0
    #: What the meter does: cut to its digit, or err normally with the same standard deviation.
    noise: Literal["normal", "register"] = "register"


@dataclass(frozen=True)
class Outcome:
    """A season: weeks from the fault to the first right call, and calls before it or without it."""

    round_delay: float
    named_right: bool
    drift_delay: float
    false_rounds: int
    false_drifts: int
    refused: int


def _none(flows, week):
    return flows


def _one(factor):
    """Return a fault that multiplies the flow of the faulty bed by `factor(weeks since the fault)`."""

    def change(flows, week):
        changed = flows.copy()
        changed[FAULTY] *= factor(week)
        return changed

    return change


@dataclass(frozen=True)
class Fault:
    """What happens to the flows, week by week from then on, or to one reading; what a right call says."""

    name: str
    change: Callable = _none
    kinds: tuple = ("local", "mixed")
    typo: bool = False


FAULTS = (
    Fault("none", kinds=()),
    Fault("2 of 20 emitters blocked", _one(lambda week: 0.90)),
    Fault("5 of 20 emitters blocked", _one(lambda week: 0.75)),
    Fault("one more emitter blocked each week", _one(lambda week: 1.0 - min(week + 1, 20) / 20.0)),
    Fault("leak of 40 % in one bed", _one(lambda week: 1.4)),
    Fault("valve stuck half open", _one(lambda week: 0.5)),
    Fault("filter: all beds lose 15 %", lambda flows, week: 0.85 * flows, kinds=("global", "mixed")),
    Fault("two digits of one reading swapped", typo=True),
)


def _swapped(volume):
    """Return the volume with the two digits before the point's last one swapped: 4217.5 -> 4127.5."""
    digits = list(f"{volume:08.1f}")
    digits[3], digits[4] = digits[4], digits[3]
    return float("".join(digits))


def _show(rng, volumes, noise):
    """Return what the register shows of true volumes."""
    if noise == "normal":
        # The second reading takes the error of both.
        return [
            volumes[0] % METER.capacity,
            (volumes[1] + rng.normal() * METER.smallest_digit / math.sqrt(6.0)) % METER.capacity,
        ]
    return [math.floor(v % METER.capacity / METER.smallest_digit) * METER.smallest_digit for v in volumes]


def _ran(rng, noise):
    """Return how long the valve was open [min]."""
    if noise == "normal":
        return MINUTES + rng.normal() * WATCH / math.sqrt(3.0)
    return MINUTES + rng.uniform(-WATCH, WATCH)


def _measure(rng, flows, begins, total, *, garden, typo=False):
    """Return one round's flow tests, how many readings were refused, and the register afterwards."""
    flows = flows * (1.0 + garden.day_variation * rng.normal())
    tests, refused = [], 0
    for n, flow in enumerate(flows):
        # The hose fills and the house draws water in between, so no two beds share a reading.
        total += rng.uniform(5.0, 50.0)
        before = total
        total += flow * _ran(rng, garden.noise) / 60.0
        marks = _show(rng, (before, total), garden.noise)
        if typo and n == FAULTY:
            marks[1] = _swapped(marks[1])
        at = begins + timedelta(minutes=30 * n)
        readings = (Reading(at, marks[0]), Reading(at + timedelta(minutes=MINUTES), marks[1]))
        try:
            (volume,) = volumes_between(readings, METER)
        except ReadingError:
            refused += 1
            continue
        tests.append(meter_flow(BEDS[n][0], volume, meter=METER, minutes=MINUTES, watch=WATCH))
    return tests, refused, total


def _baselines(rng, flows, total, garden):
    firsts = []
    for n in range(BASELINE):
        tests, _, total = _measure(rng, flows, START - timedelta(days=BASELINE - n), total, garden=garden)
        firsts.append(tests)
    return [
        baseline_from_tests(bed, first=BASELINE, day_variation=garden.day_variation)
        for bed in zip(*firsts, strict=True)
    ], total


def play_season(rng, fault, garden, *, plan, weeks=WEEKS):
    """Return what the rounds and the CUSUM of each bed said in one season."""
    sound = np.array([flow for _, flow, _ in BEDS])
    baselines, total = _baselines(rng, sound, rng.uniform(0.0, METER.capacity), garden)
    known = {base.bed: base for base in baselines}
    emitters = {bed: count for bed, _, count in BEDS}
    series = {bed: [] for bed, _, _ in BEDS}
    weeks_of = {bed: [] for bed, _, _ in BEDS}
    sigma, calls, refused = {}, [], 0
    for week in range(weeks):
        flows = fault.change(sound, week - FAULT_WEEK) if week >= FAULT_WEEK else sound
        tests, missed, total = _measure(
            rng,
            flows,
            START + timedelta(weeks=week),
            total,
            garden=garden,
            typo=fault.typo and week == FAULT_WEEK,
        )
        refused += missed
        checks = [check_flow(test, known[test.bed], emitters=emitters[test.bed]) for test in tests]
        for check in checks:
            series[check.bed].append(check.change)
            weeks_of[check.bed].append(week)
            # One test of a sound bed: its own part of the first round, and the day.
            one = math.sqrt(check.own**2 - (known[check.bed].own / check.baseline) ** 2)
            sigma.setdefault(check.bed, math.hypot(one, garden.day_variation))
        calls.append(diagnose(checks, false_alarm=garden.round_alarms / WEEKS))
    drifts = {}
    for bed, changes in series.items():
        # A season of one round is for the rounds alone.
        alarm = detect(changes, sigma[bed], k=plan.k, h=plan.h).alarm if weeks > 1 else None
        if alarm is not None:
            drifts[bed] = weeks_of[bed][alarm.at]
    return _outcome(fault, calls, drifts, refused)


def _outcome(fault, calls, drifts, refused):
    faulty = BEDS[FAULTY][0]
    changed = bool(fault.kinds)
    called = [week for week, call in enumerate(calls) if call.kind != "nothing seen"]
    first = next((week for week in called if week >= FAULT_WEEK), None) if changed else None
    right = False
    if first is not None:
        alone = [finding.beds for finding in calls[first].findings if len(finding.beds) == 1]
        right = calls[first].kind in fault.kinds and ("global" in fault.kinds or (faulty,) in alone)
    late = drifts.get(faulty, math.inf) if changed else math.inf
    if refused:
        # A reading that was refused is found there and then.
        first, right = FAULT_WEEK, True
    return Outcome(
        round_delay=math.inf if first is None else first - FAULT_WEEK,
        named_right=right,
        drift_delay=late - FAULT_WEEK if late >= FAULT_WEEK else math.nan,
        false_rounds=sum(not changed or week < FAULT_WEEK for week in called),
        false_drifts=sum(not changed or week < FAULT_WEEK for week in drifts.values()),
        refused=refused,
    )


def drift_plan(garden):
    """Return the settings of the CUSUM of each bed."""
    return plan_drift(
        shift=garden.drift_shift,
        false_alarms=garden.drift_alarms,
        tests=WEEKS,
        beds=len(BEDS),
        baseline_tests=BASELINE,
    )


def trial(rng, fault, *, seasons, garden=None):
    """Return the outcomes of many seasons with one fault."""
    garden = garden or Garden()
    plan = drift_plan(garden)
    return [play_season(rng, fault, garden, plan=plan) for _ in range(seasons)]


def _median(values):
    return float(
        np.quantile([value for value in values if not math.isnan(value)] or [math.nan], 0.5, method="lower")
    )


def _row(fault, outcomes):
    found = [o for o in outcomes if math.isfinite(o.round_delay)]
    figures = [
        _median([o.round_delay for o in outcomes]),
        len(found) / len(outcomes),
        np.mean([o.named_right for o in found]) if found else math.nan,
        _median([o.drift_delay for o in outcomes]),
        np.mean([math.isfinite(o.drift_delay) for o in outcomes]),
        np.mean([o.false_rounds for o in outcomes]),
        np.mean([o.false_drifts for o in outcomes]),
        np.mean([o.refused for o in outcomes]),
    ]
    return f"{fault.name:36}" + "".join(f"{figure:9.2f}" for figure in figures)


def table(rng, *, seasons):
    """Yield the lines of the table: weeks to the first call, shares of seasons, calls a season."""
    heads = ("round wk", "found", "right", "drift wk", "found", "f.rounds", "f.drifts", "refused")
    yield f"{'fault':36}" + "".join(f"{head:>9}" for head in heads)
    for fault in FAULTS:
        yield _row(fault, trial(rng, fault, seasons=seasons))


if __name__ == "__main__":
    for line in table(np.random.default_rng(2027), seasons=300):
        sys.stdout.write(line + "\n")
