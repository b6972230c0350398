"""Beds of more than one layer, beds that settle, beds that are topped up. By hand."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from scheduler.garden.plan import Settled, SoilLayer, SoilMix, SoilState, StageLengths
from scheduler.season.field import FieldNotes, RunNote
from scheduler.season.ground import available_water, ground_of, reachable_depth, soil_depths
from scheduler.season.growth import garden_growth
from scheduler.season.run import run_season
from scheduler.season.stages import Warmth
from scheduler.weather.normals import day_of_year_normals
from tests.builders import make_bed, make_daily, make_garden, make_planting

DRY = make_daily(rain_scale=0.0)
NORMALS = day_of_year_normals(DRY)
BEGINS, PLANTED = date(2025, 4, 1), date(2025, 5, 10)

#: 200, 150 and 0 mm of available water to the metre.
TOPSOIL = SoilMix("topsoil", 0.32, 0.12, source="invented")
COMPOST = SoilMix("compost", 0.40, 0.25, source="invented")
ON_WOOD = (
    SoilLayer(TOPSOIL, 0.20, 0.20, "topsoil"),
    SoilLayer(COMPOST, 0.15, 0.15, "compost"),
    SoilLayer(None, 0.25, 0.0, "wood"),
)
#: A crop whose roots go from 0.15 m to the bottom of any bed here in the days 31 to 70.
DEEP = make_planting(planted=PLANTED, stages=StageLengths(30, 40, 45, 30), root_depth=0.75)
LAYERED = make_bed(soil=TOPSOIL, soil_depth=0.35, layers=ON_WOOD, plantings=(DEEP,))


def days(begins, count):
    return np.datetime64(begins) + np.arange(count)


def growth_of(bed, dates):
    known = Warmth(DRY, NORMALS, date(2026, 1, 1))
    return garden_growth(make_garden([bed]), dates, normals=NORMALS, warmth=known)


def season_of(bed, *, daily=DRY, coefficient="dual", states=None, notes=None):
    garden = make_garden([bed], soil_states=states or (SoilState(BEGINS, "full", None),))
    garden = replace(garden, planning=replace(garden.planning, coefficient=coefficient))
    return run_season(garden, daily, notes=notes)


def unwatered(begins, count):
    return FieldNotes(runs=tuple(RunNote(begins + timedelta(days=n), ran=False) for n in range(count)))


# --- layers


def test_storage_is_summed_over_the_layers():
    ground = ground_of(LAYERED, days(BEGINS, 3))
    # 0.20 m x 200 + 0.15 m x 150; the wood gives none and roots stay above it.
    assert ground.storage == pytest.approx(40.0 + 22.5)
    assert ground.depth == pytest.approx(0.35)


def test_wood_that_holds_water_counts_with_what_it_holds():
    wood = replace(ON_WOOD[2], available_water=0.04)
    ground = ground_of(replace(LAYERED, layers=(*ON_WOOD[:2], wood)), days(BEGINS, 3))
    assert ground.storage == pytest.approx(40.0 + 22.5 + 0.25 * 40.0)
    assert ground.depth == pytest.approx(0.60)


def test_roots_do_not_pass_a_fill_that_holds_nothing():
    rotten = SoilLayer(None, 0.10, 0.05, "wood")
    below_dry = replace(LAYERED, layers=(*ON_WOOD, rotten))
    assert reachable_depth(below_dry, days(BEGINS, 1)) == pytest.approx(0.35)
    above_dry = replace(LAYERED, layers=(*ON_WOOD[:2], rotten, ON_WOOD[2]))
    assert reachable_depth(above_dry, days(BEGINS, 1)) == pytest.approx(0.45)


def test_roots_cross_from_layer_to_layer():
    depth = np.array([0.0, 0.10, 0.20, 0.25, 0.35, 0.60])
    held = available_water(LAYERED, depth, days(BEGINS, 6))
    assert held.tolist() == pytest.approx([0.0, 20.0, 40.0, 40.0 + 7.5, 62.5, 62.5])
    # 0.15 m on day 30, 0.015 m more each day: 0.195 and 0.21 on days 33 and 34; the bottom on day 44.
    growth = growth_of(LAYERED, days(PLANTED, 60))
    told = [growth.taw[day - 1, 0] for day in (1, 30, 33, 34, 43, 44, 60)]
    assert told == pytest.approx([30.0, 30.0, 39.0, 40.0 + 1.5, 40.0 + 21.75 - 0.75, 62.5, 62.5], abs=1.0)
    assert told[2:4] == pytest.approx([39.0, 41.5])
    assert told[5:] == pytest.approx([62.5, 62.5])


def test_one_mix_told_as_a_layer_is_the_same_bed():
    plain = make_bed(soil=TOPSOIL, soil_depth=0.35, plantings=(DEEP,))
    told = replace(plain, layers=(SoilLayer(TOPSOIL, 0.35, 0.20, "topsoil"),))
    one, other = season_of(plain), season_of(told)
    assert one.depletion == pytest.approx(other.depletion, abs=1e-9)
    assert np.array_equal(one.minutes, other.minutes)


def test_the_surface_is_that_of_the_topmost_layer():
    ground = ground_of(LAYERED, days(BEGINS, 1))
    # FAO-56 eq. 73: 1000 (0.32 - 0.06) 0.10.
    assert ground.tew == pytest.approx(26.0)
    other = ground_of(replace(LAYERED, soil=COMPOST), days(BEGINS, 1))
    assert other.tew == pytest.approx(27.5)


@pytest.mark.parametrize("coefficient", ["dual", "single"])
def test_a_dug_out_layer_of_less_water_needs_the_same_water_in_smaller_runs(coefficient):
    poor = SoilMix("sand", 0.12, 0.06, source="invented")
    layers = (ON_WOOD[0], SoilLayer(poor, 0.15, 0.06, "sand"), ON_WOOD[2])
    rich = season_of(LAYERED, coefficient=coefficient)
    lean = season_of(replace(LAYERED, layers=layers), coefficient=coefficient)
    assert lean.growth.storage[0, 0] == pytest.approx(40.0 + 9.0)
    grows = rich.growth.in_use[:, 0]
    assert lean.limit[grows].max() < rich.limit[grows].max()
    if coefficient == "single":
        assert lean.et_actual[grows].sum() == pytest.approx(rich.et_actual[grows].sum(), rel=0.02)


# --- a bed that settles


def test_layers_of_soil_settle_alike_and_wood_stays():
    on = date(2025, 7, 1)
    wood = replace(ON_WOOD[2], available_water=0.04)
    bed = replace(LAYERED, layers=(*ON_WOOD[:2], wood), settled=(Settled(on, 0.28),))
    dates = days(date(2025, 6, 30), 3)
    assert soil_depths(bed, dates).tolist() == [0.35, 0.28, 0.28]
    ground = ground_of(bed, dates)
    # Four fifths of 62.5 mm, and 10 mm of the wood.
    assert ground.storage.tolist() == pytest.approx([72.5, 60.0, 60.0])
    assert ground.depth.tolist() == pytest.approx([0.60, 0.53, 0.53])
    # To 0.20 m: 0.16 m of topsoil, 0.04 m of compost.
    held = available_water(bed, np.full(3, 0.20), dates)
    assert held.tolist() == pytest.approx([40.0, 32.0 + 6.0, 32.0 + 6.0])


def test_the_newest_depth_holds():
    later = (Settled(date(2025, 6, 1), 0.30), Settled(date(2025, 8, 1), 0.25))
    bed = make_bed(soil_depth=0.35, settled=later)
    dates = np.array(["2025-05-31", "2025-06-01", "2025-07-31", "2025-08-01"], dtype="datetime64[D]")
    assert soil_depths(bed, dates).tolist() == [0.35, 0.30, 0.30, 0.25]


@pytest.mark.parametrize("coefficient", ["dual", "single"])
def test_a_bed_that_settles_keeps_its_dryness_and_makes_no_water(coefficient):
    """Roots at the bottom: of 54 mm, a sixth is lost with its share of what is missing."""
    on = date(2025, 8, 10)
    bed = make_bed(plantings=(DEEP,), settled=(Settled(on, 0.25),))
    result = season_of(bed, coefficient=coefficient, notes=unwatered(on - timedelta(days=4), 9))
    day = (on - BEGINS).days
    before = result.depletion[day - 1, 0]
    assert before > 5.0
    assert result.growth.taw[day - 1 : day + 1, 0].tolist() == pytest.approx([54.0, 45.0])
    assert result.correction[day, 0] == pytest.approx(-before / 6.0)
    assert result.depletion[day, 0] == pytest.approx(before * 5.0 / 6.0 + result.et_actual[day, 0])
    assert result.below[day, 0] == pytest.approx(0.0, abs=1e-9)
    # What it held is what five sixths of the soil held.
    held_before = 54.0 - before
    held_after = 45.0 - (before + result.correction[day, 0])
    assert held_after == pytest.approx(held_before * 5.0 / 6.0)
    assert np.count_nonzero(np.abs(result.correction) > 1e-9) == 1


def test_what_is_missing_below_the_roots_goes_with_the_soil_that_is_gone():
    """Seedlings reach 27 mm; the bed below them shrinks from 27 mm, all dry, to 9 mm."""
    on = PLANTED + timedelta(days=10)
    states = (SoilState(BEGINS, "full", None), SoilState(on - timedelta(days=1), "full", None, below=1.0))
    bed = make_bed(plantings=(DEEP,), settled=(Settled(on, 0.20),))
    result = season_of(bed, states=states, notes=unwatered(on - timedelta(days=2), 5))
    day = (on - BEGINS).days
    assert result.below[day - 1 : day + 1, 0].tolist() == pytest.approx([27.0, 9.0])
    assert result.correction[day, 0] == pytest.approx(-18.0)
    held = result.growth.storage[:, 0] - result.depletion[:, 0] - result.below[:, 0]
    assert held[day] <= held[day - 1]


@pytest.mark.parametrize("coefficient", ["dual", "single"])
@pytest.mark.parametrize("depth", [0.12, 0.20, 0.45])
def test_over_a_whole_season_nothing_but_the_stated_change_moves_the_books(coefficient, depth):
    on = date(2025, 7, 1)
    bed = make_bed(plantings=(DEEP,), settled=(Settled(on, depth),))
    result = season_of(bed, coefficient=coefficient, daily=make_daily())
    missing = (result.depletion + result.below)[:, 0]
    before = np.append(0.0, missing[:-1])
    flows = result.et_actual + result.deep_percolation - result.rain - result.applied
    assert np.abs(missing - before - result.correction[:, 0] - flows[:, 0]).max() <= 1e-9
    corrected = np.flatnonzero(np.abs(result.correction[:, 0]) > 1e-9).tolist()
    assert corrected in ([], [(on - BEGINS).days])
    assert result.correction.max() <= 1e-9
    storage = np.maximum(result.growth.storage, result.growth.tew)[:, 0]
    # A change of depth never turns missing water into held water.
    held = storage - missing
    gained = np.diff(held) + flows[1:, 0]
    if depth < 0.30:
        assert gained.max() <= 1e-9
    assert result.depletion.min() >= 0.0
    assert np.all(missing <= storage + 1e-9)


def test_roots_are_held_by_the_new_depth():
    on = PLANTED + timedelta(days=80)
    bed = make_bed(plantings=(DEEP,), settled=(Settled(on, 0.22),))
    growth = growth_of(bed, days(PLANTED, 100))
    assert growth.taw[79:81, 0].tolist() == pytest.approx([54.0, 180.0 * 0.22])
    assert growth.roots[80, 0] == pytest.approx((0.10 / 0.22) ** 0.6)


# --- a bed that is topped up


def test_a_topped_up_bed_gains_soil_at_field_capacity_into_which_roots_grow():
    monday, on = date(2025, 8, 4), date(2025, 8, 8)
    bed = make_bed(plantings=(DEEP,), settled=(Settled(on, 0.45),))
    result = season_of(bed, notes=unwatered(monday, 9))
    plain = season_of(make_bed(plantings=(DEEP,)), notes=unwatered(monday, 9))
    day = (on - BEGINS).days
    assert result.growth.storage[day - 1 : day + 1, 0].tolist() == pytest.approx([54.0, 81.0])
    assert result.growth.taw[day, 0] == pytest.approx(81.0)
    # Nothing is missing in the new soil, so as much is missing as before.
    assert result.correction[day, 0] == pytest.approx(0.0, abs=1e-9)
    before = result.depletion[day - 1, 0]
    assert before == pytest.approx(plain.depletion[day - 1, 0])
    assert result.depletion[day, 0] == pytest.approx(before + result.et_actual[day, 0])
    assert result.stress_coefficient[day + 3, 0] > plain.stress_coefficient[day + 3, 0]
