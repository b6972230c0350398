"""The chain over a span of days: replay what was, plan the week that comes."""

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest

from scheduler.errors import PlanError, WeatherError
from scheduler.garden.plan import SoilState, WaterSource, Zone
from scheduler.season.run import run_season, run_week, season_span
from scheduler.season.supply import supply_arrays
from scheduler.timetable.limits import Limits
from scheduler.water.balance import Conditions, step
from scheduler.water.balance import SoilState as Soil
from tests.builders import make_bed, make_daily, make_garden, make_planting
from tests.season.gardens import exchanged
from tests.timetable.cases import restriction, window
from tests.timetable.simulator import play

#: A Monday, so that the weeks of a season begin with it.
BEGINS = date(2025, 3, 31)
#: Four years, so that the two after a leap year can exchange their days.
DAILY = make_daily(date(2023, 1, 1), 1461)
LATE = make_planting(planted=date(2025, 6, 20), removed=date(2025, 8, 3))
GARDEN = make_garden(
    [make_bed("a"), make_bed("b", zone="two", plantings=(LATE,))],
    soil_states=(SoilState(BEGINS, "full", None),),
)
SEASON = run_season(GARDEN, DAILY)


# --- the season


def test_a_season_runs_from_the_first_soil_state_to_the_last_crop():
    assert season_span(GARDEN) == (BEGINS, date(2025, 10, 2))
    assert SEASON.dates[0] == np.datetime64(BEGINS)
    assert SEASON.dates[-1] == np.datetime64("2025-10-01")
    assert [plan.first for plan in SEASON.plans] == [BEGINS + timedelta(days=7 * n) for n in range(27)]
    assert (DAILY.dates[SEASON.weather_rows] == SEASON.dates).all()


def test_the_replay_is_the_kernel_day_by_day():
    nothing = np.zeros(2)
    state = Soil(nothing, nothing, nothing, nothing, SEASON.growth.taw[0])
    for day in range(SEASON.dates.shape[0]):
        today = Conditions(
            basal=SEASON.growth.kc[day] * DAILY.reference_et[SEASON.weather_rows[day]],
            rain=SEASON.rain[day],
            taw=SEASON.growth.taw[day],
            raw=SEASON.raw[day],
            storage=np.maximum(SEASON.growth.storage, SEASON.growth.taw)[day],
        )
        balance = step(state, today, applied=SEASON.applied[day])
        state = balance.state
        assert SEASON.depletion[day] == pytest.approx(state.depletion, abs=1e-9)
        assert SEASON.below[day] == pytest.approx(state.below, abs=1e-9)
        assert SEASON.et_actual[day] == pytest.approx(balance.transpiration, abs=1e-9)


def test_small_rain_is_dropped_and_the_rest_counts_whole():
    rain, et = DAILY.rain[SEASON.weather_rows], DAILY.reference_et[SEASON.weather_rows]
    # FAO-56 (1998), p. 153 and 170: below 0.2 of reference ET.
    wanted = [r if r >= 0.2 * e else 0.0 for r, e in zip(rain, et, strict=True)]
    assert SEASON.rain[:, 0].tolist() == wanted
    assert sum(1 for r, w in zip(rain, wanted, strict=True) if r != w) > 0


def test_the_timers_settings_are_what_the_beds_get():
    flow = supply_arrays(GARDEN)[1]
    for week, plan in enumerate(SEASON.plans):
        for zone, setting in enumerate(plan.settings):
            for number in range(min(7, SEASON.dates.shape[0] - 7 * week)):
                day = 7 * week + number
                runs = setting.mask[number] and SEASON.growth.in_use[day, zone]
                assert SEASON.minutes[day, zone] == (setting.minutes_per_day if runs else 0)
    assert SEASON.litres == pytest.approx(SEASON.minutes / 60.0 * flow)
    assert SEASON.litres.sum() > 500.0


def test_a_bed_without_plants_is_never_watered():
    empty = make_garden([make_bed("a"), make_bed("b", plantings=())])  # Both behind one outlet.
    result = run_season(empty, make_daily(rain_scale=0.0))
    assert result.litres[:, 0].sum() > 500.0
    assert result.litres[:, 1].max() == result.applied[:, 1].max() == result.minutes[:, 1].max() == 0.0
    fallow = ~SEASON.growth.in_use
    assert fallow[:, 1].sum() > 100
    assert SEASON.minutes[fallow].max() == SEASON.litres[fallow].max() == 0.0


def test_a_watered_bed_is_never_short_when_weather_is_as_foretold():
    # Every day's weather is the normal: the plan sees what comes.
    steady = replace(DAILY, reference_et=np.full(1461, 5.0), rain=np.zeros(1461))
    result = run_season(GARDEN, steady)
    assert all(plan.conflicts == () for plan in result.plans)
    grows = result.growth.in_use[:, 0]
    # Once a plan was made with the plant in view; the first day's bed is bare and dry.
    settled = grows & (result.dates > np.datetime64("2025-05-20"))
    assert np.all(result.depletion[settled, 0] <= 0.8 * result.raw[settled, 0] + 1e-6)
    assert result.stress_coefficient[settled, 0].min() == 1.0


@pytest.mark.parametrize("one_at_a_time", [True, False])
def test_every_week_of_a_season_under_an_order_keeps_the_rules(one_at_a_time):
    night = (window(time(21, 30), time(4, 0)),)
    order = restriction(
        begins=date(2025, 6, 25),
        ends=date(2025, 8, 20),
        days=("Mon", "Wed", "Sat"),
        begin=time(20),
        until=time(2),
    )
    garden = replace(
        GARDEN,
        windows=night,
        restrictions=(order,),
        timer=replace(GARDEN.timer, one_zone_at_a_time=one_at_a_time, longest_run=45),
        water_source=WaterSource(80.0, None, 0.75, None, None),
    )
    limits = Limits(garden.timer, night, (order,), 60.0)
    result = run_season(garden, DAILY)
    assert [play(plan, limits) for plan in result.plans] == [[]] * len(result.plans)
    ordered = (result.dates >= np.datetime64(order.begins)) & (result.dates <= np.datetime64(order.ends))
    names = np.array([day.strftime("%a") for day in result.dates.tolist()])
    forbidden = ordered & ~np.isin(names, order.days)
    assert result.minutes[forbidden].max() == 0.0
    assert result.minutes[ordered].max() > 0.0


# --- the week


@pytest.mark.parametrize("week", [0, 1, 7, 15, 26])
def test_a_week_is_that_week_of_the_season(week):
    on = BEGINS + timedelta(days=7 * week)
    result = run_week(GARDEN, DAILY, on=on)
    assert result.state_from == BEGINS
    assert result.plan.settings == SEASON.plans[week].settings
    assert result.plan.bed_minutes.tolist() == SEASON.plans[week].bed_minutes.tolist()
    if week == 0:
        assert result.before is None
        return
    assert result.before is not None
    for name in ("depletion", "raw", "applied", "et_actual", "deep_percolation", "litres"):
        longer = getattr(SEASON, name)[: 7 * week]
        assert getattr(result.before, name) == pytest.approx(longer, abs=1e-9), name
    assert result.outlook.depletion == pytest.approx(SEASON.depletion[7 * week - 1], abs=1e-9)


def test_the_timer_is_set_on_mondays_whatever_day_a_table_is_asked_for():
    tuesday = replace(GARDEN, soil_states=(SoilState(BEGINS + timedelta(days=1), "full", None),))
    firsts = [plan.first for plan in run_season(tuesday, DAILY).plans]
    assert firsts[0].weekday() == 1
    assert {first.weekday() for first in firsts[1:]} == {0}
    one, later = (run_week(GARDEN, DAILY, on=BEGINS + timedelta(days=n)).before for n in (100, 103))
    assert one.depletion == pytest.approx(later.depletion[:100], abs=1e-12)


def test_weeks_before_a_table_end_on_its_day():
    result = run_week(GARDEN, DAILY, on=BEGINS + timedelta(days=17))
    assert result.before is not None
    assert [(plan.first - BEGINS).days for plan in result.before.plans] == [0, 7, 14]
    assert result.before.dates.shape == (17,)
    assert result.plan.first == result.on == BEGINS + timedelta(days=17)


@pytest.mark.parametrize("on", [date(2025, 5, 17), date(2025, 7, 3), date(2025, 8, 20)])
def test_no_weather_from_the_day_of_the_table_on_enters_it(on):
    changed = exchanged(DAILY, on, other_year=2026)
    assert np.abs(changed.reference_et - DAILY.reference_et).max() > 1.0
    first, second = run_week(GARDEN, DAILY, on=on), run_week(GARDEN, changed, on=on)
    assert first.normals.reference_et == pytest.approx(second.normals.reference_et, rel=1e-12)
    assert first.plan.settings == second.plan.settings
    assert first.plan.depletion == pytest.approx(second.plan.depletion, abs=1e-9)
    assert first.outlook.limit == pytest.approx(second.outlook.limit, abs=1e-9)


def test_no_plan_of_a_season_sees_the_weather_after_it():
    later = BEGINS + timedelta(days=7 * 13)
    limited = replace(GARDEN, soil_states=(SoilState(BEGINS, "at limit", None),))
    for garden in (GARDEN, limited):
        result = run_season(garden, DAILY)
        changed = run_season(garden, exchanged(DAILY, later, other_year=2026))
        assert changed.depletion[: 7 * 13] == pytest.approx(result.depletion[: 7 * 13], abs=1e-9)
        for plan, other in zip(result.plans[:14], changed.plans[:14], strict=True):
            assert plan.settings == other.settings
        assert np.abs(changed.depletion[7 * 13 :] - result.depletion[7 * 13 :]).max() > 1.0
    start = run_season(limited, DAILY).plans[0]
    assert start.settings == run_season(limited, exchanged(DAILY, BEGINS, other_year=2026)).plans[0].settings


def test_forecast_rows_go_before_normals_and_their_rain_counts_by_share():
    on = date(2025, 7, 3)
    here = int((np.datetime64(on) - DAILY.dates[0]).astype(int))
    cut = here + 4
    daily = replace(
        DAILY,
        **{n: getattr(DAILY, n)[:cut].copy() for n in ("dates", "wind_2m", "rh_min", "tmax", "tmin")},
        reference_et=np.append(DAILY.reference_et[:here], [6.0, 6.0, 2.0, 7.0]),
        rain=np.append(DAILY.rain[:here], [10.0, 1.0, 0.5, 0.0]),
        forecast=np.arange(cut) >= here,
    )
    result = run_week(GARDEN, daily, on=on)
    assert result.weather.origin.tolist() == ["forecast"] * 4 + ["normal"] * 3
    # Half of what is foretold; 1 mm is below a fifth of 6 mm and is dropped, 0.5 mm of 2 mm is not.
    assert result.counted_rain[:4].tolist() == [5.0, 0.0, 0.25, 0.0]
    normal = result.normals.rain[(date(2025, 7, 7) - date(2025, 1, 1)).days :][:3]
    assert result.counted_rain[4:] == pytest.approx(0.5 * normal)
    assert result.outlook.conditions.rain[:, 0] == pytest.approx(result.counted_rain)
    assert result.outlook.conditions.basal[:4, 0] == pytest.approx(
        result.growth.kc[:4, 0] * [6.0, 6.0, 2.0, 7.0]
    )


def test_planning_cares_by_its_shares():
    on = date(2025, 7, 3)
    care = replace(GARDEN.planning, reserve=0.5, forecast_rain=0.0, normal_rain=0.0)
    wary, bold = (
        run_week(replace(GARDEN, planning=planning), DAILY, on=on)
        for planning in (care, replace(care, reserve=0.0, normal_rain=1.0))
    )
    assert wary.counted_rain.max() == 0.0
    assert bold.counted_rain == pytest.approx(bold.weather.rain)
    assert np.isinf(wary.outlook.limit).sum() == np.isinf(bold.outlook.limit).sum() == 0
    # Where a day and a half of use asks for no more, the limit is RAW less the reserve.
    assert np.all(wary.limit >= 0.5 * wary.outlook.conditions.raw - 1e-9)
    assert np.isclose(wary.limit, 0.5 * wary.outlook.conditions.raw).mean() > 0.3
    assert bold.limit == pytest.approx(bold.outlook.conditions.raw)


# --- leaching, zones


def test_salty_water_runs_longer_by_the_leaching_share():
    salty = replace(GARDEN, water_source=WaterSource(1000.0, None, 0.75, None, 2.0))
    result, plain = run_week(salty, DAILY, on=BEGINS), run_week(GARDEN, DAILY, on=BEGINS)
    share = result.growth.leaching
    assert result.outlook.net_rate == pytest.approx(plain.outlook.net_rate * (1.0 - share))
    season = run_season(salty, DAILY)
    assert season.growth.leaching.max() == pytest.approx(2.0 / (2 * (2.5 + 100 / 9.9)))
    assert season.litres.sum() > 1.05 * SEASON.litres.sum()


def test_beds_of_one_zone_get_the_same_minutes_by_either_rule():
    beds = [make_bed("a", emitters=16), make_bed("b", emitters=10)]
    litres = {}
    for rule in ("driest bed", "area mean"):
        result = run_season(make_garden(beds, zones=(Zone("one", 1, rule),)), DAILY)
        assert np.array_equal(result.minutes[:, 0], result.minutes[:, 1])
        litres[rule] = result.litres.sum()
    assert litres["area mean"] < litres["driest bed"]


# --- refusals


def test_a_table_before_the_first_soil_state_is_refused():
    with pytest.raises(PlanError) as refused:
        run_week(GARDEN, DAILY, on=date(2025, 3, 30))
    (fault,) = refused.value.faults
    assert fault.where == "soil_state"
    assert "2025-03-31" in fault.found
    assert "2025-03-30" in fault.wanted


@pytest.mark.parametrize(("begins", "n_days"), [(date(2023, 1, 1), 900), (date(2025, 4, 2), 400)])
def test_a_record_that_does_not_cover_the_span_is_refused(begins, n_days):
    short = make_daily(begins, n_days)
    with pytest.raises(WeatherError) as refused:
        run_season(GARDEN, short)
    (fault,) = refused.value.faults
    assert str(short.dates[0]) in fault.found
    assert str(short.dates[-1]) in fault.found
    assert "2025-03-31 to 2025-10-01" in fault.wanted


def test_a_table_for_the_day_after_the_record_is_answered_and_one_later_refused():
    daily = make_daily(date(2023, 1, 1), 900)
    after = date(2023, 1, 1) + timedelta(days=900)
    assert run_week(GARDEN, daily, on=after).weather.origin.tolist() == ["normal"] * 7
    with pytest.raises(WeatherError):
        run_week(GARDEN, daily, on=after + timedelta(days=1))


def test_evening_water_serves_the_next_day_and_none_is_lost():
    """With hours in the evening alone a run comes after the day's use, so a bed is driest before it."""
    evening = make_garden(windows=(window(time(18, 0), time(22, 0)),))
    result = run_season(evening, make_daily())
    missing = result.depletion + result.below
    before = np.vstack([np.zeros(1), missing[:-1]])
    change = result.et_actual + result.deep_percolation - result.rain - result.applied
    assert np.abs(missing - (before + result.correction + change)).max() <= 1e-9
    watered = result.applied[:, 0] > 0.0
    wet_first = np.maximum(before - result.rain, 0.0)
    used = wet_first + result.et_actual
    assert np.allclose(result.depletion[watered], np.maximum(used - result.applied, 0.0)[watered])
    morning = run_season(make_garden(), make_daily())
    assert result.litres.sum() == pytest.approx(morning.litres.sum(), rel=0.1)
