"""A bed whose drip line was relaid: what is compared begins anew, and the others are judged as before."""

from datetime import UTC, datetime, timedelta

import pytest

from scheduler.ledger.entries import Reading, Relaid
from scheduler.ledger.store import Ledger
from scheduler.reconcile.causes import YOUNG_BASELINE
from scheduler.reconcile.water_use import BedFlow, either_flow
from tests.reconcile.stories import BEDS, EMITTER, HOUSE, told

SALAD = "salad bed"
FLOW = BEDS[SALAD] * EMITTER


def bed_of(found, name=SALAD):
    return next(bed for bed in found.beds if bed.bed == name)


def drift_of(found, name=SALAD):
    return next((drift for drift in found.drifts if drift.bed == name), None)


class TestBaseline:
    def test_tests_from_before_are_no_longer_compared(self, story):
        story.rounds(4)
        story.round(salad_bed=25 / 33)
        assert "flow" in told(story).wrong
        story.relay(SALAD)
        found = told(story)
        bed = bed_of(found)
        assert (found.wrong, bed.tests, bed.check, bed.earlier) == ((), (), None, 5)
        assert bed.relaid == story.now
        assert bed.baseline.method == "print"
        # The others are still a round of their own.
        assert {check.bed for check in found.rounds[0].checks} == {*BEDS} - {SALAD}

    def test_printed_flow_holds_until_a_test_is_left_beside_the_new_baseline(self, story):
        story.rounds(4)
        story.relay(SALAD)
        for count in range(1, 6):
            story.round(salad_bed=0.96)
            bed = bed_of(told(story))
            assert (len(bed.tests), bed.earlier, bed.baseline.tests) == (count, 4, 3 if count > 3 else 0)
        assert bed.baseline.flow == pytest.approx(0.96 * FLOW, rel=0.01)
        assert bed.check.verdict == "no change seen"
        assert bed.check.change == pytest.approx(0.0, abs=0.02)
        # The bed's neighbours keep all their tests.
        assert (len(bed_of(told(story), "tall bed").tests), bed_of(told(story), "tall bed").earlier) == (9, 0)

    def test_test_begun_before_and_ended_after_is_of_neither_line(self, story):
        story.read(SALAD)
        story.use(20.0)
        story.wait(minutes=15)
        story.relay(SALAD)
        story.wait(minutes=15)
        story.read(SALAD)
        bed = bed_of(told(story))
        assert (bed.tests, bed.earlier, bed.former.tests) == ((), 1, 0)

    def test_test_that_begins_with_the_new_line_counts(self, story):
        story.test(SALAD, share=0.5)
        story.relay(SALAD)
        story.test(SALAD)
        bed = bed_of(told(story))
        assert (len(bed.tests), bed.earlier) == (1, 1)
        assert bed.check.flow == pytest.approx(FLOW, rel=0.02)

    def test_newest_relaying_counts_and_the_former_line_is_the_one_before_it(self, story):
        for share in (0.9, 0.8, 1.0):
            for _ in range(4):
                story.test(SALAD, share=share)
                story.wait(days=7)
            if share < 1.0:
                story.relay(SALAD)
        bed = bed_of(told(story))
        assert (len(bed.tests), bed.earlier) == (4, 8)
        assert bed.former.flow == pytest.approx(0.8 * FLOW, rel=0.01)
        assert bed.baseline.flow == pytest.approx(FLOW, rel=0.01)

    def test_entered_in_any_order_and_taken_back(self, story):
        story.rounds(4)
        newer = story.now
        story.relay(SALAD)
        story.keep(Relaid(newer - timedelta(days=20), SALAD), Relaid(newer, "no such bed"))
        assert bed_of(told(story)).relaid == newer
        with Ledger.open(story.path) as ledger:
            for _ in range(3):
                ledger.undo_last(datetime(2026, 12, 2, tzinfo=UTC))
        assert (bed_of(told(story)).relaid, len(bed_of(told(story)).tests)) == (None, 4)

    def test_buckets_count_from_their_moment(self, story):
        for minutes, litres in ((-5, 6.0), (0, 11.0), (5, 11.0)):
            at = story.now + timedelta(minutes=minutes)
            story.keep(Reading(at, "bucket", litres, bed=SALAD, minutes=10.0))
        story.relay(SALAD)
        assert [one.test.flow for one in bed_of(told(story)).tests] == pytest.approx([66.0, 66.0])


class TestDrift:
    def test_series_begins_anew(self, story):
        story.rounds(3)
        for n in range(9):
            story.round(salad_bed=1.0 - 0.012 * (n + 1))
        assert "drift" in told(story).wrong
        story.relay(SALAD)
        found = told(story)
        assert drift_of(found) is None
        assert "drift" not in found.wrong
        for count in range(1, 6):
            story.round(salad_bed=0.95)
            assert (drift_of(told(story)) is not None) == (count == 5)
        drift = drift_of(told(story))
        # Two tests follow the three of the new baseline, at its own level.
        assert (drift.tests, drift.alarm) == (2, None)

    def test_drift_of_the_new_line_is_found(self, story):
        story.rounds(6)
        story.relay(SALAD)
        story.rounds(3)
        moment = story.now
        for n in range(9):
            story.round(salad_bed=1.0 - 0.012 * (n + 1))
        alarm = drift_of(told(story)).alarm
        assert (alarm.direction, alarm.standing) == ("lower", True)
        assert alarm.since >= moment


class TestOthers:
    def test_clogged_filter_shows_though_one_bed_is_back_at_its_print(self, story):
        story.rounds(4)
        story.relay(SALAD)
        story.round(share=0.925)
        found = told(story)
        assert found.rounds[0].diagnosis.kind == "global"
        (finding,) = found.rounds[0].diagnosis.findings
        assert set(finding.beds) == set(BEDS)
        assert finding.causes[0].name == "filter filling up"

    def test_baseline_made_while_all_were_low_is_named_as_the_cause(self, story):
        story.rounds(4)
        story.relay(SALAD)
        for _ in range(4):
            story.round(share=0.8)
        diagnosis = told(story).rounds[0].diagnosis
        assert diagnosis.kind == "mixed"
        common, salad = diagnosis.findings
        assert set(common.beds) == {*BEDS} - {SALAD}
        assert common.change == pytest.approx(-0.2, abs=0.02)
        assert (salad.beds, salad.causes[0]) == ((SALAD,), YOUNG_BASELINE)

    def test_relaid_bed_that_did_change_keeps_its_own_causes(self, story):
        story.rounds(4)
        story.relay(SALAD)
        story.rounds(3)
        story.round(share=0.8, salad_bed=0.6)
        diagnosis = told(story).rounds[0].diagnosis
        assert diagnosis.kind == "mixed"
        assert all(YOUNG_BASELINE not in finding.causes for finding in diagnosis.findings)


class TestWater:
    def advised_runs(self, check, salad):
        """Return what the runs of a span amount to with the salad bed at a flow [L/h], by hand."""
        litres = check.span.litres
        others = sum(volume for bed, volume in litres.items() if bed != SALAD)
        return others + litres[SALAD] / FLOW * salad + check.span.unsure / 2.0

    def test_spans_go_by_the_line_that_lay_then(self, story):
        for share in (0.3, 1.0):
            for _ in range(4):
                story.test(SALAD, share=share)
            story.wait(days=1)
            story.advise(story.today)
            story.read()
            story.wait(days=6)
            story.use(5_000.0)
            story.read()
            story.wait(days=1)
            if share < 1.0:
                story.relay(SALAD)
        old, between, new = told(story, HOUSE).water
        for check, share in ((old, 0.3), (between, 0.65), (new, 1.0)):
            assert check.span.litres[SALAD] > 0.0
            assert check.runs == pytest.approx(self.advised_runs(check, share * FLOW), rel=2e-3)

    def test_unknown_former_line_is_taken_for_the_one_of_the_plan(self, story):
        story.advise(story.today)
        story.read()
        story.wait(days=3)
        story.relay(SALAD)
        story.wait(days=3)
        story.read()
        (check,) = told(story, HOUSE).water
        assert check.runs == pytest.approx(self.advised_runs(check, FLOW))

    def test_flow_of_one_and_then_another_by_hand(self):
        """60 and 80 L/h: 70 in the middle, 10 / sqrt(3) = 5.77 for the rectangle, hypot with 2."""
        between = either_flow(BedFlow(75.0, 60.0, 1.0), BedFlow(75.0, 80.0, 2.0))
        assert (between.planned, between.expected) == (75.0, 70.0)
        assert between.uncertainty == pytest.approx(6.11, abs=0.005)
