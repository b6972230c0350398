"""Flow by bucket and by meter, with its uncertainty."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.reconcile.flow_tests import BucketTest, bucket_flow, meter_flow
from scheduler.reconcile.meters import volumes_between
from scheduler.reconcile.refused import ReadingError
from tests.reconcile.cases import make_meter, reading


def bucket(volume=4.0, minutes=3.0, mark=0.1, watch=0.02):
    return BucketTest("low bed", volume, minutes, mark, watch)


def metered(volume=20.0, minutes=20.0):
    return volumes_between([reading(0, 100.0), reading(minutes, 100.0 + volume)], make_meter())[0]


def test_bucket_flow_and_its_uncertainty_against_throws_of_its_parts():
    test = bucket_flow(bucket())
    assert test.flow == 80.0
    assert not test.may_under_read
    rng = np.random.default_rng(2)
    volumes = 4.0 + rng.triangular(-0.1, 0.0, 0.1, 100_000)
    minutes = 3.0 + rng.uniform(-0.02, 0.02, 100_000)
    assert test.uncertainty == pytest.approx((volumes * 60.0 / minutes).std(), rel=0.02)


def test_an_empty_bucket_still_has_its_uncertainty():
    test = bucket_flow(bucket(volume=0.0))
    assert test.flow == 0.0
    assert test.uncertainty == pytest.approx(0.1 / math.sqrt(6.0) * 20.0)


def test_meter_flow_over_the_minutes_the_bed_ran():
    test = meter_flow("low bed", metered(), meter=make_meter(), minutes=15.0, watch=0.25)
    assert test.flow == 80.0
    assert test.uncertainty == pytest.approx(
        80.0 * math.hypot(1.0 / math.sqrt(6.0) / 20.0, 0.25 / math.sqrt(3.0) / 15.0)
    )
    assert not test.may_under_read


def test_meter_flow_below_the_limit_may_under_read():
    """6 gph, about 23 L/h, is below the flow that a small house meter is tested at."""
    assert meter_flow("low bed", metered(volume=7.5), meter=make_meter()).may_under_read


@pytest.mark.parametrize(
    ("change", "where"),
    [
        ({"minutes": 0.0}, "minutes"),
        ({"minutes": math.nan}, "minutes"),
        ({"volume": math.nan}, "volume"),
        ({"volume": -1.0}, "volume"),
        ({"mark": 0.0}, "mark"),
        ({"watch": math.inf}, "watch"),
        ({"watch": 3.0}, "watch"),
    ],
)
def test_bucket_tests_that_say_nothing_are_refused(change, where):
    with pytest.raises(ReadingError, match=f'bed "low bed" > {where}'):
        bucket_flow(bucket(**change))


@pytest.mark.parametrize(("minutes", "watch"), [(0.0, 0.0), (math.nan, 0.0), (25.0, 0.0), (15.0, 15.0)])
def test_meter_tests_with_wrong_minutes_are_refused(minutes, watch):
    with pytest.raises(ReadingError, match='meter test of bed "low bed"'):
        meter_flow("low bed", metered(), meter=make_meter(), minutes=minutes, watch=watch)


@given(st.floats(0.1, 100.0), st.floats(0.1, 60.0), st.floats(0.01, 100.0))
def test_bucket_flow_scales_with_the_unit(volume, minutes, unit):
    one = bucket_flow(bucket(volume, minutes, mark=0.05, watch=0.01))
    two = bucket_flow(bucket(volume * unit, minutes, mark=0.05 * unit, watch=0.01))
    assert two.flow == pytest.approx(one.flow * unit)
    assert two.uncertainty == pytest.approx(one.uncertainty * unit)


@given(st.floats(1.0, 50.0), st.floats(1.0, 60.0), st.floats(1.1, 5.0))
def test_a_longer_test_is_never_less_certain(volume, minutes, longer):
    short = bucket_flow(bucket(volume, minutes))
    long = bucket_flow(bucket(volume * longer, minutes * longer))
    assert long.flow == pytest.approx(short.flow)
    assert long.uncertainty < short.uncertainty
