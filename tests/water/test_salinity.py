"""Salt: ranges, directions, the range of validity, and refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import RillbookError
from scheduler.water.need import GREATEST_LEACHING
from scheduler.water.salinity import (
    combined_stress_coefficient,
    greatest_valid_salinity,
    relative_yield_in_salt,
    salt_stress_coefficient,
    soil_salinity,
    surface_leaching_requirement,
    zero_yield_salinity,
)
from tests.water.slices import assert_slices_agree

SALT = st.floats(0.0, 20.0)
THRESHOLDS = st.floats(0.5, 8.0)
SLOPES = st.floats(3.0, 33.0)
KY = st.floats(0.5, 1.5)


@settings(deadline=None)
@given(SALT, SALT, THRESHOLDS, SLOPES, KY)
def test_more_salt_means_less_use_and_yield(first, second, threshold, slope, ky):
    salt = np.array(sorted([first, second]))
    crop = {"threshold": threshold, "slope": slope}
    left = relative_yield_in_salt(salt, **crop)
    stress = salt_stress_coefficient(salt, **crop, ky=ky).coefficient
    for factor in (left, stress):
        assert np.all((factor >= 0.0) & (factor <= 1.0))
        assert factor[1] <= factor[0]
    assert np.all(stress[salt <= threshold] == 1.0)
    stronger = salt_stress_coefficient(salt, threshold=threshold, slope=slope + 1.0, ky=ky).coefficient
    assert np.all(stronger <= stress)


@settings(deadline=None)
@given(THRESHOLDS, SLOPES)
def test_yield_ends_at_zero_yield_and_halves_at_the_range(threshold, slope):
    ends = np.stack([zero_yield_salinity(threshold, slope), greatest_valid_salinity(threshold, slope)])
    left = relative_yield_in_salt(ends, threshold=threshold, slope=slope)
    assert left == pytest.approx([0.0, 0.5], abs=1e-9)


def test_what_is_out_of_range_or_assumed_is_told():
    """Beans: threshold 1.0 + 50 / 19 = 3.63 dS/m is the end of the range."""
    known = salt_stress_coefficient([1.5, 3.6, 3.7], threshold=1.0, slope=19.0, ky=1.15)
    assert known.within_range.tolist() == [True, True, False]
    assert known.ky_assumed.tolist() == [False, False, False]
    guessed = salt_stress_coefficient(1.5, threshold=1.0, slope=19.0, ky=[np.nan, 1.0, 1.15])
    assert guessed.ky_assumed.tolist() == [True, False, False]
    assert guessed.coefficient[0] == guessed.coefficient[1] < guessed.coefficient[2]
    assert salt_stress_coefficient(1.5, threshold=1.0, slope=19.0).ky_assumed


def test_unknown_salt_gives_no_number_and_no_blessing():
    stress = salt_stress_coefficient(np.nan, threshold=1.0, slope=19.0)
    assert np.isnan(stress.coefficient)
    assert not stress.within_range


@settings(deadline=None)
@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_salt_and_drought_together_are_no_better_than_either(salt, water):
    together = float(combined_stress_coefficient(salt, water))
    assert 0.0 <= together <= min(salt, water)


@settings(deadline=None)
@given(st.floats(0.1, 5.0), st.floats(0.02, 1.0), st.floats(0.02, 1.0))
def test_more_leaching_means_less_salt(water, first, second):
    less, more = soil_salinity(water, leaching_fraction=sorted([first, second]))
    assert more <= less
    # With all water passing through, 2 / 5 of its salt stays; a hair for rounding.
    assert more >= 0.4 * water - 1e-12


@settings(deadline=None)
@given(st.floats(0.1, 5.0), st.floats(0.02, GREATEST_LEACHING))
def test_surface_leaching_is_equation_93_turned_round(water, leaching):
    soil = soil_salinity(water, leaching_fraction=leaching)
    assert float(surface_leaching_requirement(water, tolerated_salinity=soil)) == pytest.approx(leaching)


@settings(deadline=None)
@given(st.floats(0.0, 20.0), st.floats(0.0, 20.0), st.floats(0.1, 10.0))
def test_saltier_water_needs_more_leaching_up_to_the_cap(first, second, tolerated):
    less, more = surface_leaching_requirement(sorted([first, second]), tolerated_salinity=tolerated)
    assert 0.0 <= less <= more <= GREATEST_LEACHING


def test_leaching_of_hopeless_fresh_and_unknown_water():
    asked = surface_leaching_requirement([0.0, 5.0, 7.0], tolerated_salinity=1.0)
    assert asked.tolist() == [0.0, GREATEST_LEACHING, GREATEST_LEACHING]
    assert float(surface_leaching_requirement(0.0, tolerated_salinity=0.0)) == 0.0
    assert np.isnan(surface_leaching_requirement([1.0, np.nan], tolerated_salinity=[np.nan, 2.0])).all()


@pytest.mark.parametrize("slope", [0.0, -3.0, float("nan"), [10.0, 0.0]])
def test_slope_that_loses_nothing_is_refused(slope):
    for call in (
        lambda: zero_yield_salinity(1.0, slope),
        lambda: greatest_valid_salinity(1.0, slope),
        lambda: relative_yield_in_salt(2.0, threshold=1.0, slope=slope),
        lambda: salt_stress_coefficient(2.0, threshold=1.0, slope=slope),
    ):
        with pytest.raises(RillbookError, match="loss of yield"):
            call()


@pytest.mark.parametrize("ky", [0.0, -1.0, [1.0, 0.0]])
def test_response_that_is_not_positive_is_refused(ky):
    with pytest.raises(RillbookError, match="yield response factor"):
        salt_stress_coefficient(2.0, threshold=1.0, slope=10.0, ky=ky)


@pytest.mark.parametrize("fraction", [0.0, 15.0, -0.1, float("nan")])
def test_leaching_fraction_that_is_no_share_is_refused(fraction):
    with pytest.raises(RillbookError, match="leaching fraction"):
        soil_salinity(1.0, leaching_fraction=fraction)


def test_scalars_agree_with_arrays():
    salt, threshold, slope = np.array([0.5, 3.0, 9.0]), np.array([1.0, 2.5, 1.7]), np.array([19.0, 9.9, 12.0])
    crop = {"threshold": threshold, "slope": slope}
    assert_slices_agree(zero_yield_salinity, crop)
    assert_slices_agree(greatest_valid_salinity, crop)
    assert_slices_agree(relative_yield_in_salt, {"soil_salinity": salt, **crop})
    assert_slices_agree(
        salt_stress_coefficient, {"soil_salinity": salt, **crop, "ky": np.array([1.1, np.nan, 0.8])}
    )
    assert_slices_agree(
        soil_salinity, {"water_salinity": salt, "leaching_fraction": np.array([0.1, 0.5, 1.0])}
    )
    assert_slices_agree(
        surface_leaching_requirement, {"water_salinity": salt, "tolerated_salinity": threshold}
    )
