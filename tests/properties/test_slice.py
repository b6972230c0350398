"""One bed alone is its slice of the whole garden, when nothing but the plan file joins them."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.season.run import run_season, run_week, season_span
from scheduler.timetable.week import weekly_timetable
from tests.season.gardens import BEGINS, gardens, weathers
from tests.timetable.cases import FIRST, make_limits, make_zones, outlooks

ARRAYS = (
    "depletion",
    "below",
    "evaporation",
    "transpiration",
    "deep_percolation",
    "stress_coefficient",
    "rain",
    "raw",
    "applied",
    "litres",
    "minutes",
    "correction",
)


def alone(garden, number):
    """Return a garden of one of the beds, with the soil states that concern it."""
    bed = garden.beds[number]
    return replace(
        garden,
        beds=(bed,),
        zones=(garden.zones[number],),
        soil_states=tuple(state for state in garden.soil_states if state.bed in (None, bed.name)),
    )


@settings(max_examples=20, deadline=None)
@given(gardens(n_beds=3), weathers())
def test_a_season_of_one_bed_is_its_column_of_many(garden, daily):
    whole = run_season(garden, daily)
    for number in range(3):
        single = alone(garden, number)
        part = run_season(single, daily)
        n_days = min(part.dates.shape[0], whole.dates.shape[0])
        for name in ARRAYS:
            assert np.array_equal(getattr(part, name)[:n_days, 0], getattr(whole, name)[:n_days, number]), (
                name
            )
        assert season_span(single)[0] == BEGINS
        for week, (mine, all_of_them) in enumerate(zip(part.plans, whole.plans, strict=False)):
            assert mine.settings[0] == all_of_them.settings[number], week


@settings(max_examples=20, deadline=None)
@given(gardens(n_beds=3), weathers(), st.integers(0, 45))
def test_a_week_of_one_bed_is_its_line_of_many(garden, daily, days):
    on = BEGINS + timedelta(days=days)
    whole = run_week(garden, daily, on=on)
    for number in range(3):
        part = run_week(alone(garden, number), daily, on=on)
        assert part.plan.settings[0] == whole.plan.settings[number]
        assert part.plan.bed_minutes[0] == whole.plan.bed_minutes[number]
        assert np.array_equal(part.plan.depletion[:, 0], whole.plan.depletion[:, number])
        assert np.array_equal(part.outlook.limit[:, 0], whole.outlook.limit[:, number])


@settings(max_examples=40, deadline=None)
@given(outlooks(n_beds=3), st.permutations([0, 1, 2]), st.sampled_from(["driest bed", "area mean"]))
def test_the_order_of_zones_in_the_plan_does_not_matter(outlook, order, rule):
    limits = make_limits(one_zone_at_a_time=False, usable_flow=1e6)
    zones = make_zones([[0], [1], [2]], rule=rule)
    plan = weekly_timetable(FIRST, outlook, zones=zones, limits=limits)
    other = weekly_timetable(FIRST, outlook, zones=[zones[n] for n in order], limits=limits)
    assert [other.settings[order.index(n)] for n in range(3)] == list(plan.settings)
    assert np.array_equal(other.bed_minutes, plan.bed_minutes)
