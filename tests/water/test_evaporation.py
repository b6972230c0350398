"""Pieces of the dual coefficient by hand; the worked examples stand under tests/published."""

import numpy as np
import pytest

from scheduler.water.evaporation import (
    canopy_cover,
    evaporation_reduction,
    exposed_fractions,
    greatest_crop_coefficient,
    surface_root_share,
)


def test_kc_max_leaves_room_above_a_large_basal_coefficient():
    assert greatest_crop_coefficient(0.3, 2.0, rh_min=45.0, height=0.5) == pytest.approx(1.2)
    assert greatest_crop_coefficient(1.3, 2.0, rh_min=45.0, height=0.5) == pytest.approx(1.35)


def test_cover_runs_from_none_to_nearly_all():
    cover = canopy_cover(np.array([0.10, 0.15, 0.675, 1.2]), 1.2, height=0.0)
    assert cover == pytest.approx([0.0, 0.0, 0.5, 0.99])


def test_a_strip_under_leaves_is_shaded_by_two_thirds_of_the_cover():
    assert exposed_fractions(0.6, 0.5) == pytest.approx((0.5 * 0.6, 0.1))
    assert exposed_fractions(0.6, 0.5, below_leaves=False) == pytest.approx((0.4, 0.0))
    assert exposed_fractions(0.0, 0.35) == pytest.approx((0.35, 0.65))


def test_reduction_is_straight_between_rew_and_tew():
    kr = evaporation_reduction(np.array([0.0, 8.0, 13.0, 18.0, 20.0]), 18.0, rew=8.0)
    assert kr.tolist() == pytest.approx([1.0, 1.0, 0.5, 0.0, 0.0])


def test_roots_of_seedlings_are_near_the_surface():
    assert surface_root_share(np.array([0.0, 0.1, 0.2, 0.8])).tolist() == pytest.approx(
        [1.0, 1.0, 0.5**0.6, 0.125**0.6]
    )
