"""No water is lost or made: every day, every bed, over random seasons, weathers and soil states."""

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
    before = np.vstack([np.zeros(2), result.depletion[:-1]])
    gains = result.rain + result.applied
    losses = result.et_actual + result.deep_percolation
    assert np.abs(result.depletion - (before + result.correction + losses - gains)).max() <= ROUNDING

    for part in (result.depletion, result.et_actual, result.deep_percolation, result.rain, result.applied):
        assert part.min() >= 0.0
    assert result.stress_coefficient.min() >= 0.0
    assert result.stress_coefficient.max() <= 1.0
    # Only a full soil drains, and only a stated soil state corrects.
    drained = result.deep_percolation > ROUNDING
    assert np.all((before + result.correction - gains)[drained] < 0.0)
    stated = {np.datetime64(state.on) for state in garden.soil_states}
    assert np.all(result.correction[~np.isin(result.dates, list(stated))] == 0.0)
    # A bed gives up no more than it holds, unless it was stated to be drier than that.
    storage = result.growth.storage
    started = before + result.correction
    assert np.all(result.depletion <= np.maximum(storage, started) + ROUNDING)


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


def test_a_shallow_bare_bed_dries_to_what_it_holds_and_no_further():
    # It holds 80 mm/m * 0.12 m = 9.6 mm, less than the 18 mm that a deeper layer could give to the air.
    shallow = make_bed("b", soil=SoilMix("mix", 0.28, 0.20, source="invented"), soil_depth=0.12, plantings=())
    result = run_season(make_garden([make_bed("a"), shallow]), make_daily(rain_scale=0.0))
    assert result.growth.taw[0, 1] == pytest.approx(18.0)
    assert result.depletion[-1, 1] == pytest.approx(9.6)
    assert result.depletion[:, 1].max() <= 9.6 + ROUNDING
