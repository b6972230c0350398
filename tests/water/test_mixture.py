"""Crops that share a bed: the mean lies between its parts, leaves add up, limits hold."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import RillbookError
from scheduler.water.mixture import height_weighted_coefficient, overlapping_coefficient

PLANTS = st.lists(
    st.tuples(st.floats(0.2, 1.3), st.floats(0.05, 1.0), st.floats(0.05, 3.0)), min_size=1, max_size=5
)
#: Rounding may turn a step the wrong way by this much.
HAIR = 1e-12


@settings(deadline=None)
@given(PLANTS)
def test_mean_lies_between_the_crops(plants):
    kc, cover, height = np.array(plants).T
    mixed = float(height_weighted_coefficient(kc, cover=cover, height=height, greatest=2.0))
    assert kc.min() - HAIR <= mixed <= kc.max() + HAIR
    capped = height_weighted_coefficient(kc, cover=cover, height=height, greatest=0.3)
    assert float(capped) == pytest.approx(min(mixed, 0.3))


@settings(deadline=None)
@given(PLANTS)
def test_only_the_proportions_of_cover_count(plants):
    kc, cover, height = np.array(plants).T
    whole = height_weighted_coefficient(kc, cover=cover, height=height, greatest=2.0)
    half = height_weighted_coefficient(kc, cover=cover / 2.0, height=height, greatest=2.0)
    assert float(half) == pytest.approx(float(whole))


def test_taller_crop_weighs_more():
    low, high = height_weighted_coefficient(
        [1.2, 0.9], cover=[0.5, 0.5], height=[[1.0, 0.5], [2.0, 0.5]], greatest=1.3
    )
    assert high > low


@pytest.mark.parametrize(
    ("cover", "height"),
    [([0.0, 0.0], [1.0, 1.0]), ([0.5, 0.5], [0.0, 0.0]), ([0.5, -0.1], [1.0, 1.0]), ([0.5, np.nan], [1, 1])],
)
def test_mixture_without_weight_is_refused(cover, height):
    with pytest.raises(RillbookError, match="cover times height"):
        height_weighted_coefficient([1.0, 1.0], cover=cover, height=height, greatest=1.2)


@settings(deadline=None)
@given(st.lists(st.floats(0.15, 1.0), min_size=1, max_size=4), st.floats(1.01, 1.4))
def test_plants_above_each_other_use_more_than_each_alone(kcb, full):
    both = float(overlapping_coefficient(kcb, kcb_full=full, greatest=2.0))
    assert max(kcb) - 1e-9 <= both <= full
    capped = overlapping_coefficient(kcb, kcb_full=full, greatest=0.5)
    assert float(capped) == pytest.approx(min(both, 0.5))


def test_coefficient_at_full_cover_is_refused():
    with pytest.raises(RillbookError, match="not below full cover"):
        overlapping_coefficient([1.2, 0.5], kcb_full=[1.2, 1.1], greatest=1.3)


def test_days_and_beds_agree_with_single_numbers():
    kc = np.array([[[1.0, 0.6], [0.8, 0.9]], [[0.4, 0.7], [1.1, 0.3]], [[0.5, 0.5], [0.9, 0.2]]])
    cover, height, full = np.array([0.4, 0.6]), np.array([[1.5, 0.4], [0.8, 2.0]]), np.array([1.2, 1.1])
    beside = height_weighted_coefficient(kc, cover=cover, height=height, greatest=1.3)
    above = overlapping_coefficient(kc * 0.9, kcb_full=full, greatest=1.3)
    assert beside.shape == above.shape == (3, 2)
    for day, bed in np.ndindex(3, 2):
        one = height_weighted_coefficient(kc[day, bed], cover=cover, height=height[bed], greatest=1.3)
        assert float(one) == pytest.approx(beside[day, bed], rel=1e-12)
        one = overlapping_coefficient(0.9 * kc[day, bed], kcb_full=full, greatest=1.3)
        assert float(one) == pytest.approx(above[day, bed], rel=1e-12)
