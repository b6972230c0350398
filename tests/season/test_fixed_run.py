"""Seasons under timetables that are set once and left."""

from datetime import date, time, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.garden.plan import SoilState
from scheduler.season.fixed_run import live_by, open_season, run_fixed, run_minutes
from scheduler.season.run import run_season
from scheduler.timetable.fixed import FixedSetting
from scheduler.timetable.windows import weekday
from tests.builders import make_bed, make_daily, make_garden, make_planting
from tests.season.gardens import gardens, weathers
from tests.timetable.cases import window

BEGINS = date(2025, 4, 2)  # A Wednesday, so that the first week is short.
DAILY = make_daily(date(2023, 1, 1), 1461)
LATE = make_planting(planted=date(2025, 6, 20), removed=date(2025, 8, 3))
GARDEN = make_garden(
    [make_bed("a"), make_bed("b", zone="two", plantings=(LATE,)), make_bed("c", soil_depth=0.15)],
    soil_states=(SoilState(BEGINS, "full", None),),
)


def as_fixed(plans):
    """Return the settings of weekly plans as settings that each hold until the next."""
    made = []
    for plan in plans:
        days = [plan.first + timedelta(days=n) for n in range(7)]
        for setting in plan.settings:
            on = frozenset(weekday(day) for day, runs in zip(days, setting.mask, strict=True) if runs)
            made.append(
                FixedSetting(setting.zone, plan.first, on or None, len(setting.begins), setting.minutes)
            )
    return made


def same(ours, fixed):
    assert fixed.plans == ()
    for name in ("minutes", "depletion", "below", "applied", "litres", "transpiration", "evening"):
        assert (getattr(ours, name) == getattr(fixed, name)).all(), name


def closes(result):
    """Check that water is neither made nor lost on any day, to 1e-9 mm."""
    missing = result.depletion + result.below
    before = result.mornings.depletion + result.mornings.below
    change = before - missing  # In storage.
    out = result.et_actual + result.deep_percolation
    assert np.abs(result.applied + result.rain - out - change).max() < 1e-9
    carried = np.vstack([np.zeros(missing.shape[1]), missing[:-1]])
    assert np.abs(before - carried - result.correction).max() < 1e-9


def every_day(minutes, garden, starts=1):
    begins = min(state.on for state in garden.soil_states)
    return [FixedSetting(zone.name, begins, 1, starts, minutes) for zone in garden.zones]


def test_our_own_weekly_plans_as_fixed_settings_are_the_season_itself():
    ours = run_season(GARDEN, DAILY)
    assert ours.minutes.sum() > 1000.0
    same(ours, run_fixed(GARDEN, DAILY, settings=as_fixed(ours.plans)))


def test_evening_water_comes_after_the_days_use_as_in_a_planned_season():
    evening = make_garden(windows=(window(time(19, 0), time(22, 0)),))
    ours = run_season(evening, DAILY)
    assert ours.evening.all()
    fixed = run_fixed(evening, DAILY, settings=as_fixed(ours.plans))
    same(ours, fixed)
    closes(fixed)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(gardens(n_beds=2), weathers())
def test_weekly_plans_of_any_garden_replay_as_fixed_settings(garden, daily):
    ours = run_season(garden, daily)
    same(ours, run_fixed(garden, daily, settings=as_fixed(ours.plans)))


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(gardens(n_beds=2), weathers(), st.integers(0, 90), st.integers(1, 2))
def test_water_closes_under_any_fixed_timetable(garden, daily, minutes, starts):
    closes(run_fixed(garden, daily, settings=every_day(minutes, garden, starts)))


def test_valves_are_shut_where_nothing_grows_and_open_for_the_whole_run_elsewhere():
    fixed = run_fixed(GARDEN, DAILY, settings=every_day(20, GARDEN))
    growing = fixed.growth.in_use
    assert not growing.all()
    assert (fixed.minutes == np.where(growing, 20.0, 0.0)).all()
    closes(fixed)


def test_a_season_over_the_new_year_keeps_counting():
    winter = make_planting(planted=date(2024, 11, 1), removed=date(2025, 3, 10))
    garden = make_garden(
        [make_bed(plantings=(winter,))], soil_states=(SoilState(date(2024, 11, 1), "full", None),)
    )
    fixed = run_fixed(garden, DAILY, settings=[FixedSetting("one", date(2024, 11, 1), 3, 1, 9)])
    on = fixed.dates[fixed.minutes[:, 0] > 0]
    assert on[0] == np.datetime64("2024-11-01")
    assert np.datetime64("2024-12-31") in on  # 60 days on; then 3 Jan.
    assert (np.diff(on).astype(int) == 3).all()


def test_minutes_given_for_each_day_and_bed_are_taken_as_they_are():
    season = open_season(GARDEN, DAILY)
    given_minutes = np.random.default_rng(3).uniform(0.0, 30.0, season.in_use.shape)
    result = run_minutes(GARDEN, DAILY, minutes=given_minutes)
    assert (result.minutes == given_minutes).all()
    assert result.plans == ()
    closes(result)
    fixed = run_fixed(GARDEN, DAILY, settings=every_day(20, GARDEN))
    same(fixed, live_by(season, fixed.minutes))


@pytest.mark.parametrize("bad", [-1.0, np.nan, np.inf])
def test_minutes_that_are_no_minutes_are_refused(bad):
    season = open_season(GARDEN, DAILY)
    wrong = np.zeros(season.in_use.shape)
    wrong[3, 1] = bad
    with pytest.raises(ValueError, match="all finite and none negative"):
        live_by(season, wrong)
    with pytest.raises(ValueError, match="minutes of shape"):
        live_by(season, np.zeros((3, 3)))
