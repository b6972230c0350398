"""Salt slows crops, and shortage costs yield: by the handbook's straight lines, told as a range."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from scheduler.garden.plan import WaterSource
from scheduler.season.run import run_season
from scheduler.season.salt import bed_salinity, salt_stress
from scheduler.season.yields import planting_yields
from scheduler.show.yield_view import yield_notes, yield_part
from tests.builders import MIX, make_bed, make_daily, make_garden, make_planting

DAILY = make_daily(rain_scale=0.0)
#: Bean of FAO-56 (1998), example 39: threshold 1.0 dS/m, 19 % per dS/m, Ky 1.15.
BEAN = make_planting(crop="bean", salinity_threshold=1.0, salinity_slope=19.0, ky=1.15)
SALTY = replace(MIX, salinity=1.5)
TAP = WaterSource(1000.0, None, 0.75, None, None)


def season_of(bed, **changes):
    garden = make_garden([bed], **changes)
    garden = replace(garden, planning=replace(garden.planning, coefficient="dual"))
    return garden, run_season(garden, DAILY)


def test_salinity_of_a_soil_test_goes_before_that_of_the_water():
    # FAO-56 (1998), eq. 93 and example 39: 1 dS/m and a leaching fraction of 0.15 bring 1.533.
    water = replace(TAP, salinity=1.0, leaching_fraction=0.15)
    assert bed_salinity(make_bed(), water)[0] == pytest.approx(1.533, abs=5e-4)
    assert bed_salinity(make_bed(soil=SALTY), water) == (1.5, "soil test")
    assert bed_salinity(make_bed(), replace(water, leaching_fraction=None)) is None
    assert bed_salinity(make_bed(), TAP) is None


def test_salt_holds_use_back_as_in_the_example():
    # Ks of salt 0.917 (example 39 prints 0.92).
    assert float(salt_stress(BEAN, 1.5).coefficient) == pytest.approx(0.917, abs=5e-4)
    assert salt_stress(BEAN, None) is None
    assert salt_stress(make_planting(salinity_threshold=None, salinity_slope=None), 1.5) is None
    _, clean = season_of(make_bed(plantings=(BEAN,)))
    _, salty = season_of(make_bed(soil=SALTY, plantings=(BEAN,)))
    grows = clean.growth.in_use[:, 0]
    ratio = salty.conditions.basal[grows, 0] / clean.conditions.basal[grows, 0]
    assert ratio == pytest.approx(0.917, abs=5e-4)
    assert np.all(salty.growth.salt[~grows] == 1.0)
    assert salty.litres.sum() < clean.litres.sum()


def test_a_crop_that_never_goes_short_keeps_its_yield():
    garden, result = season_of(make_bed(plantings=(replace(BEAN, planted=date(2025, 5, 20)),)))
    (row,) = planting_yields(garden, result)
    assert (row.low, row.high, row.short_days) == (1.0, 1.0, 0)
    assert row.days == (date(2025, 10, 2) - date(2025, 5, 20)).days
    assert not row.salt_out_of_range


def test_shortage_costs_a_range_and_not_a_figure():
    order = replace(make_bed(plantings=(BEAN,)), emitters=1)  # One emitter cannot keep up.
    garden, result = season_of(order)
    (row,) = planting_yields(garden, result)
    assert row.short_days > 50
    assert row.use_ratio < 0.8
    # FAO-56 (1998), eq. 90 at both ends: Ky a fifth off either way, the ratio by 0.05.
    low = 1.0 - 1.15 * 1.2 * (1.0 - (row.use_ratio - 0.05))
    high = 1.0 - 1.15 * 0.8 * (1.0 - (row.use_ratio + 0.05))
    assert row.low == pytest.approx(max(low, 0.0))
    assert row.high == pytest.approx(high)
    shown = yield_part(planting_yields(garden, result)).rows[0]
    assert shown["yield_range"] == f"{row.low * 100:.0f} % to {row.high * 100:.0f} %"
    assert "never a promise" in yield_notes(planting_yields(garden, result))[0]


def test_salt_alone_costs_yield_by_the_same_line():
    garden, result = season_of(make_bed(soil=SALTY, plantings=(BEAN,)))
    (row,) = planting_yields(garden, result)
    assert 0.917 < row.use_ratio < 1.0
    assert row.low < row.high < 1.0


def test_a_crop_without_a_factor_and_a_soil_too_salty_are_told():
    unknown = make_planting(ky=None)
    garden, result = season_of(make_bed(plantings=(unknown,)))
    (row,) = planting_yields(garden, result)
    assert (row.low, row.high) == (None, None)
    assert yield_part(planting_yields(garden, result)).rows[0]["yield_range"] == "no Ky published"
    # Half the yield is lost at threshold + 50 / slope = 3.63 dS/m: beyond, the equations do not hold.
    garden, result = season_of(make_bed(soil=replace(MIX, salinity=4.0), plantings=(BEAN,)))
    (row,) = planting_yields(garden, result)
    assert row.salt_out_of_range
    assert "bean in bed" in yield_notes(planting_yields(garden, result))[1]
