"""The root zone's store by hand."""

import numpy as np
import pytest

from scheduler.water.rootzone import (
    depletion_fraction,
    readily_available_water,
    total_available_water,
    total_evaporable_water,
    water_stress_coefficient,
)


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
