"""One bed through its year: sown, cleared, half of it sown again, the other half set out. By hand."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from scheduler.garden.plan import SoilState, StageLengths
from scheduler.season.field import FieldNotes, RunNote
from scheduler.season.growth import garden_growth
from scheduler.season.run import run_season, run_week
from scheduler.season.stages import Warmth
from scheduler.weather.normals import day_of_year_normals
from tests.builders import make_bed, make_daily, make_garden, make_planting

# Wind 2 m/s and 45 % least humidity: the climate of the published coefficients, which so stay as they are.
DRY = make_daily(rain_scale=0.0)
NORMALS = day_of_year_normals(DRY)
BEGINS = date(2025, 4, 1)

PEA = make_planting(
    crop="pea",
    planted=date(2025, 4, 10),
    removed=date(2025, 6, 19),
    kc_ini=0.5,
    kc_mid=1.15,
    kc_end=1.1,
    kcb_ini=0.15,
    kcb_mid=1.1,
    kcb_end=1.05,
    stages=StageLengths(20, 20, 20, 10),
    height=0.5,
    root_depth=0.8,
    depletion_fraction=0.35,
)
#: Sown again on half of the bed, after some days of bare ground.
BEET = replace(
    PEA,
    crop="beet",
    planted=date(2025, 6, 25),
    removed=date(2025, 9, 3),
    share=0.5,
    kc_mid=1.05,
    kc_end=0.95,
    kcb_mid=0.95,
    kcb_end=0.85,
    height=0.4,
    root_depth=0.25,
    depletion_fraction=0.5,
)
#: Set out with leaves and roots of some size: its first stage is short.
LEEK = replace(
    PEA,
    crop="leek",
    planted=date(2025, 7, 15),
    removed=date(2025, 10, 23),
    share=0.5,
    kc_ini=0.7,
    kc_mid=1.0,
    kc_end=0.9,
    kcb_ini=0.35,
    kcb_mid=0.9,
    kcb_end=0.8,
    stages=StageLengths(0, 40, 40, 20),
    height=0.3,
    root_depth=0.45,
    depletion_fraction=0.3,
)
#: 180 mm to the metre, 54 mm in all; what evaporates from its top is 24 mm, FAO-56 eq. 73.
BED = make_bed(plantings=(PEA, BEET, LEEK))


def garden_of(bed=BED, *, coefficient="dual", **changes):
    garden = make_garden([bed], soil_states=(SoilState(BEGINS, "full", None),))
    garden = replace(garden, planning=replace(garden.planning, coefficient=coefficient))
    return replace(garden, **changes)


def growth_on(*days, bed=BED):
    """Return growth on each of the days."""
    dates = np.array(days, dtype="datetime64[D]")
    warmth = Warmth(DRY, NORMALS, date(2026, 1, 1))
    return garden_growth(garden_of(bed), dates, normals=NORMALS, warmth=warmth)


def unwatered(begins, count):
    """Return notes that no water ran on so many days."""
    return FieldNotes(runs=tuple(RunNote(begins + timedelta(days=n), ran=False) for n in range(count)))


def row(result, day):
    return (day - result.dates[0].item()).days


# --- what grows


def test_coefficients_follow_who_stands_in_the_bed():
    """Bare, pea alone, bare again, beet on half of it, beet and leek, leek on half of it."""
    days = (
        date(2025, 4, 9),
        date(2025, 5, 20),  # Pea, its day 41: mid-season.
        date(2025, 6, 19),  # The day it goes no longer counts.
        date(2025, 6, 25),  # Beet, its day 1.
        date(2025, 7, 24),  # Beet, its day 30, halfway through development; leek, its day 10 of 40.
        date(2025, 10, 22),  # Leek, its day 100: the last.
    )
    growth = growth_on(*days)
    beet, leek = 0.5 + 0.5 * (1.05 - 0.5), 0.7 + 0.25 * (1.0 - 0.7)
    assert growth.in_use[:, 0].tolist() == [False, True, False, True, True, True]
    kc = [0.3, 1.15, 0.3, 0.5 * 0.5 + 0.5 * 0.3, 0.5 * beet + 0.5 * leek, 0.5 * 0.9 + 0.5 * 0.3]
    assert growth.kc_area[:, 0] == pytest.approx(kc)
    beet, leek = 0.15 + 0.5 * (0.95 - 0.15), 0.35 + 0.25 * (0.9 - 0.35)
    basal = [0.0, 1.1, 0.0, 0.5 * 0.15, 0.5 * beet + 0.5 * leek, 0.5 * 0.8]
    assert growth.basal_area[:, 0] == pytest.approx(basal)
    assert growth.basal_thirstiest[:, 0] == pytest.approx([0.0, 1.1, 0.0, 0.15, max(beet, leek), 0.8])


def test_cover_height_and_roots_follow_them_too():
    growth = growth_on(date(2025, 5, 20), date(2025, 6, 20), date(2025, 7, 24), date(2025, 10, 22))
    # FAO-56 eq. 76, Kc max 1.20 in this climate: fc = ((Kcb - 0.15) / 1.05) ^ (1 + h / 2).
    pea = (0.95 / 1.05) ** 1.25
    beet = ((0.15 + 0.5 * 0.8 - 0.15) / 1.05) ** (1.0 + 0.5 * 0.2)
    leek = ((0.35 + 0.25 * 0.55 - 0.15) / 1.05) ** (1.0 + 0.5 * 0.075)
    last = (0.65 / 1.05) ** 1.15
    assert growth.cover[:, 0] == pytest.approx([pea, 0.0, 0.5 * beet + 0.5 * leek, 0.5 * last])
    assert growth.height[:, 0] == pytest.approx([0.5, 0.0, 0.2, 0.3])
    # Roots: pea to the bottom at 0.30 m; beet halfway from 0.15 to 0.25; leek a quarter from 0.15 to 0.45.
    taw = [54.0, 24.0, 180.0 * (0.5 * 0.20 + 0.5 * 0.225), 54.0]
    assert growth.taw[:, 0] == pytest.approx(taw)
    # The share of roots in the top 0.10 m goes by the deepest of them: (0.10 / Zr) ^ 0.6.
    share = [(0.1 / 0.3) ** 0.6, 0.0, (0.1 / 0.225) ** 0.6, (0.1 / 0.3) ** 0.6]
    assert growth.roots[:, 0] == pytest.approx(share)
    assert growth.fraction[:, 0] == pytest.approx([0.35, 10.8 / 24.0, 0.5 * 0.5 + 0.5 * 0.3, 0.3])


def test_the_thirstiest_plant_of_a_mixed_bed_has_the_shallowest_roots():
    growth = growth_on(date(2025, 7, 24), bed=replace(BED, need="thirstiest plant"))
    assert growth.taw[0, 0] == pytest.approx(180.0 * 0.20)
    assert growth.fraction[0, 0] == pytest.approx(0.3)
    # Leaves cover what they cover, whoever rules.
    assert growth.cover[0, 0] == growth_on(date(2025, 7, 24)).cover[0, 0]


# --- what the change does to the water


@pytest.mark.parametrize("coefficient", ["dual", "single"])
def test_the_day_of_change_neither_makes_nor_loses_water(coefficient):
    result = run_season(garden_of(coefficient=coefficient), make_daily())
    missing = (result.depletion + result.below)[:, 0]
    lost = (result.et_actual + result.deep_percolation - result.rain - result.applied)[:, 0]
    changes = [PEA.planted, PEA.removed, BEET.planted, LEEK.planted, BEET.removed]
    for day in changes:
        number = row(result, day)
        assert result.growth.taw[number, 0] != result.growth.taw[number - 1, 0], day
        assert missing[number] == pytest.approx(missing[number - 1] + lost[number], abs=1e-9), day
    assert np.abs(result.correction).max() <= 1e-9


@pytest.mark.parametrize("coefficient", ["dual", "single"])
def test_what_roots_leave_behind_is_evenly_dry(coefficient):
    """Pea goes on 19 June with its roots at the bottom, 54 mm; bare ground is reckoned with 24 mm of it."""
    begins = date(2025, 6, 9)
    garden = garden_of(
        coefficient=coefficient, soil_states=(SoilState(BEGINS, "full", None), SoilState(begins, 10.0, None))
    )
    result = run_season(garden, DRY, notes=unwatered(begins, 20))
    day = row(result, PEA.removed)
    left = result.depletion[day - 1, 0]
    assert left > 25.0
    use = result.et_actual[day, 0]
    assert result.depletion[day, 0] == pytest.approx(left * 24.0 / 54.0 + use)
    assert result.below[day, 0] == pytest.approx(left * 30.0 / 54.0)
    # Beet is sown six days later with roots of 0.15 m, 27 mm: they reach a tenth of the 30 mm below.
    sown = row(result, BEET.planted)
    before, below = result.depletion[sown - 1, 0], result.below[sown - 1, 0]
    assert result.depletion[sown, 0] == pytest.approx(before + 0.1 * below + result.et_actual[sown, 0])
    assert result.below[sown, 0] == pytest.approx(0.9 * below)
    assert result.stress_coefficient[sown, 0] < 1.0  # It finds dry soil where the pea has drunk.


def test_growing_roots_meet_the_dryness_that_is_stated_below_them():
    """Wet ground over dry: 40 % of the water that 27 mm of soil below the seedlings could hold is missing."""
    alone = replace(BED, plantings=(replace(BEET, share=1.0, root_depth=0.6),))
    begins = BEET.planted + timedelta(days=19)  # Its day 20, the last with roots of 0.15 m.
    states = (SoilState(BEGINS, "full", None), SoilState(begins, "full", None, below=0.4))
    result = run_season(garden_of(alone, soil_states=states), DRY, notes=unwatered(begins, 9))
    first = row(result, begins)
    depletion, below = result.depletion[:, 0], result.below[:, 0]
    use = result.et_actual[:, 0]
    assert (depletion[first], below[first]) == pytest.approx((use[first], 10.8))
    # From 0.15 to 0.60 m in 20 days are 4.05 mm a day, a constant share of what is missing per millimetre.
    for day in range(1, 7):
        assert below[first + day] == pytest.approx(10.8 - 0.4 * 4.05 * day)
        assert depletion[first + day] == pytest.approx(
            depletion[first + day - 1] + 0.4 * 4.05 + use[first + day]
        )
    # On the seventh the roots are at the bottom, 54 mm: nothing is below them any more.
    assert below[first + 7] == pytest.approx(0.0, abs=1e-9)
    assert depletion[first + 7] == pytest.approx(10.8 + use[first : first + 8].sum())


def test_the_soil_below_is_told_for_one_bed_alone():
    sown = date(2025, 6, 23)  # A Monday: its plan knows of it.
    planting = replace(BEET, planted=sown, share=1.0, root_depth=0.6)
    beds = [make_bed(name, zone=name, plantings=(planting,)) for name in ("a", "b")]
    states = (SoilState(sown, "full", None), SoilState(sown, "full", "a", below=1.0))
    result = run_season(make_garden(beds, soil_states=states), DRY)
    first = row(result, sown)
    assert result.below[first].tolist() == pytest.approx([27.0, 0.0], abs=0.5)
    # Roots that go down into wholly dry soil ask for more water on the way.
    assert result.applied[first:, 0].sum() > result.applied[first:, 1].sum() + 5.0


# --- between crops


@pytest.mark.parametrize("coefficient", ["dual", "single"])
def test_bare_ground_between_crops_dries_and_is_not_watered(coefficient):
    result = run_season(garden_of(coefficient=coefficient), DRY)
    bare = slice(row(result, PEA.removed), row(result, BEET.planted))
    assert not result.growth.in_use[bare].any()
    assert result.minutes[bare].max() == result.applied[bare].max() == 0.0
    assert result.et_actual[bare].min() > 0.0
    assert result.transpiration[bare].max() == 0.0 or coefficient == "single"
    assert np.isinf(result.limit[bare]).all()
    # It gives less from day to day as its surface dries, and never more than the 24 mm.
    before = row(result, PEA.planted)
    assert result.et_actual[:before].sum() < 24.0
    assert result.et_actual[before - 1, 0] < 0.5 * result.et_actual[0, 0] or coefficient == "single"


def test_half_a_bed_dries_beside_what_grows_in_the_other_half():
    """From 25 June to 14 July beet stands on half of the bed; the other half is open to the rain."""
    wet = replace(DRY, rain=np.where(DRY.dates == np.datetime64("2025-07-01"), 20.0, 0.0))
    half = run_season(garden_of(), wet)
    whole = run_season(garden_of(replace(BED, plantings=(PEA, replace(BEET, share=1.0)))), wet)
    day = row(half, date(2025, 7, 1))
    exposed = half.conditions.surface
    assert exposed is not None
    cover = half.growth.cover[day, 0]
    assert exposed.strip[day, 0] + exposed.rest[day, 0] == pytest.approx(1.0 - cover)
    assert cover == pytest.approx(0.5 * whole.growth.cover[day, 0])
    assert half.evaporation[day : day + 5].sum() > 10.0
    assert half.conditions.basal[day] == pytest.approx(0.5 * whole.conditions.basal[day])


@pytest.mark.parametrize("on", [date(2025, 6, 16), date(2025, 6, 23), date(2025, 7, 14)])
def test_a_week_that_holds_a_change_is_that_week_of_the_season(on):
    garden = garden_of(soil_states=(SoilState(date(2025, 3, 31), "full", None),))
    season, week = run_season(garden, DRY), run_week(garden, DRY, on=on)
    number = (on - date(2025, 3, 31)).days // 7
    assert season.plans[number].settings == week.plan.settings
    assert season.plans[number].depletion == pytest.approx(week.plan.depletion, abs=1e-9)
