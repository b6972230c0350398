"""The same garden in another year."""

from dataclasses import fields, is_dataclass
from datetime import date

import numpy as np
import pytest

from scheduler.garden.plan import Mulch, Settled, SoilState
from scheduler.season.other_year import in_year, moved
from scheduler.season.run import run_season, season_span
from tests.builders import make_bed, make_daily, make_garden, make_planting
from tests.timetable.cases import restriction


@pytest.mark.parametrize(
    ("day", "years", "expected"),
    [
        (date(2025, 5, 10), -3, date(2022, 5, 10)),
        (date(2024, 2, 29), 1, date(2025, 2, 28)),
        (date(2024, 2, 29), 4, date(2028, 2, 29)),
        (date(2025, 12, 31), 0, date(2025, 12, 31)),
    ],
)
def test_a_date_moves_by_whole_years(day, years, expected):
    assert moved(day, years) == expected


def test_every_date_of_the_plan_moves_and_nothing_else():
    overwintered = make_planting(
        crop="garlic", planted=date(2024, 10, 15), removed=date(2025, 7, 5), share=0.5
    )
    garden = make_garden(
        [make_bed(plantings=(make_planting(share=0.5), overwintered))],
        soil_states=(SoilState(date(2025, 6, 1), 5.0, "bed"), SoilState(date(2025, 4, 1), "full", None)),
        restrictions=(restriction(begins=date(2025, 7, 1), ends=date(2026, 1, 15)),),
    )
    other = in_year(garden, 2019)
    assert season_span(other) == (date(2019, 4, 1), date(2019, 10, 2))
    assert other.beds[0].plantings[1].planted == date(2018, 10, 15)
    assert other.beds[0].plantings[1].removed == date(2019, 7, 5)
    assert [state.on for state in other.soil_states] == [date(2019, 6, 1), date(2019, 4, 1)]
    assert (other.restrictions[0].begins, other.restrictions[0].ends) == (date(2019, 7, 1), date(2020, 1, 15))
    assert in_year(other, 2025) == garden
    assert in_year(garden, 2025) == garden


def test_the_year_is_that_of_the_first_state_for_all_beds():
    states = (SoilState(date(2024, 12, 1), 5.0, "bed"), SoilState(date(2025, 4, 1), "full", None))
    garden = make_garden(soil_states=states)
    assert in_year(garden, 2026).soil_states[0].on == date(2025, 12, 1)


def test_mulch_and_later_depths_move_with_the_season():
    settled = (Settled(date(2025, 6, 1), 0.28), Settled(date(2026, 3, 1), 0.33))
    beds = [
        make_bed("a", settled=settled, mulch=Mulch("organic", 0.8, date(2025, 6, 10), None)),
        make_bed("b", mulch=Mulch("plastic", 1.0, None, date(2025, 9, 30), holes=0.05)),
        make_bed("c", mulch=Mulch("organic", 0.5)),
    ]
    garden = make_garden(beds)
    other = in_year(garden, 2021)
    assert other.beds[0].settled == (Settled(date(2021, 6, 1), 0.28), Settled(date(2022, 3, 1), 0.33))
    assert [bed.mulch for bed in other.beds] == [
        Mulch("organic", 0.8, date(2021, 6, 10), None),
        Mulch("plastic", 1.0, None, date(2021, 9, 30), holes=0.05),
        Mulch("organic", 0.5),
    ]
    assert in_year(other, 2025) == garden


def dates_within(value):
    """Return every date in a plan, wherever it stands."""
    if isinstance(value, date):
        return [value]
    if is_dataclass(value):
        return [day for field in fields(value) for day in dates_within(getattr(value, field.name))]
    if isinstance(value, tuple):
        return [day for each in value for day in dates_within(each)]
    return []


def test_no_date_of_bed_soil_or_rule_stays_behind():
    bed = make_bed(settled=(Settled(date(2025, 6, 1), 0.28),), mulch=Mulch("organic", 0.8, date(2025, 6, 2)))
    garden = make_garden([bed], restrictions=(restriction(begins=date(2025, 7, 1), ends=date(2025, 9, 1)),))
    assert len(dates_within(garden)) == 7
    assert {day.year for day in dates_within(in_year(garden, 2019))} == {2019}


def test_the_season_of_another_year_meets_mulch_and_settling_on_the_same_days():
    bed = make_bed(
        settled=(Settled(date(2025, 7, 1), 0.25),),
        mulch=Mulch("plastic", 1.0, date(2025, 6, 10), date(2025, 8, 31)),
    )
    garden = make_garden([bed])
    own, other = (run_season(each, make_daily()) for each in (garden, in_year(garden, 2023)))
    for name in ("storage", "open_share", "kept"):
        assert np.array_equal(getattr(own.growth, name), getattr(other.growth, name)), name
    assert other.growth.open_share.min() == 0.0
