"""Needs by week, against sums made day by day."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.garden.plan import Planning, SoilState
from scheduler.season.field import FieldNotes
from scheduler.season.setup import set_up
from scheduler.season.side_by_side import seasons_of, side_by_side, usual_season, well_watered_use
from scheduler.season.week_needs import needs_to_meet, week_needs
from tests.builders import make_bed, make_daily, make_garden, make_planting

DAILY = make_daily(date(2022, 1, 1), 1461, seed=3)
EARLY = make_planting(planted=date(2025, 4, 15), removed=date(2025, 6, 20))
LATE = make_planting(planted=date(2025, 6, 26), removed=date(2025, 8, 3))
GARDEN = make_garden(
    [make_bed("a"), make_bed("b", zone="two", plantings=(EARLY, LATE), soil_depth=0.4)],
    soil_states=(SoilState(date(2025, 4, 3), "full", None),),
)
YEARS = (2022, 2023, 2024, 2025)


@pytest.fixture(scope="module")
def usual():
    return usual_season(set_up(GARDEN, DAILY, FieldNotes()))


@pytest.fixture(scope="module")
def seasons():
    return seasons_of(set_up(GARDEN, DAILY, FieldNotes()), YEARS)


@pytest.fixture(scope="module")
def needs(usual, seasons):
    return week_needs(usual, seasons)


def test_weeks_run_from_monday_to_monday_while_something_grows(needs):
    assert needs.begins[0] == date(2025, 4, 14)  # The Monday before the first crop, set out on a Tuesday.
    assert needs.begins[-1] == date(2025, 9, 29)  # That of the last, taken out on Thursday 2 October.
    assert {b - a for a, b in zip(needs.begins, needs.begins[1:], strict=False)} == {timedelta(days=7)}
    assert needs.minutes.shape == (4, len(needs.begins), 2)
    assert needs.years == YEARS


def test_days_are_those_on_which_something_grows(needs):
    weeks = dict(zip(needs.begins, needs.days[:, 1].tolist(), strict=True))
    assert weeks[date(2025, 4, 14)] == 6  # From Tuesday on.
    assert weeks[date(2025, 6, 16)] == 4  # Taken out on Friday the 20th.
    assert weeks[date(2025, 6, 23)] == 4  # Sown on Thursday the 26th.
    assert weeks[date(2025, 8, 4)] == 0


def test_a_week_is_its_use_less_its_rain_in_minutes_of_the_valve(needs, usual, seasons):
    joined = side_by_side((usual, *seasons))
    use, rain = joined.by_season(well_watered_use(joined)), joined.by_season(joined.conditions.rain)
    first = usual.first
    for number, week in enumerate(needs.begins):
        for bed in range(2):
            for column in range(5):
                total = 0.0
                for day in range(7):
                    at = (week + timedelta(days=day) - first).days
                    if 0 <= at < use.shape[0] and usual.in_use[at, bed]:
                        net = use[at, column, bed] - rain[at, column, bed]
                        total += net / usual.span.net_rate[at, bed]
                told = needs.usual[number, bed] if column == 0 else needs.minutes[column - 1, number, bed]
                assert told == pytest.approx(max(total, 0.0), abs=1e-9)


def test_a_well_watered_bed_uses_what_its_crop_would(seasons):
    joined = side_by_side(seasons)
    use = well_watered_use(joined)
    # A single coefficient: use is Kc times reference ET as long as the soil is kept within its limit.
    assert use[joined.in_use] == pytest.approx(joined.conditions.basal[joined.in_use], rel=1e-6)


def test_seasons_side_by_side_are_those_by_themselves(seasons):
    joined = well_watered_use(side_by_side(seasons)).reshape(-1, 4, 2)
    for number, season in enumerate(seasons):
        assert well_watered_use(side_by_side([season])) == pytest.approx(joined[:, number], abs=1e-12)


def test_the_usual_season_counts_the_plan_s_share_of_rain(usual):
    dry = make_garden(
        GARDEN.beds,
        soil_states=GARDEN.soil_states,
        planning=Planning(
            reserve=0.2, forecast_rain=0.5, normal_rain=0.0, bare_soil_coefficient=0.3, coefficient="single"
        ),
    )
    without = usual_season(set_up(dry, DAILY, FieldNotes()))
    assert (without.span.days.conditions.rain == 0.0).all()
    normals = usual.setup.normals
    shown = usual.span.days.conditions.rain[:, 0]
    day = [(d - date(d.year, 1, 1)).days for d in usual.span.dates.tolist()]
    assert shown == pytest.approx(0.5 * normals.rain[day])


def test_litres_kept_of_a_minute(needs, usual):
    bed = GARDEN.beds[0]
    rate = usual.span.net_rate[: usual.n_days, 0][usual.in_use[:, 0]]
    assert needs.kept[5, 0] == pytest.approx(rate[0] * bed.area)
    assert needs.kept[5, 0] == pytest.approx(needs.flow[0] * 0.9)  # What the line's efficiency leaves.


@given(st.lists(st.floats(0.0, 100.0), min_size=1, max_size=30))
def test_eight_years_in_ten_stay_at_or_below(values):
    series = np.array(values)[:, None]
    (told,) = needs_to_meet(series, np.zeros(1), years="p80")
    assert told in values
    assert sum(value <= told for value in values) >= 0.8 * len(values)
    assert sum(value < told for value in values) < 0.8 * len(values)


def test_which_need_is_met():
    series = np.arange(10.0)[:, None]
    usual = np.array([4.2])
    assert needs_to_meet(series, usual, years="normals").tolist() == [4.2]
    assert needs_to_meet(series, usual, years="p80").tolist() == [7.0]
    assert needs_to_meet(series, usual, years="worst").tolist() == [9.0]
