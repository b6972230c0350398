"""What the plan states of the soil goes before what was reckoned."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from scheduler.garden.plan import SoilState
from scheduler.season.run import run_season, run_week
from tests.builders import make_bed, make_daily, make_garden, make_planting

BEGINS = date(2025, 3, 31)
DAILY = make_daily()
LATE = make_planting(planted=date(2025, 6, 20), removed=date(2025, 8, 3))
GARDEN = make_garden(
    [make_bed("a"), make_bed("b", zone="two", plantings=(LATE,))],
    soil_states=(SoilState(BEGINS, "full", None),),
)
SEASON = run_season(GARDEN, DAILY)


def test_a_stated_soil_overrides_the_reckoning_and_the_change_is_told():
    on = date(2025, 7, 9)
    day = (on - BEGINS).days
    stated = replace(
        GARDEN, soil_states=(*GARDEN.soil_states, SoilState(on, 11.0, "a"), SoilState(on, "at limit", "b"))
    )
    result = run_season(stated, DAILY)
    before = SEASON.depletion[day - 1]
    assert result.depletion[:day] == pytest.approx(SEASON.depletion[:day])
    assert result.correction[day] == pytest.approx([11.0 - before[0], result.raw[day, 1] - before[1]])
    assert np.count_nonzero(result.correction) == 2
    gained = result.rain[day] + result.applied[day] - result.et_actual[day] - result.deep_percolation[day]
    assert result.depletion[day] == pytest.approx([11.0, result.raw[day, 1]] - gained)


def test_a_table_starts_from_the_newest_state_for_all_beds():
    on = date(2025, 7, 9)
    states = (
        *GARDEN.soil_states,
        SoilState(date(2025, 7, 1), "full", None),
        SoilState(date(2025, 7, 5), 9.0, "b"),
        SoilState(date(2025, 8, 1), 30.0, None),
    )
    result = run_week(replace(GARDEN, soil_states=states), DAILY, on=on)
    assert result.state_from == date(2025, 7, 1)
    assert result.before is not None
    assert result.before.dates.shape == (8,)
    assert result.before.correction[4, 1] != 0.0
    assert result.before.correction[0].tolist() == [0.0, 0.0]


def test_a_state_of_the_tables_own_day_needs_no_replay():
    on = date(2025, 7, 9)
    states = (*GARDEN.soil_states, SoilState(on, 9.0, None), SoilState(on, "at limit", "b"))
    result = run_week(replace(GARDEN, soil_states=states), DAILY, on=on)
    assert result.before is None
    assert result.outlook.depletion.tolist() == [9.0, result.outlook.conditions.raw[0, 1]]


def test_a_state_for_one_bed_on_the_tables_own_day_overrides_that_bed_alone():
    on = date(2025, 7, 9)
    free = run_week(GARDEN, DAILY, on=on)
    states = (*GARDEN.soil_states, SoilState(on, 9.5, "b"))
    result = run_week(replace(GARDEN, soil_states=states), DAILY, on=on)
    assert result.outlook.depletion.tolist() == [free.outlook.depletion[0], 9.5]


def test_a_soil_stated_on_a_planning_day_is_what_that_week_is_planned_from():
    on = BEGINS + timedelta(days=7 * 14)
    for depletion in (0.0, 25.0):
        stated = replace(GARDEN, soil_states=(*GARDEN.soil_states, SoilState(on, depletion, "a")))
        week, season = run_week(stated, DAILY, on=on), run_season(stated, DAILY)
        assert season.plans[14].settings == week.plan.settings
        assert season.plans[14].settings[0] != SEASON.plans[14].settings[0]
