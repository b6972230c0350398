"""The dual coefficient through whole seasons and weeks: what wetting the surface does to use."""

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest

from scheduler.garden.plan import Planning, SoilMix, SoilState, StageLengths
from scheduler.season.field import FieldNotes, RunNote
from scheduler.season.run import run_season, run_week
from tests.builders import make_bed, make_daily, make_garden, make_planting
from tests.timetable.cases import window

SOWN = date(2025, 5, 10)
DRY = make_daily(rain_scale=0.0)
#: Sown and slow: the bed is open ground for a month.
CARROT = make_planting(
    crop="carrot",
    planted=SOWN,
    removed=date(2025, 8, 20),
    stages=StageLengths(30, 30, 30, 12),
    height=0.3,
    root_depth=0.5,
)

#: FAO-56 Table 19, middle of sandy loam.
LOAM = SoilMix("loam", 0.23, 0.11, "Table 19", readily_evaporable=8.0, total_evaporable=17.5)


def garden_with(coefficient, beds=None, **changes):
    garden = make_garden(beds, **changes)
    return replace(garden, planning=replace(garden.planning, coefficient=coefficient))


def runs(minutes, *, begins=SOWN):
    """Return notes of these minutes on one day after the other."""
    return FieldNotes(
        runs=tuple(
            RunNote(begins + timedelta(days=day), minutes=float(lasted), ran=True)
            for day, lasted in enumerate(minutes)
        )
    )


def of_days(result, begins, count):
    """Return the part of a season's days that begins on a date."""
    first = (begins - result.dates[0].item()).days
    return slice(first, first + count)


# --- which coefficient, and how far the two lie apart


def test_the_dual_coefficient_is_the_default():
    planning = Planning(reserve=0.2, forecast_rain=0.5, normal_rain=0.5, bare_soil_coefficient=0.3)
    assert planning.coefficient == "dual"
    garden = replace(make_garden(), planning=planning)
    result = run_season(garden, DRY)
    assert result.conditions.surface is not None
    assert result.evaporation.sum() > 50.0
    assert run_season(garden_with("single"), DRY).evaporation.max() == 0.0


def test_with_a_dry_surface_the_two_differ_by_the_evaporation_that_the_single_one_holds():
    """The stated bound: Kc less Kcb times reference ET, 0.05 of it for a full stand."""
    first, count = date(2025, 8, 1), 10  # Mid-season: day 84 of 70..115.
    states = [SoilState(date(2025, 4, 1), "full", None)]
    states += [SoilState(first + timedelta(days=day), "at limit", None) for day in range(count)]
    results = {
        kind: run_season(
            garden_with(kind, soil_states=tuple(states)), DRY, notes=runs([0.0] * count, begins=first)
        )
        for kind in ("dual", "single")
    }
    days = of_days(results["dual"], first, count)
    reference_et = DRY.reference_et[results["dual"].weather_rows][days]
    assert results["dual"].evaporation[days].max() == 0.0
    assert results["dual"].stress_coefficient[days].min() == pytest.approx(1.0)
    apart = (results["single"].et_actual - results["dual"].et_actual)[days, 0]
    assert apart == pytest.approx((1.15 - 1.10) * reference_et)


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize(("rain_scale", "most"), [(0.0, 0.10), (1.0, 0.15)])
def test_a_usual_bed_uses_by_the_dual_coefficient_what_it_does_by_the_single_one_and_a_little_more(
    seed, rain_scale, most
):
    """The stated share: up to a tenth more in a dry summer and 15 % more in a wet one, never less.

    A staked tomato with a third of the bed wetted by drip. Rain wets all of the surface and lies on it where
    no roots are.
    """
    daily = make_daily(seed=seed, rain_scale=rain_scale)
    single, dual = (run_season(garden_with(kind), daily) for kind in ("single", "dual"))
    grows = single.growth.in_use
    used = {kind: result.et_actual[grows].sum() for kind, result in (("single", single), ("dual", dual))}
    assert used["single"] <= used["dual"] <= (1.0 + most) * used["single"]
    assert single.litres.sum() < dual.litres.sum() < 1.2 * single.litres.sum()


# --- a seed bed


def germinating(kind, every, *, minutes=30.0):
    """Return evaporation and whole use of three weeks after sowing [mm], watered every so many days."""
    garden = garden_with(
        kind,
        [make_bed(plantings=(CARROT,), wetted_share=0.8, soil=LOAM)],
        soil_states=(SoilState(SOWN, "full", None),),
    )
    given = [minutes * every if day % every == 0 else 0.0 for day in range(21)]
    result = run_season(garden, DRY, notes=runs(given))
    days = of_days(result, SOWN, 21)
    assert result.applied[days].sum() == pytest.approx(21 * minutes / 6.0)
    return float(result.evaporation[days].sum()), float(result.et_actual[days].sum())


def test_a_seed_bed_watered_daily_uses_more_than_one_watered_every_third_day():
    (daily, daily_use), (third, third_use) = germinating("dual", 1), germinating("dual", 3)
    assert daily > 1.05 * third
    assert daily_use > 1.05 * third_use
    # The single coefficient cannot tell them apart.
    assert germinating("single", 1) == pytest.approx(germinating("single", 3))


def test_more_of_the_surface_wetted_means_more_use():
    used = {}
    for share in (0.2, 0.4, 0.8):
        beds = [make_bed(plantings=(CARROT,), wetted_share=share)]
        result = run_season(garden_with("dual", beds), DRY)
        used[share] = float(result.et_actual[of_days(result, SOWN, 30)].sum())
    assert 1.1 * used[0.2] < used[0.4]
    assert 1.1 * used[0.4] < used[0.8]


# --- bounds


@pytest.mark.parametrize("seed", range(8))
def test_more_irrigation_never_leaves_a_bed_drier(seed):
    """The stated bound: by no more than a tenth of the water given.

    Energy goes to the wetter of the two parts of the surface: what a run keeps in the rest of the bed while
    its strip dries goes a few days later.
    """
    rng = np.random.default_rng(seed)
    daily = make_daily(seed=seed, rain_scale=float(rng.choice([0.0, 1.0, 3.0])))
    planting = make_planting(
        planted=SOWN, removed=SOWN + timedelta(days=60), stages=StageLengths(10, 15, 20, 15)
    )
    bed = make_bed(plantings=(planting,), wetted_share=float(rng.choice([0.2, 0.35, 0.8])))
    garden = garden_with("dual", [bed], soil_states=(SoilState(SOWN, float(rng.uniform(0, 40)), None),))
    little = np.where(rng.random(60) < 0.4, rng.integers(0, 40, 60), 0)
    much = little.copy()
    much[rng.integers(0, 40)] += rng.integers(5, 40)
    one, other = (run_season(garden, daily, notes=runs(minutes)) for minutes in (little, much))
    drier = (other.depletion + other.below) - (one.depletion + one.below)
    given = other.applied.sum() - one.applied.sum()
    assert given > 0.5
    assert drier.max() <= 0.1 * given
    assert drier.min() < -0.1 or other.deep_percolation.sum() > one.deep_percolation.sum()


# --- evening water, and weather to come


def test_an_evening_run_wets_the_surface_for_the_day_after():
    first = SOWN + timedelta(days=10)
    evening = (window(time(18, 0), time(22, 0)),)
    garden = garden_with("dual", [make_bed(plantings=(CARROT,), wetted_share=0.8)], windows=evening)
    dry, wet = (
        run_season(garden, DRY, notes=runs([0.0] * 20 + [minutes, 0.0], begins=first - timedelta(days=20)))
        for minutes in (0.0, 12.0)
    )
    day = (first - dry.dates[0].item()).days
    assert np.array_equal(wet.evaporation[: day + 1], dry.evaporation[: day + 1])
    assert wet.depletion[day, 0] == pytest.approx(dry.depletion[day, 0] - 2.0)
    assert wet.evaporation[day + 1, 0] > dry.evaporation[day + 1, 0] + 0.5
    morning = run_season(
        replace(garden, windows=make_garden().windows),
        DRY,
        notes=runs([0.0] * 20 + [12.0, 0.0], begins=first - timedelta(days=20)),
    )
    assert morning.evaporation[day, 0] > dry.evaporation[day, 0] + 0.5


def foretold(rain, *, wind=2.0, rh_min=45.0):
    """Return the dry record up to 3 July with four days of forecast after it."""
    on = date(2025, 7, 3)
    here = int((np.datetime64(on) - DRY.dates[0]).astype(int))
    cut = here + 4
    daily = replace(
        DRY,
        **{name: getattr(DRY, name)[:cut].copy() for name in ("dates", "tmax", "tmin")},
        reference_et=np.append(DRY.reference_et[:here], [5.0] * 4),
        rain=np.append(DRY.rain[:here], [rain, 0.0, 0.0, 0.0]),
        wind_2m=np.append(DRY.wind_2m[:here], [wind] * 4),
        rh_min=np.append(DRY.rh_min[:here], [rh_min] * 4),
        forecast=np.arange(cut) >= here,
    )
    return on, daily


def test_rain_that_is_foretold_wets_the_surface_that_a_plan_sees():
    bed = make_bed(plantings=(replace(CARROT, planted=date(2025, 6, 25), removed=date(2025, 10, 2)),))
    garden = garden_with("dual", [bed])
    shown = {}
    for rain in (0.0, 16.0):
        on, daily = foretold(rain)
        result = run_week(garden, daily, on=on)
        assert result.weather.origin[:4].tolist() == ["forecast"] * 4
        assert result.outlook.conditions.rain[0, 0] == rain * 0.5
        shown[rain] = result
    assert shown[0.0].outlook.state.rest[0] > 15.0  # Of 24 mm: the open part has dried for long.
    # Nobody waters that week after the rain, yet more evaporates than in the dry week with its runs.
    assert shown[16.0].plan.settings[0].minutes_per_day <= shown[0.0].plan.settings[0].minutes_per_day
    assert shown[16.0].plan.use[:2, 0].sum() > shown[0.0].plan.use[:2, 0].sum() + 1.5


def test_wind_and_humidity_that_are_foretold_set_the_greatest_use():
    garden = garden_with("dual")
    on, daily = foretold(0.0, wind=4.0, rh_min=25.0)
    result = run_week(garden, daily, on=on)
    surface, growth = result.outlook.conditions.surface, result.growth
    # FAO-56 eq. 72: 1.2 + [0.04 (4 - 2) - 0.004 (25 - 45)] (h/3)^0.3, at least Kcb + 0.05.
    height = growth.height[0, 0]
    by_climate = 1.2 + 0.16 * (height / 3.0) ** 0.3
    assert surface.most[0, 0] == pytest.approx(max(by_climate, growth.basal[0, 0] + 0.05) * 5.0)
    # Wind and humidity of the last three days are normals again: 2 m/s and 45 %.
    usual = result.weather.reference_et[6]
    assert surface.most[6, 0] == pytest.approx(max(1.2, growth.basal[6, 0] + 0.05) * usual, rel=2e-3)


def test_the_week_counts_the_evaporation_of_its_own_runs():
    on = date(2025, 5, 20)
    beds = [make_bed(plantings=(CARROT,), wetted_share=0.8)]
    result = run_week(garden_with("dual", beds), DRY, on=on)
    basal = result.outlook.conditions.basal[:7, 0].sum()
    assert result.plan.settings[0].minutes_per_day > 0
    assert result.plan.use[:7, 0].sum() > basal + 5.0
    # And the season that follows meets it: the replayed week uses what was foreseen, weather apart.
    season = run_season(garden_with("dual", beds), DRY)
    days = of_days(season, date(2025, 5, 19), 7)
    assert season.evaporation[days].sum() > 5.0
