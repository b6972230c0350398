"""Uniformity and its parts: limiting cases, refusals, and what pressure and emitters make together."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.drip.emitters import emitter_flow, low_quarter_uniformity
from scheduler.drip.uniformity import (
    christiansen_uniformity,
    combined_variation,
    hydraulic_variation,
    statistical_uniformity,
    variation_of,
)
from scheduler.drip.uniformity_classes import emission_class, statistical_class, variation_class
from scheduler.errors import RillbookError

MEASURES = [christiansen_uniformity, low_quarter_uniformity, statistical_uniformity]
CUPS = st.lists(st.floats(0.01, 10.0), min_size=4, max_size=40)


@pytest.mark.parametrize("measure", MEASURES)
def test_equal_cups_are_even(measure):
    assert measure([3.0] * 7) == pytest.approx(1.0)


@pytest.mark.parametrize("measure", MEASURES)
@given(volumes=CUPS, factor=st.floats(0.01, 100.0))
def test_unit_and_order_of_the_cups_do_not_matter(measure, volumes, factor):
    other = [factor * volume for volume in reversed(volumes)]
    assert measure(other) == pytest.approx(measure(volumes), abs=1e-9)


@pytest.mark.parametrize("measure", MEASURES)
@pytest.mark.parametrize(
    "volumes", [[], [1.0, 2.0, 3.0], [0.0] * 5, [1.0, 2.0, float("nan"), 3.0], [1, 2, -1, 3]]
)
def test_cups_that_tell_nothing_are_refused(measure, volumes):
    with pytest.raises(RillbookError, match="cup"):
        measure(volumes)


def test_by_hand():
    # Mean 10, deviations 2, 0, 4, 2: CU 1 - 8 / 40; variance 24 / 3.
    assert christiansen_uniformity([12, 10, 6, 12]) == pytest.approx(0.8)
    assert variation_of([12, 10, 6, 12]) == pytest.approx(8.0**0.5 / 10.0)
    assert statistical_uniformity([12, 10, 6, 12]) == pytest.approx(1.0 - 8.0**0.5 / 10.0)


def test_parts_of_variation_add_in_quadrature():
    assert hydraulic_variation(0.10, exponent=0.5) == pytest.approx(0.05)
    assert combined_variation(0.03, 0.04) == pytest.approx(0.05)
    assert combined_variation(0.0, 0.04) == 0.04


def test_parts_of_variation_are_those_of_a_simulated_line():
    """Flows of emitters that differ, at pressures that differ: to first order the parts explain the whole."""
    draw = np.random.default_rng(5)
    head = draw.normal(10.0, 0.5, 200_000)
    flows = emitter_flow(2.0, head, nominal_pressure=10.0, exponent=0.6) * draw.normal(1.0, 0.04, head.size)
    expected = combined_variation(hydraulic_variation(0.05, exponent=0.6), 0.04)
    assert variation_of(flows) == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize("value", [-0.1, 1.1, 5.0, float("nan")])
def test_parts_that_are_no_share_are_refused(value):
    for refused in (
        lambda: hydraulic_variation(value, exponent=0.5),
        lambda: hydraulic_variation(0.1, exponent=value),
        lambda: combined_variation(value, 0.1),
        lambda: combined_variation(0.1, value),
        lambda: variation_class(value, emitters="point"),
    ):
        with pytest.raises(RillbookError, match=r"outside 0\.\.1"):
            refused()


def test_very_uneven_cups_fall_in_the_last_class():
    assert statistical_class(-0.4).name == "unacceptable"
    assert emission_class(0.0).name == "unacceptable"


@pytest.mark.parametrize("value", [1.01, 92.0, float("nan")])
def test_uniformity_above_one_has_no_class(value):
    for grade in (statistical_class, emission_class):
        with pytest.raises(RillbookError, match=r"write 92 % as 0\.92"):
            grade(value)
