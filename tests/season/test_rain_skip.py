"""Until when no run is needed after rain: plain arithmetic, and that more rain never brings a run forward."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.garden.plan import SoilState, WateringWindow
from scheduler.season.ahead import course_with, expected_weather, growth_ahead, look_ahead
from scheduler.season.field import FieldNotes, RunNote
from scheduler.season.rain_skip import first_passed, last_run_day, skip_after_rain
from scheduler.season.run import run_week
from scheduler.season.setup import set_up
from tests.builders import EVERY_DAY, make_bed, make_daily, make_garden, make_planting
from tests.season.gardens import gardens

ON = date(2025, 7, 14)
DAILY = make_daily()
NOTHING = FieldNotes()


def after(garden, gauge, *, under=None, notes=NOTHING, on=ON, daily=DAILY, n_days=60):
    setup = set_up(garden, daily, notes)
    result = run_week(garden, daily, on=on, notes=notes)
    return skip_after_rain(setup, result, notes, gauge=gauge, under_leaves=under or {}, n_days=n_days)


def dry_garden(**changes):
    """Two beds that lack 12 mm on the morning, one below leaves that let half of the rain through."""
    beds = [make_bed("open"), make_bed("covered", zone="two", rain_share=0.5)]
    return make_garden(beds, soil_states=(SoilState(ON, 12.0, None),), **changes)


def test_what_reaches_is_kept_and_runs_through():
    skip = after(dry_garden(), 18.0)
    assert skip.counts == 18.0
    assert skip.reached.tolist() == [18.0, 9.0]
    assert skip.lacked == pytest.approx([12.0, 12.0])
    assert skip.stored == pytest.approx([12.0, 9.0])
    assert skip.drained == pytest.approx([6.0, 0.0])


def test_a_can_below_the_leaves_goes_before_the_share_of_the_plan():
    skip = after(dry_garden(), 18.0, under={1: 4.0})
    assert skip.reached.tolist() == [18.0, 4.0]
    assert after(dry_garden(), 0.0, under={1: 0.0}).reached.tolist() == [0.0, 0.0]


def test_small_rain_counts_as_nothing():
    reference_et = after(dry_garden(), 5.0).reference_et
    assert reference_et == pytest.approx(float(DAILY.reference_et[DAILY.dates == np.datetime64(ON)][0]))
    trifle = after(dry_garden(), 0.19 * reference_et, under={1: 0.1})
    assert trifle.counts == 0.0
    assert trifle.reached.tolist() == [0.0, 0.0]
    assert trifle.run_again.tolist() == trifle.run_without.tolist()
    assert after(dry_garden(), 0.21 * reference_et).counts > 0.0


def test_days_are_those_of_a_balance_written_out():
    """One bed, single coefficient, no more rain: a loop by hand finds the same day."""
    garden = dry_garden()
    garden = replace(garden, planning=replace(garden.planning, normal_rain=0.0))
    setup, result = set_up(garden, DAILY, NOTHING), run_week(garden, DAILY, on=ON)
    met = expected_weather(setup, ON, 60).met
    ahead = look_ahead(setup, result, met, growth=growth_ahead(setup, ON, 60))
    for gauge in (2.0, 5.0, 9.0, 14.0, 40.0):
        skip = after(garden, gauge)
        for bed, share in enumerate((1.0, 0.5)):
            depletion, days = 12.0 - min(gauge * share, 12.0), 0
            while True:
                taw, raw = (float(part[days, bed]) for part in (ahead.conditions.taw, ahead.conditions.raw))
                stress = min(1.0, max(0.0, (taw - depletion) / (taw - raw)))
                use = float(ahead.conditions.basal[days, bed])
                if days == 0:  # The day of the rain goes by what was observed of it.
                    use *= skip.reference_et / float(met.reference_et[0])
                depletion += stress * use
                if depletion > float(ahead.limit[days, bed]) + 1e-9:
                    break
                days += 1
            # Nearly always the same: p moves a little with what was observed on the first day.
            assert abs(int(skip.run_again[bed]) - days) <= (gauge * share < 12.0)


@settings(max_examples=40)
@given(
    garden=gardens(n_beds=2),
    rains=st.lists(st.floats(0.0, 80.0), min_size=2, max_size=5),
    on=st.integers(35, 60).map(lambda day: date(2025, 5, 1) + timedelta(days=day)),
)
def test_more_rain_never_brings_a_run_forward(garden, rains, on):
    found = [after(garden, depth, on=on, n_days=20) for depth in sorted(rains)]
    for less, more in zip(found, found[1:], strict=False):
        assert np.all(less.run_again <= more.run_again)
    for skip in found:
        assert np.all(skip.run_without <= skip.run_again)
        np.testing.assert_allclose(skip.stored + skip.drained, skip.reached)
        assert np.all(skip.stored <= skip.lacked + 1e-9)
        assert np.all(skip.drained >= 0.0)


@pytest.mark.parametrize("depletion", [9.0, 14.0, 19.0])
def test_rain_that_the_roots_hold_is_the_kernels_own(depletion):
    """With room for all of it the rain may as well be a day's rain of the balance, surface and all."""
    garden = replace(dry_garden(), soil_states=(SoilState(ON, depletion, None),))
    garden = replace(garden, planning=replace(garden.planning, coefficient="dual"))
    daily = make_daily(n_days=int((np.datetime64(ON) - np.datetime64("2023-01-01")).astype(int)))
    setup, result = set_up(garden, daily, NOTHING), run_week(garden, daily, on=ON)
    met = expected_weather(setup, ON, 30).met
    ahead = look_ahead(setup, result, met, growth=growth_ahead(setup, ON, 30))
    shares = np.array([1.0, 0.5])
    for gauge in np.linspace(1.5, depletion, 12):
        rain = ahead.conditions.rain.copy()
        rain[0] = gauge * shares
        course = course_with(ahead.conditions._replace(rain=rain), result.outlook.state, np.zeros((30, 1)))
        expected = first_passed(course.driest, ahead.limit)
        assert after(garden, float(gauge), daily=daily, n_days=30).run_again.tolist() == expected.tolist()


def test_a_recorded_run_of_the_day_is_water_too():
    ran = FieldNotes(runs=(RunNote(ON, True, bed="open", minutes=90.0),))
    plain, watered = after(dry_garden(), 4.0), after(dry_garden(), 4.0, notes=ran)
    assert watered.ran.tolist() == [90.0, 0.0]
    assert watered.lacked[0] < plain.lacked[0]
    assert watered.run_again[0] > plain.run_again[0]
    assert watered.run_again[1] == plain.run_again[1]
    skipped = FieldNotes(runs=(RunNote(ON, False, bed="open"),))
    assert after(dry_garden(), 4.0, notes=skipped).ran.tolist() == [0.0, 0.0]
    as_advised = FieldNotes(runs=(RunNote(ON, True),))
    plan = run_week(dry_garden(), DAILY, on=ON).plan
    advised = [s.minutes_per_day if s.mask[0] else 0 for s in plan.settings]
    assert any(advised)
    assert after(dry_garden(), 4.0, notes=as_advised).ran.tolist() == advised


def test_first_day_past_the_limit():
    driest = np.array([[1.0, 5.0], [3.0, 5.0], [5.0, 5.0]])
    assert first_passed(driest, np.full((3, 2), 4.0)).tolist() == [2, 0]
    assert first_passed(driest, np.full((3, 2), np.inf)).tolist() == [3, 3]


@given(
    allowed=st.lists(st.booleans(), min_size=1, max_size=14),
    needed=st.integers(0, 14),
    evening=st.booleans(),
)
def test_the_last_allowed_day_in_time(allowed, needed, evening):
    n_days = len(allowed)
    needed = min(needed, n_days)
    found = int(last_run_day(np.array([needed]), np.array(allowed), evening=evening)[0])
    if needed == n_days:
        assert found == n_days
    else:
        latest = needed - evening
        in_time = [day for day in range(n_days) if allowed[day] and day <= latest]
        assert found == (in_time[-1] if in_time else 0)


def test_evening_water_must_come_a_day_before():
    evening = (WateringWindow(EVERY_DAY, time(19, 0), time(22, 0)),)
    morning_skip, evening_skip = after(dry_garden(), 12.0), after(dry_garden(windows=evening), 12.0)
    assert evening_skip.evening
    assert evening_skip.run_again.tolist() == [max(day - 1, 0) for day in morning_skip.run_again]


def test_restricted_days_bring_the_run_forward():
    only = (WateringWindow(("Mon", "Fri"), time(3, 0), time(7, 0)),)
    free, bound = after(dry_garden(), 12.0), after(dry_garden(windows=only), 12.0)
    for any_day, day in zip(free.run_again.tolist(), bound.run_again.tolist(), strict=True):
        weekday = (ON + timedelta(days=day)).strftime("%a")
        assert day <= any_day
        assert weekday in ("Mon", "Fri")
        assert any_day - day < 4


def test_rain_that_drains_leaves_the_date_where_it_was():
    beds = [make_bed(plantings=(make_planting(depletion_fraction=0.5),))]
    garden = make_garden(beds, soil_states=(SoilState(ON, 3.0, None),))
    garden = replace(garden, planning=replace(garden.planning, coefficient="dual"))
    assert after(garden, 3.0).run_again.tolist() == after(garden, 30.0).run_again.tolist()


def test_course_with_is_the_kernel_day_by_day():
    garden = dry_garden()
    setup, result = set_up(garden, DAILY, NOTHING), run_week(garden, DAILY, on=ON)
    met = expected_weather(setup, ON, 5).met
    ahead = look_ahead(setup, result, met, growth=growth_ahead(setup, ON, 5))
    course = course_with(ahead.conditions, result.outlook.state, np.zeros((5, 1)))
    np.testing.assert_allclose(course.driest, result.plan.untouched[:5])
