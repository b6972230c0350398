"""What a garden would take in a season if inputs lay off."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from scheduler.cli.answering import load
from scheduler.garden.plan import SoilState, Uncertainty
from scheduler.season.other_year import in_year
from scheduler.season.run import run_season
from scheduler.season.season_range import season_litres, season_range
from scheduler.season.supply import supply_arrays
from scheduler.season.uncertainty import input_uncertainty
from scheduler.season.varied import INPUTS
from tests.builders import make_bed, make_daily, make_garden, make_planting

DEMO = Path(__file__).parents[2] / "config" / "demo_four_outlets.toml"
DRY = make_daily(rain_scale=0.0)
GARDEN = make_garden(
    [make_bed("a", plantings=(make_planting(removed=date(2025, 8, 1)),))],
    soil_states=(SoilState(date(2025, 5, 10), "full", None),),
)
RESULT = run_season(GARDEN, DRY)


def litres(garden, result, **factors):
    case = np.ones((1, 1, len(INPUTS)))
    for name, factor in factors.items():
        case[..., INPUTS.index(name)] = factor
    return season_litres(garden, result, case)[0]


def test_a_dry_season_takes_what_its_beds_use():
    # Refilled as it passes its limit, and what it lacks at the end owed: use over efficiency.
    area, _, _, efficiency = supply_arrays(GARDEN)
    use = RESULT.conditions.basal.sum(axis=0)
    leaching = 1.0 - RESULT.growth.leaching.max()
    assert litres(GARDEN, RESULT) == pytest.approx(use * area / efficiency / leaching, rel=1e-6)


@pytest.mark.parametrize("name", ["reference_et", "crop_coefficient"])
def test_use_follows_its_factors(name):
    more = litres(GARDEN, RESULT, **{name: 1.05}) / litres(GARDEN, RESULT)
    assert more == pytest.approx(1.05, rel=1e-6)


@pytest.mark.parametrize("factor", [0.7, 1.3])
def test_a_store_that_holds_less_is_refilled_more_often_and_takes_the_same(factor):
    assert litres(GARDEN, RESULT, available_water=factor) == pytest.approx(litres(GARDEN, RESULT), rel=1e-6)


def test_waste_costs_water_and_flow_only_time():
    assert litres(GARDEN, RESULT, efficiency=0.9) == pytest.approx(litres(GARDEN, RESULT) / 0.9)
    assert litres(GARDEN, RESULT, flow=0.8) == pytest.approx(litres(GARDEN, RESULT))


def test_rain_saves_water_unless_it_is_gauged_as_measured():
    daily = make_daily(rain_scale=2.0)
    result = run_season(GARDEN, daily)
    assert (litres(GARDEN, result, rain=1.2) < litres(GARDEN, result)).all()
    gauged = replace(result, gauged=np.ones_like(result.gauged))
    assert litres(GARDEN, gauged, rain=1.2) == pytest.approx(litres(GARDEN, gauged))


def test_the_range_is_in_quadrature_and_around_one():
    garden = replace(GARDEN, uncertainty=Uncertainty(0.06, 0.08, 0.0, 0.0, 0.5, 0.5))
    found = season_range(garden, RESULT)
    # A dry season follows reference ET and coefficient alike, hypot(6 %, 8 %) = 10 %, 1.2816 of it each way.
    assert (found.low, found.high) == (pytest.approx(0.871845, abs=1e-4), pytest.approx(1.128155, abs=1e-4))
    assert (found.foremost, found.share) == ("crop_coefficient", pytest.approx(0.64, abs=1e-4))


def test_certain_inputs_leave_no_range():
    found = season_range(replace(GARDEN, uncertainty=Uncertainty(0.0, 0.0, 0.0, 0.0, 0.0, 0.0)), RESULT)
    assert (found.low, found.high, found.share) == (1.0, 1.0, 0.0)


def test_a_season_that_takes_no_water_has_none_to_lie_off():
    begins = date(2025, 5, 10)
    bed = make_bed("a", plantings=(make_planting(planted=begins, removed=begins + timedelta(days=3)),))
    garden = make_garden([bed], soil_states=(SoilState(begins, "full", None),))
    daily = replace(DRY, rain=np.full(DRY.rain.shape, 40.0))
    result = run_season(garden, daily)
    drenched = replace(
        result, conditions=result.conditions._replace(basal=np.zeros_like(result.conditions.basal))
    )
    found = season_range(garden, drenched)
    assert (found.low, found.high) == (1.0, 1.0)


def test_one_bed_is_its_column_of_many():
    garden = make_garden(
        [make_bed("a"), make_bed("b", zone="two", soil_depth=0.5, plantings=(make_planting(),))],
        soil_states=(SoilState(date(2025, 5, 10), "full", None),),
    )
    single = replace(garden, beds=garden.beds[1:], zones=garden.zones[1:])
    daily = make_daily()
    whole = litres(garden, run_season(garden, daily), reference_et=1.07)
    part = litres(single, run_season(single, daily), reference_et=1.07)
    assert part[0] == whole[1]


@pytest.mark.parametrize("year", [2023, 2025])
def test_first_order_against_sampling_on_the_demo_garden(year):
    """A seventh either way: a refill that comes just before a rain, or just after, makes the sum jump."""
    garden, daily = load(DEMO)
    moved = in_year(garden, year)
    result = run_season(moved, daily)
    rng = np.random.default_rng(4)
    drawn = 1.0 + rng.standard_normal((1000, 1, len(INPUTS))) * input_uncertainty(moved)
    draws = season_litres(moved, result, drawn).sum(axis=1)
    found, reckoned = season_range(moved, result), litres(moved, result).sum()
    assert draws.std() / reckoned == pytest.approx((found.high - found.low) / 2 / 1.28155, rel=1 / 7)
    held = ((draws >= found.low * reckoned) & (draws <= found.high * reckoned)).mean()
    assert held == pytest.approx(0.8, abs=0.06)
