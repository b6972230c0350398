"""Everything that a garden's readings say, drawn together, and whether anything in it looks wrong."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from scheduler.reconcile.baseline import FIRST_TESTS
from scheduler.reconcile.bed_flow import FlowCheck
from scheduler.reconcile.bed_series import BedDrift, BedSeries, DatedTest, PrintedFlow, bed_drift, bed_series
from scheduler.reconcile.causes import YOUNG_BASELINE
from scheduler.reconcile.diagnose import Diagnosis, diagnose
from scheduler.reconcile.drift import DriftPlan, plan_drift
from scheduler.reconcile.leak import LeakReport, LeakStep, find_leak
from scheduler.reconcile.meters import Meter, MeteredVolume
from scheduler.reconcile.register import OddReading, Register
from scheduler.reconcile.water_use import WaterCheck, WaterSpan, bed_flow, compare_water, either_flow

__all__ = ["Inputs", "Overview", "Round", "only_bed", "overview"]

#: Tests of the beds that lie within so many days make one round.
ROUND_DAYS = 7
#: Odd readings older than this beside the newest are told, but are no longer news.
NEWS_DAYS = 30
#: Drift is looked for as two standard deviations of one test, at one false alarm in five seasons, in a season
#: of a test every other week. Judgement: a smaller shift takes longer to find than a season has tests.
DRIFT_SHIFT, DRIFT_FALSE_ALARMS, SEASON_TESTS = 2.0, 0.2, 12
#: Standard uncertainty of what the house draws by night, as a share of its use a day: judgement, no source.
NIGHT_SHARE = 0.05


@dataclass(frozen=True, slots=True)
class Inputs:
    """What the readings are turned into.

    Attributes
    ----------
    meter_stated : bool
        False where the plan says nothing of the meter.
    newest : datetime or None
        Time of the newest reading.
    written : tuple of str
        Each reading of the register as the person wrote it.
    strangers : tuple of str
        Beds that have readings and are not in the plan.
    beds : mapping of str to (PrintedFlow, float)
        Each bed's emitters, and the flow that the plan gives the bed [L/h].
    tests : mapping of str to tuple of DatedTest
    relaid : mapping of str to tuple of datetime
        When each bed's line was relaid.
    whole : int
        Sound readings of the whole garden.
    single : tuple of (str, datetime)
        Beds and times of meter readings without a partner.
    leak_steps : tuple of LeakStep
    spans : tuple of WaterSpan
        In the order of time.
    house_per_day : float or None
        What the house uses a day [L].
    """

    meter: Meter
    meter_stated: bool
    newest: datetime | None
    written: tuple[str, ...]
    strangers: tuple[str, ...]
    register: Register
    beds: Mapping[str, tuple[PrintedFlow, float]]
    tests: Mapping[str, tuple[DatedTest, ...]]
    relaid: Mapping[str, tuple[datetime, ...]]
    whole: int
    single: tuple[tuple[str, datetime], ...]
    leak_steps: tuple[LeakStep, ...]
    spans: tuple[WaterSpan, ...]
    house_per_day: float | None


@dataclass(frozen=True, slots=True)
class Round:
    """Newest tests of some beds, made within few days, and what they say together."""

    begins: datetime
    ends: datetime
    checks: tuple[FlowCheck, ...]
    diagnosis: Diagnosis


@dataclass(frozen=True, slots=True)
class Overview:
    """What the readings say.

    Attributes
    ----------
    rounds : tuple of Round
        The newest first; only the newest test of each bed is in one.
    drift_plan : DriftPlan or None
        None before any bed has two tests after its baseline.
    water : tuple of WaterCheck
        In the order of time.
    """

    inputs: Inputs
    beds: tuple[BedSeries, ...]
    rounds: tuple[Round, ...]
    drift_plan: DriftPlan | None
    drifts: tuple[BedDrift, ...]
    leak: LeakReport | None
    water: tuple[WaterCheck, ...]
    odd: tuple[OddReading, ...]
    rollovers: tuple[MeteredVolume, ...]

    @property
    def wrong(self) -> tuple[str, ...]:
        """What looks wrong: ``flow``, ``drift``, ``leak``, ``water``, ``reading``."""
        wrong = {
            "flow": any(one.diagnosis.findings for one in self.rounds),
            "drift": any(drift.alarm is not None and drift.alarm.standing for drift in self.drifts),
            "leak": self.leak is not None and bool(self.leak.first_look),
            "water": bool(self.water) and self.water[-1].verdict in {"less", "more"},
            "reading": any(_is_news(one.reading.at, self.inputs.newest) for one in self.odd),
        }
        return tuple(name for name, is_so in wrong.items() if is_so)


def overview(inputs: Inputs) -> Overview:
    """Return everything that the readings say.

    Raises
    ------
    ReadingError
        If a bed or the meter is described by figures that are none; readings that do not fit are told.
    """
    beds = tuple(
        bed_series(name, printed, inputs.tests.get(name, ()), relaid=inputs.relaid.get(name, ()))
        for name, (printed, _) in inputs.beds.items()
    )
    rounds = _rounds(beds)
    plan, drifts = _drifts(beds)
    leak = _leak(inputs)
    water = tuple(_water(inputs, beds, span) for span in inputs.spans)
    return Overview(
        inputs=inputs,
        beds=beds,
        rounds=rounds,
        drift_plan=plan,
        drifts=drifts,
        leak=leak,
        water=water,
        odd=inputs.register.odd,
        rollovers=inputs.register.rollovers,
    )


def only_bed(found: Overview, bed: str) -> Overview:
    """Return what is said of one bed; it is told from the whole garden by the other beds of its round."""
    rounds = tuple(one for one in found.rounds if any(check.bed == bed for check in one.checks))
    return replace(
        found,
        inputs=replace(found.inputs, single=tuple(pair for pair in found.inputs.single if pair[0] == bed)),
        beds=tuple(series for series in found.beds if series.bed == bed),
        rounds=tuple(replace(one, diagnosis=_about(one.diagnosis, bed)) for one in rounds),
        drifts=tuple(drift for drift in found.drifts if drift.bed == bed),
        leak=None,
        water=(),
        odd=(),
        rollovers=(),
    )


def _about(diagnosis: Diagnosis, bed: str) -> Diagnosis:
    """Return a diagnosis with the findings that concern a bed."""
    return replace(diagnosis, findings=tuple(one for one in diagnosis.findings if bed in one.beds))


def _is_news(at: datetime, newest: datetime | None) -> bool:
    return newest is not None and newest - at <= timedelta(days=NEWS_DAYS)


def _rounds(beds: Sequence[BedSeries]) -> tuple[Round, ...]:
    """Return the newest tests in groups that each lie within a few days."""
    tested = sorted((bed for bed in beds if bed.check), key=lambda bed: bed.tests[-1].at, reverse=True)
    groups: list[list[BedSeries]] = []
    for bed in tested:
        if groups and groups[-1][0].tests[-1].at - bed.tests[-1].at <= timedelta(days=ROUND_DAYS):
            groups[-1].append(bed)
        else:
            groups.append([bed])
    return tuple(_round([bed for bed in beds if bed in group]) for group in groups)


def _round(group: Sequence[BedSeries]) -> Round:
    checks = tuple(bed.check for bed in group if bed.check)
    times = [bed.tests[-1].at for bed in group]
    return Round(min(times), max(times), checks, _with_young_baselines(diagnose(checks), group))


def _with_young_baselines(diagnosis: Diagnosis, group: Sequence[BedSeries]) -> Diagnosis:
    """Return a diagnosis in which no fault of its own is sought first in a bed whose baseline is at fault.

    Tests of a bed that was relaid while all beds were off make a baseline that is off as they are. Against it
    the bed shows no change, and so seems to differ from the others.
    """
    young = {
        (bed.bed,)
        for bed in group
        if bed.relaid is not None
        and bed.baseline.tests
        and bed.check
        and bed.check.verdict == "no change seen"
    }
    if diagnosis.kind != "mixed" or not young:
        return diagnosis
    findings = (
        replace(one, causes=(YOUNG_BASELINE, *one.causes)) if one.beds in young else one
        for one in diagnosis.findings
    )
    return replace(diagnosis, findings=tuple(findings))


def _drifts(beds: Sequence[BedSeries]) -> tuple[DriftPlan | None, tuple[BedDrift, ...]]:
    """Return the settings of the CUSUM and what it says of each bed that has enough tests."""
    longest = max((len(bed.followed) for bed in beds), default=0)
    if longest < 2:
        return None, ()
    plan = plan_drift(
        shift=DRIFT_SHIFT,
        false_alarms=DRIFT_FALSE_ALARMS,
        tests=max(SEASON_TESTS, longest),
        beds=len(beds),
        baseline_tests=FIRST_TESTS,
    )
    found = (bed_drift(bed, plan) for bed in beds)
    return plan, tuple(drift for drift in found if drift is not None)


def _water(inputs: Inputs, beds: Sequence[BedSeries], span: WaterSpan) -> WaterCheck:
    """Return the check of one span, each bed at the flow that its line of that time is expected to have."""
    flows = {}
    for series in beds:
        planned = inputs.beds[series.bed][1]
        flow = bed_flow(planned, series.baseline)
        if series.relaid is not None and series.former is not None and span.metered.begins < series.relaid:
            former = bed_flow(planned, series.former)
            flow = former if span.metered.ends <= series.relaid else either_flow(former, flow)
        flows[series.bed] = flow
    return compare_water(span, flows, house_per_day=inputs.house_per_day)


def _leak(inputs: Inputs) -> LeakReport | None:
    if not inputs.leak_steps:
        return None
    night = NIGHT_SHARE * (inputs.house_per_day or 0.0)
    return find_leak(inputs.leak_steps, inputs.meter, meter_at="house", house_variation=night)
