"""The daily balance on days that can be reckoned by hand."""

import numpy as np
import pytest

from scheduler.water.rootzone import (
    depletion_fraction,
    readily_available_water,
    step,
    total_available_water,
    total_evaporable_water,
    water_stress_coefficient,
)

SOIL = {"taw": 40.0, "raw": 16.0, "storage": 60.0}
QUIET = {"et_crop": 0.0, "rain": 0.0, "applied": 0.0}


def day(depletion, **changes):
    return step(depletion, **(QUIET | SOIL | changes))


def test_quiet_day_changes_nothing():
    assert day(12.0) == pytest.approx((12.0, 0.0, 0.0, 1.0, 12.0))


def test_full_soil_drains_what_it_cannot_hold_then_feeds_the_crop():
    assert day(10.0, rain=8.0, applied=7.0, et_crop=6.0) == pytest.approx((6.0, 6.0, 5.0, 1.0, 6.0))


def test_water_of_the_day_relieves_the_stress_of_the_day():
    dry = day(28.0, et_crop=6.0)
    assert dry == pytest.approx((31.0, 3.0, 0.0, 0.5, 31.0))
    assert day(28.0, et_crop=6.0, applied=12.0) == pytest.approx((22.0, 6.0, 0.0, 1.0, 22.0))


def test_evening_water_comes_after_the_day_it_cannot_relieve():
    late = day(28.0, et_crop=6.0, applied_late=12.0)
    assert late == pytest.approx((19.0, 3.0, 0.0, 0.5, 31.0))
    assert day(2.0, et_crop=3.0, applied_late=8.0) == pytest.approx((0.0, 3.0, 3.0, 1.0, 5.0))


def test_soil_never_gives_more_than_it_holds():
    shallow = day(38.0, taw=40.0, raw=39.0, storage=40.0, et_crop=9.0)
    assert shallow.et_actual == pytest.approx(2.0)
    assert shallow.depletion == 40.0


def test_soil_below_its_store_gives_nothing_more():
    """A plan may state a depletion beyond the store; it is then kept, and water refills it first."""
    assert day(65.0, et_crop=5.0) == pytest.approx((65.0, 0.0, 0.0, 0.0, 65.0))
    assert day(65.0, applied=70.0) == pytest.approx((0.0, 0.0, 5.0, 1.0, 0.0))


def test_missing_demand_is_not_taken_for_none():
    result = day(12.0, et_crop=float("nan"))
    assert np.isnan(result.depletion)
    assert np.isnan(result.et_actual)


def test_one_missing_day_leaves_the_other_beds_alone():
    result = day(np.array([12.0, 12.0]), rain=np.array([np.nan, 2.0]))
    assert np.isnan(result.depletion).tolist() == [True, False]


@pytest.mark.parametrize(
    ("table", "et_crop", "expected"),
    [(0.4, 5.0, 0.40), (0.4, 2.5, 0.50), (0.4, 10.0, 0.20), (0.2, 9.0, 0.10), (0.7, 0.0, 0.80)],
)
def test_depletion_fraction_for_another_crop_use(table, et_crop, expected):
    """FAO-56 (1998), Table 22 (p. 163-165) and p. 167: p + 0.04 (5 - ETc), within 0.1 and 0.8."""
    assert depletion_fraction(table, et_crop) == pytest.approx(expected)


def test_stress_is_straight_between_its_limits():
    depletion = np.array([0.0, 16.0, 22.0, 28.0, 40.0, 55.0])
    ks = water_stress_coefficient(depletion, 40.0, raw=16.0)
    assert ks.tolist() == pytest.approx([1.0, 1.0, 0.75, 0.5, 0.0, 0.0])


def test_stores_of_a_soil_in_millimetres():
    assert total_available_water(0.32, 0.13, root_depth=0.4) == pytest.approx(76.0)
    assert total_evaporable_water(0.32, 0.13) == pytest.approx(25.5)
    assert readily_available_water(0.4, 76.0) == pytest.approx(30.4)
