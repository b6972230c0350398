"""Run lengths of the CUSUM against a Markov chain of other make, and against simulated seasons."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import norm

from scheduler.reconcile.refused import ReadingError
from scheduler.reconcile.run_length import alarm_share, average_run_length, siegmund_run_length


def brook_evans(k, h, shift, states=400):
    """Return the one-sided run length by the Markov chain of Brook and Evans (1972), Biometrika 59."""
    width = 2.0 * h / (2 * states - 1)
    grid = width * np.arange(states)
    upper = norm.cdf(grid[None, :] - grid[:, None] + width / 2.0 + k - shift)
    chain = np.column_stack([upper[:, 0], np.diff(upper, axis=1)])
    return float(np.linalg.solve(np.eye(states) - chain, np.ones(states))[0])


def seasons_with_alarm(rng, *, k, h, tests, seasons, baseline_tests=None, shift=0.0):
    """Return the share of simulated seasons in which the two-sided CUSUM passes h."""
    error = 0.0 if baseline_tests is None else rng.normal(size=seasons) / math.sqrt(baseline_tests)
    upper, lower, alarm = np.zeros(seasons), np.zeros(seasons), np.zeros(seasons, dtype=bool)
    for _ in range(tests):
        x = rng.normal(size=seasons) + shift - error
        upper, lower = np.maximum(0.0, upper + x - k), np.maximum(0.0, lower - x - k)
        alarm |= np.maximum(upper, lower) > h
    return float(alarm.mean())


@pytest.mark.parametrize(("k", "h"), [(0.25, 8.0), (0.5, 4.0), (1.0, 2.5)])
@pytest.mark.parametrize("shift", [-0.5, 0.0, 1.0])
def test_run_length_agrees_with_the_markov_chain(k, h, shift):
    assert average_run_length(k, h, shift=shift, sides=1) == pytest.approx(brook_evans(k, h, shift), rel=2e-3)


def test_run_length_agrees_with_simulation():
    """h = 4, k = 0.5: 168 tests to a false alarm on both sides, 8.38 to a shift of one."""
    rng = np.random.default_rng(21)
    for shift, most in ((0.0, 2000), (1.0, 200)):
        runs = 4000
        upper, lower, length = np.zeros(runs), np.zeros(runs), np.zeros(runs)
        alive = np.ones(runs, dtype=bool)
        for _ in range(most):
            x = rng.normal(size=runs) + shift
            upper, lower = np.maximum(0.0, upper + x - 0.5), np.maximum(0.0, lower - x - 0.5)
            length += alive
            alive &= np.maximum(upper, lower) <= 4.0
        assert alive.sum() <= 3
        spread = length.std() / math.sqrt(runs)
        assert average_run_length(0.5, 4.0, shift=shift) == pytest.approx(length.mean(), abs=3.5 * spread)


@pytest.mark.parametrize(("k", "h"), [(0.5, 40.0), (5.0, 60.0), (9.0, 1.0)])
@pytest.mark.parametrize("function", [average_run_length, siegmund_run_length])
def test_runs_too_long_to_compute_are_infinite(function, k, h):
    assert function(k, h) == math.inf
    assert function(k, h, shift=k + 1.0) < 150.0


@pytest.mark.parametrize("shift", [0.0, 0.5, 1.0, 2.0])
def test_closed_approximation_is_near(shift):
    exact = average_run_length(0.5, 5.0, shift=shift)
    assert siegmund_run_length(0.5, 5.0, shift=shift) == pytest.approx(exact, rel=0.035)


@pytest.mark.parametrize(
    ("k", "h", "baseline_tests", "shift"),
    [
        (0.5, 4.0, None, 0.0),
        (0.5, 4.0, 3, 0.0),
        (1.0, 3.0, 5, 0.0),
        (0.5, 8.0, 4, 1.0),
        (0.5, 1.0, None, 0.0),
    ],
)
def test_share_of_seasons_with_an_alarm_agrees_with_simulation(k, h, baseline_tests, shift):
    seasons = 20_000
    share = alarm_share(k, h, tests=26, shift=shift, baseline_tests=baseline_tests)
    seen = seasons_with_alarm(
        np.random.default_rng(22),
        k=k,
        h=h,
        tests=26,
        seasons=seasons,
        baseline_tests=baseline_tests,
        shift=shift,
    )
    # Half a hundredth is allowed for the two sums that are taken as independent.
    assert share == pytest.approx(seen, abs=3.5 * math.sqrt(seen * (1.0 - seen) / seasons) + 0.005)


def test_a_short_baseline_makes_false_alarms():
    known = alarm_share(0.5, 5.0, tests=26)
    assert alarm_share(0.5, 5.0, tests=26, baseline_tests=3) > 5.0 * known
    assert alarm_share(0.5, 5.0, tests=26, baseline_tests=10_000) == pytest.approx(known, rel=0.01)


def test_one_test_alarms_with_the_tail_of_the_normal():
    assert alarm_share(0.5, 2.0, tests=1) == pytest.approx(2.0 * norm.sf(2.5), rel=0.01)


@pytest.mark.parametrize(
    "settings_",
    [
        {"k": -0.1, "h": 4.0},
        {"k": math.nan, "h": 4.0},
        {"k": 0.5, "h": 0.0},
        {"k": 0.5, "h": 4.0, "shift": math.inf},
        {"k": 0.5, "h": 4.0, "sides": 3},
    ],
)
@pytest.mark.parametrize("function", [average_run_length, siegmund_run_length])
def test_settings_that_cannot_be_are_refused(function, settings_):
    with pytest.raises(ReadingError, match="run length: 1 fault"):
        function(**settings_)


@pytest.mark.parametrize("counts", [{"tests": 0}, {"tests": 26, "baseline_tests": 0}])
def test_seasons_without_tests_are_refused(counts):
    with pytest.raises(ReadingError, match="tests: is zero"):
        alarm_share(0.5, 4.0, **counts)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.2, 6.0), st.floats(0.0, 3.0), st.floats(0.01, 2.0))
def test_run_length_grows_with_the_limit_and_falls_with_the_shift(k, h, shift, more):
    length = average_run_length(k, h, shift=shift)
    assert length >= 1.0
    assert average_run_length(k, h + more, shift=shift) > length
    assert average_run_length(k, h, shift=shift + more) < length
