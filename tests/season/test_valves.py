"""Hand valves of a whole garden: recipes beside the other outlets, lived through by the balance itself."""

from dataclasses import replace
from datetime import date, time, timedelta
from functools import cache
from itertools import product

import numpy as np
import pytest

from scheduler.garden.plan import SoilState, Zone
from scheduler.season.field import FieldNotes
from scheduler.season.run import run_week
from scheduler.season.setup import set_up
from scheduler.season.valves import WORTH_WALKING, zone_valves
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.recipe import recipe_within
from scheduler.water.balance import step
from tests.builders import make_bed, make_daily, make_garden, make_planting, make_timer
from tests.timetable.cases import window
from tests.timetable.simulator import play
from tests.timetable.test_trips import trips_by_walking

BEGINS = date(2025, 6, 2)
DAILY = make_daily()
SMALL = make_planting(root_depth=0.25, depletion_fraction=0.3)
LATE = make_planting(planted=date(2025, 7, 17))
GARDEN = make_garden(
    [
        make_bed("thirsty", plantings=(SMALL,), soil_depth=0.2),
        make_bed("deep", emitters=32),
        make_bed("late", plantings=(LATE,), emitters=24),
        make_bed("low", zone="two", emitters=40),
        make_bed("high", zone="two", plantings=(SMALL,)),
        make_bed("alone", zone="three"),
    ],
    soil_states=(SoilState(BEGINS, "full", None),),
)
ZONES = ("one", "two")
WEEKS = [date(2025, 6, 9), date(2025, 7, 14), date(2025, 8, 6)]


@cache
def table_of(on, kind):
    return run_week(reckoned(kind), DAILY, on=on)


def reckoned(kind):
    return replace(GARDEN, planning=replace(GARDEN.planning, coefficient=kind))


def answers_of(garden=None, *, on=WEEKS[1], kind="single", trips=4, zones=ZONES, may_pass=None):
    result = table_of(on, kind) if garden is None else run_week(garden, DAILY, on=on)
    garden = garden or reckoned(kind)
    return result, zone_valves(garden, DAILY, result, zones=zones, trips=trips, may_pass=may_pass)


def shortage_lived(result, bed, open_on, minutes):
    """Return by how much a bed passes its limit if its valve is open on some days [mm d], a day at a time."""
    seen, state, short = result.outlook, None, 0.0
    state = type(seen.state)(*(np.asarray(part)[bed] for part in seen.state))
    for day in range(seen.n_days):
        water = minutes * seen.net_rate[day, bed] if day < DAYS_PER_WEEK and open_on[day] else 0.0
        conditions = seen.conditions.of_beds(np.array([bed])).on(day)
        balance = step(
            state,
            conditions,
            applied=0.0 if seen.evening else water,
            applied_late=water if seen.evening else None,
        )
        short += max(float(np.squeeze(balance.driest)) - float(seen.limit[day, bed]), 0.0)
        state = balance.state
    return short


@pytest.mark.parametrize(("on", "trips", "kind"), list(product(WEEKS, (0, 2, 4, 9), ("single", "dual"))))
def test_a_recipe_lived_through_leaves_no_bed_shorter_than_the_table(on, trips, kind):
    result, answers = answers_of(on=on, kind=kind, trips=trips)
    assert sum(one.recipe.all_trips for one in answers) <= trips
    for one in answers:
        for n, bed in enumerate(one.beds.index):
            reach = one.growing[n] & np.array(one.setting.mask)
            walked = trips_by_walking(reach.tolist(), one.recipe.open_on[n].tolist())
            assert one.recipe.trips[n] == walked
            table = shortage_lived(result, bed, one.before.mask, one.before.minutes_per_day)
            short = shortage_lived(result, bed, one.recipe.open_on[n], one.setting.minutes_per_day)
            assert short <= table + 1e-5
            assert one.shortage[n] == pytest.approx(short, abs=1e-6)
            assert one.shortage_before[n] == pytest.approx(table, abs=1e-6)


def test_evening_water_is_lived_through_as_evening_water():
    garden = replace(GARDEN, windows=(window(time(18, 0), time(22, 0)),))
    result, answers = answers_of(garden, trips=6)
    assert result.outlook.evening
    assert any(one.recipe.all_trips for one in answers)
    for one in answers:
        for n, bed in enumerate(one.beds.index):
            short = shortage_lived(result, bed, one.recipe.open_on[n], one.setting.minutes_per_day)
            assert one.shortage[n] == pytest.approx(short, abs=1e-6)
            assert short <= one.shortage_before[n] + 1e-5


@pytest.mark.parametrize("on", WEEKS)
def test_without_a_trip_it_is_the_weeks_table(on):
    result, answers = answers_of(on=on, trips=0)
    for one in answers:
        assert one.setting == one.before
        assert one.recipe.litres == pytest.approx(one.litres_before)
        assert one.depletion == pytest.approx(result.plan.depletion[:, one.beds.index], abs=1e-9)


@pytest.mark.parametrize(("on", "trips"), list(product(WEEKS, (2, 6, 12))))
def test_the_timer_can_keep_all_recipes_at_once(on, trips):
    # Long runs in a short window: outlets are in each other's way.
    garden = replace(GARDEN, windows=(window(until=window().begin.replace(hour=5)),))
    result, answers = answers_of(garden, on=on, trips=trips)
    own = {one.setting.zone: one.setting for one in answers}
    settings = tuple(own.get(setting.zone, setting) for setting in result.plan.settings)
    limits = set_up(garden, DAILY, FieldNotes()).limits
    assert play(replace(result.plan, settings=settings), limits) == []


def test_rungs_save_what_is_worth_a_walk():
    _, answers = answers_of()
    assert any(len(one.ladder) > 2 for one in answers)
    for one in answers:
        assert one.ladder[0].all_trips == 0
        volumes = [recipe.volume for recipe in one.ladder]
        assert all(b <= a - WORTH_WALKING for a, b in zip(volumes, volumes[1:], strict=False))


@pytest.mark.parametrize("trips", range(0, 14, 2))
def test_trips_go_to_the_outlets_where_they_save_most(trips):
    # Both outlets have room beside each other, so that each can climb its ladder by itself.
    _, answers = answers_of(trips=trips)
    assert sum(one.recipe.volume for one in answers) == pytest.approx(
        min(
            sum(recipe_within(one.ladder, share).volume for one, share in zip(answers, shares, strict=True))
            for shares in product(range(trips + 1), repeat=2)
            if sum(shares) <= trips
        )
    )


def test_a_bed_that_may_go_short_passes_its_limit_by_no_more_than_accepted():
    strict = answers_of(trips=6, zones=("one",))[1][0]
    result, (eased,) = answers_of(trips=6, zones=("one",), may_pass={"thirsty": 4.0})
    assert eased.may_pass.tolist() == [4.0, 0.0, 0.0]
    assert eased.recipe.volume < strict.recipe.volume
    limit = result.outlook.limit[:, eased.beds.index]
    table = result.plan.depletion[:, eased.beds.index] - limit
    assert (eased.depletion - limit).max(axis=0)[0] <= max(4.0, table[:, 0].max()) + 1e-6
    assert eased.shortage[0] > strict.shortage[0]
    assert (eased.shortage[1:] <= strict.shortage_before[1:] + 1e-5).all()
    _, (free,) = answers_of(trips=6, zones=("one",), may_pass={"thirsty": float("inf")})
    assert free.recipe.volume <= eased.recipe.volume
    assert free.recipe.open_on[0].sum() == 0


def test_days_before_planting_take_no_trip():
    _, (one,) = answers_of(trips=0, zones=("one",))
    planted = (LATE.planted - WEEKS[1]).days
    assert not one.recipe.open_on[2, :planted].any()
    assert one.recipe.open_on[2, planted:].any()
    assert one.recipe.trips[2] == 0


def test_shutting_within_runs_is_told_beside_it():
    result, (one,) = answers_of(zones=("one",))
    early = sum(
        int((np.array(one.before.mask) & one.growing[n]).sum())
        for n, bed in enumerate(one.beds.index)
        if result.plan.bed_minutes[bed] < one.before.minutes_per_day
    )
    assert one.within_runs.visits == early * len(one.before.begins)
    assert 0.0 < one.within_runs.volume < one.litres_before.sum()


def test_an_area_mean_zone_is_left_no_shorter_than_its_own_table():
    zones = tuple(Zone(zone.name, zone.outlet, "area mean") for zone in GARDEN.zones)
    result, answers = answers_of(replace(GARDEN, zones=zones), trips=4)
    assert max(one.shortage_before.max() for one in answers) > 0.5
    for one in answers:
        assert (one.shortage <= one.shortage_before + 1e-5).all()
        assert one.recipe.volume <= one.litres_before.sum() + 1e-3


def test_a_timer_that_knows_intervals_only_keeps_to_them():
    timer = make_timer(day_choices=("every n days",), longest_interval=3)
    _, answers = answers_of(replace(GARDEN, timer=timer), trips=6)
    gaps = [np.diff(np.flatnonzero(one.setting.mask)) for one in answers]
    assert all(len(set(gap.tolist())) <= 1 and (gap <= 3).all() for gap in gaps)


def test_a_week_without_need_has_nothing_to_shut():
    little = make_planting(kc_ini=0.05, kc_mid=0.05, kc_end=0.05)
    garden = replace(GARDEN, beds=tuple(replace(bed, plantings=(little,)) for bed in GARDEN.beds))
    result, answers = answers_of(garden, on=BEGINS + timedelta(days=1))
    assert not any(setting.begins for setting in result.plan.settings)
    assert [(one.recipe.volume, len(one.ladder)) for one in answers] == [(0.0, 1), (0.0, 1)]
