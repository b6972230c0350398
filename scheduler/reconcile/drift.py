"""Slow drift of a bed's flow over weeks: the tabular CUSUM of its changes against the baseline.

Reference: Page (1954), Biometrika 41; in tabular form Montgomery, Introduction to Statistical Quality
Control, chapter 9: C+ = max(0, C+ + x - k), C- = max(0, C- - x - k), alarm beyond h.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from scheduler.errors import Fault
from scheduler.reconcile.refused import positive_fault, refuse
from scheduler.reconcile.run_length import alarm_share, average_run_length, setting_faults

__all__ = ["DriftAlarm", "DriftCheck", "DriftPlan", "detect", "plan_drift"]

#: Beyond this decision limit [standard deviations] no season is long enough to find anything.
_LARGEST_LIMIT = 100.0


@dataclass(frozen=True, slots=True)
class DriftPlan:
    """Settings of a CUSUM and what they stand for.

    Attributes
    ----------
    k, h : float
        Allowance and decision limit [standard deviations of one test].
    tests, beds : int
        Tests of each bed in a season, and beds.
    baseline_tests : int or None
        Tests in each bed's baseline; None for a known one.
    false_alarms : float
        Sound beds that raise an alarm in a season, on average over seasons.
    sound_run_length : float
        Mean tests until a false alarm, were the baseline known.
    shift, shift_run_length : float
        Shift the settings are made for [standard deviations], and mean tests until it is found.
    found_in_season : float
        Probability that such a shift, there from the first test on, is found within the season.
    """

    k: float
    h: float
    tests: int
    beds: int
    baseline_tests: int | None
    false_alarms: float
    sound_run_length: float
    shift: float
    shift_run_length: float
    found_in_season: float


@dataclass(frozen=True, slots=True)
class DriftAlarm:
    """The first alarm; tests are counted from 0.

    Attributes
    ----------
    at : int
        Test at which the sum passed the limit.
    change_at : int
        First test after the sum was last zero: the likely first one of the change.
    shift : float
        Mean change since then, as the share that the series is in: k + C / tests (Montgomery, eq. 9.5).
    """

    at: int
    direction: Literal["higher", "lower"]
    change_at: int
    shift: float


@dataclass(frozen=True, slots=True)
class DriftCheck:
    """Both sums after each test [standard deviations], the first alarm if any, and what could be found.

    Attributes
    ----------
    tuned_shift : float
        Lasting change that the CUSUM is made to find, 2 k, as a share.
    tuned_run_length : float
        Mean tests until it is found.
    sound_run_length : float
        Mean tests until a false alarm.
    """

    upper: tuple[float, ...]
    lower: tuple[float, ...]
    alarm: DriftAlarm | None
    tuned_shift: float
    tuned_run_length: float
    sound_run_length: float


def plan_drift(
    *, shift: float, false_alarms: float, tests: int, beds: int = 1, baseline_tests: int | None = None
) -> DriftPlan:
    """Return the settings for a lasting shift and an acceptable number of false alarms a season.

    k is half the shift; h is the least that keeps the false alarms. A short baseline costs much: its
    error is a lasting shift of every later test, which the CUSUM cannot tell from drift.

    Parameters
    ----------
    shift : float
        Lasting change to be found [standard deviations of one test].
    false_alarms : float
        Sound beds, out of `beds`, that may raise an alarm in a season, on average.

    Raises
    ------
    ReadingError
        Numbers that are none or not above zero, as many false alarms as beds, or settings that no decision
        limit can meet.
    """
    faults = [
        *positive_fault("shift", shift, wanted="write the change to be found in standard deviations, e.g. 1"),
        *positive_fault(
            "false alarms", false_alarms, wanted="write how many a season are acceptable, e.g. 0.2"
        ),
        *positive_fault("tests", tests, wanted="write how often each bed is tested in a season"),
        *positive_fault("beds", beds, wanted="write how many beds are tested"),
    ]
    if not faults and false_alarms >= beds:
        faults.append(Fault("false alarms", "are as many as the beds", "allow fewer than one for each bed"))
    refuse("drift", faults)
    k = shift / 2.0
    h = _least_limit(k, false_alarms / beds, tests, baseline_tests)
    return DriftPlan(
        k=k,
        h=h,
        tests=tests,
        beds=beds,
        baseline_tests=baseline_tests,
        false_alarms=beds * alarm_share(k, h, tests=tests, baseline_tests=baseline_tests),
        sound_run_length=average_run_length(k, h),
        shift=shift,
        shift_run_length=average_run_length(k, h, shift=shift),
        found_in_season=alarm_share(k, h, tests=tests, shift=shift, baseline_tests=baseline_tests),
    )


def _least_limit(k: float, share: float, tests: int, baseline_tests: int | None) -> float:
    """Return the least h, to a thousandth, at which no more than `share` of the seasons has an alarm."""

    def too_many(h: float) -> bool:
        return alarm_share(k, h, tests=tests, baseline_tests=baseline_tests) > share

    low, high = 0.0, 1.0
    while too_many(high):
        low, high = high, 2.0 * high
        if high > _LARGEST_LIMIT:
            wanted = "make the baseline from more tests, look for a larger shift, or allow more false alarms"
            refuse("drift", [Fault("", "no decision limit keeps so few false alarms", wanted)])
    while high - low > 1e-3:
        middle = (low + high) / 2.0
        low, high = (middle, high) if too_many(middle) else (low, middle)
    return high


def detect(series: Sequence[float], sigma: float, *, k: float, h: float) -> DriftCheck:
    """Return the CUSUM of a bed's relative changes and its first alarm.

    Parameters
    ----------
    series : sequence of float
        Changes against the baseline, in the order of the tests, as shares.
    sigma : float
        Standard deviation of one test of a sound bed, as a share.
    k, h : float
        Allowance and decision limit [standard deviations].

    Raises
    ------
    ReadingError
        Fewer than two changes, one that is no number, `sigma` or `h` that is not above zero.
    """
    refuse("drift", _series_faults(series, sigma, k, h))
    upper, lower = [0.0], [0.0]
    for change in series:
        x = change / sigma
        upper.append(max(0.0, upper[-1] + x - k))
        lower.append(max(0.0, lower[-1] - x - k))
    return DriftCheck(
        upper=tuple(upper[1:]),
        lower=tuple(lower[1:]),
        alarm=_first_alarm(upper, lower, sigma=sigma, k=k, h=h),
        tuned_shift=2.0 * k * sigma,
        tuned_run_length=average_run_length(k, h, shift=2.0 * k),
        sound_run_length=average_run_length(k, h),
    )


def _first_alarm(
    upper: Sequence[float], lower: Sequence[float], *, sigma: float, k: float, h: float
) -> DriftAlarm | None:
    """Return the first alarm of two sums that begin with the zero before the first test."""
    at = next((n for n in range(1, len(upper)) if max(upper[n], lower[n]) > h), None)
    if at is None:
        return None
    rising = upper[at] > h
    sums = upper if rising else lower
    begins = max(n for n in range(at) if sums[n] == 0.0)
    mean = k + sums[at] / (at - begins)
    return DriftAlarm(
        at=at - 1,
        direction="higher" if rising else "lower",
        change_at=begins,
        shift=mean * sigma if rising else -mean * sigma,
    )


def _series_faults(series: Sequence[float], sigma: float, k: float, h: float) -> list[Fault]:
    faults = [
        *positive_fault("sigma", sigma, wanted="give the standard deviation of one test, e.g. 0.03"),
        *setting_faults(k, h),
    ]
    if len(series) < 2:
        faults.append(Fault("", f"found {len(series)} tests", "two or more make a series"))
    faults += [
        Fault(f"test {n}", f"{change!r} is not a number", "leave the test out or make it again")
        for n, change in enumerate(series, 1)
        if not math.isfinite(change)
    ]
    return faults
