"""Recorded nights and weeks: where water is lost while nothing runs, and what the whole garden took."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from scheduler.ledger.entries import Run, Valve
from scheduler.reconcile.overview import overview
from tests.reconcile.stories import (
    ALL_BEDS,
    BEDS,
    EMITTER,
    GARDEN,
    HOUSE,
    START,
    inputs_of,
    told,
)


class TestNight:
    def leak_by_night(self, story, litres=90.0):
        story.wait(hours=4)
        story.read()
        story.wait(hours=9)
        story.use(litres)
        story.read()

    def test_leak_upstream_of_the_timer(self, story):
        story.advise(story.today, start_min=600)
        self.leak_by_night(story)
        story.wait(hours=11)
        story.valves("shut")
        self.leak_by_night(story)
        found = told(story)
        timer, valves = found.leak.segments
        assert (timer.where, timer.verdict) == ("house and garden tap to timer", "leak")
        assert timer.loss == pytest.approx(240.0)
        assert (valves.where, valves.verdict) == ("timer to bed valves", "none seen")
        assert "leak" in found.wrong

    def test_leak_between_timer_and_valves(self, story):
        story.advise(story.today, start_min=600)
        self.leak_by_night(story, 0.0)
        story.wait(hours=11)
        story.valves("shut")
        self.leak_by_night(story)
        assert told(story).leak.first_look == "timer to bed valves"

    def test_house_of_the_plan_hides_a_small_loss(self, story):
        story.valves("shut")
        self.leak_by_night(story, 6.0)
        assert told(story).leak.first_look
        assert not told(story, HOUSE).leak.first_look

    def test_night_with_unknown_runs_is_no_test(self, story):
        self.leak_by_night(story)
        assert told(story).leak is None

    def test_night_with_a_run_in_it_is_no_test(self, story):
        story.advise(story.today, start_min=300)
        self.leak_by_night(story)
        assert told(story).leak is None

    def test_skipped_days_leave_the_timer_shut(self, story):
        for n in range(2):
            story.keep(Run(story.today + timedelta(days=n), "skipped"))
        self.leak_by_night(story)
        assert [step.shut for step in inputs_of(story).leak_steps] == ["timer"]

    def test_day_is_no_night(self, story):
        story.advise(story.today, start_min=300)
        story.wait(hours=-8)
        self.leak_by_night(story)
        assert told(story).leak is None

    @pytest.mark.parametrize("note", [("low bed", "open", 1), ("low bed", "open", -1), (None, "shut", -40)])
    def test_a_valve_open_or_long_shut_is_no_test(self, story, note):
        bed, state, hours = note
        shift = -40 if bed is None else -2
        evening = START + timedelta(hours=4)
        story.keep(*(Valve(evening + timedelta(hours=shift), name, "shut") for name in BEDS))
        if bed is not None:
            story.keep(Valve(evening + timedelta(hours=hours), bed, state))
        self.leak_by_night(story)
        assert told(story).leak is None


class TestWholeGarden:
    def week(self, story, *, extra=0.0, runs=7):
        story.advise(story.today, minutes=30)
        story.read()
        story.use(7 * 400.0 + runs * ALL_BEDS * 0.5 + extra)
        story.wait(days=7)

    def last(self, story, garden=HOUSE):
        story.read()
        return told(story, garden).water[-1]

    def test_runs_and_house_explain_the_water(self, story):
        self.week(story)
        self.week(story)
        story.advise(story.today)
        check = self.last(story)
        assert check.verdict == "fits"
        assert check.runs == pytest.approx(7 * ALL_BEDS * 0.5)
        assert check.house == pytest.approx(2_800.0)
        assert (check.span.recorded, check.span.advised, check.span.unknown) == (0, 8, 0)

    @pytest.mark.parametrize(("extra", "verdict"), [(1_500.0, "more"), (-1_500.0, "less")])
    def test_more_and_less_than_explained(self, story, extra, verdict):
        self.week(story, extra=extra)
        story.advise(story.today)
        check = self.last(story)
        assert check.verdict == verdict
        assert check.rest == pytest.approx(extra, abs=1.0)
        assert told(story, HOUSE).wrong == ("water",)

    def test_unknown_house_explains_any_excess(self, story):
        self.week(story, extra=1_500.0)
        story.advise(story.today)
        assert self.last(story, GARDEN).verdict == "cannot tell"

    def test_lack_of_water_shows_without_the_house(self, story):
        story.advise(story.today)
        story.read()
        story.use(100.0)
        story.wait(days=7)
        assert self.last(story, GARDEN).verdict == "less"

    def test_few_unknown_days_are_bounded_and_many_are_not(self, story):
        self.week(story)
        check = self.last(story)
        assert (check.span.unknown, check.span.guessed, check.verdict) == (1, True, "fits")
        story.wait(days=7)
        story.use(2_800.0)
        check = self.last(story)
        assert (check.span.unknown, check.span.guessed, check.verdict) == (8, False, "cannot tell")

    def test_advice_for_a_zone_that_the_plan_has_not_is_no_knowledge(self, story):
        story.zone = "old zone"
        self.week(story)
        story.advise(story.today)
        check = self.last(story)
        assert (check.span.advised, check.span.unknown, check.verdict) == (0, 8, "cannot tell")

    def test_recorded_runs_take_the_place_of_advice(self, story):
        first = story.today
        story.keep(
            Run(first + timedelta(days=1), "skipped"),
            Run(first + timedelta(days=2), "ran", bed="tall bed", minutes=60.0),
            Run(first + timedelta(days=3), "ran"),
        )
        story.advise(first, minutes=30)
        story.read()
        story.wait(days=6)
        check = self.last(story)
        day = ALL_BEDS * 0.5
        tall = 38 * EMITTER
        # Six mornings lie in the span; one was skipped, on one the tall bed ran an hour instead of half.
        assert check.runs == pytest.approx(5 * day + tall * 0.5)
        assert check.span.recorded == 3

    def test_run_at_an_unknown_hour_of_a_day_cut_by_the_reading_counts_half(self, story):
        story.keep(*(Run(story.today, "ran", bed=bed, minutes=30.0) for bed in BEDS))
        story.read()
        story.wait(days=2)
        check = self.last(story)
        assert check.span.unsure == pytest.approx(ALL_BEDS * 0.5)
        assert check.runs == pytest.approx(ALL_BEDS * 0.25)

    def test_run_cut_by_a_reading_counts_by_its_minutes(self, story):
        story.advise(story.today, start_min=17 * 60 + 45)
        story.read()
        story.wait(days=1)
        # From 18:00 to 18:00: a quarter hour of the first run, and of the second.
        assert self.last(story).runs == pytest.approx(ALL_BEDS * 0.5)

    def test_bed_that_is_shut_takes_no_water(self, story):
        story.keep(Valve(START, "tall bed", "shut"))
        story.advise(story.today)
        story.read()
        story.wait(days=7)
        assert self.last(story).span.litres["tall bed"] == 0.0

    def test_all_valves_shut_is_a_leak_test_and_no_way_of_watering(self, story):
        story.valves("shut")
        story.advise(story.today)
        story.read()
        story.wait(days=7)
        assert self.last(story).runs > 0.0

    def test_measured_baseline_stands_for_the_flow(self, story):
        for _ in range(4):
            story.round(share=0.9)
        story.advise(story.today)
        story.read()
        story.wait(days=7)
        story.advise(story.today)
        check = self.last(story)
        assert check.runs == pytest.approx(7 * 0.9 * ALL_BEDS * 0.5, rel=0.02)

    def test_clock_change_moves_no_run(self, story):
        """A run at 05:00 of the clock lies in the day of 23 hours like in any other."""
        zone = ZoneInfo("Europe/Lisbon")
        lisbon = replace(HOUSE, site=replace(HOUSE.site, timezone="Europe/Lisbon"))
        story.now = datetime(2026, 3, 28, 18, tzinfo=zone)
        story.advise(date(2026, 3, 28), start_min=300)
        story.read()
        story.now = datetime(2026, 3, 30, 18, tzinfo=zone)
        story.read()
        (check,) = overview(inputs_of(story, lisbon, zone)).water
        assert check.span.metered.minutes == pytest.approx(47 * 60)
        assert check.runs == pytest.approx(2 * ALL_BEDS * 0.5)
