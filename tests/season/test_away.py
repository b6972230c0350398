"""How long beds last without a run: plain arithmetic, a day-by-day count, and what must never turn round."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.garden.plan import SoilState as StatedSoil
from scheduler.garden.units import convert
from scheduler.season.ahead import course_with, full_beds, normal_weather
from scheduler.season.away import (
    DRY_SPELL_RAIN,
    LONGEST_LOOK,
    days_lasted,
    days_to_half,
    hottest_spell,
    look_at_absence,
)
from scheduler.season.field import FieldNotes
from scheduler.season.run import run_week
from scheduler.season.setup import set_up
from scheduler.water.balance import Conditions, SoilState
from scheduler.water.need import effective_rainfall
from scheduler.weather.normals import day_index
from tests.builders import make_bed, make_daily, make_garden, make_planting

ON = date(2025, 7, 14)
DAILY = make_daily()


def plain_days(use, *, taw, raw, rain=0.0, n_days=60, n_beds=1):
    """Days of one use, rain and soil."""

    def of(value):
        return np.broadcast_to(np.asarray(value, dtype=float), (n_days, n_beds)).copy()

    return Conditions(of(use), of(rain), of(taw), of(raw), of(taw))


def start(conditions, depletion=0.0):
    nothing = np.zeros(conditions.taw.shape[1])
    return SoilState(nothing + depletion, nothing, nothing, nothing, conditions.taw[0])


def lasted(conditions, depletion=0.0):
    n_days, n_beds = conditions.taw.shape
    course = course_with(conditions, start(conditions, depletion), np.zeros((n_days, 1)))
    standing = np.ones((n_days, n_beds), dtype=bool)
    return days_to_half(course.driest, conditions.taw, raw=conditions.raw, standing=standing)


@pytest.mark.parametrize(("feet", "days"), [(1.0, 3), (2.0, 6), (3.0, 9)])
def test_three_days_for_each_foot_of_soil(feet, days):
    """Worked arithmetic without a source: 1.8 in a foot, 0.4 of it easy, 0.24 in a day: 3 days a foot."""
    held = float(convert(1.8 * feet, "in", "water_depth"))
    use = float(convert(0.24, "in", "water_depth"))
    # A hair less, so that rounding does not decide what ends exactly at the limit.
    stress, half = lasted(plain_days(use * (1.0 - 1e-12), taw=held, raw=0.4 * held))
    assert stress.tolist() == [days]
    assert half[0] > days


def count_by_hand(use, rain, *, taw, raw, depletion):
    """Days until past raw, and until Ks below a half, counted one by one."""
    first = half = None
    for day, (wanted, wet) in enumerate(zip(use, rain, strict=True)):
        depletion = max(depletion - wet, 0.0)
        stress = min(max((taw - depletion) / (taw - raw), 0.0), 1.0)
        depletion += min(stress * wanted, max(taw - depletion, 0.0))
        if first is None and depletion > raw + 1e-9:
            first = day
        if half is None and (taw - depletion) / (taw - raw) < 0.5 - 1e-9:
            half = day
    return (len(use) if first is None else first), (len(use) if half is None else half)


soils = st.tuples(st.floats(5.0, 120.0), st.floats(0.1, 0.8))


@given(
    soil=soils,
    use=st.lists(st.floats(0.0, 12.0), min_size=1, max_size=40),
    wet=st.floats(0.0, 3.0),
    gone=st.floats(0.0, 1.0),
)
def test_counts_are_those_of_a_day_by_day_count(soil, use, wet, gone):
    taw, p = soil
    conditions = plain_days(0.0, taw=taw, raw=p * taw, n_days=len(use))
    conditions = conditions._replace(basal=np.array(use)[:, None], rain=np.full((len(use), 1), wet))
    counts = lasted(conditions, gone * taw)
    expected = count_by_hand(use, [wet] * len(use), taw=taw, raw=p * taw, depletion=gone * taw)
    assert tuple(int(count[0]) for count in counts) == expected


@given(soil=soils, use=st.floats(0.2, 12.0), more=st.floats(1.0, 3.0), gone=st.floats(0.0, 1.0))
def test_more_soil_lasts_no_shorter_and_more_use_no_longer(soil, use, more, gone):
    taw, p = soil
    base = lasted(plain_days(use, taw=taw, raw=p * taw), gone * p * taw)
    deeper = lasted(plain_days(use, taw=more * taw, raw=p * more * taw), gone * p * taw)
    hotter = lasted(plain_days(more * use, taw=taw, raw=p * taw), gone * p * taw)
    wetter = lasted(plain_days(use, taw=taw, raw=p * taw, rain=more - 1.0), gone * p * taw)
    for one, deep, hot, wet in zip(base, deeper, hotter, wetter, strict=True):
        assert hot[0] <= one[0] <= deep[0]
        assert one[0] <= wet[0]


@given(use=st.floats(0.5, 8.0), taw=st.floats(10.0, 60.0), p=st.floats(0.2, 0.7))
def test_twice_the_soil_lasts_twice_as_long(use, taw, p):
    days = p * taw / use
    stress, _ = lasted(plain_days(use, taw=2.0 * taw, raw=2.0 * p * taw, n_days=400))
    # Whole days on both sides of twice the plain quotient.
    assert abs(stress[0] - 2.0 * days) <= 1.0


def test_days_before_the_first():
    short = np.array([[False, True, False], [False, False, False], [True, False, False]])
    assert days_lasted(short).tolist() == [2, 0, 3]


@given(
    n_days=st.integers(1, 40), months=st.frozensets(st.integers(1, 12), min_size=1), seed=st.integers(0, 9)
)
def test_hottest_spell_is_the_best_of_all(n_days, months, seed):
    daily = make_daily(n_days=500, seed=seed)
    month = daily.dates.astype("datetime64[M]").astype(int) % 12 + 1
    rain = effective_rainfall(daily.rain, daily.reference_et)
    inside, dry = [], []
    for first in range(daily.dates.size - n_days + 1):
        days = slice(first, first + n_days)
        total = daily.reference_et[days].sum()
        if set(month[days].tolist()) <= months:
            inside.append((total, first))
            if rain[days].sum() <= DRY_SPELL_RAIN * total:
                dry.append((total, first))
    spell = hottest_spell(daily, n_days, months=months)
    if inside:
        assert spell.reference_et * n_days == pytest.approx(max(dry or inside)[0])
        assert {day.month for day in (spell.first, spell.last)} <= months
    assert (spell.last - spell.first).days == n_days - 1
    assert daily.dates[spell.row].item() == spell.first


def test_a_forecast_is_no_spell_of_the_record():
    daily = make_daily(n_days=930, forecast_from="2025-07-10")
    daily.reference_et[daily.forecast] = 30.0
    assert hottest_spell(daily, 3, months=frozenset({7})).last < date(2025, 7, 10)


def absence_of(garden, daily=DAILY, on=ON, days_away=7):
    result = run_week(garden, daily, on=on)
    return look_at_absence(set_up(garden, daily, FieldNotes()), result, days_away=days_away), result


def garden_with(depth=0.3, coefficient="dual", **changes):
    beds = [
        make_bed("one", soil_depth=depth),
        make_bed("bare", zone="two", plantings=(make_planting(planted=ON + timedelta(days=3)),)),
        make_bed("out soon", zone="three", plantings=(make_planting(removed=ON + timedelta(days=2)),)),
    ]
    garden = make_garden(beds, soil_states=(StatedSoil(ON, "full", None),), **changes)
    planning = garden.planning
    return make_garden(
        beds,
        soil_states=garden.soil_states,
        planning=type(planning)(
            planning.reserve, planning.forecast_rain, planning.normal_rain, 0.3, coefficient
        ),
    )


@pytest.mark.parametrize("coefficient", ["dual", "single"])
def test_deeper_beds_and_usual_weather_last_longer(coefficient):
    counts = {depth: absence_of(garden_with(depth, coefficient))[0] for depth in (0.2, 0.4)}
    for case in counts[0.2].lasting:
        deep = counts[0.4].of(case.soil, case.weather)
        assert case.to_stress[0] < deep.to_stress[0] or case.to_half[0] < deep.to_half[0]
        assert case.to_stress[0] <= deep.to_stress[0]
    shorter = 0
    for depth, soil in product(counts, ("full", "today")):
        usual, hot = (counts[depth].of(soil, weather) for weather in ("normals", "hottest"))
        assert hot.to_stress[0] <= usual.to_stress[0]
        assert hot.to_half[0] <= usual.to_half[0]
        shorter += int(hot.to_stress[0] < usual.to_stress[0]) + int(hot.to_half[0] < usual.to_half[0])
    assert shorter


def test_only_what_grows_on_the_first_morning_counts():
    absence, _ = absence_of(garden_with())
    assert absence.standing[0].tolist() == [True, False, True]
    assert absence.standing[:, 2].sum() == 2
    assert set(absence.first_beds().tolist()) == {0, 2}
    for case in absence.lasting:
        assert case.to_stress[1] == LONGEST_LOOK
        assert case.to_stress[2] in (0, 1, LONGEST_LOOK)


def test_forecast_is_a_case_only_if_there_is_one():
    assert absence_of(garden_with())[0].forecast_days == 0
    daily = make_daily(forecast_from=str(ON))
    daily.forecast[daily.dates > np.datetime64(ON) + 4] = False
    absence, _ = absence_of(garden_with(), daily)
    assert absence.forecast_days == 5
    assert absence.expected == "forecast"
    assert [case.weather for case in absence.lasting] == ["normals", "forecast", "hottest"] * 2


def test_a_forecast_past_the_return_is_none():
    daily = make_daily(forecast_from=str(ON + timedelta(days=7)))
    daily.forecast[daily.dates > np.datetime64(ON) + 12] = False
    assert absence_of(garden_with(), daily)[0].expected == "normals"
    assert absence_of(garden_with(), daily, days_away=9)[0].forecast_days == 2


def test_usual_weather_is_the_normals_with_the_plans_share_of_rain():
    garden = garden_with()
    setup = set_up(garden, make_daily(forecast_from=str(ON)), FieldNotes())
    met, day = normal_weather(setup, ON, 9), day_index(np.datetime64(ON) + np.arange(9))
    np.testing.assert_allclose(met.reference_et, setup.normals.reference_et[day])
    np.testing.assert_allclose(met.rain, 0.5 * setup.normals.rain[day])
    assert garden.planning.normal_rain == 0.5


def test_a_bed_just_filled_keeps_its_dry_surface_between_the_lines():
    conditions = plain_days(5.0, taw=40.0, raw=16.0)
    today = SoilState(*(np.array([value]) for value in (9.0, 3.0, 8.0, 12.0, 40.0)))
    assert [float(part[0]) for part in full_beds(conditions, today)] == [0.0, 0.0, 0.0, 12.0, 40.0]
