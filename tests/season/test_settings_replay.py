"""Timetables replayed side by side, against each season lived through by itself."""

from dataclasses import replace
from datetime import date, time, timedelta
from decimal import Decimal

import numpy as np
import pytest

from scheduler.errors import RillbookError
from scheduler.garden.plan import SoilState
from scheduler.season.field import FieldNotes
from scheduler.season.fixed_run import run_fixed
from scheduler.season.other_year import in_year, moved
from scheduler.season.outlet_settings import fixed_settings
from scheduler.season.settings_replay import (
    ReplayedSeason,
    WorstWeek,
    mean_of_years,
    replay_settings,
    replayed_season,
)
from scheduler.season.settings_table import settings_table
from scheduler.season.setup import set_up
from scheduler.season.side_by_side import seasons_of
from scheduler.season.sums import litres_by_day, stress_days
from scheduler.season.tariff import season_bill
from scheduler.timetable.fixed import FixedSetting
from tests.builders import EVERY_DAY, make_bed, make_daily, make_garden, make_planting
from tests.season.test_tariff import HOUSE, TARIFF
from tests.timetable.cases import window

YEARS = (2022, 2023, 2024, 2025)
DAILY = make_daily(date(2022, 1, 1), 1461, seed=5)
LATE = make_planting(planted=date(2025, 6, 20), removed=date(2025, 8, 3))
GARDEN = make_garden(
    [make_bed("a"), make_bed("b", zone="two", plantings=(LATE,)), make_bed("c", soil_depth=0.15)],
    soil_states=(SoilState(date(2025, 4, 2), "full", None),),
    tariff=replace(TARIFF, first_reading=date(2021, 12, 15)),
    household=HOUSE,
)
WEEKDAYS = frozenset(EVERY_DAY[:4])
FEW = [
    FixedSetting("one", date(2025, 5, 5), WEEKDAYS, 1, 20),
    FixedSetting("two", date(2025, 5, 5), None, 0, 0),
    FixedSetting("one", date(2025, 7, 7), 2, 2, 15),
    FixedSetting("two", date(2025, 6, 16), 3, 1, 40),
]
DAILY_RUNS = [FixedSetting(zone, date(2025, 4, 7), 1, 1, 12) for zone in ("one", "two")]


def by_itself(garden, settings, year):
    """Return a timetable in one year, replayed by itself."""
    years = year - 2025
    dated = [replace(setting, begins=moved(setting.begins, years)) for setting in settings]
    return in_year(garden, year), run_fixed(in_year(garden, year), DAILY, settings=dated)


@pytest.mark.parametrize("hours", [time(3, 0), time(18, 0)], ids=["morning", "evening"])
def test_seasons_side_by_side_are_those_by_themselves(hours):
    garden = replace(GARDEN, windows=(window(hours, time(hours.hour + 4, 0)),))
    seasons = seasons_of(set_up(garden, DAILY, FieldNotes()), YEARS)
    both = replay_settings(seasons, [FEW, DAILY_RUNS], own_year=2025)
    for told, settings in zip(both, (FEW, DAILY_RUNS), strict=True):
        alone = mean_of_years([replayed_season(*by_itself(garden, settings, year)) for year in YEARS])
        assert told.litres == pytest.approx(alone.litres, rel=1e-12)
        assert told.drained == pytest.approx(alone.drained, rel=1e-9)
        assert (told.cost, told.short_days) == (alone.cost, alone.short_days)
        assert told.worst.share == pytest.approx(alone.worst.share, rel=1e-9)
        assert (told.worst.begins, told.worst.bed) == (alone.worst.begins, alone.worst.bed)


def test_sums_of_a_season_are_those_of_its_days():
    garden, result = by_itself(GARDEN, FEW, 2024)
    told = replayed_season(garden, result)
    assert told.litres == pytest.approx(result.litres.sum())
    percolated = sum(bed.area * result.deep_percolation[:, i].sum() for i, bed in enumerate(garden.beds))
    assert told.drained == pytest.approx(percolated)
    assert told.short_days == stress_days(result)[0].sum()
    litres = litres_by_day(result)
    bill = season_bill(
        litres, garden.tariff, household=garden.household, begins=min(litres), ends=max(litres)
    )
    assert told.cost == bill.garden_cost


def test_the_worst_week_is_that_of_all_whole_weeks():
    garden, result = by_itself(GARDEN, FEW, 2023)
    days = result.dates.tolist()
    shares = {}
    for bed, one in enumerate(garden.beds):
        for start, day in enumerate(days):
            if day.weekday() == 0 and result.growth.in_use[start : start + 7, bed].sum() == 7:
                use = result.conditions.basal[start : start + 7, bed]
                got = use * result.stress_coefficient[start : start + 7, bed]
                shares[day, one.name] = 1.0 - got.sum() / use.sum()
    worst = max(shares, key=shares.get)
    told = replayed_season(garden, result).worst
    assert told.share > 0.05
    assert (told.begins, told.bed) == worst
    assert told.share == pytest.approx(shares[worst])


def test_a_week_in_which_a_bed_is_set_out_does_not_count():
    # Sown on a Friday into soil that has dried since April, and not watered at all.
    bed = make_bed(plantings=(make_planting(planted=date(2025, 7, 4), removed=date(2025, 7, 6)),))
    garden = make_garden([bed], soil_states=(SoilState(date(2025, 4, 1), "at limit", None),))
    season = seasons_of(set_up(garden, make_daily(rain_scale=0.0), FieldNotes()), [2025])
    (told,) = replay_settings(season, [[]], own_year=2025)
    assert told.worst.share == 0.0
    assert told.litres == 0.0


def test_means_over_years():
    def year(litres, cost, share, begins):
        worst = WorstWeek(begins, "bed", share)
        return ReplayedSeason(litres, 1.0, cost, litres / 10.0, worst)

    first, second = date(2024, 7, 1), date(2025, 7, 7)
    told = mean_of_years(
        [year(100.0, Decimal("3.00"), 0.2, first), year(200.0, Decimal("4.01"), 0.1, second)]
    )
    assert (told.litres, told.drained, told.short_days) == (150.0, 1.0, 15.0)
    assert told.cost == Decimal("3.50")  # 3.505, half to even.
    assert told.worst == WorstWeek(first, "bed", 0.2)
    assert mean_of_years([year(1.0, None, 0.0, first)]).cost is None


def test_settings_keep_their_day_of_the_calendar():
    seasons = seasons_of(set_up(GARDEN, DAILY, FieldNotes()), [2024])
    (told,) = replay_settings(seasons, [DAILY_RUNS], own_year=2025)
    begins = moved(date(2025, 4, 7), -1)
    flow = seasons[0].setup.flow
    in_use, first = seasons[0].in_use, seasons[0].first
    since = np.array([first + timedelta(days=day) >= begins for day in range(in_use.shape[0])])
    assert told.litres == pytest.approx(float(((in_use & since[:, None]) * 0.2 * flow).sum()))


def test_a_season_over_a_leap_day_and_the_new_year():
    winter = make_planting(planted=date(2024, 11, 5), removed=date(2025, 3, 20))
    garden = make_garden(
        [make_bed(plantings=(winter,))], soil_states=(SoilState(date(2024, 11, 1), "full", None),)
    )
    table = settings_table(garden, DAILY, share=0.1, basis="p80", up_to=2)
    assert table.years == (2022, 2023, 2024)  # The season of 2023 has a day more.
    assert table.off_on == date(2025, 3, 20)
    for row in table.rows:
        few = fixed_settings(row.few)
        alone = []
        for year in table.years:
            dated = [replace(one, begins=moved(one.begins, year - 2024)) for one in few]
            moved_garden = in_year(garden, year)
            alone.append(replayed_season(moved_garden, run_fixed(moved_garden, DAILY, settings=dated)))
        # Water is that of every day, what it does leaves out the last day of the long season.
        assert row.replayed.litres == pytest.approx(mean_of_years(alone).litres)
        assert row.replayed.drained == pytest.approx(mean_of_years(alone).drained, abs=15.0)


def test_weeks_between_crops_are_told():
    early = make_planting(planted=date(2025, 4, 15), removed=date(2025, 5, 12))
    late = make_planting(planted=date(2025, 6, 4), removed=date(2025, 7, 20))
    garden = make_garden([make_bed(plantings=(early, late))])
    table = settings_table(garden, DAILY, share=0.1, basis="normals", up_to=2)
    # The first crop is out on Monday 12 May; Wednesday 4 June lies in the week from Monday 2 June.
    assert table.bare == ((date(2025, 5, 12), date(2025, 6, 2)),)


def test_a_record_without_a_season_is_refused():
    with pytest.raises(RillbookError, match="no whole season"):
        settings_table(GARDEN, make_daily(date(2025, 6, 1), 250), share=0.1, basis="p80", up_to=2)
