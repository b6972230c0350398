"""A hot spell in a constructed forecast: its days, what fails, what to set, and that none is invented."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.garden.plan import WateringWindow
from scheduler.season.ahead import course_with
from scheduler.season.days import catch_up_limit
from scheduler.season.field import FieldNotes
from scheduler.season.heat import hot_runs, look_for_heat, spell_of
from scheduler.season.heat_days import DAYS_SEEN, heat_ahead
from scheduler.season.run import run_week
from scheduler.season.setup import set_up
from scheduler.season.standing import (
    GivenSetting,
    advised_setting,
    run_days,
    set_by_hand,
    standing_settings,
    water_of,
)
from scheduler.timetable.patterns import DAYS_PER_WEEK, day_patterns
from scheduler.timetable.week import ZoneSetting
from scheduler.weather.normals import day_index, day_of_year_normals
from tests.builders import EVERY_DAY, make_bed, make_daily, make_garden, make_timer

ON = date(2025, 7, 14)


def record(factors, *, rain=0.0):
    """A record that ends the day before ON, and forecast rows with a factor on the usual reference ET."""
    daily = make_daily()
    last = int(np.flatnonzero(daily.dates == np.datetime64(ON))[0])
    rows = slice(0, last + len(factors))
    short = replace(
        daily,
        **{
            name: getattr(daily, name)[rows].copy()
            for name in ("dates", "reference_et", "rain", "wind_2m", "rh_min", "tmax", "tmin", "forecast")
        },
    )
    short.forecast[last:] = True
    normals = day_of_year_normals(short)
    day = day_index(short.dates[last:])
    short.reference_et[last:] = normals.reference_et[day] * np.array(factors)
    # The planner counts half of both kinds of rain.
    short.rain[last:] = normals.rain[day] if rain is None else rain
    short.wind_2m[last:] = normals.wind_2m[day]
    short.rh_min[last:] = normals.rh_min[day]
    return short


def two_zones(depths=(0.28, 0.5), **changes):
    beds = [
        make_bed(f"bed {n}", zone=f"zone {n}", soil_depth=depth, emitters=20)
        for n, depth in enumerate(depths)
    ]
    garden = make_garden(beds, **changes)
    return replace(garden, planning=replace(garden.planning, coefficient="dual"))


def look(garden, daily, given=None):
    notes = FieldNotes()
    setup, result = set_up(garden, daily, notes), run_week(garden, daily, on=ON)
    ahead = heat_ahead(setup, result)
    standing = standing_settings(setup, ahead.usual, result.outlook.state, on=ON)
    if given:
        standing, lost = set_by_hand(setup, ahead.usual, standing, given, on=ON)
        assert not lost
    return setup, result, look_for_heat(setup, result, ahead, standing)


def test_a_known_spell_gives_exactly_its_dates():
    factors = [1.0, 1.0, 1.0, 1.8, 1.9, 1.8, 1.8, 1.0, 1.0, 1.0]
    setup, _, heat = look(two_zones(), record(factors, rain=None))
    assert heat.spell == (3, 6)
    assert np.flatnonzero(heat.hot).tolist() == [3, 4, 5, 6]
    assert heat.failing.any()
    first = [int(np.argmax(heat.heat_excess[:, bed] > 0.0)) for bed in np.flatnonzero(heat.failing)]
    assert all(3 <= day <= 7 for day in first)
    temporary = heat.temporary
    assert temporary is not None
    assert (temporary.first, temporary.last) == (3, 6)
    assert not temporary.goes_on
    assert temporary.litres_more.sum() > 0.0
    assert np.all(temporary.heat_excess[heat.failing] < heat.heat_excess.sum(axis=0)[heat.failing])
    for setting, stands, zone, changed in zip(
        temporary.settings, heat.standing, setup.zones, temporary.changed, strict=True
    ):
        assert changed == bool(heat.failing[zone.index].any())
        if not changed:
            assert (setting.begins, setting.minutes) == (stands.begins, stands.minutes)


@pytest.mark.parametrize("factors", [[1.0] * 10, [1.05] * 10, [0.6] * 7, [1.0, 1.0, 1.08, 1.0, 1.0]])
def test_usual_weeks_have_no_spell(factors):
    _, _, heat = look(two_zones(), record(factors, rain=None))
    assert not heat.hot.any()
    assert heat.spell is None
    assert heat.temporary is None


def test_hot_days_that_the_soil_carries_need_nothing():
    _, _, heat = look(two_zones((0.9, 0.9)), record([1.0, 1.3, 1.0, 1.0, 1.0], rain=None))
    assert heat.hot.any()
    assert not heat.failing.any()
    assert heat.spell is None


def test_without_a_forecast_nothing_is_seen():
    daily = make_daily(n_days=int((np.datetime64(ON) - np.datetime64("2023-01-01")).astype(int)))
    _, _, heat = look(two_zones(), daily)
    assert not heat.ahead.foretold.any()
    assert not heat.failing.any()
    assert heat.spell is None


def test_heat_that_no_setting_helps_changes_nothing():
    garden = two_zones((0.12,))
    factors = [1.0, 1.0, 2.5, 1.0, 1.0, 1.0]
    _, _, heat = look(garden, record(factors, rain=None), {0: GivenSetting((True,) * 7, "every day", 120)})
    assert heat.failing.tolist() == [True]
    assert heat.spell == (2, 2)
    assert heat.temporary is None


def test_a_spell_longer_than_a_week_says_so():
    _, _, heat = look(two_zones(), record([1.0] + [1.7] * 11, rain=None))
    assert heat.spell == (1, 11)
    assert heat.temporary is not None
    assert (heat.temporary.first, heat.temporary.last) == (1, 7)
    assert heat.temporary.goes_on


def test_evening_water_must_come_an_evening_before():
    evening = (WateringWindow(EVERY_DAY, time(19, 0), time(22, 0)),)
    factors = [1.0, 1.0, 1.0, 1.8, 1.9, 1.8, 1.8, 1.0, 1.0, 1.0]
    _, _, heat = look(two_zones(windows=evening), record(factors, rain=None))
    assert heat.spell == (3, 6)
    assert heat.temporary is not None
    assert (heat.temporary.first, heat.temporary.last) == (2, 5)
    assert heat.temporary.heat_excess.sum() < heat.heat_excess.sum()


def test_it_holds_until_the_standing_setting_runs_again_and_gives_no_less():
    thursday = GivenSetting(tuple(day == 3 for day in range(7)), "Thu", 160)
    factors = [0.6, 0.6, 0.6, 1.6, 1.6, 1.6, 1.6, 1.0, 1.0, 1.0]
    garden = two_zones((0.5,), timer=make_timer(longest_run=180))
    _, _, heat = look(garden, record(factors, rain=None), {0: thursday})
    assert heat.spell == (3, 6)
    temporary = heat.temporary
    assert temporary is not None
    (setting,) = temporary.settings
    given = sum(setting.mask[: temporary.last - temporary.first + 1]) * setting.minutes_per_day
    assert given >= 160
    # The next run of the standing setting comes on day 10: nothing is left past the limit up to then.
    assert heat.heat_excess[7:10].sum() > 1.0
    assert temporary.heat_excess[0] < 0.05 * heat.heat_excess.sum()


@settings(max_examples=15)
@given(
    factors=st.lists(st.sampled_from([0.7, 1.0, 1.3, 1.7, 2.2]), min_size=1, max_size=12),
    depths=st.tuples(st.floats(0.15, 0.5), st.floats(0.15, 0.5)),
    days=st.sampled_from([("weekdays",), ("every n days",)]),
)
def test_what_is_set_is_kept_by_the_timer_and_never_worse(factors, depths, days):
    garden = two_zones(depths, timer=make_timer(day_choices=days))
    setup, result, heat = look(garden, record(factors, rain=None))
    if heat.spell is None:
        assert heat.temporary is None
        return
    begin, end = heat.spell
    assert heat.hot[begin]
    assert heat.hot[end]
    if heat.temporary is None:
        return
    temporary = heat.temporary
    assert (temporary.first, temporary.last) == (begin, min(end, begin + DAYS_PER_WEEK - 1))
    assert np.all(temporary.litres_more >= -1e-9)
    assert temporary.heat_excess[heat.failing].sum() < heat.heat_excess[:, heat.failing].sum()
    first = ON + timedelta(days=temporary.first)
    masks = {mask for mask, _ in day_patterns(first, (True,) * DAYS_PER_WEEK, garden.timer)}
    for setting, changed in zip(temporary.settings, temporary.changed, strict=True):
        if changed:
            assert setting.mask in masks
            assert all(at >= 3 * 60 and at + setting.minutes <= 7 * 60 for at in setting.begins)
    # What it says is left is what a plain run of the kernel leaves.
    beds = heat.ahead.forecast
    minutes, _ = water_of(heat.standing, setup.zones, beds, timer=garden.timer, n_days=DAYS_SEEN)
    for setting, zone in zip(temporary.settings, setup.zones, strict=True):
        for day in range(temporary.first, temporary.last + 1):
            minutes[day, zone.index] = setting.mask[day - temporary.first] * setting.minutes_per_day
    driest = course_with(beds.conditions, result.outlook.state, minutes * beds.net_rate).driest
    limit = catch_up_limit(beds.growth, beds.limit, depletion=result.outlook.depletion)
    over = np.maximum(driest - limit, 0.0)
    assert np.all(temporary.heat_excess <= over[heat.ahead.foretold].sum(axis=0) + 1e-6)


def test_a_standing_setting_carries_usual_weather_and_lives_on_no_store():
    garden = two_zones()
    _, result, heat = look(garden, record([1.0], rain=None))
    setup, usual = set_up(garden, record([1.0]), FieldNotes()), heat.ahead.usual
    _, water = water_of(heat.standing, setup.zones, usual, timer=garden.timer, n_days=DAYS_PER_WEEK)
    state = result.outlook.state
    state = state._replace(depletion=np.minimum(state.depletion, usual.limit[0]))
    course = course_with(usual.conditions, state, water)
    assert np.all(course.driest <= usual.limit[:DAYS_PER_WEEK] + 1e-6)
    rain = usual.conditions.rain[:DAYS_PER_WEEK].sum(axis=0)
    # But for the fall of the limit over the week it gives what the beds use less the rain that counts.
    assert np.all(water.sum(axis=0) + rain > 0.85 * course.use.sum(axis=0))


def setting(mask, minutes=10):
    return ZoneSetting("zone", 1, mask, "days", (200,) if any(mask) else (), minutes, 30.0, 0.0)


@pytest.mark.parametrize("interval", range(1, 8))
def test_an_interval_goes_on_over_the_end_of_the_week(interval):
    timer = make_timer(day_choices=("every n days",))
    for offset in range(interval):
        mask = tuple(day % interval == offset for day in range(DAYS_PER_WEEK))
        # Two intervals can give one week: 5 days from the fourth and 6 days from the fourth.
        found = run_days(setting(mask), timer, 21)
        assert found[:DAYS_PER_WEEK].tolist() == list(mask)
        gaps = np.diff(np.flatnonzero(found))
        assert gaps.size == 0 or np.all(gaps == gaps[0])
        if sum(mask) > 1:
            assert found.tolist() == [day % interval == offset for day in range(21)]


def test_weekdays_come_again_each_week():
    mask = (True, False, False, True, False, False, False)
    found = run_days(setting(mask), make_timer(), 21)
    assert np.flatnonzero(found).tolist() == [0, 3, 7, 10, 14, 17]
    assert not run_days(setting((False,) * 7), make_timer(day_choices=("every n days",)), 9).any()


@pytest.mark.parametrize("choices", [("weekdays",), ("every n days",)])
@pytest.mark.parametrize("later", [0, 1, 3, 9])
def test_an_advised_table_stands_on_from_any_later_day(choices, later):
    timer, on = make_timer(day_choices=choices), ON + timedelta(days=later)
    runs = [(ON + timedelta(days=day), start, 12.0) for day in (1, 4) for start in (200, 260)]
    found = advised_setting(runs, timer, first=ON, on=on)
    assert (found.minutes, found.begins) == (24, (200, 260))
    wanted = {ON + timedelta(days=1 + 3 * n) for n in range(9)}
    if choices == ("weekdays",):
        wanted = {ON + timedelta(days=day + 7 * n) for day in (1, 4) for n in range(3)}
    assert [on + timedelta(days=day) in wanted for day in range(7)] == list(found.mask)
    assert found.days == ("every 3 days" if choices != ("weekdays",) else found.days)
    assert set(found.days.split()) == {"Tue", "Fri"} or choices != ("weekdays",)
    none = advised_setting([], timer, first=ON, on=on)
    assert (none.minutes, any(none.mask)) == (0, False)


@given(st.lists(st.booleans(), min_size=1, max_size=14), st.lists(st.booleans(), min_size=14, max_size=14))
def test_spells_are_runs_of_hot_days_with_a_failure_after(hot, fails):
    days, failing = np.array(hot), np.array(fails[: len(hot)])
    runs = hot_runs(days)
    assert sum(end - begin + 1 for begin, end in runs) == days.sum()
    assert all(days[begin : end + 1].all() for begin, end in runs)
    guilty = []
    for begin, end in runs:
        later = [other for other, _ in runs if other > end]
        if failing[begin : later[0] if later else len(hot)].any():
            guilty.append((begin, end))
    expected = (guilty[0][0], guilty[-1][1]) if guilty else None
    assert spell_of(days, failing) == expected
