"""Ledgers of whole stories -> what the readings say, from the entries to the causes."""

import json
import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.garden.links import MeterPlan
from scheduler.ledger.entries import Reading
from scheduler.ledger.store import Ledger
from scheduler.reconcile.from_ledger import NOTHING, comparison_inputs
from scheduler.reconcile.meters import Meter
from scheduler.reconcile.meters import Reading as MeterReading
from scheduler.reconcile.overview import only_bed, overview
from scheduler.reconcile.records import Records, TaggedReading
from scheduler.reconcile.register import fit_register
from tests.builders import make_bed, make_garden
from tests.reconcile.stories import (
    BEDS,
    EMITTER,
    GARDEN,
    HOUSE,
    START,
    inputs_of,
    told,
)


def only_finding(found):
    (finding,) = found.rounds[0].diagnosis.findings
    return finding


class TestFlow:
    def test_sound_rounds_say_nothing(self, story):
        story.rounds(5)
        found = told(story)
        assert found.wrong == ()
        assert [bed.check.verdict for bed in found.beds] == ["no change seen"] * 5
        assert [bed.baseline.tests for bed in found.beds] == [3] * 5
        assert [len(bed.followed) for bed in found.beds] == [2] * 5

    def test_eight_blocked_emitters_of_one_bed(self, story):
        story.rounds(4)
        story.round(salad_bed=25 / 33)
        found = told(story)
        assert found.rounds[0].diagnosis.kind == "local"
        assert only_finding(found).beds == ("salad bed",)
        assert only_finding(found).causes[0].name == "blocked emitters"
        check = next(bed.check for bed in found.beds if bed.bed == "salad bed")
        assert check.change == pytest.approx(-8 / 33, abs=1e-3)
        assert check.blocked.low < 8 < check.blocked.high
        assert round(check.blocked.estimate) == 8
        assert "flow" in found.wrong

    def test_clogged_filter_takes_from_all_alike(self, story):
        story.rounds(4)
        story.round(share=0.8)
        found = told(story)
        assert found.rounds[0].diagnosis.kind == "global"
        assert set(only_finding(found).beds) == set(BEDS)
        assert only_finding(found).causes[0].name == "filter filling up"
        assert only_finding(found).change == pytest.approx(-0.2, abs=0.02)

    def test_one_flow_on_top_of_every_test_is_no_emitters(self, story):
        story.rounds(4)
        story.round(extra=25.0)
        found = told(story)
        assert found.rounds[0].diagnosis.same_amount == pytest.approx(25.0, abs=2.0)

    def test_first_tests_go_by_the_print(self, story):
        story.test("salad bed", share=0.6)
        found = told(story)
        (checked,) = (bed for bed in found.beds if bed.check)
        assert checked.baseline.method == "print"
        assert checked.baseline.flow == pytest.approx(33 * EMITTER)
        assert found.rounds[0].diagnosis.kind == "cannot tell"
        assert found.wrong == ("flow",)

    def test_print_holds_until_a_test_is_left_beside_the_baseline(self, story):
        for count in range(1, 6):
            story.test("salad bed")
            story.wait(days=7)
            bed = next(bed for bed in told(story).beds if bed.bed == "salad bed")
            assert (len(bed.tests), bed.baseline.tests) == (count, 3 if count > 3 else 0)

    def test_pressure_of_a_bed_changes_its_printed_flow(self, story):
        story.read()
        weak = make_garden([make_bed("bed", emitters=10, pressure=64.0)])
        # q = 2.0 (64 / 100) ** 0.5, worked by hand.
        assert inputs_of(story, weak).beds["bed"][0].emitter_flow == pytest.approx(1.6)

    def test_buckets_make_a_baseline_of_their_own(self, story):
        for day, litres in enumerate((11.0, 11.1, 10.9, 11.0, 8.3)):
            at = START + timedelta(days=day)
            story.keep(Reading(at, "bucket", litres, bed="salad bed", minutes=10.0))
        bed = next(bed for bed in told(story).beds if bed.bed == "salad bed")
        assert (bed.baseline.method, bed.baseline.flow) == ("bucket", pytest.approx(66.0))
        assert bed.check.verdict == "lower"

    def test_newest_test_by_another_method_is_compared_with_the_tests_there_are(self, story):
        for _ in range(3):
            story.test("salad bed")
            story.wait(days=7)
        story.keep(Reading(story.now, "bucket", 11.0, bed="salad bed", minutes=10.0))
        bed = next(bed for bed in told(story).beds if bed.bed == "salad bed")
        assert bed.baseline.method == "meter"
        assert any("Measured by bucket" in note for note in bed.check.notes)

    def test_old_tests_make_a_round_of_their_own(self, story):
        story.test("tall bed")
        story.wait(days=30)
        story.test("low bed")
        assert [[c.bed for c in one.checks] for one in told(story).rounds] == [["low bed"], ["tall bed"]]

    def test_minutes_timed_beside_the_reading_count(self, story):
        story.read("low bed")
        story.use(16.0)
        story.wait(hours=2)
        volume = float(int(story.register))
        story.keep(Reading(story.now, "meter", volume, bed="low bed", minutes=20.0))
        bed = next(bed for bed in told(story).beds if bed.bed == "low bed")
        assert bed.check.flow == pytest.approx(48.0)

    def test_one_bed_alone_keeps_what_the_others_tell(self, story):
        story.rounds(4)
        story.round(salad_bed=25 / 33)
        salad, tall = (only_bed(told(story), bed) for bed in ("salad bed", "tall bed"))
        assert salad.rounds[0].diagnosis.kind == "local"
        assert [bed.bed for bed in salad.beds] == ["salad bed"]
        assert (bool(salad.wrong), tall.wrong) == (True, ())


class TestPairs:
    def test_single_reading_waits_for_its_partner(self, story):
        story.read("low bed")
        assert inputs_of(story).single == (("low bed", START),)
        assert not inputs_of(story).tests["low bed"]

    def test_readings_hours_apart_are_no_test(self, story):
        story.read("low bed")
        story.wait(days=1)
        story.test("low bed")
        assert [len(tests) for tests in inputs_of(story).tests.values() if tests] == [1]
        assert inputs_of(story).single == (("low bed", START),)

    def test_two_beds_at_once_are_no_test_of_either(self, story):
        for bed in ("low bed", "tall bed", "low bed", "tall bed"):
            story.read(bed)
            story.use(20.0)
            story.wait(minutes=15)
        assert not any(inputs_of(story).tests.values())

    def test_bed_that_the_plan_has_not_is_named(self, story):
        story.keep(Reading(START, "bucket", 5.0, bed="old bed", minutes=5.0))
        assert inputs_of(story).strangers == ("old bed",)

    def test_withdrawn_reading_is_no_reading(self, story):
        story.read("low bed")
        with Ledger.open(story.path) as ledger:
            ledger.undo_last(datetime(2026, 12, 2, tzinfo=UTC))
        assert inputs_of(story).single == ()


class TestRegister:
    def test_slip_of_the_pen_costs_one_reading(self, story):
        story.read()
        for shows in (8_502.0, None, None):
            story.wait(days=3)
            story.use(500.0)
            story.read(shows=shows)
        found = told(story)
        (odd,) = found.odd
        assert (odd.reading.volume, odd.why) == (8_502.0, "goes back")
        assert "reading" in found.wrong
        assert sum(check.span.metered.volume for check in found.water) == pytest.approx(1_500.0)

    def test_old_slip_is_told_but_is_no_news(self, story):
        story.read()
        story.wait(days=1)
        story.read(shows=8_502.0)
        story.wait(days=60)
        story.use(500.0)
        story.read()
        found = told(story)
        assert len(found.odd) == 1
        assert "reading" not in found.wrong

    def test_rollover_needs_the_capacity_of_the_plan(self, story):
        story.register = 99_800.0
        story.read()
        story.wait(days=7)
        story.register = 350.0
        story.read()
        assert [odd.why for odd in told(story).odd] == ["goes back"]
        turning = replace(
            GARDEN, meter=MeterPlan(capacity=100_000.0, smallest_digit=1.0, low_flow_limit=None)
        )
        found = told(story, turning)
        assert (found.odd, [step.volume for step in found.rollovers]) == ((), [550.0])
        assert "reading" not in found.wrong

    def test_reading_beyond_the_register(self, story):
        story.read()
        small = replace(GARDEN, meter=MeterPlan(capacity=50_000.0, smallest_digit=1.0, low_flow_limit=30.0))
        assert [odd.why for odd in told(story, small).odd] == ["beyond the register"]
        assert inputs_of(story, small).meter.low_flow_limit == 30.0

    def test_same_moment_twice(self, story):
        story.read("low bed")
        story.read("tall bed")
        assert told(story).odd == ()
        story.use(50.0)
        story.read()
        assert [odd.why for odd in told(story).odd] == ["two at once"]

    @given(st.lists(st.tuples(st.floats(1, 10_000), st.floats(0, 1)), min_size=2, max_size=25), st.data())
    def test_one_slip_below_all_is_the_one_left_out(self, steps, data):
        meter = Meter(capacity=1e12, smallest_digit=1.0)
        at, volume = START, 200_000.0
        readings = [MeterReading(at, volume)]
        for minutes, share in steps:
            at += timedelta(minutes=minutes)
            volume += share * minutes * 4_000.0 / 60.0
            readings.append(MeterReading(at, volume))
        assert fit_register(readings, meter).kept == tuple(range(len(readings)))
        slip = data.draw(st.integers(1, len(readings) - 2))
        readings[slip] = replace(readings[slip], volume=1_000.0)
        assert [odd.number for odd in fit_register(readings, meter).odd] == [slip]


class TestDrift:
    def test_slow_clog_is_seen_with_its_beginning(self, story):
        story.rounds(3)
        for n in range(9):
            story.round(bean_row=1.0 - 0.012 * (n + 1))
        found = told(story)
        alarm = next(drift.alarm for drift in found.drifts if drift.bed == "bean row")
        assert (alarm.direction, alarm.standing) == ("lower", True)
        assert alarm.since > START + timedelta(days=3 * 14 - 1)
        assert all(drift.alarm is None for drift in found.drifts if drift.bed != "bean row")
        assert found.drift_plan.false_alarms <= 0.2

    def test_mended_bed_is_back_at_its_baseline(self, story):
        story.rounds(4)
        story.round(bean_row=0.7)
        assert "drift" in told(story).wrong
        story.rounds(2)
        found = told(story)
        alarm = next(drift.alarm for drift in found.drifts if drift.bed == "bean row")
        assert not alarm.standing
        assert found.wrong == ()

    def test_no_drift_before_two_tests_follow_the_baseline(self, story):
        story.rounds(4)
        found = told(story)
        assert (found.drifts, found.drift_plan) == ((), None)


def test_nothing_recorded_says_nothing():
    found = overview(comparison_inputs(GARDEN, NOTHING))
    assert (found.wrong, found.rounds, found.water, found.leak) == ((), (), (), None)


def test_one_reading_says_nothing(story):
    story.read()
    found = told(story)
    assert (found.wrong, found.water, found.inputs.whole) == ((), (), 1)


@given(
    st.lists(st.tuples(st.floats(0, 2e5), st.integers(0, 5_000), st.sampled_from([None, *BEDS])), max_size=30)
)
def test_no_heap_of_readings_brings_it_down(steps):
    """Whatever is written, each number that comes out is one."""
    at, readings = START, []
    for volume, minutes, bed in steps:
        at += timedelta(minutes=minutes)
        readings.append(TaggedReading(MeterReading(at, volume), bed, json.dumps(volume)))
    found = overview(comparison_inputs(HOUSE, Records(tuple(readings), (), (), (), {}, ())))
    assert all(math.isfinite(check.rest) and check.limit > 0.0 for check in found.water)
    assert len(found.odd) + len(found.inputs.register.kept) == len(readings)
