"""Whether a setting stands: patterns that go on past their week, hours, outlets, and what changes."""

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest

from scheduler.garden.plan import WateringWindow, Zone
from scheduler.season.run import run_week
from scheduler.service.settle import settle
from scheduler.service.standing import Standing, mask_from, read_standing, standing_of, standing_rows
from scheduler.show.week_view import week_report
from scheduler.timetable.patterns import day_patterns
from tests.builders import EVERY_DAY, make_bed, make_daily, make_garden, make_timer

MONDAY = date(2025, 7, 14)
DAY = timedelta(days=1)


def week(garden, on=MONDAY, **changes):
    return run_week(garden, make_daily(forecast_from=on, rain_scale=0.0, **changes), on=on)


def standing(result):
    return {one.zone: standing_of(one, result.on) for one in result.plan.settings}


@pytest.mark.parametrize("choices", [("weekdays",), ("every n days",)])
@pytest.mark.parametrize("later", [1, 2, 6, 7, 9, 30])
def test_every_pattern_of_a_timer_goes_on(choices, later):
    timer = make_timer(day_choices=choices, longest_interval=12)
    for mask, days in day_patterns(MONDAY, [True] * 7, timer):
        setting = Standing("north", 1, days, mask, (300,), 20, MONDAY)
        ahead = mask_from(setting, MONDAY + later * DAY)
        # What a timer does by itself: weekdays come again each week, every n days by the count of days.
        every = int(days.split()[1]) if days.startswith("every ") and days != "every day" else 7
        runs = [day for day in range(7) if mask[day]]
        due = [any((later + day - run) % every == 0 for run in runs) for day in range(7)]
        assert ahead == tuple(due), days


def test_rows_round_trip():
    settings = standing(week(make_garden()))
    assert read_standing(standing_rows(settings.values())) == settings


def test_first_table_changes_everything():
    garden = make_garden()
    settled = settle(garden, week(garden), standing={}, made_on=None)
    (change,) = settled.changes
    assert change.before is None
    assert settled.result is not None
    assert standing_of(settled.result.plan.settings[0], MONDAY) == change.after


def test_kept_setting_is_the_one_that_the_week_shows():
    garden = make_garden()
    first = week(garden)
    for later in range(1, 7):
        on = MONDAY + later * DAY
        settled = settle(garden, week(garden, on), standing=standing(first), made_on=on - DAY)
        shown = settled.result.plan.settings[0]
        if settled.changes:
            continue
        old = standing(first)["one"]
        assert (shown.days, shown.begins, shown.minutes) == (old.days, old.begins, old.minutes)
        assert shown.mask == mask_from(old, on)
        assert settled.standing == (old,)
        plan = settled.result.plan
        # The week's expected deficits follow from the runs that are shown.
        again = settle(garden, settled.result, standing=standing(first), made_on=on - DAY).result.plan
        assert (plan.depletion == again.depletion).all()
        assert (plan.bed_minutes <= shown.minutes_per_day).all()


def test_setting_that_no_longer_keeps_a_bed_is_changed_midweek():
    garden = make_garden()
    fresh = week(garden, MONDAY + DAY)
    too_little = replace(standing(fresh)["one"], minutes=1, since=MONDAY)
    settled = settle(garden, fresh, standing={"one": too_little}, made_on=MONDAY)
    (change,) = settled.changes
    assert change.before == too_little
    assert settled.result.plan.settings == fresh.plan.settings


@pytest.mark.parametrize(
    "changes",
    [
        {"windows": (WateringWindow(EVERY_DAY, time(20), time(23)),)},
        {"zones": (Zone("one", 3, "driest bed"),)},
        {"timer": make_timer(longest_run=5, starts_per_day=3)},
    ],
)
def test_setting_that_the_timer_or_the_hours_no_longer_hold_is_changed(changes):
    before = week(make_garden())
    garden = make_garden(**changes)
    fresh = week(garden, MONDAY + DAY)
    settled = settle(garden, fresh, standing=standing(before), made_on=MONDAY)
    assert len(settled.changes) == 1
    assert settled.result.plan.settings == fresh.plan.settings


def test_zone_that_left_the_plan_is_forgotten():
    beds = (make_bed("a", "one"), make_bed("b", "two"))
    before = week(make_garden(beds))
    garden = make_garden(beds[:1])
    settled = settle(garden, week(garden, MONDAY + DAY), standing=standing(before), made_on=MONDAY)
    assert [one.zone for one in settled.standing] == ["one"]


def test_new_run_that_meets_a_kept_one_renews_both():
    beds = (make_bed("a", "one"), make_bed("b", "two"))
    garden = make_garden(beds)
    fresh = week(garden, MONDAY + DAY)
    settings = standing(fresh)
    one, two = fresh.plan.settings
    # Zone one stands where the new table puts zone two; zone two has to change.
    kept = replace(settings["one"], begins=two.begins, minutes=two.minutes, mask=two.mask, days=two.days)
    if not two.begins:
        raise AssertionError("the invented garden must water both zones")
    poor = replace(settings["two"], minutes=1)
    settled = settle(garden, fresh, standing={"one": kept, "two": poor}, made_on=MONDAY)
    assert settled.result.plan.settings == fresh.plan.settings
    assert [change.after.zone for change in settled.changes][-1] == "two"
    assert one.begins != two.begins


def test_start_times_alone_are_no_reason():
    garden = make_garden()
    fresh = week(garden)
    earlier = replace(standing(fresh)["one"], begins=(200,))
    settled = settle(garden, fresh, standing={"one": earlier}, made_on=MONDAY - 7 * DAY)
    assert settled.changes == ()
    assert settled.result.plan.settings[0].begins == (200,)


def test_on_monday_minutes_beyond_the_step_are_a_change():
    garden = make_garden()
    fresh = week(garden)
    setting = fresh.plan.settings[0]
    for more, changed in ((1, False), (2, True)):
        old = replace(standing(fresh)["one"], minutes=setting.minutes + more)
        settled = settle(garden, fresh, standing={"one": old}, made_on=MONDAY - DAY)
        assert bool(settled.changes) is changed
        # Later in the week only a bed that falls short is a reason.
        assert settle(garden, fresh, standing={"one": old}, made_on=MONDAY).changes == ()


def test_reserve_is_there_to_be_used_until_monday():
    garden = make_garden()
    first = week(garden)
    less = replace(standing(first)["one"], minutes=round(0.8 * first.plan.settings[0].minutes))
    kept = 0
    for later in range(1, 7):
        on = MONDAY + later * DAY
        settled = settle(garden, week(garden, on), standing={"one": less}, made_on=on - DAY)
        shown = settled.result.plan
        if not settled.changes:
            kept += 1
            days = min(3, 7 - later)
            over = shown.depletion - np.maximum(
                settled.result.outlook.conditions.raw, settled.result.outlook.limit
            )
            assert (np.maximum(over[:days], 0.0).sum(axis=0) <= 0.5 + 1e-9).all()
    assert kept
    monday = settle(garden, first, standing={"one": less}, made_on=MONDAY - DAY)
    assert len(monday.changes) == 1


def test_setting_that_a_change_of_clocks_would_harm_is_changed():
    # In New Zealand 02:00 to 03:00 never came on Sunday 28 September 2025.
    on = date(2025, 9, 23)
    plain = make_garden(windows=(WateringWindow(EVERY_DAY, time(0), time(5)),))
    there = replace(plain, site=replace(plain.site, timezone="Pacific/Auckland"))
    lost = Standing("one", 1, "every day", (True,) * 7, (150,), 60, on - DAY)
    for garden, changes in ((plain, 0), (there, 1)):
        settled = settle(garden, week(garden, on), standing={"one": lost}, made_on=on - DAY)
        assert len(settled.changes) == changes
    assert settled.changes[0].after.begins != lost.begins


def test_a_plan_with_kept_settings_tells_their_own_score_and_that_they_were_kept():
    garden = make_garden()
    first = week(garden)
    fresh = week(garden, MONDAY + DAY)
    plan = settle(garden, fresh, standing=standing(first), made_on=MONDAY).result.plan
    (setting,) = plan.settings
    assert plan.kept == (setting.zone,)
    assert setting.minutes != fresh.plan.settings[0].minutes
    assert plan.bound == min(fresh.plan.bound, plan.score)
    run_days = sum(setting.mask)
    assert plan.score.runs == run_days * len(setting.begins)
    litres = run_days * setting.minutes_per_day / 60.0 * setting.flow
    assert plan.score.water == pytest.approx(1000.0 * litres, abs=1.0)
    assert plan.score.shortage == pytest.approx(1000.0 * setting.shortage, abs=1.0)
    assert not plan.proven
    report = week_report(garden, make_daily(), result=replace(fresh, plan=plan), system="metric")
    assert not any(line.startswith("Why these days") for line in report.lines)
    assert "was kept" in report.notes[0]
