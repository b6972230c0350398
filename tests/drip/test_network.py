"""What holds for every layout: balance, order, units, and what more pressure, tube or a regulator does."""

import dataclasses
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.drip.friction import GRAVITY, head_of, pressure_of
from scheduler.drip.network import (
    Network,
    Source,
    make_emitters,
    make_parts,
    make_pipes,
    make_regulators,
)
from scheduler.drip.network_emitters import emitter_curve
from scheduler.drip.network_newton import HEAD_TOLERANCE
from scheduler.drip.network_solve import BALANCE, solve_network
from scheduler.errors import NetworkError, UnsettledError
from scheduler.garden.units import parse_quantity
from tests.drip.layouts import VISCOSITY, lateral, make_layout, make_rough_layout

COMPENSATING = {"exponent": 0.0, "opening_pressure": 20.0, "min_pressure": 60.0, "max_pressure": 300.0}
seeds = st.integers(1000, 100_000)
few = settings(max_examples=25, deadline=None)


def imbalance(network, solution):
    """Return the largest imbalance of any node but the tap's [L/h], counted link by link."""
    balance = np.zeros(network.elevation.size)
    links = [
        (network.pipes, solution.pipe_flow),
        (network.parts, solution.part_flow),
        (network.regulators, solution.regulator_flow),
    ]
    for kind, flows in links:
        for start, end, flow in zip(kind.start, kind.end, flows, strict=True):
            balance[start] -= flow
            balance[end] += flow
    for node, flow in zip(network.emitters.node, solution.emitter_flow, strict=True):
        balance[node] -= flow
    tap = network.source.node
    assert balance[tap] == pytest.approx(-solution.supply, abs=1e-9 * max(solution.supply, 1e-3))
    balance[tap] = 0.0
    return np.abs(balance).max()


@few
@given(seed=seeds)
def test_every_node_balances(seed):
    network = make_layout(seed)
    solution = solve_network(network)
    assert solution.supply > 0.0
    assert imbalance(network, solution) < BALANCE * solution.supply
    assert solution.imbalance < BALANCE
    drawn, _ = emitter_curve(solution.pressure[network.emitters.node], network.emitters)
    np.testing.assert_allclose(solution.emitter_flow, np.nan_to_num(drawn), rtol=1e-8)


def _regulators_are_in_order(network, solution):
    """Check each regulator against the lesser of its set pressure and what comes in, or against no flow."""
    regulators = network.regulators
    for place, (start, end) in enumerate(zip(regulators.start, regulators.end, strict=True)):
        flow = solution.regulator_flow[place]
        if np.isnan(solution.head[start]):
            assert flow == 0.0
            continue
        set_head = network.elevation[end] + float(head_of(regulators.set_pressure[place]))
        loss = float(head_of(regulators.loss[place])) * (flow / regulators.at_flow[place]) ** 2
        wanted = min(solution.head[start] - loss, set_head)
        assert flow >= -1e-8 * max(1.0, solution.supply)
        if flow > 1e-6:
            assert solution.head[end] == pytest.approx(wanted, abs=1e-4)
        else:
            assert solution.head[end] >= wanted - 1e-4


@pytest.mark.parametrize("seed", range(150))
def test_layouts_that_no_one_would_lay_settle_too(seed):
    network = make_rough_layout(seed)
    solution = solve_network(network)
    assert imbalance(network, solution) <= BALANCE * max(solution.supply, 1e-3)
    fed = np.isfinite(solution.pressure[network.emitters.node])
    assert np.all(solution.emitter_flow >= 0.0)
    assert np.all(solution.emitter_flow[~fed] == 0.0)
    pressure = np.nan_to_num(solution.pressure[network.emitters.node])
    # Where the curve is steep, a flow is as sure as a pressure of a hair.
    below, _ = emitter_curve(pressure - 1e-7, network.emitters)
    above, _ = emitter_curve(pressure + 1e-7, network.emitters)
    assert np.all(solution.emitter_flow[fed] >= below[fed] - 1e-9)
    assert np.all(solution.emitter_flow[fed] <= above[fed] + 1e-9)
    _regulators_are_in_order(network, solution)


@few
@given(seed=seeds, more=st.floats(0.01, 100.0))
def test_more_pressure_never_lowers_a_flow(seed, more):
    network = make_layout(seed)
    raised = dataclasses.replace(network.source, static_pressure=network.source.static_pressure + more)
    before, after = solve_network(network), solve_network(dataclasses.replace(network, source=raised))
    assert np.all(after.emitter_flow >= before.emitter_flow * (1.0 - 1e-9))
    assert after.supply > before.supply


@few
@given(count=st.integers(1, 80), spacing=st.floats(0.1, 1.0), x=st.sampled_from([0.0, 0.02, 0.5, 1.0]))
def test_longer_run_never_raises_the_pressure_at_its_end(count, spacing, x):
    shorter, longer = (
        solve_network(lateral(emitters, spacing=spacing, exponent=x)).pressure[-1]
        for emitters in (count, count + 1)
    )
    assert longer <= shorter + 1e-6


@few
@given(seed=seeds)
def test_order_of_nodes_pipes_and_emitters_does_not_matter(seed):
    network = make_layout(seed)
    rng = np.random.default_rng(seed)
    pipes, emitters = network.pipes, network.emitters
    to = rng.permutation(network.elevation.size)
    pipe_order, emitter_order = rng.permutation(pipes.start.size), rng.permutation(emitters.node.size)
    turned = rng.random(pipes.start.size) < 0.5
    start, end = np.where(turned, pipes.end, pipes.start), np.where(turned, pipes.start, pipes.end)
    elevation = np.empty(network.elevation.size)
    elevation[to] = network.elevation
    other = Network(
        elevation,
        dataclasses.replace(network.source, node=int(to[network.source.node])),
        make_pipes(
            to[start][pipe_order],
            to[end][pipe_order],
            length=pipes.length[pipe_order],
            inside_diameter=pipes.inside_diameter[pipe_order],
            minor_loss=pipes.minor_loss[pipe_order],
            is_open=pipes.is_open[pipe_order],
        ),
        make_emitters(
            to[emitters.node][emitter_order],
            emitters.nominal_flow[emitter_order],
            nominal_pressure=100.0,
            exponent=emitters.exponent[emitter_order],
        ),
        network.viscosity,
    )
    one, two = solve_network(network), solve_network(other)
    np.testing.assert_allclose(two.pressure[to], one.pressure, rtol=0.0, atol=1e-6)
    np.testing.assert_allclose(two.emitter_flow, one.emitter_flow[emitter_order], rtol=1e-8)
    signs = np.where(turned, -1.0, 1.0)[pipe_order]
    np.testing.assert_allclose(two.pipe_flow, signs * one.pipe_flow[pipe_order], atol=1e-7 * one.supply)


@few
@given(seed=seeds, up=st.floats(-50.0, 500.0))
def test_height_of_the_whole_garden_does_not_matter(seed, up):
    network = make_layout(seed)
    lifted = dataclasses.replace(network, elevation=network.elevation + up)
    one, two = solve_network(network), solve_network(lifted)
    np.testing.assert_allclose(two.pressure, one.pressure, rtol=0.0, atol=1e-6)
    np.testing.assert_allclose(two.emitter_flow, one.emitter_flow, rtol=1e-8)


def test_the_same_layout_in_other_units_has_the_same_answer():
    def told(spacing, bore, flow, pressure, tap):
        return solve_network(
            lateral(
                30,
                spacing=parse_quantity(spacing, "length"),
                inside_diameter=1000.0 * parse_quantity(bore, "length"),
                nominal_flow=parse_quantity(flow, "flow"),
                nominal_pressure=parse_quantity(pressure, "pressure"),
                source=Source(0, parse_quantity(tap, "pressure")),
            )
        )

    metric = told("0.3048 m", "4.318 mm", "1.892705892 L/h", "172.3689323 kPa", "137.8951459 kPa")
    ours = told("12 in", "0.170 in", "0.5 gal/h", "25 psi", "20 psi")
    np.testing.assert_allclose(ours.pressure, metric.pressure, rtol=1e-8)
    np.testing.assert_allclose(ours.emitter_flow, metric.emitter_flow, rtol=1e-8)


def test_where_an_emitter_is_rated_on_its_curve_does_not_matter():
    there = lateral(30, nominal_flow=2.0 * 2.5**0.5, nominal_pressure=250.0)
    np.testing.assert_allclose(
        solve_network(there).pressure, solve_network(lateral(30)).pressure, rtol=0.0, atol=1e-7
    )


def test_compensating_emitters_are_flat_within_their_range():
    for pressure in (90.0, 150.0, 250.0):
        flow = solve_network(lateral(12, source=Source(0, pressure), **COMPENSATING)).emitter_flow
        np.testing.assert_allclose(flow, 2.0, rtol=1e-12)
    assert np.all(solve_network(lateral(12, source=Source(0, 15.0), **COMPENSATING)).emitter_flow == 0.0)
    partly = solve_network(lateral(12, source=Source(0, 40.0), **COMPENSATING)).emitter_flow
    assert np.all((partly > 0.0) & (partly < 2.0))
    assert np.all(solve_network(lateral(2, source=Source(0, 600.0), **COMPENSATING)).emitter_flow > 2.0)


def test_two_kinds_of_emitter_in_one_run():
    network = lateral(
        8, exponent=[0.0, 0.5] * 4, min_pressure=[60.0, 0.0] * 4, max_pressure=[300.0, math.inf] * 4
    )
    solution = solve_network(network)
    np.testing.assert_allclose(solution.emitter_flow[::2], 2.0, rtol=1e-12)
    wanted = 2.0 * np.sqrt(solution.pressure[2::2] / 100.0)
    np.testing.assert_allclose(solution.emitter_flow[1::2], wanted, rtol=1e-8)


def test_what_is_behind_a_shut_valve_has_no_pressure_and_no_flow():
    network = lateral(6)
    shut = np.ones(6, dtype=bool)
    shut[3] = False
    solution = solve_network(
        dataclasses.replace(network, pipes=dataclasses.replace(network.pipes, is_open=shut))
    )
    assert np.isnan(solution.pressure).tolist() == [False] * 4 + [True] * 3
    assert np.all(solution.emitter_flow[3:] == 0.0)
    assert np.all(solution.pipe_flow[3:] == 0.0)
    np.testing.assert_allclose(solution.emitter_flow[:3], solve_network(lateral(3)).emitter_flow)


def test_all_valves_shut_is_an_answer():
    network = lateral(3)
    pipes = dataclasses.replace(network.pipes, is_open=np.zeros(3, dtype=bool))
    solution = solve_network(dataclasses.replace(network, pipes=pipes))
    assert solution.supply == 0.0
    assert np.isfinite(solution.pressure).tolist() == [True, False, False, False]


def test_water_that_does_not_rise_so_high_is_not_drawn_in():
    network = dataclasses.replace(lateral(3), elevation=np.array([0.0, 0.0, 11.0, 12.0]))
    solution = solve_network(network)
    assert solution.pressure[2] < 0.0
    assert solution.emitter_flow[0] > 0.0
    assert np.all(solution.emitter_flow[1:] == 0.0)


@few
@given(static=st.floats(50.0, 500.0), bucket=st.floats(50.0, 2000.0), count=st.integers(1, 60))
def test_tap_falls_along_its_curve(static, bucket, count):
    network = lateral(count, inside_diameter=15.0, source=Source(0, static, bucket), nominal_flow=8.0)
    solution = solve_network(network)
    wanted = static * (1.0 - (solution.supply / bucket) ** 2)
    assert solution.pressure[0] == pytest.approx(wanted, abs=2e-6 * static + 1e-4)
    assert imbalance(network, solution) < BALANCE * solution.supply


def test_loss_of_a_part_goes_with_the_square_of_the_flow():
    network = lateral(10)
    shifted = dataclasses.replace(
        network,
        elevation=np.zeros(12),
        source=Source(11, 100.0),
        parts=make_parts([11], [0], loss=20.0, at_flow=40.0),
    )
    solution = solve_network(shifted)
    lost = solution.pressure[11] - solution.pressure[0]
    assert solution.part_flow[0] == pytest.approx(solution.supply)
    assert lost == pytest.approx(20.0 * (solution.supply / 40.0) ** 2, abs=1e-4)


def regulated(static, *, set_pressure=100.0, loss=30.0, rise=0.0):
    """Return a run behind a regulator that loses `loss` kPa at 40 L/h; node 11 is the tap."""
    return dataclasses.replace(
        lateral(10),
        elevation=np.array([rise] * 11 + [0.0]),
        source=Source(11, static),
        regulators=make_regulators([11], [0], set_pressure=set_pressure, loss=loss, at_flow=40.0),
    )


@few
@given(static=st.floats(120.0, 700.0))
def test_regulator_holds_its_pressure(static):
    network = regulated(static)
    solution = solve_network(network)
    assert solution.pressure[0] == pytest.approx(100.0, abs=1e-5)
    assert not solution.dropped_out[0]
    np.testing.assert_allclose(solution.emitter_flow, solve_network(lateral(10)).emitter_flow, rtol=1e-8)
    assert solution.regulator_flow[0] == pytest.approx(solution.supply)
    assert imbalance(network, solution) < BALANCE * solution.supply


@few
@given(static=st.floats(5.0, 104.0))
def test_regulator_drops_out(static):
    network = regulated(static)
    solution = solve_network(network)
    assert solution.dropped_out[0]
    wanted = static - 30.0 * (solution.supply / 40.0) ** 2
    assert solution.pressure[0] == pytest.approx(wanted, abs=1e-4)
    assert solution.pressure[0] <= 100.0
    assert imbalance(network, solution) < BALANCE * solution.supply


def test_pressure_behind_a_regulator_never_falls_as_the_tap_rises():
    behind = [solve_network(regulated(static)).pressure[0] for static in np.linspace(90.0, 130.0, 81)]
    assert np.all(np.diff(behind) >= -1e-6)
    assert behind[0] < 100.0
    assert behind[-1] == pytest.approx(100.0, abs=1e-5)


def test_regulators_in_a_row_hold_the_lower_pressure_behind_the_higher():
    network = dataclasses.replace(
        lateral(10),
        elevation=np.zeros(13),
        source=Source(12, 300.0),
        regulators=make_regulators([12, 11], [11, 0], set_pressure=[200.0, 100.0], loss=10.0, at_flow=40.0),
    )
    solution = solve_network(network)
    np.testing.assert_allclose(solution.pressure[[12, 11, 0]], [300.0, 200.0, 100.0], atol=1e-5)
    np.testing.assert_allclose(solution.regulator_flow, solution.supply)


def test_nothing_flows_backward_through_a_regulator():
    """A ring past the regulator has more pressure than it is set to: it shuts."""
    network = regulated(200.0)
    pipes = make_pipes(
        [*network.pipes.start, 11],
        [*network.pipes.end, 10],
        length=[*network.pipes.length, 0.1],
        inside_diameter=[*network.pipes.inside_diameter, 15.0],
    )
    past = dataclasses.replace(network, pipes=pipes)
    solution = solve_network(past)
    assert solution.regulator_flow[0] == 0.0
    assert solution.pressure[0] > 100.0
    assert imbalance(past, solution) < BALANCE * solution.supply


def test_regulator_below_its_bed_holds_pressure_at_itself():
    solution = solve_network(regulated(300.0, rise=2.0))
    assert solution.pressure[0] == pytest.approx(100.0, abs=1e-5)
    assert solution.head[0] == pytest.approx(2.0 + float(head_of(100.0)))


def test_ring_shares_its_flow_between_both_sides():
    """By hand: two equal ways to one emitter carry half of its flow each."""
    network = Network(
        np.zeros(4),
        Source(0, 100.0),
        make_pipes([0, 1, 0, 2], [1, 3, 2, 3], length=1.0, inside_diameter=4.3),
        make_emitters([3], 6.0, nominal_pressure=100.0, exponent=0.0),
        VISCOSITY,
    )
    np.testing.assert_allclose(solve_network(network).pipe_flow, 3.0, rtol=1e-9)


def test_one_tube_by_hand():
    """128 nu L Q / (pi g d4), laminar."""
    network = lateral(1, spacing=10.0, exponent=0.0)
    flow = 2.0 / 3.6e6
    loss = 128.0 * VISCOSITY * 10.0 * flow / (math.pi * GRAVITY * 0.0043**4)
    assert solve_network(network).pressure[1] == pytest.approx(100.0 - float(pressure_of(loss)), rel=1e-9)


def test_faults_are_all_told():
    network = Network(
        np.array([0.0, math.nan, 0.0]),
        Source(7, -1.0, 0.0),
        make_pipes([0, 1], [0, 9], length=[0.0, 1.0], inside_diameter=[4.0, -4.0]),
        make_emitters(
            [1, 5], [0.0, 2.0], nominal_pressure=100.0, exponent=[0.5, 2.0], min_pressure=[-1.0, 0.0]
        ),
        0.0,
        parts=make_parts([0], [1], loss=-1.0, at_flow=0.0),
        regulators=make_regulators([0, 2], [1, 1], set_pressure=math.nan, loss=0.0, at_flow=100.0),
    )
    with pytest.raises(NetworkError) as caught:
        solve_network(network)
    told = [str(fault) for fault in caught.value.faults]
    parts = [
        *("source: its node is 7", "static pressure is -1.0", "open bucket is 0.0", "viscosity is 0.0"),
        *("node 1: elevation is nan", "pipe 0: start and end", "pipe 1: end is 9", "pipe 0: length is 0.0"),
        *("pipe 1: inside diameter is -4.0", "emitter 1: node is 5", "emitter 0: nominal flow is 0.0"),
        *("emitter 1: exponent is 2.0", "emitter 0: least pressure of its range is -1.0"),
        *("part 0: loss is -1.0", "part 0: flow of its stated loss is 0.0"),
        *("regulator 0: set pressure is nan", "node 1: has several regulators before it"),
    ]
    assert [part for part in parts if not any(part in line for line in told)] == []


def test_ranges_of_emitters_that_make_no_sense_are_refused():
    for wrong in ({"max_pressure": 50.0}, {"opening_pressure": 60.0}, {"opening_pressure": -1.0}):
        with pytest.raises(NetworkError, match="emitter 0"):
            solve_network(lateral(1, **(COMPENSATING | wrong)))
    with pytest.raises(NetworkError, match="regulator 0: ends at the source"):
        solve_network(dataclasses.replace(regulated(100.0), source=Source(0, 100.0)))


def test_what_does_not_settle_is_no_answer(monkeypatch):
    monkeypatch.setattr("scheduler.drip.network_newton._MOST_STEPS", 1)
    with pytest.raises(UnsettledError, match="did not settle in 1 steps") as caught:
        solve_network(make_layout(7))
    assert caught.value.head_residual > HEAD_TOLERANCE


def test_answer_out_of_balance_is_no_answer(monkeypatch):
    monkeypatch.setattr("scheduler.drip.network_newton.MASS_TOLERANCE", 1.0)
    monkeypatch.setattr("scheduler.drip.network_newton.HEAD_TOLERANCE", 1e6)
    with pytest.raises(UnsettledError, match="does not balance") as caught:
        solve_network(lateral(60, exponent=0.5))
    assert caught.value.mass_residual > BALANCE
