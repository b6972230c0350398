"""Growing degree days: both thresholds, gaps, and stages by warmth."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import RillbookError
from scheduler.water.crop import stage_progress
from scheduler.water.heat import degree_days, heat_progress, heat_sum
from tests.water.slices import assert_slices_agree

TEMPERATURES = st.floats(-20.0, 45.0)
STAGES = {"initial": 200.0, "development": 400.0, "mid": 600.0, "late": 300.0}


@settings(deadline=None)
@given(TEMPERATURES, TEMPERATURES, st.floats(0.0, 15.0), st.floats(1.0, 25.0))
def test_day_counts_between_nothing_and_the_span(first, second, base, span):
    cold, warm = sorted([first, second])
    value = float(degree_days(warm, cold, base=base, upper=base + span))
    assert 0.0 <= value <= span + 1e-9
    assert float(degree_days(warm + 1.0, cold, base=base, upper=base + span)) >= value - 1e-9
    assert float(degree_days(warm, cold, base=base)) >= value - 1e-9
    assert float(degree_days(warm, cold, base=base + 0.5)) <= float(degree_days(warm, cold, base=base))


@settings(deadline=None)
@given(TEMPERATURES, TEMPERATURES, st.floats(0.0, 15.0))
def test_holding_each_temperature_counts_no_less_than_holding_the_mean(first, second, base):
    cold, warm = sorted([first, second])
    by_mean = max((warm + cold) / 2.0 - base, 0.0)
    value = float(degree_days(warm, cold, base=base))
    assert value >= by_mean - 1e-9
    if cold >= base:
        assert value == pytest.approx(by_mean, abs=1e-9)


@pytest.mark.parametrize(
    ("tmax", "tmin", "counted"),
    [
        (20.0, 12.0, 6.0),  # (20 + 12) / 2 - 10
        (20.0, 4.0, 5.0),  # (20 + 10) / 2 - 10
        (36.0, 14.0, 12.0),  # (30 + 14) / 2 - 10
        (9.0, -2.0, 0.0),
        (40.0, 32.0, 20.0),  # (30 + 30) / 2 - 10
    ],
)
def test_days_by_hand(tmax, tmin, counted):
    assert float(degree_days(tmax, tmin, base=10.0, upper=30.0)) == pytest.approx(counted)


def test_swapped_columns_and_thresholds_are_refused():
    with pytest.raises(RillbookError, match="columns swapped"):
        degree_days([20.0, 8.0], [10.0, 12.0], base=10.0)
    for upper in (10.0, 5.0, float("nan")):
        with pytest.raises(RillbookError, match="upper temperature"):
            degree_days(20.0, 10.0, base=10.0, upper=upper)


def test_missing_day_is_not_taken_for_cold():
    daily = degree_days([20.0, np.nan, 22.0], [12.0, 10.0, 14.0], base=10.0)
    total = heat_sum(daily)
    assert total[0] == pytest.approx(6.0)
    assert np.all(np.isnan(total[1:]))


def test_sum_runs_over_days_and_keeps_beds_apart():
    daily = np.array([[1.0, 10.0], [2.0, 20.0], [3.0, 30.0]])
    assert heat_sum(daily).tolist() == [[1.0, 10.0], [3.0, 30.0], [6.0, 60.0]]


def test_steady_warmth_gives_the_same_progress_as_days():
    """At 10 degree days a day, stages of 10 times the warmth are stages of as many days."""
    days = np.arange(1, 161)
    by_days = stage_progress(days, 20.0, development=40.0, mid=60.0, late=30.0)
    by_heat = heat_progress(heat_sum(np.full(160, 10.0)), **STAGES)
    for warmth, time in zip(by_heat, by_days, strict=True):
        assert warmth == pytest.approx(time, abs=1e-12)


@settings(deadline=None)
@given(st.floats(0.0, 3000.0), st.floats(0.0, 500.0))
def test_progress_never_turns_back(warmth, more):
    before, after = heat_progress(warmth, **STAGES), heat_progress(warmth + more, **STAGES)
    for early, late in zip(before, after, strict=True):
        assert 0.0 <= early <= late <= 1.0


def test_scalars_agree_with_arrays():
    columns = {"tmax": np.array([15.0, 36.0, 4.0]), "tmin": np.array([3.0, 20.0, -5.0])}
    assert_slices_agree(degree_days, columns, base=10.0, upper=30.0)
    assert_slices_agree(degree_days, columns, base=10.0)
    assert_slices_agree(heat_progress, {"accumulated": np.array([0.0, 500.0, 1400.0])}, **STAGES)
