"""Growth stages, coefficients and roots: the edges of the stages, shapes, and what is left unchanged."""

import numpy as np
import pytest

from scheduler.water.crop import (
    LEAST_ADJUSTED_KC_END,
    SEEDLING_ROOT_DEPTH,
    adjust_for_climate,
    crop_coefficient,
    rooting_depth,
    stage_of_day,
    stage_progress,
)

INITIAL, DEVELOPMENT, MID, LATE = 10, 20, 30, 15


@pytest.mark.parametrize(
    ("day", "stage", "canopy", "ageing"),
    [
        (0, 0, 0.0, 0.0),
        (1, 0, 0.0, 0.0),
        (10, 0, 0.0, 0.0),
        (11, 1, 0.05, 0.0),
        (20, 1, 0.5, 0.0),
        (30, 1, 1.0, 0.0),
        (31, 2, 1.0, 0.0),
        (60, 2, 1.0, 0.0),
        (61, 3, 1.0, 1 / 15),
        (75, 3, 1.0, 1.0),
        (200, 3, 1.0, 1.0),
    ],
)
def test_stage_and_progress_at_the_edges(day, stage, canopy, ageing):
    assert stage_of_day(day, INITIAL, development=DEVELOPMENT, mid=MID) == stage
    progress = stage_progress(day, INITIAL, development=DEVELOPMENT, mid=MID, late=LATE)
    assert progress == pytest.approx((canopy, ageing))


def test_a_stage_of_no_days_is_a_step():
    days = np.array([9, 10, 11, 12])
    canopy, ageing = stage_progress(days, 10, development=0, mid=1, late=0)
    assert canopy.tolist() == [0.0, 0.0, 1.0, 1.0]
    assert ageing.tolist() == [0.0, 0.0, 0.0, 1.0]


def test_single_days_give_single_numbers():
    canopy, ageing = stage_progress(20, INITIAL, development=DEVELOPMENT, mid=MID, late=LATE)
    kc = crop_coefficient(canopy, ageing, kc_ini=0.5, kc_mid=1.0, kc_end=0.8)
    adjusted = adjust_for_climate(kc, 3.0, rh_min=40.0, height=0.5)
    depth = rooting_depth(canopy, 0.6)
    stage = stage_of_day(20, INITIAL, development=DEVELOPMENT, mid=MID)
    assert [np.ndim(value) for value in (canopy, ageing, kc, adjusted, depth, stage)] == [0] * 6


def test_days_and_beds_broadcast():
    days = np.arange(1, 101)[:, None]
    initial, development = np.array([10, 20, 0]), np.array([20, 0, 15])
    canopy, ageing = stage_progress(days, initial, development=development, mid=MID, late=LATE)
    assert canopy.shape == ageing.shape == (100, 3)
    for bed in range(3):
        alone = stage_progress(days[:, 0], initial[bed], development=development[bed], mid=MID, late=LATE)
        assert np.array_equal(canopy[:, bed], alone[0])
        assert np.array_equal(ageing[:, bed], alone[1])


def test_inputs_are_left_alone():
    inputs = [np.array([1.0, 40.0, 90.0]), np.full(3, 10.0), np.full(3, 20.0), np.zeros(3), np.full(3, 15.0)]
    copies = [values.copy() for values in inputs]
    for values in inputs:
        values.flags.writeable = False
    days, initial, development, mid, late = inputs
    canopy, ageing = stage_progress(days, initial, development=development, mid=mid, late=late)
    crop_coefficient(canopy, ageing, kc_ini=initial, kc_mid=mid, kc_end=late)
    adjust_for_climate(canopy, days, rh_min=development, height=late)
    rooting_depth(canopy, late)
    assert all(np.array_equal(values, copy) for values, copy in zip(inputs, copies, strict=True))


def test_coefficient_runs_straight_from_stage_to_stage():
    kc = {"kc_ini": 0.4, "kc_mid": 1.2, "kc_end": 0.6}
    assert crop_coefficient(0.25, 0.0, **kc) == pytest.approx(0.6)
    assert crop_coefficient(1.0, 0.5, **kc) == pytest.approx(0.9)
    assert crop_coefficient(1.0, 1.0, **kc) == pytest.approx(0.6)


def test_climate_adjustment_begins_at_the_limit_of_the_equation():
    """FAO-56 (1998), text of eq. 65: end values below 0.45 are not adjusted."""
    climate = {"rh_min": 20.0, "height": 0.5}
    below = np.nextafter(LEAST_ADJUSTED_KC_END, 0.0)
    assert adjust_for_climate(below, 5.0, **climate) == below
    assert adjust_for_climate(LEAST_ADJUSTED_KC_END, 5.0, **climate) > LEAST_ADJUSTED_KC_END


@pytest.mark.parametrize(
    ("outside", "edge"),
    [
        ((0.2, 45.0, 0.5), (1.0, 45.0, 0.5)),
        ((9.0, 45.0, 0.5), (6.0, 45.0, 0.5)),
        ((4.0, 5.0, 0.5), (4.0, 20.0, 0.5)),
        ((4.0, 95.0, 0.5), (4.0, 80.0, 0.5)),
        ((4.0, 30.0, 0.02), (4.0, 30.0, 0.1)),
        ((4.0, 30.0, 14.0), (4.0, 30.0, 10.0)),
    ],
)
def test_climate_beyond_the_range_of_the_equation_is_held_at_its_edge(outside, edge):
    """FAO-56 (1998), eq. 62: 1..6 m/s, 20..80 %, 0.1..10 m."""
    far, near = (adjust_for_climate(1.0, wind, rh_min=rh, height=tall) for wind, rh, tall in (outside, edge))
    assert far == near != 1.0


def test_a_crop_that_stays_shallow_keeps_its_depth():
    assert rooting_depth(np.array([0.0, 0.5, 1.0]), 0.1).tolist() == [0.1, 0.1, 0.1]
    assert rooting_depth(0.0, 0.7) == SEEDLING_ROOT_DEPTH
