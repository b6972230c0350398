"""The friction law joins its three ranges without a jump and is told with its slope."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.drip.friction import (
    friction_factor,
    head_of,
    kinematic_viscosity,
    pressure_of,
    tube_law,
    tube_loss,
)
from scheduler.errors import RillbookError

RANGES = [(0.0, 2000.0), (2000.0, 4000.0), (4000.0, 1e5)]
ROUGH = [0.0, 1e-4, 3.5e-4, 5e-3]


@pytest.mark.parametrize("roughness", ROUGH)
@pytest.mark.parametrize("reynolds", [2000.0, 4000.0])
def test_no_jump_of_factor_or_slope_between_the_ranges(reynolds, roughness):
    step = 1e-4 * reynolds
    before, at, after = friction_factor([reynolds - step, reynolds, reynolds + step], roughness)
    assert after == pytest.approx(before, rel=1e-3)
    # The slopes on both sides differ by the curvature alone.
    assert (after - at) / step == pytest.approx((at - before) / step, abs=1e-3 * at / reynolds * 10.0)


def test_factor_of_each_range_by_hand():
    # 64/1000; 0.25 / log10(5.74 / 1e4**0.9)**2 for a smooth tube.
    laminar, turbulent = friction_factor([1000.0, 1e4], 0.0)
    assert laminar == pytest.approx(0.064)
    assert turbulent == pytest.approx(0.25 / np.log10(5.74 / 10.0**3.6) ** 2)


@pytest.mark.parametrize("roughness", ROUGH)
def test_loss_rises_with_flow_in_all_ranges(roughness):
    flows = np.geomspace(0.01, 2000.0, 4000)
    law = tube_law(np.ones(4000), 13.0, roughness=13.0 * roughness, viscosity=1e-6)
    loss, slope = tube_loss(flows, law)
    assert np.all(np.diff(loss) > 0.0)
    assert np.all(slope > 0.0)


@given(
    flow=st.floats(0.01, 3000.0),
    bore=st.floats(2.0, 30.0),
    minor=st.floats(0.0, 20.0),
    roughness=st.floats(0.0, 0.05),
)
def test_slope_is_the_derivative_of_the_loss(flow, bore, minor, roughness):
    law = tube_law([2.0] * 3, bore, roughness=roughness, minor_loss=minor, viscosity=1e-6)
    loss, slope = tube_loss([flow * (1 - 1e-6), flow, flow * (1 + 1e-6)], law)
    assert (loss[2] - loss[0]) / (2e-6 * flow) == pytest.approx(slope[1], rel=1e-4)


@given(flow=st.floats(0.0, 3000.0))
def test_loss_turns_with_the_flow(flow):
    law = tube_law([1.0, 1.0], 10.0, minor_loss=2.0, viscosity=1e-6)
    loss, slope = tube_loss([flow, -flow], law)
    assert loss[1] == -loss[0]
    assert slope[1] == slope[0]


def test_loss_follows_the_factor():
    flow, law = np.array([20.0, 110.0, 400.0]), tube_law([1.5] * 3, 13.0, viscosity=1e-6)
    reynolds = law.reynolds * flow
    assert [bool(np.any((reynolds > low) & (reynolds < high))) for low, high in RANGES] == [True] * 3
    factor = friction_factor(reynolds, 0.0015 / 13.0)
    np.testing.assert_allclose(tube_loss(flow, law)[0], law.kinetic * factor * flow**2, rtol=1e-12)


def test_pressure_and_head():
    assert float(pressure_of(10.0)) == pytest.approx(98.0665)
    assert float(head_of(pressure_of(3.7))) == pytest.approx(3.7)


@pytest.mark.parametrize("temperature", [-0.1, 60.1, float("nan")])
def test_water_that_is_none_is_refused(temperature):
    with pytest.raises(RillbookError, match="outside 0..60 degC"):
        kinematic_viscosity(temperature)


def test_cold_water_is_thicker():
    assert np.all(np.diff([kinematic_viscosity(t) for t in range(0, 61)]) < 0.0)
