"""What the layout gives each bed: by hand, by zone, and with more pressure at the tap."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.garden.planfile import load_plan
from scheduler.layout.flows import layout_flows
from tests.layout.plans import garden_of, plan_with

KPA_PER_M = 9.80665
REGULATOR = '\n[[head]]\npart = "regulator"\nset_pressure = "15 psi"\n'
WIDE = (
    ('inside_diameter = "0.60 in"\n', 'inside_diameter = "4 in"\n'),
    ('header_diameter = "0.60 in"', 'header_diameter = "3 in"'),
    ('inside_diameter = "0.17 in"', 'inside_diameter = "1.5 in"'),
)


def garden(*pairs, added="", pressure=344.73785, tap=None):
    """Return the small garden with a layout, 50 psi at the tap at rest."""
    plan = garden_of(plan_with(*pairs) + added)
    source = replace(plan.water_source, static_pressure=pressure)
    return replace(plan, water_source=source if tap is None else replace(source, flow=tap))


def test_wide_tube_behind_a_regulator_by_hand():
    """15 psi at the outlet and a rim 12 in above it: 103.42 - 0.3048 x 9.80665 = 100.43 kPa.

    0.6 gal/h at 20 psi with x 0.5: 2.2712 (100.43 / 137.90) ** 0.5 = 1.9383 L/h from each of 38 emitters.
    """
    (bed,) = layout_flows(garden(*WIDE, added=REGULATOR)).beds
    assert bed.lowest_pressure == pytest.approx(100.43, abs=0.02)
    assert bed.highest_pressure == pytest.approx(100.43, abs=0.02)
    assert bed.flow == pytest.approx(38 * 1.9383, rel=2e-4)
    assert bed.least_share == pytest.approx(1.0, abs=1e-4)
    assert bed.dry == 0


def test_narrow_line_loses_pressure_on_its_way():
    (bed,) = layout_flows(garden(added=REGULATOR)).beds
    assert bed.lowest_pressure < bed.highest_pressure < 100.43
    share = (bed.lowest_pressure / bed.highest_pressure) ** 0.5
    assert share < bed.least_share < 1.0


def test_rim_above_what_the_tap_lifts_leaves_the_bed_dry():
    """3 kPa lift water 0.306 m: to a rim at 12 in, not to one at 24 in."""
    (bed,) = layout_flows(garden(('rim_height = "12 in"', 'rim_height = "24 in"'), pressure=3.0)).beds
    assert (bed.flow, bed.least_share, bed.dry) == (0.0, 0.0, 38)
    assert bed.highest_pressure == pytest.approx(3.0 - 0.6096 * KPA_PER_M, abs=1e-6)


def test_without_the_pressure_of_the_tap_nothing_is_computed_and_it_is_said():
    flows = layout_flows(garden(pressure=None))
    assert flows.beds == ()
    assert "static pressure" in flows.reason


def demo(**changes):
    plan = load_plan(Path(__file__).parents[2] / "config" / "demo_four_outlets.toml")
    return replace(plan, **changes)


def test_zones_that_run_together_take_pressure_from_each_other():
    """With a tap that gives little each zone alone has more than all of them at once."""
    plan = demo()
    weak = replace(plan.water_source, flow=200.0)
    alone = layout_flows(replace(plan, water_source=weak)).beds
    timer = replace(plan.timer, one_zone_at_a_time=False)
    together = layout_flows(replace(plan, water_source=weak, timer=timer)).beds
    assert len(alone) == len(together) == len(plan.beds)
    for one, other in zip(alone, together, strict=True):
        assert other.flow < 0.9 * one.flow
    # The tap gives 200 L/h into an open bucket, less against any pressure.
    assert sum(bed.flow for bed in together) < 200.0
    fruit = [n for n, bed in enumerate(plan.beds) if bed.zone == "fruit"]
    assert sum(alone[n].flow for n in fruit) < 200.0


@settings(max_examples=25, deadline=None)
@given(
    low=st.floats(15.0, 500.0),
    more=st.floats(0.1, 200.0),
    tap=st.floats(100.0, 3000.0),
    regulated=st.booleans(),
)
def test_more_pressure_at_the_source_never_lowers_a_flow(low, more, tap, regulated):
    added = REGULATOR if regulated else ""
    less, greater = (
        layout_flows(garden(added=added, pressure=pressure, tap=tap)).beds[0]
        for pressure in (low, low + more)
    )
    assert greater.flow >= less.flow * (1.0 - 1e-9)
    assert greater.lowest_pressure >= less.lowest_pressure - 1e-6
