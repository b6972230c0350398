"""Recipes for hand valves against every setting, subset and sharing of trips tried in turn."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.timetable.least import bed_shortage
from scheduler.timetable.outlook import depletion_under
from scheduler.timetable.recipe import (
    NO_SHORTER,
    Room,
    ValveRecipe,
    recipe_within,
    share_trips,
    shortage_by_subset,
    valve_ladder,
)
from scheduler.timetable.trips import days_of_bits
from tests.timetable.cases import make_outlook, make_zones, outlooks, plain_depletion
from tests.timetable.test_trips import trips_by_walking

DAYS = days_of_bits()
EVERY = (True,) * 7
NO_RUN = (False,) * 7

weeks = st.lists(st.booleans(), min_size=7, max_size=7)


def room_of(masks, minutes):
    """Return room for all of some minutes on all of some masks, in the order of preference."""
    every = sorted({NO_RUN, *map(tuple, masks)}, key=lambda m: (sum(m), [not runs for runs in m]))
    totals = np.array([0, *sorted(set(minutes))])
    fits = np.tile(totals > 0, (len(every), 1))
    fits[0] = totals == 0
    return Room(every, totals, fits)


def few_days(most):
    """Return masks with at most so many days."""
    return st.sets(st.integers(0, 6), min_size=1, max_size=most).map(
        lambda d: tuple(n in d for n in range(7))
    )


@st.composite
def cases(draw, *, n_beds, most_days, n_minutes=3, n_masks=4):
    """Return a zone, an outlook, room with a cell left out here and there, and what each bed is allowed.

    That is what some setting leaves it, or more: with all valves open there always is a way.
    """
    outlook = draw(outlooks(n_beds=n_beds, n_days=draw(st.integers(7, 9))))
    flow = draw(st.lists(st.floats(10.0, 200.0), min_size=n_beds, max_size=n_beds))
    (beds,) = make_zones([list(range(n_beds))], flow=flow)
    minutes = st.sets(st.integers(1, 120), min_size=1, max_size=n_minutes)
    room = room_of(draw(st.lists(few_days(most_days), min_size=1, max_size=n_masks)), draw(minutes))
    # Most often one with many runs of many minutes, so that there is something to save.
    plan = draw(st.sampled_from(np.argwhere(room.fits).tolist()[::-1]))
    shut_out = draw(st.lists(st.sampled_from(np.argwhere(room.fits).tolist()), max_size=2))
    for cell in shut_out:
        room.fits[tuple(cell)] = cell == plan
    more = draw(st.lists(st.sampled_from([0.0, 0.0, 2.0, 10.0, 40.0]), min_size=n_beds, max_size=n_beds))
    return beds, outlook, room, _allowed(outlook, room, plan) + more


def _allowed(outlook, room, plan):
    """Return how short the setting with all valves open leaves each bed."""
    return np.array(
        [
            plain_shortage(outlook, room.masks[plan[0]], room.totals[plan[1]], bed)
            for bed in range(outlook.n_beds)
        ]
    )


def plain_shortage(outlook, mask, minutes, bed):
    """Return one bed's shortage [mm d] in plain arithmetic."""
    course = plain_depletion(outlook, mask, int(minutes), bed)
    return sum(max(d - float(outlook.limit[day, bed]), 0.0) for day, d in enumerate(course))


def best_by_trying(beds, outlook, room, allowed):
    """Return the least (water, trips, runs, pattern, minutes) for each number of trips, all ways tried.

    Water is in whole millionths of a litre, as ties are judged by.
    """
    per_minute = [round(float(flow) / 60.0 * 1e6) for flow in beds.flow]
    best = {}
    known = {}
    for pattern, total in np.argwhere(room.fits).tolist():
        mask, minutes = room.masks[pattern], int(room.totals[total])
        choices = []
        for bed in range(len(per_minute)):
            reach = [runs and bool(use) for runs, use in zip(mask, outlook.in_use[:7, bed], strict=True)]
            own = []
            for subset in product(*((False, True) if runs else (False,) for runs in reach)):
                key = (bed, subset, minutes)
                if key not in known:
                    known[key] = plain_shortage(outlook, subset, minutes, bed)
                if known[key] <= allowed[bed] + NO_SHORTER:
                    own.append((per_minute[bed] * minutes * sum(subset), trips_by_walking(reach, subset)))
            choices.append(own)
        for ways in product(*choices):
            water, trips = sum(way[0] for way in ways), sum(way[1] for way in ways)
            tried = (water, trips, sum(mask), pattern, minutes)
            best[trips] = min(best.get(trips, tried), tried)
    return best


def assert_as_by_trying(case):
    """Assert that the recipe for every number of trips is the best of all ways."""
    beds, outlook, room, allowed = case
    tried = best_by_trying(*case)
    ladder = valve_ladder(beds, outlook, room=room, allowed=allowed)
    assert ladder[0].all_trips == min(tried) == 0
    for trips in range(max(tried) + 2):
        water, made, _, pattern, minutes = min(best for t, best in tried.items() if t <= trips)
        recipe = recipe_within(ladder, trips)
        assert (recipe.all_trips, recipe.pattern, recipe.minutes) == (made, pattern, minutes)
        assert recipe.volume == pytest.approx(water / 1e6, abs=0.01)


@settings(max_examples=150, deadline=None)
@given(cases(n_beds=2, most_days=4, n_masks=8))
def test_two_beds_as_by_trying_all(case):
    assert_as_by_trying(case)


@settings(max_examples=75, deadline=None)
@given(cases(n_beds=3, most_days=3))
def test_three_beds_as_by_trying_all(case):
    assert_as_by_trying(case)


@settings(max_examples=75, deadline=None)
@given(cases(n_beds=1, most_days=7, n_minutes=4))
def test_one_bed_through_the_whole_week_as_by_trying_all(case):
    assert_as_by_trying(case)


@settings(max_examples=30, deadline=None)
@given(cases(n_beds=2, most_days=3), st.integers(0, 1))
def test_a_bed_that_may_go_short_as_by_trying_all(case, bed):
    beds, outlook, room, allowed = case
    limit = outlook.limit.copy()
    limit[:, bed] = np.inf
    assert_as_by_trying(
        (beds, replace(outlook, limit=limit), room, np.where(np.arange(2) == bed, 0.0, allowed))
    )


# --- what holds for every recipe


@settings(max_examples=60, deadline=None)
@given(cases(n_beds=4, most_days=7, n_minutes=6, n_masks=6))
def test_every_recipe_leaves_nobody_shorter_and_is_what_it_tells(case):
    beds, outlook, room, allowed = case
    ladder = valve_ladder(beds, outlook, room=room, allowed=allowed)
    for recipe in ladder:
        mask = np.array(room.masks[recipe.pattern])
        assert room.fits[recipe.pattern, list(room.totals).index(recipe.minutes)]
        for bed in range(4):
            reach = mask & outlook.in_use[:7, bed]
            assert (recipe.open_on[bed] <= reach).all()
            assert recipe.trips[bed] == trips_by_walking(reach.tolist(), recipe.open_on[bed].tolist())
            short = plain_shortage(outlook, recipe.open_on[bed], recipe.minutes, bed)
            assert short == pytest.approx(recipe.shortage[bed], abs=1e-8)
            assert short <= allowed[bed] + 2 * NO_SHORTER
            a_run = recipe.minutes * beds.flow[bed] / 60.0
            assert recipe.litres[bed] == pytest.approx(a_run * recipe.open_on[bed].sum())
            assert recipe.litres[bed] + recipe.kept_back[bed] == pytest.approx(a_run * reach.sum())


@settings(max_examples=60, deadline=None)
@given(cases(n_beds=4, most_days=7, n_minutes=6, n_masks=6))
def test_more_trips_never_take_more_water(case):
    beds, outlook, room, allowed = case
    ladder = valve_ladder(beds, outlook, room=room, allowed=allowed)
    assert ladder[0].all_trips == 0
    trips = [recipe.all_trips for recipe in ladder]
    assert trips == sorted(set(trips))
    assert all(after.volume < before.volume for before, after in zip(ladder, ladder[1:], strict=False))
    within = [recipe_within(ladder, made).volume for made in range(trips[-1] + 3)]
    assert within == sorted(within, reverse=True)


@settings(max_examples=40, deadline=None)
@given(cases(n_beds=3, most_days=7, n_minutes=5), st.lists(st.floats(0.0, 20.0), min_size=3, max_size=3))
def test_who_may_go_shorter_never_takes_more_water(case, more):
    beds, outlook, room, allowed = case
    strict = valve_ladder(beds, outlook, room=room, allowed=allowed)
    eased = valve_ladder(beds, outlook, room=room, allowed=allowed + more)
    for trips in range(0, 26, 2):
        assert recipe_within(eased, trips).volume <= recipe_within(strict, trips).volume + 1e-4


@settings(max_examples=30, deadline=None)
@given(outlooks(n_beds=2, n_days=8), weeks, st.integers(1, 90))
def test_the_table_over_subsets_is_the_balance_of_each(outlook, days, minutes):
    table = shortage_by_subset(outlook, np.array([0, minutes]))
    assert table.shape == (128, 2, 2)
    number = int("".join("1" if runs else "0" for runs in days), 2)
    for bed in range(2):
        assert table[number, 1, bed] == pytest.approx(plain_shortage(outlook, days, minutes, bed), abs=1e-8)
        assert table[number, 0, bed] == pytest.approx(plain_shortage(outlook, NO_RUN, 0, bed), abs=1e-8)


# --- by hand


def ladder_of(outlook, *, masks=(EVERY,), minutes=(20,), allowed=0.0, flow=60.0):
    (beds,) = make_zones([list(range(outlook.n_beds))], flow=flow)
    room = room_of(masks, minutes)
    return room, valve_ladder(beds, outlook, room=room, allowed=np.full(outlook.n_beds, allowed))


def test_a_bed_with_half_the_use_is_shut_through_one_block():
    # 20 min give 4 mm. The thirsty bed uses 4 mm a day and starts at its limit: it needs each run. The other
    # one uses 2 mm and starts full: 14 mm in the week against a limit of 12.8, so that one run is enough.
    outlook = make_outlook(2, 7, et=np.array([4.0, 2.0]), depletion=[12.8, 0.0])
    _, ladder = ladder_of(outlook)
    assert [recipe.all_trips for recipe in ladder] == [0, 2]
    assert [recipe.litres.tolist() for recipe in ladder] == [[140.0, 140.0], [140.0, 20.0]]


def test_no_trip_saves_where_every_bed_needs_every_run():
    outlook = make_outlook(2, 7, et=4.0, depletion=12.8)
    _, ladder = ladder_of(outlook)
    assert [(recipe.all_trips, recipe.volume) for recipe in ladder] == [(0, 280.0)]


def test_a_bed_without_need_is_shut_all_week_for_two_trips():
    outlook = make_outlook(2, 7, et=np.array([4.0, 0.5]), depletion=[12.8, 0.0])
    _, ladder = ladder_of(outlook)
    assert [(recipe.all_trips, recipe.volume) for recipe in ladder] == [(0, 280.0), (2, 140.0)]
    assert ladder[1].open_on.sum(axis=1).tolist() == [7, 0]
    assert ladder[1].kept_back.tolist() == [0.0, 140.0]


def test_a_bed_where_nothing_grows_takes_no_trip_and_no_water():
    outlook = make_outlook(2, 7, et=4.0, depletion=12.8, in_use=[[True, False]] * 7)
    _, ladder = ladder_of(outlook)
    assert [(recipe.all_trips, recipe.volume) for recipe in ladder] == [(0, 140.0)]
    assert not ladder[0].open_on[1].any()


def test_no_need_is_no_run():
    _, ladder = ladder_of(make_outlook(2, 7, et=0.5))
    assert [(recipe.all_trips, recipe.volume, recipe.pattern) for recipe in ladder] == [(0, 0.0, 0)]


def test_no_recipe_if_no_setting_will_do():
    _, ladder = ladder_of(make_outlook(2, 7, et=9.0, depletion=30.0))
    assert ladder == ()


def test_of_equal_beds_the_first_one_gets_the_trips():
    outlook = make_outlook(3, 7, et=np.array([0.5, 0.5, 4.0]), depletion=[0.0, 0.0, 12.8])
    _, ladder = ladder_of(outlook)
    assert [recipe.trips.tolist() for recipe in ladder] == [[0, 0, 0], [2, 0, 0], [2, 2, 0]]


def test_of_subsets_with_as_many_runs_the_one_that_drains_least_is_taken():
    # 16 mm of room at the limit: a run of 12 mm on the first day would drain, one on the last day does not.
    outlook = make_outlook(2, 7, et=np.array([4.0, 1.9]), depletion=[12.8, 0.0], net_rate=[0.2, 0.6])
    _, ladder = ladder_of(outlook)
    recipe = recipe_within(ladder, 4)
    assert recipe.open_on[1].sum() == 1
    course = depletion_under(outlook, recipe.open_on[1:].astype(float), np.array([[20]]))[:, 0, 1]
    every = depletion_under(outlook, np.eye(7), np.array([[20]]))[-1, :, 1]
    short = bed_shortage(outlook, depletion_under(outlook, np.eye(7), np.array([[20]])))[:, 1]
    assert course[-1] == pytest.approx(every[short < 1e-9].min(), abs=0.01)


# --- trips shared among zones


def rung(trips, volume):
    litres = np.array([volume])
    return ValveRecipe(0, 10, np.ones((1, 7), bool), np.array([trips]), litres, 0.0 * litres, 0.0 * litres)


@st.composite
def ladders(draw):
    trips = sorted({0, *draw(st.sets(st.integers(1, 6).map(lambda n: 2 * n), max_size=4))})
    volumes = sorted(
        draw(st.sets(st.integers(0, 40), min_size=len(trips), max_size=len(trips))), reverse=True
    )
    return tuple(rung(*pair) for pair in zip(trips, map(float, volumes), strict=True))


@given(st.lists(ladders(), min_size=1, max_size=3), st.integers(0, 30))
def test_trips_go_to_the_zones_where_they_save_most(every, trips):
    ways = [way for way in product(*every) if sum(recipe.all_trips for recipe in way) <= trips]
    best = min((sum(r.volume for r in way), sum(r.all_trips for r in way)) for way in ways)
    shares = share_trips(every, trips)
    chosen = [recipe_within(ladder, share) for ladder, share in zip(every, shares, strict=True)]
    assert [recipe.all_trips for recipe in chosen] == list(shares)
    assert (sum(recipe.volume for recipe in chosen), sum(shares)) == best
