"""What its place does to a bed: shade, a warm wall, less rain; how a stand is closed, alone, or mixed."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from scheduler.garden.plan import SoilState, StageLengths
from scheduler.season.growth import bed_curves, garden_growth
from scheduler.season.needs import weekly_need
from scheduler.season.run import run_season, run_week
from scheduler.season.stages import Warmth
from scheduler.season.surroundings import DayWeather, bed_rain, bed_reference_et
from scheduler.weather.normals import day_of_year_normals
from tests.builders import make_bed, make_daily, make_garden, make_planting

DAILY = make_daily()
NORMALS = day_of_year_normals(DAILY)
BEGINS, PLANTED = date(2025, 3, 31), date(2025, 5, 10)


def midsummer(reference_et=6.0, *, tmax=30.0, tmin=12.0, rain=10.0):
    """Return 21 June at 43.5 degrees north and 120 m: one day of the builder's garden."""
    one = {"reference_et": reference_et, "rain": rain, "wind_2m": 2.0, "rh_min": 45.0}
    values = {name: np.array([value]) for name, value in (one | {"tmax": tmax, "tmin": tmin}).items()}
    return DayWeather(dates=np.array(["2025-06-21"], dtype="datetime64[D]"), before=np.zeros(0), **values)


def reaching(weather, **bed):
    """Return the reference ET that reaches one bed on one day."""
    return float(bed_reference_et(make_garden([make_bed(**bed)]), weather)[0, 0])


def garden_of(beds, *, coefficient="dual"):
    garden = make_garden(beds, soil_states=(SoilState(BEGINS, "full", None),))
    return replace(garden, planning=replace(garden.planning, coefficient=coefficient))


# --- shade


def test_four_hours_of_evening_sun_lost_on_a_clear_midsummer_day():
    """By hand, at 43.5 degrees north, 120 m, 21 June; 30 and 12 degC, wind 2 m/s.

    Declination 0.4090, sunset angle 1.9947, Ra 41.919 MJ (FAO-56 eq. 21-25); the last four of 15.24 hours
    hold 0.15308 of it (eq. 28). Rs / Ra = 0.16 sqrt(18) = 0.67882 (eq. 50), so that 0.27883 of Rs is diffuse
    (Erbs) and 0.72117 beam. Delta 0.152757, gamma 0.066427 kPa/degC: weight 0.577850 with 1 + 0.34 u2 = 1.68.
    Less: 0.408 (1 - 0.23) 0.67882 x 41.919 x 0.15308 x 0.72117 x 0.57785 = 0.57030 mm.
    """
    assert reaching(midsummer(), sun_lost=4.0) == pytest.approx(6.0 - 0.57030, abs=2e-4)


def test_hours_around_noon_hold_more_sun_than_early_and_late_ones():
    morning, noon, evening = (
        6.0 - reaching(midsummer(), sun_lost=4.0, sun_lost_when=when)
        for when in ("morning", "midday", "evening")
    )
    assert morning == pytest.approx(evening)
    # By eq. 28 the four hours around noon hold 0.41304 of the day's radiation, the last four 0.15308.
    assert noon / evening == pytest.approx(0.41304 / 0.15308, rel=1e-4)


def test_more_hours_lost_mean_less_and_a_dull_day_loses_little():
    lost = [6.0 - reaching(midsummer(), sun_lost=hours) for hours in (0.0, 2.0, 4.0, 8.0)]
    assert lost[0] == 0.0
    assert np.all(np.diff(lost) > 0.0)
    # A range of 5 degC: Rs / Ra 0.358, of which hardly more than a fifth is beam.
    dull = midsummer(tmax=20.0, tmin=15.0)
    assert 6.0 - reaching(dull, sun_lost=4.0) < 0.25 * lost[2]


def test_shade_never_takes_more_than_half():
    weather = midsummer(2.0)
    assert reaching(weather, sun_lost=15.0, sun_lost_when="midday") == pytest.approx(1.0)
    assert reaching(weather, sun_lost=10.0, sun_lost_when="midday") == pytest.approx(1.0)
    # A long lost evening in winter, when there is no such sun, is no fault.
    december = replace(midsummer(1.0), dates=np.array(["2025-12-21"], dtype="datetime64[D]"))
    assert 0.5 <= reaching(december, sun_lost=12.0) < 1.0


def test_a_day_without_range_of_temperature_has_no_beam_to_lose():
    assert reaching(midsummer(tmax=15.0, tmin=15.0), sun_lost=6.0) == pytest.approx(6.0)


@pytest.mark.parametrize("coefficient", ["dual", "single"])
def test_shade_and_shelter_are_of_their_own_bed_alone(coefficient):
    beds = [make_bed("open"), make_bed("placed", zone="two")]
    placed = [beds[0], replace(beds[1], sun_lost=5.0, sun_lost_when="midday", rain_share=0.5)]
    plain, changed = (run_season(garden_of(each, coefficient=coefficient), DAILY) for each in (beds, placed))
    for name in ("depletion", "et_actual", "rain", "applied", "deep_percolation"):
        assert np.array_equal(getattr(plain, name)[:, 0], getattr(changed, name)[:, 0]), name
    grows = plain.growth.in_use[:, 1]
    assert changed.et_actual[grows, 1].sum() < 0.95 * plain.et_actual[grows, 1].sum()
    assert changed.rain[:, 1] == pytest.approx(0.5 * plain.rain[:, 1])
    # A shaded bed is still the same plants in the same soil.
    assert np.array_equal(changed.growth.basal, plain.growth.basal)
    assert np.all(changed.raw[grows, 1] >= plain.raw[grows, 1])


def test_what_reaches_a_bed_is_told_and_scales_both_its_use_and_its_energy():
    beds = [make_bed("open"), make_bed("shaded", zone="two", sun_lost=5.0, sun_lost_when="midday")]
    week = run_week(garden_of(beds), DAILY, on=date(2025, 7, 7))
    assert week.reached[:, 0] == pytest.approx(1.0)
    share = week.reached[:, 1]
    assert 0.5 <= share.min() <= share.max() < 0.95
    conditions = week.outlook.conditions
    assert conditions.basal[:, 1] == pytest.approx(conditions.basal[:, 0] * share)
    assert conditions.surface is not None
    assert conditions.surface.most[:, 1] == pytest.approx(conditions.surface.most[:, 0] * share)


# --- walls and rain


def test_a_warm_wall_adds_its_share():
    assert reaching(midsummer(), wall_heat=0.15) == pytest.approx(6.9)
    both = reaching(midsummer(), wall_heat=0.15, sun_lost=4.0)
    assert both == pytest.approx(1.15 * (6.0 - 0.57030), abs=2e-4)


def test_a_warm_wall_makes_a_bed_use_more():
    beds = [make_bed("open"), make_bed("warm", zone="two", wall_heat=0.20)]
    result = run_season(garden_of(beds, coefficient="single"), make_daily(rain_scale=0.0))
    grows = result.growth.in_use[:, 0] & (result.stress_coefficient.min(axis=1) == 1.0)
    assert result.et_actual[grows, 1] == pytest.approx(1.2 * result.et_actual[grows, 0])


def test_rain_that_reaches_a_bed():
    beds = [make_bed("open"), make_bed("eaves", rain_share=0.4), make_bed("roof", rain_share=0.0)]
    assert bed_rain(make_garden(beds), midsummer()).tolist() == [[10.0, 4.0, 0.0]]
    # In the week to come as in the days behind.
    week = run_week(garden_of([replace(bed, zone=bed.name) for bed in beds]), DAILY, on=date(2025, 7, 7))
    assert week.outlook.conditions.rain == pytest.approx(week.counted_rain[:, None] * np.array([1, 0.4, 0]))
    assert week.before is not None
    assert week.before.rain[:, 2].max() == 0.0


# --- stands


def curve_of(planting, **bed):
    dates = np.datetime64(PLANTED) + np.arange(145)
    known = Warmth(DAILY, NORMALS, date(2026, 1, 1))
    _, (curve,) = bed_curves(
        make_bed(plantings=(planting,), **bed), dates, normals=NORMALS, warmth=known, latitude=43.5
    )
    return curve


@pytest.mark.parametrize(
    ("height", "width", "greatest"),
    # FAO-56 eq. 105: 1.2 + h / w, at most 2.5.
    [(1.5, 3.0, 1.7), (1.5, 2.0, 1.95), (1.5, 1.0, 2.5), (2.0, 1.0, 2.5)],
)
def test_a_stand_alone_in_dry_ground_uses_more_while_its_leaves_are_full(height, width, greatest):
    planting = make_planting(height=height)
    alone, among = curve_of(planting, isolated_width=width), curve_of(planting)
    assert (alone.kc_mid, alone.kcb_mid) == pytest.approx((greatest, greatest - 0.05))
    # Day 90 lies in mid-season, day 10 in the initial stage; the end is that of the table.
    assert (alone.kc[89], alone.basal[89]) == pytest.approx((greatest, greatest - 0.05))
    assert alone.kc[9] == among.kc[9]
    assert (alone.kc_end, alone.kcb_end) == pytest.approx((among.kc_end, among.kcb_end))


def test_a_stand_alone_never_uses_less_than_one_among_others():
    thirsty = make_planting(kc_mid=1.3, kcb_mid=1.25, height=0.1)
    # 1.2 + 0.1 / 10 = 1.21 lies below the table's own.
    assert curve_of(thirsty, isolated_width=10.0).kc_mid == pytest.approx(1.3)


def test_the_energy_of_a_day_makes_room_for_a_stand_alone():
    bed = make_bed(plantings=(make_planting(height=1.5),), isolated_width=1.0)
    result = run_season(garden_of([bed]), make_daily(rain_scale=0.0))
    day = (date(2025, 8, 10) - BEGINS).days
    surface = result.conditions.surface
    assert surface is not None
    assert surface.most[day, 0] == pytest.approx(result.conditions.basal[day, 0] * 2.5 / 2.45)


@pytest.mark.parametrize(
    # Noon altitude on 10 August, the middle of mid-season: 61.78 degrees, sine 0.8811 (Box 18); h 0.6 m.
    # Kcb = 0.15 + 0.95 min(1, 2 fc, (fc / sine) ^ (1 / 1.6)), FAO-56 eq. 98 with the table's value for full.
    ("ground_cover", "expected"),
    [(0.4, 0.15 + 0.95 * 0.6104), (0.2, 0.15 + 0.95 * 0.3958)],
)
def test_a_sparse_stand_uses_less(ground_cover, expected):
    sparse, full = (curve_of(make_planting(ground_cover=cover)) for cover in (ground_cover, None))
    assert sparse.kcb_mid == pytest.approx(expected, abs=1e-4)
    # The single coefficient loses what the basal one does, and the end goes by the peak.
    assert sparse.kc_mid == pytest.approx(1.15 - (1.10 - sparse.kcb_mid))
    assert sparse.kcb_end == pytest.approx(0.6 * sparse.kcb_mid / 1.10)
    assert sparse.kc_end == pytest.approx(0.7 * sparse.kcb_mid / 1.10)
    assert np.all(sparse.basal <= full.basal + 1e-12)
    # Its leaves never cover more than was told, and nothing in its first stage.
    assert sparse.cover.max() <= ground_cover
    assert sparse.cover[29] == 0.0


def test_a_dense_stand_told_as_such_changes_nothing():
    told, full = curve_of(make_planting(ground_cover=1.0)), curve_of(make_planting())
    assert told.kcb_mid == pytest.approx(full.kcb_mid)
    assert told.basal == pytest.approx(full.basal)
    assert told.cover == pytest.approx(full.cover, abs=0.02)


def test_open_ground_of_a_sparse_stand_evaporates():
    def lost(cover):
        bed = make_bed(plantings=(make_planting(ground_cover=cover),), wetted_share=0.8)
        result = run_season(garden_of([bed]), make_daily(rain_scale=0.0))
        august = (result.dates >= np.datetime64("2025-08-01")) & (result.dates < np.datetime64("2025-09-01"))
        return result.evaporation[august].sum(), result.transpiration[august].sum()

    (sparse_air, sparse_plant), (full_air, full_plant) = lost(0.3), lost(None)
    assert sparse_plant < 0.75 * full_plant
    assert sparse_air > 2.0 * full_air
    assert sparse_air + sparse_plant < full_air + full_plant


# --- mixtures

MAIZE = make_planting(crop="maize", share=0.3, height=2.0, kc_mid=1.20, kcb_mid=1.15)
BEANS = make_planting(crop="beans", share=0.5, height=0.4, kc_mid=1.05, kcb_mid=1.00)


def mixed(mixing, *, days=(90,), plantings=(MAIZE, BEANS), **bed):
    """Return a bed's growth on days after planting, both crops in mid-season on day 90."""
    dates = np.datetime64(PLANTED) + np.array(days) - 1
    known = Warmth(DAILY, NORMALS, date(2026, 1, 1))
    beds = [make_bed(plantings=plantings, mixing=mixing, **bed)]
    return garden_growth(make_garden(beds), dates, normals=NORMALS, warmth=known)


def test_mixed_by_height_the_taller_counts_more():
    """FAO-56 eq. 104, on the 0.8 of the bed that is planted: weights 0.3 x 2.0 and 0.5 x 0.4."""
    growth = mixed("height")
    basal = 0.8 * (0.6 * 1.15 + 0.2 * 1.00) / 0.8
    single = 0.8 * (0.6 * 1.20 + 0.2 * 1.05) / 0.8
    assert growth.basal_area[0, 0] == pytest.approx(basal)
    # A fifth of the bed is bare, by the single coefficient 0.3.
    assert growth.kc_area[0, 0] == pytest.approx(single + 0.2 * 0.3)
    by_area = mixed("area")
    assert by_area.basal_area[0, 0] == pytest.approx(0.3 * 1.15 + 0.5 * 1.00)
    assert growth.basal[0, 0] > by_area.basal[0, 0]
    # Roots, cover and the thirstiest plant know nothing of it.
    for name in ("taw", "cover", "fraction", "kc_thirstiest", "basal_thirstiest", "roots"):
        assert getattr(growth, name)[0, 0] == getattr(by_area, name)[0, 0], name


def test_crops_of_one_height_mix_by_area():
    even = (replace(MAIZE, height=0.4), BEANS)
    assert mixed("height", plantings=even).basal_area == pytest.approx(
        mixed("area", plantings=even).basal_area
    )


def test_a_mixture_by_height_is_a_single_crop_when_one_is_gone_and_bare_when_both_are():
    gone = (replace(MAIZE, removed=date(2025, 7, 1)), BEANS)
    growth = mixed("height", days=(90, 150, 160), plantings=gone)
    assert growth.basal_area[0, 0] == pytest.approx(0.5 * 1.00)
    both = tuple(replace(planting, removed=date(2025, 7, 1)) for planting in (MAIZE, BEANS))
    bare = mixed("height", plantings=both)
    assert (bare.basal_area[0, 0], bare.kc_area[0, 0]) == (0.0, pytest.approx(0.3))
    assert mixed("height", plantings=()).basal_area[0, 0] == 0.0


# --- what the week's need says of a shaded bed


@pytest.mark.parametrize("coefficient", ["dual", "single"])
def test_the_need_by_either_rule_is_of_the_sun_that_reaches_the_bed(coefficient):
    lettuce = make_planting(
        crop="lettuce",
        share=0.5,
        kc_mid=0.8,
        kcb_mid=0.7,
        stages=StageLengths(10, 10, 60, 20),
    )
    bed = make_bed(plantings=(replace(MAIZE, share=0.5), lettuce), sun_lost=6.0, sun_lost_when="midday")
    daily = make_daily(rain_scale=0.0)
    garden = garden_of([bed], coefficient=coefficient)
    result = run_week(garden, daily, on=date(2025, 8, 4))
    need = weekly_need(garden, result, 0)
    growth = result.growth
    apart = (
        growth.basal_thirstiest - growth.basal_area
        if coefficient == "dual"
        else growth.kc_thirstiest - growth.kc_area
    )
    reached = (result.weather.reference_et[:, None] * result.reached)[:7]
    assert result.reached[:7].max() < 0.95
    assert need.by_thirstiest - need.by_area == pytest.approx((apart[:7] * reached).sum())
    assert need.by_area == pytest.approx(result.plan.use[:7, 0].sum())
