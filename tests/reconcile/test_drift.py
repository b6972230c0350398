"""CUSUM of a bed's changes: first alarm, direction, change point, and settings from false alarms."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.reconcile.drift import detect, plan_drift
from scheduler.reconcile.refused import ReadingError

changes = st.lists(st.floats(-0.5, 0.5), min_size=2, max_size=30)


def test_a_bed_that_loses_a_tenth():
    """Four sound tests, then 10 % less at sigma 5 %: C- grows by 1.5 a test and passes 4 at the third."""
    check = detect([0.0, 0.01, -0.01, 0.0, -0.1, -0.1, -0.1, -0.1], 0.05, k=0.5, h=4.0)
    assert check.alarm.at == 6
    assert check.alarm.direction == "lower"
    assert check.alarm.change_at == 4
    assert check.alarm.shift == pytest.approx(-0.1)
    assert check.lower[4:7] == pytest.approx((1.5, 3.0, 4.5))
    assert check.upper == (0.0,) * 8


def test_no_alarm_still_says_what_would_have_been_found():
    check = detect([0.01, -0.01, 0.02], 0.05, k=0.5, h=4.0)
    assert check.alarm is None
    assert check.tuned_shift == pytest.approx(0.05)
    assert check.tuned_run_length == pytest.approx(8.38, abs=0.005)
    assert check.sound_run_length == pytest.approx(168.0, abs=0.5)


@pytest.mark.parametrize(
    ("series", "sigma", "k", "h"),
    [
        ([], 0.05, 0.5, 4.0),
        ([0.1], 0.05, 0.5, 4.0),
        ([0.1, math.nan], 0.05, 0.5, 4.0),
        ([0.1, math.inf], 0.05, 0.5, 4.0),
        ([0.1, 0.1], 0.0, 0.5, 4.0),
        ([0.1, 0.1], math.nan, 0.5, 4.0),
        ([0.1, 0.1], 0.05, -1.0, 4.0),
        ([0.1, 0.1], 0.05, 0.5, 0.0),
    ],
)
def test_series_that_say_nothing_are_refused(series, sigma, k, h):
    with pytest.raises(ReadingError, match="1 fault\n"):
        detect(series, sigma, k=k, h=h)


@settings(max_examples=50, deadline=None)
@given(changes, st.floats(0.01, 0.2), st.floats(0.01, 100.0))
def test_alarm_does_not_depend_on_the_unit(series, sigma, unit):
    one = detect(series, sigma, k=0.5, h=4.0)
    two = detect([unit * change for change in series], unit * sigma, k=0.5, h=4.0)
    assert two.upper == pytest.approx(one.upper, abs=1e-9)
    assert two.tuned_shift == pytest.approx(one.tuned_shift * unit)


@settings(max_examples=50, deadline=None)
@given(changes, st.floats(0.01, 0.2))
def test_mirrored_series_alarms_on_the_other_side(series, sigma):
    one, two = (detect(s, sigma, k=0.5, h=4.0) for s in (series, [-change for change in series]))
    assert one.upper == two.lower
    assert (one.alarm is None) == (two.alarm is None)
    if one.alarm is not None:
        assert one.alarm.direction != two.alarm.direction
        assert one.alarm.change_at <= one.alarm.at
        assert one.alarm.shift == pytest.approx(-two.alarm.shift)
        assert abs(one.alarm.shift) > 0.5 * sigma


@settings(max_examples=30, deadline=None)
@given(changes, st.floats(0.01, 0.2), st.floats(0.0, 0.3))
def test_less_water_is_never_found_later(series, sigma, less):
    one, two = (detect(s, sigma, k=0.5, h=4.0) for s in (series, [change - less for change in series]))
    assert all(b >= a - 1e-9 for a, b in zip(one.lower, two.lower, strict=True))


@pytest.mark.parametrize("baseline_tests", [None, 8])
def test_plan_keeps_the_false_alarms_and_no_more_slack_than_it_must(baseline_tests):
    plan = plan_drift(shift=1.5, false_alarms=0.3, tests=26, beds=5, baseline_tests=baseline_tests)
    assert 0.297 < plan.false_alarms <= 0.3
    assert plan.k == 0.75
    rng = np.random.default_rng(31)
    seasons, alarms = 600, 0
    for _ in range(seasons):
        error = 0.0 if baseline_tests is None else rng.normal() / math.sqrt(baseline_tests)
        series = (rng.normal(size=26) - error) * 0.04
        alarms += detect(list(series), 0.04, k=plan.k, h=plan.h).alarm is not None
    share = plan.false_alarms / 5
    assert alarms / seasons == pytest.approx(share, abs=3.5 * math.sqrt(share * (1.0 - share) / seasons))


def test_a_longer_baseline_finds_more():
    found = [
        plan_drift(shift=1.5, false_alarms=0.3, tests=26, beds=5, baseline_tests=n).found_in_season
        for n in (3, 8)
    ]
    assert found[0] < 0.8 < 0.9 < found[1]


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"shift": 0.0}, "shift: is zero"),
        ({"shift": math.nan}, "shift: nan"),
        ({"false_alarms": 0.0}, "false alarms: is zero"),
        ({"false_alarms": 5.0}, "as many as the beds"),
        ({"tests": 0}, "tests: is zero"),
        ({"beds": 0}, "beds: is zero"),
        ({"shift": 0.1, "tests": 400, "baseline_tests": 1, "false_alarms": 1e-4}, "no decision limit"),
    ],
)
def test_plans_that_cannot_be_kept_are_refused(change, match):
    with pytest.raises(ReadingError, match=match):
        plan_drift(**({"shift": 1.0, "false_alarms": 0.3, "tests": 26, "beds": 5} | change))
