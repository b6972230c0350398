"""Flow from a bucket or a meter: its parts of doubt, and what sharing among beds adds."""

import math

import numpy as np
import pytest

from scheduler.drip.flow_measurement import (
    bucket_volume_uncertainty,
    flow_in_time,
    metered_volume_uncertainty,
    shared_flow_uncertainty,
)
from scheduler.errors import RillbookError


def test_flow_by_hand():
    # 12 L in 10 min; volume sure to 0.1 L, watch within 6 s, a rectangle.
    flow, uncertainty = flow_in_time(12.0, 10.0, volume_uncertainty=0.1, watch=0.1)
    assert flow == pytest.approx(72.0)
    assert uncertainty == pytest.approx(math.hypot(0.6, 0.72 / math.sqrt(3.0)))


def test_a_longer_test_is_surer():
    shares = [flow_in_time(1.2 * m, m, volume_uncertainty=0.1)[1] / 72.0 for m in (1.0, 10.0, 60.0)]
    assert shares == sorted(shares, reverse=True)


def test_doubts_of_volumes():
    assert bucket_volume_uncertainty(1.0) == pytest.approx(0.05 / math.sqrt(6.0))
    assert bucket_volume_uncertainty(10.0) == pytest.approx(0.2 / math.sqrt(6.0))
    # The difference of two readings, each within a digit.
    assert metered_volume_uncertainty(1.0) == pytest.approx(math.sqrt(2.0 / 12.0))


@pytest.mark.parametrize(
    "case",
    [
        {"volume": 1.0, "minutes": 0.0},
        {"volume": 1.0, "minutes": float("nan")},
        {"volume": -1.0, "minutes": 5.0},
        {"volume": float("nan"), "minutes": 5.0},
        {"volume": 1.0, "minutes": 5.0, "watch": -1.0},
    ],
)
def test_a_measurement_that_cannot_be_is_refused(case):
    with pytest.raises(RillbookError, match="write"):
        flow_in_time(**{"volume_uncertainty": 0.1, **case})


def test_a_bed_alone_shares_nothing():
    assert shared_flow_uncertainty([1.0], printed=0.07).tolist() == [0.0]


def test_sharing_as_simulated():
    """Printed flows that are off independently, the whole being right."""
    shares, printed = np.array([0.5, 0.3, 0.2]), 0.05
    true = shares * np.random.default_rng(2).normal(1.0, printed, (200_000, 3))
    true /= true.sum(axis=1, keepdims=True)
    spread = true.std(axis=0) / shares
    assert spread == pytest.approx(shared_flow_uncertainty(shares, printed=printed), rel=0.02)


@pytest.mark.parametrize("shares", [[0.5, 0.4], [1.5, -0.5], []])
def test_shares_that_are_not_the_whole_are_refused(shares):
    with pytest.raises(RillbookError, match="add up"):
        shared_flow_uncertainty(shares, printed=0.07)
