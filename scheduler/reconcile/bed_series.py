"""All tests of one bed in their order: its baseline, its newest test against it, and its drift."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from scheduler.reconcile.baseline import FIRST_TESTS, Baseline, baseline_from_print, baseline_from_tests
from scheduler.reconcile.bed_flow import FlowCheck, check_flow
from scheduler.reconcile.drift import DriftAlarm, DriftCheck, DriftPlan, detect
from scheduler.reconcile.flow_tests import FlowTest

__all__ = ["BedAlarm", "BedDrift", "BedSeries", "DatedTest", "PrintedFlow", "bed_drift", "bed_series"]


@dataclass(frozen=True, slots=True)
class DatedTest:
    """A test of a bed's flow, and when it began and ended."""

    begins: datetime
    at: datetime
    test: FlowTest


@dataclass(frozen=True, slots=True)
class PrintedFlow:
    """A bed's emitters, and the printed flow of one at the bed's pressure [L/h]."""

    emitters: int
    emitter_flow: float


@dataclass(frozen=True, slots=True)
class BedSeries:
    """What a bed's tests say.

    Attributes
    ----------
    tests : tuple of DatedTest
        All of them since the bed's line was relaid last.
    baseline : Baseline
        From the first of these, else from the printed flow.
    check : FlowCheck or None
        The newest test against the baseline; None without a test.
    followed : tuple of DatedTest
        Tests after those of the baseline, by its method; empty for the printed flow.
    relaid : datetime or None
        When the bed's line was relaid last.
    earlier : int
        Tests of before then, which are no longer compared.
    former : Baseline or None
        What was expected of the bed until then, for the water that ran until then; None if never relaid.
    """

    bed: str
    tests: tuple[DatedTest, ...]
    baseline: Baseline
    check: FlowCheck | None
    followed: tuple[DatedTest, ...]
    relaid: datetime | None = None
    earlier: int = 0
    former: Baseline | None = None


@dataclass(frozen=True, slots=True)
class BedAlarm:
    """An alarm of a bed's CUSUM.

    Attributes
    ----------
    noticed, since : datetime
        The test that raised it, and the likely first test of the change.
    shift : float
        Mean change since then, as a share.
    standing : bool
        False where the tests after the alarm are back at the baseline: their mean lies nearer to it than to
        the change that the CUSUM is made to find.
    """

    direction: Literal["higher", "lower"]
    noticed: datetime
    since: datetime
    shift: float
    standing: bool


@dataclass(frozen=True, slots=True)
class BedDrift:
    """The CUSUM of one bed, begun anew after each alarm.

    Attributes
    ----------
    tests : int
        Tests that it has seen.
    upper, lower : float
        Its sums after the last test that it could take [standard deviations].
    alarm : BedAlarm or None
        The newest one.
    """

    bed: str
    tests: int
    upper: float
    lower: float
    alarm: BedAlarm | None


def bed_series(
    bed: str, printed: PrintedFlow, tests: Sequence[DatedTest], *, relaid: Sequence[datetime] = ()
) -> BedSeries:
    """Return a bed's tests against its baseline.

    The baseline is the mean of the first tests by the newest test's method, or by the other method where
    only that one has enough; dry tests are no part of it. Until one test more than these is there, the
    printed flow stands in. Tests that began before the bed's line was relaid last are left out.

    Parameters
    ----------
    relaid : sequence of datetime
        Every moment at which the line was relaid.

    Raises
    ------
    ReadingError
        As `baseline_from_print` and `check_flow`.
    """
    moments = sorted(relaid)
    if not moments:
        return _series(bed, printed, tests)
    last = moments[-1]
    before = [one for one in tests if one.begins < last]
    # What was expected of the line that lay there just before, not of one before that.
    of_former = [one for one in before if one.at <= last and all(one.begins >= at for at in moments[-2:-1])]
    return replace(
        _series(bed, printed, [one for one in tests if one.begins >= last]),
        relaid=last,
        earlier=len(before),
        former=_series(bed, printed, of_former).baseline,
    )


def _series(bed: str, printed: PrintedFlow, tests: Sequence[DatedTest]) -> BedSeries:
    """Return the tests of one line that a bed had against the baseline that they make."""
    ordered = tuple(sorted(tests, key=lambda test: test.at))
    baseline = baseline_from_print(bed, emitter_flow=printed.emitter_flow, emitters=printed.emitters)
    if not ordered:
        return BedSeries(bed, ordered, baseline, None, ())
    newest = ordered[-1]
    followed: tuple[DatedTest, ...] = ()
    for method in sorted({one.test.method for one in ordered}, key=lambda m: m != newest.test.method):
        flowing = [one for one in ordered if one.test.method == method and one.test.flow > 0.0]
        first = [one for one in flowing if one is not newest][:FIRST_TESTS]
        if len(first) == FIRST_TESTS:
            baseline = baseline_from_tests([one.test for one in first])
            followed = tuple(o for o in ordered if o.test.method == method and o.at > first[-1].at)
            break
    check = check_flow(newest.test, baseline, emitters=printed.emitters)
    return BedSeries(bed, ordered, baseline, check, followed)


def bed_drift(series: BedSeries, plan: DriftPlan) -> BedDrift | None:
    """Return the drift of a bed since its baseline; None before there are two tests to follow.

    The standard deviation of a test is that of its own uncertainties and of the day's variation; the error
    of the baseline is in the plan's decision limit.

    Raises
    ------
    ReadingError
        As `detect`.
    """
    if len(series.followed) < 2:
        return None
    flow = series.baseline.flow
    changes = [one.test.flow / flow - 1.0 for one in series.followed]
    mean_square = sum(one.test.uncertainty**2 for one in series.followed) / len(changes)
    sigma = math.hypot(math.sqrt(mean_square) / flow, series.baseline.day_variation)
    check, begins, last = _newest_alarm(changes, sigma, plan)
    alarm = None
    if last is not None:
        later = changes[begins + last.at + 1 :]
        sign = 1.0 if last.direction == "higher" else -1.0
        alarm = BedAlarm(
            direction=last.direction,
            noticed=series.followed[begins + last.at].at,
            since=series.followed[begins + last.change_at].at,
            shift=last.shift,
            standing=not later or sign * sum(later) / len(later) > plan.k * sigma,
        )
    return BedDrift(series.bed, len(changes), check.upper[-1], check.lower[-1], alarm)


def _newest_alarm(
    changes: Sequence[float], sigma: float, plan: DriftPlan
) -> tuple[DriftCheck, int, DriftAlarm | None]:
    """Return the newest CUSUM, and the newest alarm with the number of the test that its CUSUM begins at."""
    begins, newest, alarm = 0, 0, None
    check = detect(changes, sigma, k=plan.k, h=plan.h)
    while check.alarm is not None:
        newest, alarm = begins, check.alarm
        begins += alarm.at + 1
        if len(changes) - begins < 2:
            break
        check = detect(changes[begins:], sigma, k=plan.k, h=plan.h)
    return check, newest, alarm
