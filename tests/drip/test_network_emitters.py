"""Curves of emitters: ordinary and compensating, without a jump, never drawing in."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.drip.emitters import emitter_flow
from scheduler.drip.network import make_emitters
from scheduler.drip.network_emitters import along, emitter_curve, emitter_path, position

RANGE = {"opening_pressure": 30.0, "min_pressure": 70.0, "max_pressure": 300.0}
exponents = st.sampled_from([0.0, 0.02, 0.3, 0.5, 0.7, 1.0, 1.04])


def curve(pressure, **kind):
    pressure = np.atleast_1d(np.asarray(pressure, dtype=float))
    settings = {"nominal_flow": 2.0, "nominal_pressure": 100.0, "exponent": 0.0} | kind
    return emitter_curve(pressure, make_emitters(np.zeros(pressure.size, dtype=int), **settings))


def test_compensating_emitter_by_hand():
    pressure = [-5.0, 0.0, 30.0, 40.0, 70.0, 150.0, 300.0, 1200.0]
    # A quarter of the way from opening to range gives half; four times the greatest pressure twice the flow.
    flow, slope = curve(pressure, **RANGE)
    np.testing.assert_allclose(flow, [0.0, 0.0, 0.0, 1.0, 2.0, 2.0, 2.0, 4.0])
    assert slope[5] == 0.0
    assert slope[3] == pytest.approx(0.5 * 1.0 / 10.0)
    assert slope[7] == pytest.approx(0.5 * 4.0 / 1200.0)


@given(pressure=st.floats(0.1, 500.0), exponent=exponents)
def test_ordinary_emitter_is_that_of_the_discharge_equation(pressure, exponent):
    wanted = emitter_flow(2.0, pressure, nominal_pressure=100.0, exponent=exponent)
    assert curve(pressure, exponent=exponent)[0][0] == pytest.approx(float(wanted), rel=1e-12)


@pytest.mark.parametrize("kind", [{"exponent": x} for x in (0.0, 0.02, 0.5, 1.0)] + [RANGE])
def test_no_jump_no_fall_and_no_drawing_in(kind):
    pressure = np.linspace(-50.0, 900.0, 200_001)
    flow, slope = curve(pressure, **kind)
    assert np.all(flow[pressure <= 0.0] == 0.0)
    assert np.all(np.diff(flow) >= 0.0)
    assert np.all(np.isfinite(slope) & (slope >= 0.0))
    fine = np.linspace(-1e-3, 0.02, 20_001)
    for around in (0.0, 30.0, 70.0, 300.0):
        assert np.diff(curve(around + fine, **kind)[0]).max() < 0.01 * 2.0


@given(exponent=exponents, ranged=st.booleans(), share=st.floats(-3.0, 4.0))
def test_path_lies_on_the_curve_and_is_told_with_its_slopes(exponent, ranged, share):
    emitters = make_emitters(
        [0] * 3, 2.0, nominal_pressure=100.0, exponent=exponent, **(RANGE if ranged else {})
    )
    path = emitter_path(emitters)
    pressure, flow, rise, run = along(share + np.array([-1e-7, 0.0, 1e-7]), path)
    # A position in the steep part is told by the flow, so that its pressure is the one that is rounded.
    np.testing.assert_allclose(emitter_curve(pressure, emitters)[0], flow, rtol=1e-6, atol=1e-9)
    kinks = [0.0, float(path.bend[0])]
    kinks += [
        (edge - path.opening[0]) / path.pressure_unit[0] - path.bend_share[0] + path.bend[0]
        for edge in (70.0, 300.0)
    ]
    kinks.append(1e-4 ** path.exponent[0])
    if min(abs(share - kink) for kink in kinks) > 1e-5:
        assert (pressure[2] - pressure[0]) / 2e-7 == pytest.approx(rise[1], rel=1e-3, abs=1e-4)
        assert (flow[2] - flow[0]) / 2e-7 == pytest.approx(run[1], rel=1e-3, abs=1e-4)


@given(exponent=exponents, ranged=st.booleans(), pressure=st.floats(-200.0, 900.0))
def test_position_is_where_the_path_has_that_pressure(exponent, ranged, pressure):
    path = emitter_path(
        make_emitters([0], 2.0, nominal_pressure=100.0, exponent=exponent, **(RANGE if ranged else {}))
    )
    there, *_ = along(position(np.array([pressure]), path), path)
    assert math.isclose(there[0], pressure, rel_tol=1e-9, abs_tol=1e-9)
