"""Layouts made by chance, solved here and by EPANET."""

import numpy as np
import pytest

from scheduler.drip.network_solve import solve_network
from tests.drip.epanet import fed_nodes, solve_with_epanet
from tests.drip.layouts import lateral, make_layout

SEEDS = range(40)

# EPANET's gravity of 32.2 ft/s2 is 0.08 % high and its losses that much low.
GRAVITY_DIFFERENCE = 0.001
HEAD_TOLERANCE = 0.01  # m
FLOW_TOLERANCE = 5e-4


@pytest.mark.parametrize("seed", SEEDS)
def test_heads_and_flows_are_those_of_epanet(seed, tmp_path):
    network = make_layout(seed)
    answer, solution = solve_with_epanet(network, tmp_path), solve_network(network)
    most_lost = np.nanmax(answer.heads) - np.nanmin(answer.heads)
    tolerance = min(HEAD_TOLERANCE, 2e-4 + GRAVITY_DIFFERENCE * most_lost)
    np.testing.assert_allclose(solution.head, answer.heads, rtol=0.0, atol=tolerance)
    np.testing.assert_allclose(solution.emitter_flow, answer.drawn, rtol=FLOW_TOLERANCE, atol=0.0)
    total = solution.supply
    np.testing.assert_allclose(solution.pipe_flow, answer.pipe_flow, rtol=0.0, atol=FLOW_TOLERANCE * total)


def test_the_layouts_have_rings_shut_valves_and_all_kinds_of_flow():
    layouts = [make_layout(seed) for seed in SEEDS]
    rings = [network.pipes.start.size > network.elevation.size - 1 for network in layouts]
    dry = [not fed_nodes(network).all() for network in layouts]
    assert 10 < sum(rings) < len(rings)
    assert 5 < sum(dry) < len(dry)
    assert len({float(network.emitters.exponent[0]) for network in layouts}) == 6
    for network, some_dry in zip(layouts, dry, strict=True):
        pressure = solve_network(network).pressure
        assert np.array_equal(np.isfinite(pressure), fed_nodes(network))
        assert bool(np.isnan(pressure).any()) == some_dry


def test_an_answer_that_epanet_itself_calls_unbalanced_is_no_measure(tmp_path):
    """It hands numbers back all the same; ours settles there."""
    network = lateral(30, exponent=0.02)
    with pytest.raises(RuntimeError, match="found no balance"):
        solve_with_epanet(network, tmp_path)
    assert solve_network(network).emitter_flow == pytest.approx(2.0, rel=0.01)
