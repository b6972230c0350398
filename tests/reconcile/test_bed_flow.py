"""A bed against its baseline: verdict, the smallest change that shows, blocked emitters."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.reconcile.baseline import baseline_from_print, baseline_from_tests
from scheduler.reconcile.bed_flow import blocked_emitters, check_flow, largest_rise
from scheduler.reconcile.refused import ReadingError
from tests.reconcile.cases import flow_test, known_baseline

shares = st.floats(0.001, 0.3)


def test_baseline_is_the_mean_of_the_first_tests():
    tests = [flow_test(f, 2.0) for f in (98.0, 100.0, 102.0, 60.0)]
    baseline = baseline_from_tests(tests, first=3, day_variation=0.03)
    assert baseline.flow == pytest.approx(100.0)
    assert baseline.own == pytest.approx(2.0 / math.sqrt(3.0))
    assert baseline.shared == pytest.approx(3.0 / math.sqrt(3.0))
    assert baseline.tests == 3
    assert not baseline.scatter_beyond_stated


def test_tests_that_scatter_too_much_are_taken_at_their_scatter():
    tests = [flow_test(f, 1.0) for f in (80.0, 100.0, 120.0)]
    baseline = baseline_from_tests(tests, first=3, day_variation=0.02)
    assert baseline.scatter_beyond_stated
    assert baseline.own == pytest.approx(20.0 / math.sqrt(3.0))


def test_printed_flow_is_a_rectangle_of_seven_percent():
    """ISO 9261:2004, from memory: the mean of a sample lies within 7 % of the print."""
    baseline = baseline_from_print("low bed", emitter_flow=2.5, emitters=40)
    assert baseline.flow == 100.0
    assert baseline.shared == pytest.approx(7.0 / math.sqrt(3.0))
    check = check_flow(flow_test(94.0), baseline, emitters=40)
    assert check.verdict == "no change seen"
    assert "printed flow" in check.notes[0]
    assert check.own == pytest.approx(math.hypot(0.01, 0.07 / math.sqrt(3.0)))


@pytest.mark.parametrize(
    ("tests", "first", "match"),
    [
        ([], 3, "found 0 tests"),
        ([100.0, 100.0], 3, "found 2 tests"),
        ([100.0], 1, "two or more"),
        ([100.0, math.nan], 2, "nan is not a number"),
        ([100.0, 0.0], 2, "is zero"),
    ],
)
def test_baselines_that_rest_on_too_little_are_refused(tests, first, match):
    with pytest.raises(ReadingError, match=match):
        baseline_from_tests([flow_test(f) for f in tests], first=first)


def test_tests_of_two_beds_or_two_methods_make_no_baseline():
    tests = [flow_test(100.0), flow_test(100.0, bed="tall bed", method="meter")]
    with pytest.raises(ReadingError, match="2 faults") as error:
        baseline_from_tests(tests, first=2)
    assert [fault.found for fault in error.value.faults] == [
        "tests of several beds: low bed, tall bed",
        "tests of several methods: bucket, meter",
    ]


@pytest.mark.parametrize(
    ("flow", "verdict"),
    [(95.0, "lower"), (97.0, "no change seen"), (103.0, "no change seen"), (105.0, "higher")],
)
def test_verdict_and_the_limits_beside_it(flow, verdict):
    """u = 2 %: called beyond 1.96 u, found nineteen times in twenty from 3.60 u on (Currie 1968)."""
    check = check_flow(flow_test(flow, 2.0), known_baseline(), emitters=40)
    assert check.verdict == verdict
    assert check.limit == pytest.approx(0.0392, abs=5e-5)
    assert check.detectable == pytest.approx(0.0721, abs=5e-5)
    assert check.detectable_flow == pytest.approx(7.21, abs=5e-3)
    # 7.21 % of 40 emitters are 2.9 of them.
    assert check.detectable_emitters == 3


def test_uncertainty_is_that_of_test_baseline_and_day():
    baseline = known_baseline(own=2.0, shared=1.0, day_variation=0.03)
    check = check_flow(flow_test(90.0, 4.0), baseline, emitters=40)
    assert check.own == pytest.approx(math.hypot(0.04, 0.02))
    assert check.shared == pytest.approx(math.hypot(0.01, 0.03))
    assert check.uncertainty == pytest.approx(math.hypot(0.04, 0.02, 0.01, 0.03))


def test_shares_of_false_alarms_and_finds_are_as_stated():
    """Sound beds are called 1 in 20; beds with the detectable change 19 in 20."""
    rng = np.random.default_rng(3)
    checks = 3000
    for change, share in ((0.0, 0.05), (-1.0, 0.95)):
        called = 0
        for day, own, first in rng.normal(size=(checks, 3)):
            baseline = known_baseline(100.0 + 2.0 * first, own=2.0, day_variation=0.02)
            sound = check_flow(flow_test(100.0, 3.0), baseline, emitters=40)
            flow = 100.0 * (1.0 + change * sound.detectable) * (1.0 + 0.02 * day) + 3.0 * own
            called += check_flow(flow_test(flow, 3.0), baseline, emitters=40).verdict != "no change seen"
        assert called / checks == pytest.approx(share, abs=4.0 * math.sqrt(0.05 * 0.95 / checks))


def test_few_emitters_and_a_vague_test_find_nothing():
    check = check_flow(flow_test(100.0, 40.0), known_baseline(), emitters=4)
    assert check.detectable_emitters is None
    assert check.detectable > 1.0


def test_notes_on_a_weak_comparison():
    test = flow_test(40.0, method="meter", may_under_read=True)
    baseline = replace(known_baseline(40.0), scatter_beyond_stated=True)
    notes = " ".join(check_flow(test, baseline, emitters=40).notes)
    for part in ("may under-read", "Measured by meter, but the baseline by bucket", "scatter more"):
        assert part in notes


def test_eight_blocked_emitters_of_forty():
    blocked = blocked_emitters(-0.2, 0.02, emitters=40, confidence=0.95)
    assert blocked.estimate == pytest.approx(8.0)
    assert (blocked.low, blocked.high) == (pytest.approx(6.43, abs=0.005), pytest.approx(9.57, abs=0.005))
    rising = blocked_emitters(-0.2, 0.02, emitters=40, confidence=0.95, rise=0.1)
    assert rising.high > blocked.high
    # With every open emitter 10 % up, 0.8 of the flow is 0.727 of the emitters.
    assert rising.high > 40 * (1.0 - 0.8 / 1.1)


def test_largest_rise_is_that_of_the_full_supply_pressure():
    assert largest_rise(100.0, supply_pressure=121.0, exponent=0.5) == pytest.approx(0.1)
    assert largest_rise(100.0, supply_pressure=121.0, exponent=0.0) == 0.0


@pytest.mark.parametrize(
    ("pressure", "supply", "exponent"),
    [(0.0, 100.0, 0.5), (math.nan, 100.0, 0.5), (100.0, 90.0, 0.5), (1.0, 2.0, 1.5)],
)
def test_rise_from_pressures_that_cannot_be_is_refused(pressure, supply, exponent):
    with pytest.raises(ReadingError):
        largest_rise(pressure, supply_pressure=supply, exponent=exponent)


@pytest.mark.parametrize(
    ("test", "baseline", "setting"),
    [
        ({"flow": math.nan}, {}, {}),
        ({"flow": -1.0}, {}, {}),
        ({"uncertainty": 0.0}, {}, {}),
        ({"bed": "tall bed"}, {}, {}),
        ({}, {"flow": 0.0}, {}),
        ({}, {}, {"emitters": 0}),
        ({}, {}, {"confidence": 1.0}),
        ({}, {}, {"confidence": math.nan}),
        ({}, {}, {"power": 0.3}),
        ({}, {}, {"rise": -0.1}),
    ],
)
def test_comparisons_that_cannot_be_are_refused(test, baseline, setting):
    with pytest.raises(ReadingError, match="1 fault\n"):
        check_flow(
            flow_test(**({"flow": 100.0} | test)), known_baseline(**baseline), **({"emitters": 40} | setting)
        )


@given(st.integers(1, 200), shares, st.floats(0.0, 0.3), st.data())
def test_more_blocked_emitters_never_lower_the_estimate(emitters, uncertainty, rise, data):
    fewer = data.draw(st.integers(0, emitters))
    more = data.draw(st.integers(fewer, emitters))
    one, two = (
        blocked_emitters(-n / emitters, uncertainty, emitters=emitters, confidence=0.95, rise=rise)
        for n in (fewer, more)
    )
    assert one.estimate <= two.estimate
    assert one.low <= two.low
    assert one.high <= two.high
    assert 0.0 <= two.low <= two.estimate <= two.high <= emitters


@given(st.floats(0.0, 3.0), shares, st.integers(1, 100))
def test_no_verdict_comes_without_a_change_that_would_show(flow_share, uncertainty, emitters):
    check = check_flow(
        flow_test(100.0 * flow_share, 100.0 * uncertainty), known_baseline(), emitters=emitters
    )
    assert 0.0 < check.limit < check.detectable
    assert check.detectable_flow == pytest.approx(check.detectable * check.baseline)
    assert (check.verdict == "no change seen") == (abs(check.change) <= check.limit)
    if check.detectable_emitters is not None:
        assert check.detectable_emitters / emitters >= check.detectable * (1.0 - 1e-6)


@given(st.floats(10.0, 200.0), shares, st.floats(0.01, 100.0))
def test_verdict_does_not_depend_on_the_unit(flow, uncertainty, unit):
    one = check_flow(flow_test(flow, 100.0 * uncertainty), known_baseline(own=1.0), emitters=40)
    two = check_flow(
        flow_test(flow * unit, 100.0 * uncertainty * unit),
        known_baseline(100.0 * unit, own=unit),
        emitters=40,
    )
    assert two.change == pytest.approx(one.change, abs=1e-9)
    assert two.detectable == pytest.approx(one.detectable)
    assert two.detectable_flow == pytest.approx(one.detectable_flow * unit)
    assert two.blocked.estimate == pytest.approx(one.blocked.estimate, abs=1e-6)
