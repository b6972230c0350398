"""A cup test weighed: intervals that hold the truth as often as they say, cups named, and how many more."""

import math

import numpy as np
import pytest

from scheduler.drip.cup_evaluation import (
    CUP_READING,
    CUP_RULE,
    evaluate_cups,
    low_quarter_uncertainty,
    mean_flow_uncertainty,
    more_cups,
)
from scheduler.errors import RillbookError

EVEN = [38, 40, 37, 39, 36, 41, 38, 35, 39, 37, 33, 38, 40, 36, 34, 39]


def test_intervals_hold_the_truth_as_often_as_they_say():
    """Of 2000 seeded tests of a normal bed about 95 in 100 hold it; five standard errors are allowed."""
    draw, variation = np.random.default_rng(11), 0.08
    truths = {
        "flow": 60.0,
        "variation": variation,
        "statistical": 1 - variation,
        "low_quarter": 1 - 1.2711 * variation,
    }
    held = dict.fromkeys(truths, 0)
    for volumes in draw.normal(1.0, variation, (2000, 12)):
        found = evaluate_cups(volumes, 1.0)
        for name, truth in truths.items():
            interval = getattr(found, name)
            held[name] += interval.low <= truth <= interval.high
    for name, count in held.items():
        assert count / 2000 == pytest.approx(0.95, abs=5 * math.sqrt(0.95 * 0.05 / 2000)), name


def test_more_confidence_is_a_wider_interval():
    narrow, wide = (evaluate_cups(EVEN, 1.0, confidence=share) for share in (0.8, 0.99))
    for name in ("flow", "variation", "statistical", "low_quarter"):
        inner, outer = getattr(narrow, name), getattr(wide, name)
        assert outer.low < inner.low < inner.high < outer.high


def test_sound_cups_are_not_named():
    found = evaluate_cups(EVEN, 1.0)
    assert (found.dry, found.low, found.high) == ((), (), ())
    assert (found.cups, found.statistical_class.name, found.emission_class.name) == (16, "good", "good")
    assert found.statistical_class.between


def test_clogged_and_torn_emitters_are_named():
    volumes = [float(volume) for volume in EVEN]
    volumes[2], volumes[6], volumes[9] = 0.0, 12.0, 90.0
    found = evaluate_cups(volumes, 1.0)
    assert (found.dry, found.low, found.high) == ((3,), (7,), (10,))


def test_cups_alike_to_the_mark_still_name_the_odd_one():
    found = evaluate_cups([40, 40, 40, 40, 40, 40, 40, 40, 20, 40], 1.0)
    assert (found.low, found.high) == ((9,), ())
    assert evaluate_cups([40] * 6, 1.0).low == ()


def test_bounds_of_uniformity_never_pass_below_nothing():
    found = evaluate_cups([1, 100, 1, 100], 1.0)
    assert found.flow.low == found.statistical.low == found.low_quarter.low == 0.0


@pytest.mark.parametrize("of", ["flow", "uniformity"])
def test_the_cups_asked_for_are_just_enough(of):
    found = evaluate_cups(EVEN, 1.0)
    more = more_cups(found.variation.value, 16, within=0.015, of=of)
    assert more > 0
    assert more_cups(found.variation.value, 16 + more, within=0.015, of=of) == 0
    assert more_cups(found.variation.value, 16 + more - 1, within=0.015, of=of) == 1


def test_cups_asked_for_by_hand():
    # t of 15 degrees of freedom is 2.131: 2.131 x 0.06 / 4 is 0.032.
    assert more_cups(0.06, 16, within=0.032) == 0
    assert more_cups(0.06, 16, within=0.0319) > 0
    assert more_cups(0.0, 4, within=0.01) == 0
    assert more_cups(0.5, 16, within=0.001) is None


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ({"variation": -0.1, "cups": 8, "within": 0.05}, "no share"),
        ({"variation": float("nan"), "cups": 8, "within": 0.05}, "no share"),
        ({"variation": 0.1, "cups": 3, "within": 0.05}, "at least 4"),
        ({"variation": 0.1, "cups": 8, "within": 5.0}, r"write 5 % as 0\.05"),
        ({"variation": 0.1, "cups": 8, "within": 0.05, "confidence": 95.0}, r"write 95 % as 0\.95"),
    ],
)
def test_questions_without_sense_are_refused(arguments, message):
    with pytest.raises(RillbookError, match=message):
        more_cups(**arguments)


@pytest.mark.parametrize("minutes", [0.0, -1.0, float("nan"), float("inf")])
def test_cups_without_a_time_are_refused(minutes):
    with pytest.raises(RillbookError, match="write how long"):
        evaluate_cups(EVEN, minutes)


def test_uncertainty_of_flow_by_hand():
    # Deviations of 1 from a mean of 10: variance 4 / 3; four cups of forty emitters.
    volumes = [9.0, 11.0, 9.0, 11.0]
    variation = math.sqrt(4.0 / 3.0) / 10.0
    expected = math.hypot(variation * math.sqrt(0.9 / 4.0), CUP_READING)
    assert mean_flow_uncertainty(volumes, emitters=40) == pytest.approx(expected)
    assert mean_flow_uncertainty(volumes, emitters=4) == pytest.approx(CUP_READING)
    shortfall = 1.27 * variation
    of_uniformity = shortfall / math.sqrt(6.0) / (1.0 - shortfall)
    assert low_quarter_uncertainty(volumes) == pytest.approx(math.hypot(of_uniformity, CUP_RULE))


def test_uncertainty_of_efficiency_stays_a_number_in_a_clogged_bed():
    assert math.isfinite(low_quarter_uncertainty([0.0, 0.0, 0.0, 40.0]))
