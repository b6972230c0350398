"""Growth stages by warmth: what a cold spring does, and that nobody knows warmth to come."""

from dataclasses import fields, replace
from datetime import date, timedelta

import numpy as np
import pytest

from scheduler.garden.plan import HeatStages, SoilState
from scheduler.season.growth import bed_curves
from scheduler.season.other_year import in_year
from scheduler.season.run import run_season, run_week
from scheduler.season.stages import Warmth, growth_progress, stage_ends
from scheduler.weather.normals import day_of_year_normals
from tests.builders import make_bed, make_daily, make_garden, make_planting
from tests.season.gardens import exchanged

PLANTED = date(2025, 5, 10)
BEGINS = date(2025, 3, 31)
DAILY = make_daily(date(2023, 1, 1), 1461)
#: Days of 15 and 25 degC give 10 degC d above 10 degC: the calendar stages 30, 40, 45, 30 of the builder.
STEADY = replace(DAILY, tmax=np.full(1461, 25.0), tmin=np.full(1461, 15.0))
HEAT = HeatStages(base=10.0, upper=None, initial=300.0, development=400.0, mid=450.0, late=300.0)
BY_HEAT = make_planting(heat=HEAT)
END = date(2026, 1, 1)


def days(begins, count):
    return np.datetime64(begins) + np.arange(count)


def warmth(daily, until=END):
    return Warmth(daily, day_of_year_normals(daily), until)


def curve(planting, daily, count=150):
    """Return the curve of a planting alone in its bed from the day it was planted."""
    known = warmth(daily)
    bed = make_bed(plantings=(planting,))
    dates = days(planting.planted, count)
    return bed_curves(bed, dates, normals=known.normals, warmth=known, latitude=43.5)[1][0]


def colder(daily, by, begins, ends):
    """Return the record with some days colder by so many degC."""
    here = (daily.dates >= np.datetime64(begins)) & (daily.dates < np.datetime64(ends))
    return replace(daily, tmax=daily.tmax - by * here, tmin=daily.tmin - by * here)


# --- constant warmth


def test_constant_warmth_is_a_calendar():
    """Also where the climate differs from day to day, so that the days of a stage must be the same."""
    daily = replace(STEADY, wind_2m=np.linspace(1.0, 6.0, 1461), rh_min=np.linspace(70.0, 25.0, 1461))
    by_heat, by_days = curve(BY_HEAT, daily), curve(make_planting(), daily)
    assert by_days.kc_mid > 1.15
    for field in fields(by_days):
        one, other = getattr(by_heat, field.name), getattr(by_days, field.name)
        assert one == pytest.approx(other, rel=1e-9), field.name


def test_stages_end_on_the_day_that_brings_the_last_of_their_warmth():
    normals = day_of_year_normals(STEADY)
    assert stage_ends(BY_HEAT, normals) == stage_ends(make_planting(), normals) == (30, 70, 115, 145)
    # 7 degC d short of 300: three tenths of a day, so it takes until the 31st.
    longer = replace(BY_HEAT, heat=replace(HEAT, initial=303.0))
    assert stage_ends(longer, normals)[0] == 31


def test_a_season_of_constant_warmth_is_that_of_the_calendar():
    def season(planting):
        garden = make_garden(
            [make_bed(plantings=(planting,))], soil_states=(SoilState(BEGINS, "full", None),)
        )
        return run_season(garden, STEADY)

    by_heat, by_days = season(BY_HEAT), season(make_planting())
    assert by_heat.depletion == pytest.approx(by_days.depletion, abs=1e-9)
    assert [plan.settings for plan in by_heat.plans] == [plan.settings for plan in by_days.plans]


# --- warmth that differs


def test_a_cold_spring_delays_by_the_warmth_it_lacks():
    """Twenty days of 5 degC d in place of 10: all that follows comes ten days later."""
    cold = colder(STEADY, 5.0, PLANTED, PLANTED + timedelta(days=20))
    usual, late = curve(BY_HEAT, STEADY), curve(BY_HEAT, cold)
    assert late.basal[20:] == pytest.approx(usual.basal[10:-10])
    assert late.root[60:] == pytest.approx(usual.root[50:-10])
    assert np.all(late.basal[:70] <= usual.basal[:70])


def test_a_cold_spring_saves_water_and_a_calendar_does_not_see_it():
    cold = colder(DAILY, 6.0, date(2025, 5, 10), date(2025, 6, 30))
    # Some 1000 degC d from planting to the end of September in this climate.
    heat = HeatStages(10.0, None, 120.0, 250.0, 450.0, 300.0)
    states = (SoilState(BEGINS, "full", None),)

    def used(planting, daily):
        garden = make_garden([make_bed(plantings=(planting,))], soil_states=states)
        result = run_season(garden, daily)
        june = (result.dates >= np.datetime64("2025-06-01")) & (result.dates < np.datetime64("2025-07-01"))
        return result.et_actual[june].sum()

    planting = make_planting(heat=heat)
    assert used(planting, cold) < 0.9 * used(planting, DAILY)
    assert used(make_planting(), cold) == pytest.approx(used(make_planting(), DAILY))


def test_heat_above_the_upper_temperature_brings_nothing():
    hot = replace(STEADY, tmax=np.full(1461, 39.0))
    held = replace(BY_HEAT, heat=replace(HEAT, upper=25.0))
    assert curve(held, hot).basal == pytest.approx(curve(BY_HEAT, STEADY).basal)
    assert curve(BY_HEAT, hot).basal[40] > curve(held, hot).basal[40]


def test_a_crop_that_never_gets_its_warmth_stays_young():
    frost = replace(STEADY, tmax=np.full(1461, 9.0), tmin=np.full(1461, 1.0))
    young = curve(BY_HEAT, frost)
    assert young.basal == pytest.approx(0.15)
    assert young.root == pytest.approx(0.15)
    garden = make_garden([make_bed(plantings=(BY_HEAT,))], soil_states=(SoilState(BEGINS, "full", None),))
    assert np.isfinite(run_season(garden, frost).depletion).all()


def test_before_it_is_planted_a_crop_gathers_no_warmth():
    dates = days(PLANTED - timedelta(days=5), 7)
    development, late = growth_progress(
        replace(BY_HEAT, heat=replace(HEAT, initial=5.0)), dates, warmth=warmth(STEADY)
    )
    # On its first day 5 degC d of the 400 of development are gathered, on its second 15.
    assert development.tolist() == pytest.approx([0.0] * 5 + [5.0 / 400.0, 15.0 / 400.0])
    assert late.tolist() == [0.0] * 7


# --- what is known when


def test_days_to_come_are_warm_as_usual_and_as_foretold():
    until = PLANTED + timedelta(days=40)
    cold = colder(STEADY, 5.0, date(2025, 1, 1), END)
    dates = days(PLANTED, 60)
    normal = day_of_year_normals(STEADY)
    known = growth_progress(BY_HEAT, dates, warmth=Warmth(cold, normal, until))[0]
    # 40 days of 5 degC d, then usual ones: 300 are reached on day 50.
    assert known[49:51].tolist() == pytest.approx([0.0, 10.0 / 400.0])
    forecast = (cold.dates >= np.datetime64(until)) & (cold.dates < np.datetime64(until) + 6)
    foretold = growth_progress(
        BY_HEAT, dates, warmth=Warmth(replace(cold, forecast=forecast), normal, until)
    )[0]
    # Six more of 5: day 53.
    assert foretold[52:54].tolist() == pytest.approx([0.0, 10.0 / 400.0])


def weathered(seed=3):
    """Return four years whose temperatures differ from year to year, with rain."""
    rng = np.random.default_rng(seed)
    shift = rng.normal(0.0, 3.0, 1461)
    return replace(DAILY, tmax=DAILY.tmax + shift, tmin=DAILY.tmin + shift)


HEATED = make_garden(
    [make_bed(plantings=(make_planting(heat=HeatStages(8.0, 30.0, 150.0, 300.0, 500.0, 300.0)),))],
    soil_states=(SoilState(BEGINS, "full", None),),
)


def test_no_plan_of_a_season_sees_the_warmth_after_it():
    daily = weathered()
    week = 11  # Monday 16 June: in development.
    later = BEGINS + timedelta(days=7 * week)
    warmer = exchanged(daily, later, other_year=2026)
    first, second = run_season(HEATED, daily), run_season(HEATED, warmer)
    assert np.abs(second.growth.basal - first.growth.basal)[7 * week :].max() > 0.01
    for plan, other in zip(first.plans[: week + 1], second.plans[: week + 1], strict=True):
        assert plan.settings == other.settings
        assert plan.depletion == pytest.approx(other.depletion, abs=1e-9)


@pytest.mark.parametrize("week", [6, 9, 11, 14, 20])
def test_a_week_by_heat_is_that_week_of_the_season(week):
    daily = weathered()
    season, on = run_season(HEATED, daily), BEGINS + timedelta(days=7 * week)
    result = run_week(HEATED, daily, on=on)
    assert season.plans[week].settings == result.plan.settings
    assert season.plans[week].depletion == pytest.approx(result.plan.depletion, abs=1e-9)


def test_another_year_grows_by_its_own_warmth():
    daily = weathered()
    other = in_year(HEATED, 2024)
    assert other.beds[0].plantings[0].heat == HEATED.beds[0].plantings[0].heat
    first, second = run_season(HEATED, daily), run_season(other, daily)
    june = slice((date(2025, 6, 1) - BEGINS).days, (date(2025, 6, 15) - BEGINS).days)
    assert np.abs(first.growth.basal[june] - second.growth.basal[june]).max() > 0.01
