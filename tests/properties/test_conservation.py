"""No water is lost or made: every day, every bed, over random seasons, weathers and soil states."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings

from scheduler.garden.plan import SoilMix
from scheduler.season.run import run_season
from scheduler.season.supply import supply_arrays
from tests.builders import make_bed, make_daily, make_garden
from tests.season.gardens import gardens, weathers

#: Depths equal within this [mm].
ROUNDING = 1e-9


@settings(max_examples=40, deadline=None)
@given(gardens(n_beds=2), weathers())
def test_what_enters_a_bed_leaves_it_or_stays(garden, daily):
    result = run_season(garden, daily)
    missing = result.depletion + result.below
    before = np.vstack([np.zeros(2), missing[:-1]])
    gains = result.rain + result.applied
    losses = result.et_actual + result.deep_percolation
    assert np.abs(missing - (before + result.correction + losses - gains)).max() <= ROUNDING

    for part in (
        result.depletion,
        result.below,
        result.evaporation,
        result.transpiration,
        result.deep_percolation,
        result.rain,
        result.applied,
    ):
        assert part.min() >= 0.0
    assert result.stress_coefficient.min() >= 0.0
    assert result.stress_coefficient.max() <= 1.0
    # Only a bed full to its bottom drains, and only a stated soil state or a new depth corrects.
    drained = result.deep_percolation > ROUNDING
    assert np.all((before + result.correction - gains)[drained] < 0.0)
    stated = {np.datetime64(state.on) for state in garden.soil_states}
    for number, bed in enumerate(garden.beds):
        settled = {np.datetime64(later.on) for later in bed.settled}
        unstated = ~np.isin(result.dates, list(stated | settled))
        assert np.abs(result.correction[unstated, number]).max(initial=0.0) <= ROUNDING
        # What lies below the roots loses what its lost soil lacked; soil never comes dry.
        measured = np.isin(result.dates, list(settled - stated))
        assert result.correction[measured, number].max(initial=0.0) <= ROUNDING
    # A bed gives up no more than roots and surface can draw, unless it was stated to be drier than that.
    # Air takes a thin root zone below the wilting point, by as much as TEW is above its TAW.
    growth = result.growth
    storage = np.maximum(growth.storage, growth.tew) + np.maximum(growth.tew - growth.taw, 0.0)
    started = before + result.correction
    assert np.all(missing <= np.maximum(storage, started) + ROUNDING)


@settings(max_examples=25, deadline=None)
@given(gardens(n_beds=2), weathers())
def test_what_leaves_the_emitters_is_stored_leached_or_lost_by_the_stated_shares(garden, daily):
    result = run_season(garden, daily)
    area, flow, rate, efficiency = supply_arrays(garden)
    assert np.allclose(result.litres, result.minutes / 60.0 * flow, rtol=1e-12)
    depth = result.litres / area
    assert np.allclose(depth, result.minutes / 60.0 * rate, rtol=1e-12)
    kept = efficiency * (1.0 - result.growth.leaching)
    assert np.allclose(result.applied, depth * kept, rtol=0.0, atol=ROUNDING)
    assert np.all(result.minutes[~result.growth.in_use] == 0.0)


@pytest.mark.parametrize("coefficient", ["dual", "single"])
def test_a_bare_bed_dries_to_what_its_surface_gives_and_no_further(coefficient):
    # 1000 (0.28 - 0.5 * 0.20) 0.10 = 18 mm, FAO-56 eq. 73.
    shallow = make_bed("b", soil=SoilMix("mix", 0.28, 0.20, source="invented"), soil_depth=0.12, plantings=())
    garden = make_garden([make_bed("a"), shallow])
    garden = replace(garden, planning=replace(garden.planning, coefficient=coefficient))
    result = run_season(garden, make_daily(rain_scale=0.0))
    assert result.growth.taw[0, 1] == pytest.approx(18.0)
    assert result.depletion[-1, 1] == pytest.approx(18.0, abs=0.1)
    assert result.depletion[:, 1].max() <= 18.0 + ROUNDING
