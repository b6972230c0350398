"""A layout solved for open beds: the tap's curve, shut valves, an opened end, faults in the plan's words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scheduler.drip.speed import flow_at_speed
from scheduler.errors import NetworkError
from scheduler.layout.bed_flows import bed_flows
from scheduler.layout.network_of import network_of
from scheduler.layout.segments import layout_of
from scheduler.layout.solved import OpenEnd, solve_layout
from tests.layout.plans import garden_of, plan_with

PSI = 6.894757293168361
GALLON = 3.785411784
TAP = ('flow = "5 gal/min"', 'flow = "5 gal/min"\nflow_house_busy = "3 gal/min"\nstatic_pressure = "40 psi"')


def laid(*pairs, **rest):
    garden = garden_of(plan_with(TAP, *pairs, **rest))
    layout = layout_of(garden)
    return garden, layout, network_of(layout, garden)


def test_shut_valve_leaves_only_the_tap_at_rest():
    _, layout, arrays = laid()
    solved = solve_layout(arrays, layout, open_beds=[])
    assert solved.supply == 0.0
    assert solved.solution.pressure[arrays.source] == pytest.approx(40 * PSI)
    assert np.isnan(solved.pressure).all()


def test_busy_house_draws_the_difference_of_the_buckets():
    # At rest: 40 psi x (1 - (2/5)^2) = 33.6 psi.
    _, layout, arrays = laid()
    solved = solve_layout(arrays, layout, open_beds=[], house="busy")
    assert solved.solution.pressure[arrays.source] == pytest.approx(33.6 * PSI)
    assert solved.supply == 0.0


def test_open_bed_draws_on_the_falling_curve_of_the_tap():
    _, layout, arrays = laid()
    quiet = solve_layout(arrays, layout, open_beds=["tall bed"])
    busy = solve_layout(arrays, layout, open_beds=["tall bed"], house="busy")
    bucket = 300 * GALLON
    assert quiet.solution.pressure[arrays.source] == pytest.approx(
        40 * PSI * (1 - (quiet.supply / bucket) ** 2)
    )
    assert busy.solution.pressure[arrays.source] == pytest.approx(
        40 * PSI * (1 - ((busy.supply + 120 * GALLON) / bucket) ** 2)
    )
    assert busy.supply < quiet.supply
    assert quiet.supply == pytest.approx(quiet.flow.sum())


def test_opened_end_turns_its_pressure_into_speed():
    _, layout, arrays = laid()
    end = next(edge for edge in layout.edges if layout.nodes[edge.end].kind == "end")
    per_root_kpa = float(flow_at_speed(2**0.5, bore=end.bore))
    solved = solve_layout(arrays, layout, open_beds=["tall bed"], end=OpenEnd(end.end, per_root_kpa))
    pressure = solved.solution.pressure[end.end]
    # v = sqrt(2 p / density): 1 kPa makes 1.414 m/s.
    assert solved.end_flow == pytest.approx(float(flow_at_speed((2 * pressure) ** 0.5, bore=end.bore)))
    assert solved.supply == pytest.approx(solved.flow.sum() + solved.end_flow)


def test_faults_are_told_in_the_words_of_the_plan():
    _, layout, arrays = laid()
    lengths, flows = arrays.pipe_length.copy(), arrays.emitter_flow.copy()
    lengths[0], flows[0] = 0.0, -1.0
    heights = arrays.elevation.copy()
    heights[arrays.source] = np.nan
    broken = replace(arrays, pipe_length=lengths, emitter_flow=flows, elevation=heights, static_pressure=-1.0)
    with pytest.raises(NetworkError) as refused:
        solve_layout(broken, layout, open_beds=["tall bed"])
    places = [fault.where for fault in refused.value.faults]
    assert "source" in places
    assert any(place.startswith("main of north: from ") for place in places)
    assert "tall bed: run 1 emitter 1" in places
    assert arrays.nodes[arrays.source] in places


def test_faults_of_head_parts_have_their_names():
    head = (
        '\n[[head]]\npart = "filter"\nmesh = 150\nloss = "1 psi"\nat_flow = "4 gal/min"\n'
        '\n[[head]]\npart = "regulator"\nset_pressure = "25 psi"\nloss = "1 psi"\nat_flow = "4 gal/min"\n'
    )
    _, layout, arrays = laid(("\n[main_line]", head + "\n[main_line]"))
    broken = replace(arrays, part_loss=-arrays.part_loss)
    with pytest.raises(NetworkError) as refused:
        solve_layout(broken, layout, open_beds=["tall bed"])
    places = [fault.where for fault in refused.value.faults]
    assert [any(word in place for place in places) for word in ("filter", "regulator")] == [True, True]


def test_opening_pressure_at_the_foot_of_the_range_is_solved():
    low = '"10 psi"'
    flat = f'exponent = 0\nopening_pressure = {low}\nlowest_pressure = {low}\nhighest_pressure = "50 psi"'
    garden, layout, arrays = laid(("exponent = 0.5", flat))
    solved = solve_layout(arrays, layout, open_beds=["tall bed"])
    (bed,) = bed_flows(garden, arrays, {"north": solved})
    assert bed.flow == pytest.approx(bed.emitters * 0.6 * GALLON)
    assert (bed.least_share, bed.low_quarter) == pytest.approx((1.0, 1.0))
    # Keller and Karmeli with equal flows and the assumed 7 %: 1 - 1.27 x 0.07.
    assert bed.uniformity == pytest.approx(1 - 1.27 * 0.07)
    assert not bed.variation_stated


def test_bed_flow_holds_what_its_emitters_give():
    garden, layout, arrays = laid(("exponent = 0.5", 'exponent = 0.5\nmanufacturing_variation = "5 %"'))
    solved = solve_layout(arrays, layout, open_beds=["tall bed"])
    (bed,) = bed_flows(garden, arrays, {"north": solved})
    pressure, flow = solved.of_bed(arrays, "tall bed")
    assert flow == pytest.approx(0.6 * GALLON * (pressure / (20 * PSI)) ** 0.5)
    assert (bed.lowest, bed.mean, bed.highest) == pytest.approx(
        (pressure.min(), pressure.mean(), pressure.max())
    )
    assert bed.printed == pytest.approx(bed.emitters * 0.6 * GALLON)
    assert bed.uniformity == pytest.approx((1 - 1.27 * 0.05) * flow.min() / flow.mean())
    assert bed.variation_stated
