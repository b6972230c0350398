"""The same garden in another year."""

from datetime import date

import pytest

from scheduler.garden.plan import SoilState
from scheduler.season.other_year import in_year, moved
from scheduler.season.run import season_span
from tests.builders import make_bed, make_garden, make_planting
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
