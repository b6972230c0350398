"""One bed or all of them, what to look at first, and how often sound beds are accused."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.reconcile.baseline import baseline_from_print
from scheduler.reconcile.bed_flow import check_flow
from scheduler.reconcile.chances import chi_square_limit, chi_square_share, noncentrality
from scheduler.reconcile.common_factor import common_factor
from scheduler.reconcile.diagnose import diagnose
from scheduler.reconcile.refused import ReadingError
from tests.reconcile.cases import bed_check, flow_test

BEDS = "abcde"


def round_of(changes, uncertainty=0.02, *, flows=None, day_variation=0.0):
    flows = flows or [100.0] * len(changes)
    return [
        bed_check(bed, change, uncertainty, flow=flow, day_variation=day_variation)
        for bed, change, flow in zip(BEDS, changes, flows, strict=False)
    ]


def beds_of(diagnosis):
    return [finding.beds for finding in diagnosis.findings]


def first_causes(diagnosis):
    return [finding.causes[0].name for finding in diagnosis.findings]


def test_nothing_changed():
    diagnosis = diagnose(round_of([0.01, -0.02, 0.0, 0.02, -0.01]))
    assert diagnosis.kind == "nothing seen"
    assert diagnosis.findings == ()


@pytest.mark.parametrize(
    ("change", "first"),
    [
        (-0.20, "blocked emitters"),
        (-0.50, "valve not fully open"),
        (-1.00, "valve not fully open"),
        (0.20, "split or cut line"),
        (0.70, "open end or fitting off"),
        # As much again as another bed gives: that bed's valve was open.
        (1.00, "another bed was open too"),
    ],
)
def test_one_bed(change, first):
    diagnosis = diagnose(round_of([0.01, -0.01, change, 0.02, 0.0]))
    assert diagnosis.kind == "local"
    assert beds_of(diagnosis) == [("c",)]
    assert first_causes(diagnosis) == [first]
    assert diagnosis.findings[0].change == pytest.approx(change)


def test_blocked_emitters_are_counted_in_the_cause():
    cause = diagnose(round_of([0.01, -0.01, -0.2, 0.02, 0.0])).findings[0].causes[0]
    assert "about 8 of 40, between 6 and 10" in cause.look


def test_two_beds_the_worse_first():
    diagnosis = diagnose(round_of([0.01, -0.15, -0.30, 0.02, 0.0]))
    assert diagnosis.kind == "local"
    assert beds_of(diagnosis) == [("c",), ("b",)]


def test_all_beds_down_alike():
    diagnosis = diagnose(round_of([-0.14, -0.16, -0.15, -0.17, -0.13]))
    assert diagnosis.kind == "global"
    assert beds_of(diagnosis) == [tuple(BEDS)]
    assert first_causes(diagnosis) == ["filter filling up"]
    assert diagnosis.findings[0].change == pytest.approx(-0.15)


def test_all_beds_up_by_a_share():
    """Beds of different size: by the same share, not by the same flow."""
    diagnosis = diagnose(round_of([0.2, 0.21, 0.19, 0.2, 0.2], flows=[100.0, 30.0, 60.0, 90.0, 40.0]))
    assert diagnosis.kind == "global"
    assert diagnosis.same_amount is None
    assert first_causes(diagnosis) == ["regulator no longer holding"]


def test_all_beds_up_by_a_flow():
    """12 L/h on top of each bed: water that passes none of their emitters."""
    flows = [100.0, 30.0, 60.0, 90.0, 40.0]
    diagnosis = diagnose(round_of([12.0 / flow for flow in flows], flows=flows))
    assert diagnosis.kind == "global"
    assert diagnosis.same_amount == pytest.approx(12.0)
    assert first_causes(diagnosis) == ["house used water during the tests"]


def test_all_down_and_one_more():
    diagnosis = diagnose(round_of([-0.14, -0.16, -0.50, -0.17, -0.13]))
    assert diagnosis.kind == "mixed"
    assert beds_of(diagnosis) == [("a", "b", "d", "e"), ("c",)]
    assert first_causes(diagnosis) == ["filter filling up", "valve not fully open"]
    assert diagnosis.findings[0].change == pytest.approx(-0.15)
    assert diagnosis.findings[1].change == pytest.approx(-0.35)


def test_bed_back_at_its_printed_flow_does_not_hide_a_change_of_all():
    """Four beds with baselines of their own, one just relaid: all a tenth down, each test good to 1 %.

    Own parts 1 % and hypot(1 %, 7 %/sqrt 3) = 4.163 %; shared 2 % and hypot(7 %/sqrt 3, 2 %) = 4.509 %.
    Weights 4 and (1 / 4.163)**2 = 0.0577: the mean shares (4 * 2 + 0.0577 * 4.509) / 4.0577 = 2.036 %.
    """
    known = round_of([-0.1, -0.1, -0.1, -0.1], 0.01, day_variation=0.02)
    printed = baseline_from_print("e", emitter_flow=2.5, emitters=40)
    relaid = check_flow(flow_test(90.0, 1.0, bed="e"), printed, emitters=40)
    assert (relaid.own, relaid.shared) == (pytest.approx(0.04163, abs=5e-6), pytest.approx(0.04509, abs=5e-6))
    diagnosis = diagnose([*known, relaid])
    assert diagnosis.kind == "global"
    assert beds_of(diagnosis) == [tuple(BEDS)]
    assert diagnosis.evidence.common.uncertainty == pytest.approx(
        math.hypot(0.02036, 0.01 / math.sqrt(4.0577)), abs=1e-5
    )


def test_two_beds():
    assert diagnose(round_of([0.0, -0.2])).kind == "local"
    assert diagnose(round_of([-0.2, -0.2])).kind == "global"


def test_one_bed_alone_cannot_tell():
    diagnosis = diagnose(round_of([-0.3]))
    assert diagnosis.kind == "cannot tell"
    names = [cause.name for cause in diagnosis.findings[0].causes]
    assert "blocked emitters" in names
    assert "filter filling up" in names
    assert diagnosis.evidence.detectable_bed is None


@pytest.mark.parametrize(
    ("checks", "settings", "match"),
    [
        ([], {}, "no bed was tested"),
        ([bed_check("a", 0.0), bed_check("a", 0.1)], {}, "tested twice"),
        ([replace(bed_check("a", 0.0), change=math.nan)], {}, "nan is not a number"),
        ([replace(bed_check("a", 0.0), own=0.0)], {}, "is zero"),
        ([bed_check("a", 0.0)], {"false_alarm": 0.0}, "is zero"),
        ([bed_check("a", 0.0)], {"power": 1.0}, "not below 1"),
    ],
)
def test_rounds_that_cannot_be_judged_are_refused(checks, settings, match):
    with pytest.raises(ReadingError, match=match):
        diagnose(checks, **settings)


@pytest.mark.parametrize("beds", [1, 2, 5])
@pytest.mark.parametrize("false_alarm", [0.05, 0.2])
def test_sound_rounds_are_accused_as_often_as_stated(beds, false_alarm):
    rng = np.random.default_rng(beds)
    rounds = 2500
    accused = 0
    for day, *noise in rng.normal(size=(rounds, beds + 1)):
        # Beds differ in how well they are measured; the day moves all of them.
        changes = [0.02 * day + (0.01 + 0.01 * n) * x for n, x in enumerate(noise)]
        checks = [
            bed_check(bed, change, 0.01 + 0.01 * n, day_variation=0.02)
            for n, (bed, change) in enumerate(zip(BEDS, changes, strict=False))
        ]
        accused += diagnose(checks, false_alarm=false_alarm).kind != "nothing seen"
    spread = math.sqrt(false_alarm * (1.0 - false_alarm) / rounds)
    assert accused / rounds == pytest.approx(false_alarm, abs=3.5 * spread)


@pytest.mark.parametrize("change_of", ["detectable_common", "detectable_bed"])
def test_detectable_changes_are_found_as_often_as_stated(change_of):
    rng = np.random.default_rng(11)
    sound = diagnose(round_of([0.0] * 5, day_variation=0.02))
    change = getattr(sound.evidence, change_of)
    rounds, found = 1500, 0
    for day, *noise in rng.normal(size=(rounds, 6)):
        moved = 5 if change_of == "detectable_common" else 1
        changes = [0.02 * day + 0.02 * x - change * (n < moved) for n, x in enumerate(noise)]
        evidence = diagnose(round_of(changes, day_variation=0.02)).evidence
        found += (
            abs(evidence.common.deviations) > evidence.mean_limit
            if change_of == "detectable_common"
            else evidence.common.heterogeneity > evidence.heterogeneity_limit
        )
    assert found / rounds == pytest.approx(0.95, abs=3.5 * math.sqrt(0.05 * 0.95 / rounds))


def test_right_bed_and_right_kind_are_named_nearly_always():
    """One bed of five changed by twice the detectable: the right one is named alone in 9 rounds of 10."""
    rng = np.random.default_rng(12)
    change = 2.0 * diagnose(round_of([0.0] * 5, day_variation=0.02)).evidence.detectable_bed
    right = 0
    for day, *noise in rng.normal(size=(400, 6)):
        changes = [0.02 * day + 0.02 * x - change * (n == 2) for n, x in enumerate(noise)]
        diagnosis = diagnose(round_of(changes, day_variation=0.02))
        right += diagnosis.kind == "local" and beds_of(diagnosis) == [("c",)]
    assert right / 400 > 0.9


def test_weighted_mean_and_heterogeneity_by_hand():
    """Weights 4 and 1: mean (4 x 1 + 6) / 5 = 2, Q = 4 x 1 + 16 = 20, u = 5 ** -0.5."""
    fit = common_factor([1.0, 6.0], [0.5, 1.0], shared=0.0)
    assert (fit.mean, fit.heterogeneity, fit.freedom) == (2.0, 20.0, 1)
    assert fit.uncertainty == pytest.approx(5.0**-0.5)
    assert common_factor([1.0, 6.0], [0.5, 1.0], shared=2.0).uncertainty == pytest.approx(math.sqrt(4.2))


def test_chi_square_without_freedom_decides_nothing():
    assert chi_square_share(3.0, 0) == 1.0
    assert chi_square_limit(0.05, 0) == 0.0
    assert noncentrality(0.1, 1, found=0.2) == 0.0


changes = st.lists(st.floats(-1.0, 2.0), min_size=1, max_size=5)


@given(changes, st.floats(0.005, 0.3))
def test_every_round_has_an_answer_with_its_evidence(changes, uncertainty):
    checks = round_of(changes, uncertainty)
    diagnosis = diagnose(checks)
    assert diagnosis.evidence.detectable_common > 0.0
    assert (diagnosis.kind == "nothing seen") == (not diagnosis.findings)
    named = [bed for finding in diagnosis.findings for bed in finding.beds]
    assert len(named) == len(set(named))
    assert all(finding.causes for finding in diagnosis.findings)
    if diagnosis.kind in {"global", "mixed"}:
        assert len(named) == len(checks)


@given(changes, st.floats(0.005, 0.3), st.randoms(use_true_random=False))
def test_order_of_the_beds_does_not_matter(changes, uncertainty, random):
    # Changes that differ, so that no tie decides.
    checks = round_of([change + 1e-3 * n for n, change in enumerate(changes)], uncertainty)
    shuffled = random.sample(checks, len(checks))
    one, two = diagnose(checks), diagnose(shuffled)
    assert one.kind == two.kind
    assert {frozenset(f.beds) for f in one.findings} == {frozenset(f.beds) for f in two.findings}
