"""Visits to beds whose timer died, against trying everything; and a timer stuck open, whose water closes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.garden.plan import WaterSource
from scheduler.season.ahead import course_with, expected_weather, growth_ahead, look_ahead
from scheduler.season.field import FieldNotes
from scheduler.season.run import run_week
from scheduler.season.setup import set_up
from scheduler.season.stuck_open import stuck_outlets
from scheduler.season.visits import best_visit, every_single_visit, no_visit, visits_on
from tests.builders import make_bed, make_daily, make_garden, make_planting
from tests.season.gardens import gardens

ON = date(2025, 7, 14)
DAILY = make_daily()


def left_alone(garden, *, on=ON, n_days=6, daily=DAILY):
    """What visits are reckoned from: setup, the beds ahead, their soil."""
    setup = set_up(garden, daily, FieldNotes())
    result = run_week(garden, daily, on=on)
    growth = growth_ahead(setup, on, n_days)
    ahead = look_ahead(setup, result, expected_weather(setup, on, n_days).met, growth=growth)
    return setup, ahead, result.outlook.state


def shallow_garden(depths=(0.15, 0.3)):
    beds = [
        make_bed(f"bed {n}", zone=f"zone {n}", soil_depth=depth, area=1.0 + n, emitters=10)
        for n, depth in enumerate(depths)
    ]
    garden = make_garden(beds)
    return replace(garden, planning=replace(garden.planning, coefficient="dual"))


def shortage_with(ahead, state, water):
    """Depletion past readily available water, summed over days, of each bed [mm d]."""
    driest = course_with(ahead.conditions, state, water).driest
    over = np.where(ahead.growth.in_use, driest - ahead.conditions.raw, 0.0)
    return np.maximum(over, 0.0).sum(axis=0)


def test_minutes_are_the_fewest_and_the_best_day_the_best_of_all():
    n_days = 5
    setup, ahead, state = left_alone(shallow_garden(), n_days=n_days)
    found = every_single_visit(ahead, state, n_days=n_days)
    left = []
    for day in range(n_days):
        by_minutes = []
        for minutes in range(240):
            water = np.zeros((n_days, 2))
            water[day] = minutes * ahead.net_rate[day]
            by_minutes.append(shortage_with(ahead, state, water))
        least = np.min(by_minutes, axis=0)
        fewest = [int(np.argmax(np.array(by_minutes)[:, bed] <= least[bed] + 1e-6)) for bed in range(2)]
        assert found.minutes[day, 0].tolist() == fewest
        np.testing.assert_allclose(found.shortage[day], least, atol=2e-6)
        left.append(round(float(least.sum()), 3))
    assert best_visit(found, setup.flow) == left.index(min(left))
    assert no_visit(ahead, state, n_days=n_days).shortage.sum() > min(left)


def test_two_visits_are_the_best_two_whatever_is_given_on_the_first():
    n_days = 6
    _, ahead, state = left_alone(shallow_garden((0.15,)), n_days=n_days)
    found = visits_on(ahead, state, np.array([[1, 4]]), n_days=n_days)
    tried = []
    for first, second in product(range(0, 90, 3), repeat=2):
        water = np.zeros((n_days, 1))
        water[1], water[4] = first * ahead.net_rate[1], second * ahead.net_rate[4]
        tried.append(float(shortage_with(ahead, state, water)[0]))
    assert float(found.shortage[0, 0]) <= min(tried) + 2e-6


@settings(max_examples=25)
@given(garden=gardens(n_beds=2), n_days=st.integers(1, 8), more=st.integers(1, 60))
def test_a_greater_visit_is_never_worse_and_a_visit_never_harms(garden, n_days, more):
    on = date(2025, 6, 10)
    setup, ahead, state = left_alone(garden, on=on, n_days=n_days)
    found = every_single_visit(ahead, state, n_days=n_days)
    nobody = no_visit(ahead, state, n_days=n_days)
    assert np.all(found.shortage <= nobody.shortage[0] + 1e-6)
    best = best_visit(found, setup.flow)
    assert found.shortage[best].sum() <= found.shortage.sum(axis=1).min() + 1e-3
    for day in range(n_days):
        water = np.zeros((n_days, 2))
        water[day] = (found.minutes[day, 0] + more) * ahead.net_rate[day]
        assert np.all(shortage_with(ahead, state, water) <= found.shortage[day] + 2e-6)


def test_no_bed_short_means_no_minutes():
    garden = make_garden([make_bed(plantings=(make_planting(depletion_fraction=0.6),), soil_depth=0.9)])
    _, ahead, state = left_alone(garden, n_days=2)
    found = every_single_visit(ahead, state, n_days=2)
    assert not found.short.any()
    assert not found.minutes.any()
    assert found.least_stress.tolist() == [[1.0], [1.0]]


@settings(max_examples=40)
@given(garden=gardens(n_beds=2), n_days=st.integers(1, 10), tap=st.floats(5.0, 5000.0))
def test_water_of_a_stuck_outlet_closes(garden, n_days, tap):
    on = date(2025, 6, 10)
    garden = replace(garden, water_source=WaterSource(tap, None, 1.0, None, None))
    setup, ahead, state = left_alone(garden, on=on, n_days=n_days)
    stuck = stuck_outlets(setup, ahead, state, n_days=n_days)
    assert [one.beds.zone.name for one in stuck] == [zone.name for zone in garden.zones]
    for one in stuck:
        assert one.applied == pytest.approx(one.stored + one.drained + one.used, abs=1e-6)
        assert one.applied == pytest.approx(float(one.by_day.sum()))
        assert one.drained >= -1e-9
        assert one.flow <= tap + 1e-9
        assert one.hours_to_fill >= 0.0


def test_a_stuck_outlet_by_plain_arithmetic():
    garden = shallow_garden((0.3,))
    setup, ahead, state = left_alone(garden, n_days=3)
    (one,) = stuck_outlets(setup, ahead, state, n_days=3)
    # 10 emitters of 2 L/h on 1 m2: 20 mm/h.
    assert one.flow == pytest.approx(20.0)
    assert one.applied == pytest.approx(20.0 * 24 * 3)
    lacked = float(state.depletion[0] + state.below[0])
    assert one.hours_to_fill == pytest.approx(lacked / 20.0)
    assert one.stored == pytest.approx(lacked)
    assert not one.throttled
    held_back = replace(garden, water_source=WaterSource(8.0, None, 1.0, None, None))
    (slow,) = stuck_outlets(set_up(held_back, DAILY, FieldNotes()), ahead, state, n_days=3)
    assert slow.throttled
    assert slow.applied == pytest.approx(8.0 * 24 * 3)
