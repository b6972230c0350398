"""What grows in a bed on each day, by hand."""

from dataclasses import fields, replace
from datetime import date

import numpy as np
import pytest

from scheduler.garden.plan import StageLengths, WaterSource
from scheduler.season.growth import bed_curves, garden_growth
from scheduler.season.stages import Warmth
from scheduler.weather.normals import day_of_year_normals
from tests.builders import make_bed, make_daily, make_garden, make_planting

# Wind 2 m/s and 45 % least humidity all year: the climate to which the published coefficients belong.
DAILY = make_daily()
NORMALS = day_of_year_normals(DAILY)
PLANTED = date(2025, 5, 10)


def days(begins, count):
    return np.datetime64(begins) + np.arange(count)


def growth_of(bed, dates, *, normals=NORMALS, **garden):
    return garden_growth(make_garden([bed], **garden), dates, normals=normals, warmth=warmth(normals))


def warmth(normals=NORMALS):
    return Warmth(DAILY, normals, date(2026, 1, 1))


def curve_of(planting, dates, *, bed=None, normals=NORMALS):
    """Return the curve of a planting that stands alone in a bed."""
    bed = replace(bed or make_bed(), plantings=(planting,))
    _, (curve,) = bed_curves(bed, dates, normals=normals, warmth=warmth(normals), latitude=43.5)
    return curve


def test_a_planting_counts_from_its_first_day_to_the_day_before_it_is_taken_out():
    planting = make_planting(planted=PLANTED, removed=date(2025, 5, 13))
    growth = growth_of(make_bed(plantings=(planting,)), days(date(2025, 5, 9), 5))
    assert growth.in_use[:, 0].tolist() == [False, True, True, True, False]


def test_the_coefficient_follows_the_stages():
    # 30 + 40 + 45 + 30 days: day 30 ends the initial stage, day 50 lies halfway through development.
    curve = curve_of(make_planting(), days(PLANTED, 145))
    assert curve.kc_mid == pytest.approx(1.15)
    assert curve.kc_end == pytest.approx(0.7)
    told = {day: curve.kc[day - 1] for day in (1, 30, 50, 70, 115, 130, 145)}
    assert told == pytest.approx({1: 0.6, 30: 0.6, 50: 0.875, 70: 1.15, 115: 1.15, 130: 0.925, 145: 0.7})


def test_climate_shifts_the_coefficients_of_mid_and_end():
    daily = make_daily()
    windy = replace(daily, wind_2m=np.full(1096, 4.0), rh_min=np.full(1096, 30.0))
    normals = day_of_year_normals(windy)
    curve = curve_of(make_planting(), days(PLANTED, 145), normals=normals)
    # FAO-56 eq. 62: [0.04 (4 - 2) - 0.004 (30 - 45)] (0.6 / 3)^0.3 = 0.14 * 0.6170 = 0.0864.
    assert curve.kc_mid == pytest.approx(1.15 + 0.0864, abs=5e-5)
    assert curve.kc_end == pytest.approx(0.70 + 0.0864, abs=5e-5)
    assert curve.kc[:30] == pytest.approx(0.6)


def test_climate_is_that_of_the_stage_and_no_other():
    daily = make_daily()
    mid_season = (daily.dates.astype("datetime64[M]").astype(int) % 12) == 7  # August.
    normals = day_of_year_normals(replace(daily, wind_2m=np.where(mid_season, 6.0, 2.0)))
    planting = make_planting(planted=date(2025, 5, 1), stages=StageLengths(20, 40, 20, 40))
    # Mid-season runs from 30 June to 19 July, the late season into September.
    curve = curve_of(planting, days(planting.planted, 120), normals=normals)
    assert curve.kc_mid == pytest.approx(1.15, abs=1e-9)
    assert curve.kc_end > 0.75


def test_roots_grow_with_the_canopy_down_to_the_fill():
    curve = curve_of(make_planting(root_depth=0.55), days(PLANTED, 120), bed=make_bed(soil_depth=0.45))
    # 0.15 m to 0.55 m over the 40 days of development; the bed ends at 0.45 m.
    told = [curve.root[day - 1] for day in (1, 30, 40, 50, 60, 61, 120)]
    assert told == pytest.approx([0.15, 0.15, 0.25, 0.35, 0.45, 0.45, 0.45])


def test_available_water_of_the_rooted_soil():
    growth = growth_of(make_bed(soil_depth=0.45), days(PLANTED, 120))
    # (0.30 - 0.12) * 1000 = 180 mm per metre.
    assert growth.taw[0, 0] == pytest.approx(27.0)
    assert growth.taw[-1, 0] == pytest.approx(81.0)
    assert growth.storage[:, 0] == pytest.approx(81.0)
    assert growth.fraction[:, 0] == pytest.approx(0.4)


TOMATO = make_planting(share=0.5)
LETTUCE = make_planting(
    crop="lettuce",
    planted=date(2025, 5, 20),
    removed=date(2025, 6, 20),
    share=0.3,
    kc_ini=0.7,
    kc_mid=1.0,
    kc_end=0.95,
    stages=StageLengths(10, 10, 6, 5),
    root_depth=0.2,
    depletion_fraction=0.3,
    salinity_threshold=1.3,
    salinity_slope=13.0,
)
#: The day before the lettuce comes, a day in its mid-season (its day 21, the tomato's day 31), and later.
LOOKED_AT = (date(2025, 5, 19), date(2025, 6, 9), date(2025, 6, 20))


def mixed(need):
    bed = make_bed(soil_depth=0.45, need=need, plantings=(TOMATO, LETTUCE))
    growth = growth_of(bed, days(PLANTED, 60))
    rows = [(day - PLANTED).days for day in LOOKED_AT]
    return growth, rows


def test_two_plantings_weighted_by_share_with_bare_soil_for_the_rest():
    growth, rows = mixed("area mean")
    young = 0.6 + 0.55 / 40.0  # Tomato on its day 31.
    older = 0.6 + 0.55 * 12.0 / 40.0  # And on its day 42.
    assert growth.kc_area[rows, 0] == pytest.approx(
        [
            0.5 * 0.6 + 0.5 * 0.3,
            0.5 * young + 0.3 * 1.0 + 0.2 * 0.3,
            0.5 * older + 0.5 * 0.3,
        ]
    )
    assert np.array_equal(growth.kc, growth.kc_area)
    root = 0.15 + 0.55 / 40.0
    assert growth.taw[rows[1], 0] == pytest.approx(180.0 * (0.5 * root + 0.3 * 0.2) / 0.8)
    assert growth.fraction[rows, 0] == pytest.approx([0.4, (0.5 * 0.4 + 0.3 * 0.3) / 0.8, 0.4])


def test_the_thirstiest_plant_rules_with_the_shallowest_store():
    growth, rows = mixed("thirstiest plant")
    older = 0.6 + 0.55 * 12.0 / 40.0
    assert growth.kc_thirstiest[rows, 0] == pytest.approx([0.6, 1.0, older])
    assert np.array_equal(growth.kc, growth.kc_thirstiest)
    assert growth.taw[rows[1], 0] == pytest.approx(180.0 * (0.15 + 0.55 / 40.0))
    assert growth.fraction[rows, 0] == pytest.approx([0.4, 0.3, 0.4])


def test_both_coefficients_are_there_whichever_rules():
    by_mean, by_thirst = mixed("area mean")[0], mixed("thirstiest plant")[0]
    assert np.array_equal(by_mean.kc_thirstiest, by_thirst.kc_thirstiest)
    assert np.array_equal(by_mean.kc_area, by_thirst.kc_area)


def test_a_bed_without_plants_is_bare_soil():
    growth = growth_of(make_bed(), days(date(2025, 4, 1), 10))
    assert not growth.in_use.any()
    assert growth.kc == pytest.approx(0.3)
    # TEW: 1000 (0.30 - 0.5 * 0.12) 0.10 = 24 mm, FAO-56 eq. 73.
    assert growth.taw == pytest.approx(24.0)
    assert growth.leaching.max() == 0.0


def test_leaching_follows_the_most_sensitive_plant_and_needs_a_water_test():
    bed = make_bed(plantings=(TOMATO, LETTUCE))
    tested = WaterSource(1000.0, None, 0.75, None, 1.5)
    growth = growth_of(bed, days(PLANTED, 60), water_source=tested)
    rows = [(day - PLANTED).days for day in LOOKED_AT]
    # LR = ECw / (2 max ECe); max ECe = threshold + 100 / slope: 12.601 and 8.992 dS/m.
    assert growth.leaching[rows, 0] == pytest.approx([1.5 / 25.202, 1.5 / 17.985, 1.5 / 25.202], abs=5e-6)
    assert growth_of(bed, days(PLANTED, 60)).leaching.max() == 0.0
    unknown = replace(TOMATO, salinity_threshold=None, salinity_slope=None)
    without = growth_of(make_bed(plantings=(unknown,)), days(PLANTED, 60), water_source=tested)
    assert without.leaching.max() == 0.0


def test_every_bed_has_its_column():
    beds = [make_bed("a"), make_bed("b", soil_depth=0.2, plantings=(LETTUCE,)), make_bed("c", plantings=())]
    dates = days(PLANTED, 60)
    together = garden_growth(make_garden(beds), dates, normals=NORMALS, warmth=warmth())
    assert together.kc.shape == (60, 3)
    for number, bed in enumerate(beds):
        single = growth_of(bed, dates)
        for field in fields(together):
            mine = getattr(single, field.name)[:, 0]
            assert np.array_equal(getattr(together, field.name)[:, number], mine), field.name
