"""Effective rain, leaching and gross need: thresholds and refusals."""

import numpy as np
import pytest

from scheduler.errors import RillbookError
from scheduler.water.need import (
    GREATEST_LEACHING,
    effective_rainfall,
    gross_irrigation_need,
    leaching_requirement,
    stored_share,
)


@pytest.mark.parametrize(
    ("rain", "reference_et", "counted"),
    [(0.9, 5.0, 0.0), (1.0, 5.0, 1.0), (1.1, 5.0, 1.1), (0.0, 5.0, 0.0), (0.3, 0.0, 0.3), (60.0, 5.0, 60.0)],
)
def test_small_rain_counts_as_none(rain, reference_et, counted):
    """FAO-56 (1998), p. 153 and 170: a day's rain below 0.2 of reference ET may be ignored."""
    assert effective_rainfall(rain, reference_et) == counted


def test_rain_on_beds_and_days_broadcasts_and_is_left_alone():
    rain = np.array([[0.5], [3.0]])
    rain.flags.writeable = False
    assert effective_rainfall(rain, np.array([5.0, 2.0])).tolist() == [[0.0, 0.5], [3.0, 3.0]]


def test_gross_need_by_hand():
    assert gross_irrigation_need(18.0, 0.9) == pytest.approx(20.0)
    assert gross_irrigation_need(18.0, 0.9, leaching=0.2) == pytest.approx(25.0)
    assert gross_irrigation_need(np.array([9.0, 18.0]), np.array([0.9, 0.6])).tolist() == pytest.approx(
        [10.0, 30.0]
    )


@pytest.mark.parametrize("efficiency", [90.0, 1.01, 0.0, -0.5, float("nan"), [0.9, 85.0]])
def test_efficiency_that_is_no_share_is_refused(efficiency):
    with pytest.raises(RillbookError, match=r"outside 0\.\.1; write 0\.90 or 90 %"):
        stored_share(efficiency, 0.0)
    with pytest.raises(RillbookError, match="efficiency"):
        gross_irrigation_need(10.0, efficiency)


@pytest.mark.parametrize("leaching", [1.0, 5.0, -0.1, float("nan"), [0.1, 1.2]])
def test_leaching_that_is_no_share_is_refused(leaching):
    with pytest.raises(RillbookError, match="leaching requirement .* outside"):
        gross_irrigation_need(10.0, 0.9, leaching=leaching)


def test_leaching_is_capped():
    salty = leaching_requirement(np.array([0.0, 1.0, 8.0]), zero_yield_salinity=10.0)
    assert salty.tolist() == [0.0, 0.05, GREATEST_LEACHING]
