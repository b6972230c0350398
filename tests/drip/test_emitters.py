"""Emitter flow, rate and uniformity: limiting cases, refusals and the normal population behind 1.27."""

from statistics import NormalDist

import numpy as np
import pytest

from scheduler.drip.emitters import (
    application_rate,
    emission_uniformity,
    emitter_flow,
    low_quarter_uniformity,
)
from scheduler.errors import RillbookError


@pytest.mark.parametrize(("exponent", "flow"), [(0.0, 2.0), (0.5, 4.0), (1.0, 8.0)])
def test_four_times_the_pressure(exponent, flow):
    assert emitter_flow(2.0, 400.0, nominal_pressure=100.0, exponent=exponent) == pytest.approx(flow)


def test_flow_of_many_beds_is_that_of_each():
    pressure, exponent = np.array([60.0, 100.0, 150.0]), np.array([0.0, 0.5, 0.7])
    pressure.flags.writeable = exponent.flags.writeable = False
    many = emitter_flow(2.0, pressure, nominal_pressure=100.0, exponent=exponent)
    for bed, flow in enumerate(many):
        alone = emitter_flow(2.0, float(pressure[bed]), nominal_pressure=100.0, exponent=float(exponent[bed]))
        assert np.ndim(alone) == 0
        assert alone == flow


def test_rate_needs_no_factor():
    """A litre on a square metre is a millimetre."""
    assert application_rate(np.array([30.0, 12.0]), np.array([3.0, 2.0])).tolist() == [10.0, 6.0]


def test_uniformity_of_equal_emitters_is_the_share_of_least_flow():
    assert emission_uniformity(0.0) == 1.0
    assert emission_uniformity(0.0, least_flow_share=0.9) == pytest.approx(0.9)


@pytest.mark.parametrize("variation", [0.05, 0.10, 0.20])
def test_design_uniformity_is_the_low_quarter_of_a_normal_population(variation):
    """The mean of the lowest quarter lies 1.271 standard deviations below the mean; 1.27 is that rounded."""
    population = NormalDist(1.0, variation)
    flows = [population.inv_cdf((i + 0.5) / 20_000) for i in range(20_000)]
    assert low_quarter_uniformity(flows) == pytest.approx(
        emission_uniformity(variation), abs=0.0012 * variation
    )


@pytest.mark.parametrize("variation", [5.0, 0.5, -0.01, float("nan")])
def test_variation_that_is_no_share_is_refused(variation):
    with pytest.raises(RillbookError, match=r"write 5 % as 0\.05"):
        emission_uniformity(variation)


@pytest.mark.parametrize("emitters", [0.0, -1.0, 0.5, float("nan")])
def test_less_than_one_emitter_per_plant_is_refused(emitters):
    with pytest.raises(RillbookError, match="emitters per plant .* below 1"):
        emission_uniformity(0.05, emitters_per_plant=emitters)


@pytest.mark.parametrize("share", [95.0, 1.01, 0.0, -0.5, float("nan")])
def test_least_flow_that_is_no_share_is_refused(share):
    with pytest.raises(RillbookError, match=r"write 95 % as 0\.95"):
        emission_uniformity(0.05, least_flow_share=share)


@pytest.mark.parametrize(
    ("volumes", "uniformity"),
    [
        ([10, 10, 10, 10], 1.0),
        ([12, 10, 6, 12], 0.6),
        ([10, 10, 10, 6, 4], 0.625),  # five cups: the lowest two
        ([20, 10, 20, 10, 20, 0, 20, 20], 1 / 3),
        ([0, 10, 10, 10], 0.0),
    ],
)
def test_low_quarter_by_hand(volumes, uniformity):
    assert low_quarter_uniformity(volumes) == pytest.approx(uniformity)


def test_cups_are_left_in_their_order():
    volumes = np.array([4.0, 1.0, 3.0, 2.0])
    low_quarter_uniformity(volumes)
    assert volumes.tolist() == [4.0, 1.0, 3.0, 2.0]


@pytest.mark.parametrize(
    ("volumes", "message"),
    [
        ([], "at least 4 cups; found 0"),
        ([10.0, 9.0, 8.0], "at least 4 cups; found 3"),
        ([0.0, 0.0, 0.0, 0.0], "all empty"),
        ([10.0, 9.0, float("nan"), 8.0], "negative or missing"),
        ([10.0, 9.0, -1.0, 8.0], "negative or missing"),
    ],
)
def test_cup_test_that_tells_nothing_is_refused(volumes, message):
    with pytest.raises(RillbookError, match=message):
        low_quarter_uniformity(volumes)
