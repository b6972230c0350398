"""Overnight tests: how much is lost and where, and what cannot be told."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.reconcile.leak import LeakStep, find_leak
from scheduler.reconcile.refused import ReadingError
from tests.reconcile.cases import make_meter, reading

HOURS = 4


def night(losses, *, begins=1000.0, digit=1.0, shuts=("garden tap", "timer", "bed valves")):
    """Return steps of four hours in which the register moves by the given litres; readings are shared."""
    total = begins + np.concatenate(([0.0], np.cumsum(losses)))
    marks = [reading(n * HOURS * 60, math.floor(v / digit) * digit) for n, v in enumerate(total)]
    return [LeakStep(shut, a, b) for shut, a, b in zip(shuts, marks, marks[1:], strict=False)]


def verdicts(report):
    return {segment.where: segment.verdict for segment in report.segments}


def test_tight_garden():
    report = find_leak(night([0.0, 0.0, 0.0]), make_meter(), meter_at="house")
    assert set(verdicts(report).values()) == {"none seen"}
    assert report.first_look == ""
    assert "not the same as tight" in report.caveats[0]
    assert all(0.0 < s.limit < s.detectable for s in report.segments)
    # 56.8 L/h, day and night.
    assert report.may_under_read_below == pytest.approx(1363.2)


@pytest.mark.parametrize(
    ("losses", "place", "per_day"),
    [
        ([20.0, 20.0, 20.0], "the house", 120.0),
        ([0.0, 20.0, 20.0], "garden tap to timer", 120.0),
        ([0.0, 0.0, 20.0], "timer to bed valves", 120.0),
    ],
)
def test_leak_sits_before_the_valve_that_did_not_stop_it(losses, place, per_day):
    report = find_leak(night(losses), make_meter(), meter_at="house")
    assert report.first_look == place
    assert verdicts(report)[place] == "leak"
    assert sum(v == "leak" for v in verdicts(report).values()) == 1
    assert next(s.loss for s in report.segments if s.where == place) == pytest.approx(per_day)


def test_steps_may_come_in_any_order():
    steps = night([0.0, 20.0, 20.0])
    meter = make_meter()
    assert find_leak(steps[::-1], meter, meter_at="house") == find_leak(steps, meter, meter_at="house")


def test_leak_in_a_bed_is_what_it_gives_beyond_its_baseline():
    steps = night([0.0, 0.0], shuts=("timer", "bed valves"))
    bed = {"expected_flow": 40.0, "expected_uncertainty": 1.0}
    steps += [
        LeakStep("other bed valves", reading(600, 2000.0), reading(660, 2040.0), bed="low bed", **bed),
        LeakStep("other bed valves", reading(700, 3000.0), reading(760, 3052.0), bed="tall bed", **bed),
    ]
    report = find_leak(steps, make_meter(), meter_at="garden")
    assert verdicts(report) == {
        "meter to timer": "none seen",
        "timer to bed valves": "none seen",
        'bed "low bed"': "none seen",
        'bed "tall bed"': "leak",
    }
    assert report.segments[-1].loss == pytest.approx(12.0 * 24.0)


def test_house_use_is_a_caveat_and_can_be_given_a_width():
    steps = night([3.0, 9.0], shuts=("timer", "bed valves"))
    report = find_leak(steps, make_meter(), meter_at="house")
    assert any("one flush" in caveat for caveat in report.caveats)
    assert any("cannot be told apart" in caveat for caveat in report.caveats)
    assert report.first_look == "timer to bed valves"
    assert report.segments[0].where == "house and garden tap to timer"
    wide = find_leak(steps, make_meter(), meter_at="house", house_variation=40.0)
    assert wide.first_look == ""
    assert wide.segments[0].detectable > report.segments[0].detectable


def test_water_in_an_earlier_step_disturbs_the_later_one():
    report = find_leak(night([30.0, 0.0, 0.0]), make_meter(), meter_at="house")
    assert verdicts(report)["garden tap to timer"] == "disturbed"


def test_shared_readings_count_in_both_steps():
    """1 - 2 x 3 readings: variance of b - a, less that of the middle one counted double: 6 against 4."""
    shared = find_leak(night([0.0, 0.0], shuts=("timer", "bed valves")), make_meter(), meter_at="garden")
    own = [
        LeakStep("timer", reading(0, 1000.0), reading(240, 1000.0)),
        LeakStep("bed valves", reading(300, 1000.0), reading(540, 1000.0)),
    ]
    apart = find_leak(own, make_meter(), meter_at="garden")
    ratio = shared.segments[1].uncertainty / apart.segments[1].uncertainty
    assert ratio == pytest.approx(math.sqrt(6.0 / 4.0))
    assert shared.segments[0].uncertainty == pytest.approx(6.0 / math.sqrt(6.0))


def test_share_of_tight_gardens_accused():
    """A register that may stand anywhere within its digit, and is read with that error at every step."""
    rng = np.random.default_rng(5)
    nights, accused = 2000, 0
    for errors in rng.uniform(-0.5, 0.5, size=(nights, 4)):
        marks = [reading(n * HOURS * 60, 1000.0 + 20.0 * n + e) for n, e in enumerate(errors)]
        steps = [
            LeakStep(shut, a, b)
            for shut, a, b in zip(("garden tap", "timer", "bed valves"), marks, marks[1:], strict=False)
        ]
        report = find_leak(steps, make_meter(), meter_at="house", confidence=0.9)
        accused += any(s.verdict == "leak" for s in report.segments if s.where != "the house")
    assert accused / nights < 0.1 + 3.0 * math.sqrt(0.1 * 0.9 / nights)
    assert accused > 0


def test_detectable_leak_is_found():
    meter = make_meter()
    tight = night([0.0], shuts=("timer",))
    detectable = find_leak(tight, meter, meter_at="garden").segments[0].detectable
    rng = np.random.default_rng(6)
    found = 0
    for begins in rng.uniform(0.0, 1000.0, 1000):
        steps = night([detectable * HOURS / 24.0], begins=begins, shuts=("timer",))
        found += find_leak(steps, meter, meter_at="garden").first_look == "meter to timer"
    assert found >= 950


@pytest.mark.parametrize(
    ("steps", "meter_at", "match"),
    [
        ([], "house", "found no step"),
        (night([0.0]) * 2, "house", "garden tap were shut before"),
        (night([0.0]), "garden", "behind the shut tap"),
        ([LeakStep("timer", reading(0, 5.0), reading(0, 5.0))], "house", "same time"),
        ([LeakStep("timer", reading(60, 5.0), reading(0, 5.0))], "house", "earlier than the first"),
        ([LeakStep("timer", reading(0, 5.0), reading(60, math.nan))], "house", "not a number"),
        ([LeakStep("timer", reading(0, 5.0), reading(60, 4.0))], "house", "goes back"),
        ([LeakStep("other bed valves", reading(0, 5.0), reading(60, 6.0))], "house", "3 faults"),
    ],
)
def test_tests_that_cannot_be_judged_are_refused(steps, meter_at, match):
    with pytest.raises(ReadingError, match=match):
        find_leak(steps, make_meter(), meter_at=meter_at)


@given(st.lists(st.floats(0.0, 500.0), min_size=1, max_size=3), st.floats(0.01, 100.0))
def test_losses_scale_with_the_unit(losses, unit):
    shuts = ("garden tap", "timer", "bed valves")[: len(losses)]
    total = np.concatenate(([0.0], np.cumsum(losses)))

    def report(scale):
        marks = [reading(n * HOURS * 60, scale * v) for n, v in enumerate(total)]
        steps = [LeakStep(s, a, b) for s, a, b in zip(shuts, marks, marks[1:], strict=False)]
        meter = make_meter(capacity=1e7 * scale, smallest_digit=scale, largest_flow=4500.0 * scale)
        return find_leak(steps, meter, meter_at="house")

    for one, two in zip(report(1.0).segments, report(unit).segments, strict=True):
        assert two.loss == pytest.approx(one.loss * unit, abs=1e-6 * unit)
        assert two.detectable == pytest.approx(one.detectable * unit)
