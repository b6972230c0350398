"""Every head and every flow of twelve layouts that another solver has solved, see networks/README.md."""

import json
from pathlib import Path

import numpy as np
import pytest

from scheduler.drip.friction import head_of, pressure_of
from scheduler.drip.network import Network, Source, make_emitters, make_pipes
from scheduler.drip.network_solve import solve_network

FILES = sorted(Path(__file__).with_name("networks").glob("*.json"))

# The other solver's gravity is 0.08 % high, which is all that is left: the largest difference found is 0.0036
# m and 0.015 %, on the long main of a4.
HEAD_TOLERANCE = 0.005  # m
FLOW_TOLERANCE = 2e-4


def column(rows, key):
    return np.array([row[key] for row in rows])


def read(path):
    """Return a layout and, in its order, the heads, emitter flows and pipe flows that are to be met."""
    data = json.loads(path.read_text(encoding="utf-8"))
    nodes, pipes, emitters = data["nodes"], data["pipes"], data["emitters"]
    at = {node["id"]: place for place, node in enumerate(nodes)}
    elevation = column(nodes, "elevation_m")
    tap = at[data["source"]["id"]]
    network = Network(
        elevation,
        Source(tap, float(pressure_of(data["source"]["head_m"] - elevation[tap]))),
        make_pipes(
            [at[pipe["from"]] for pipe in pipes],
            [at[pipe["to"]] for pipe in pipes],
            length=column(pipes, "length_m"),
            inside_diameter=1000.0 * column(pipes, "diameter_m"),
            roughness=column(pipes, "roughness_mm"),
            minor_loss=column(pipes, "minor_loss_k"),
            is_open=column(pipes, "open"),
        ),
        make_emitters(
            [at[emitter["node"]] for emitter in emitters],
            column(emitters, "q_n_Lph"),
            nominal_pressure=pressure_of(column(emitters, "p_n_m")),
            exponent=column(emitters, "x"),
        ),
        viscosity=data["viscosity_m2_s"],
    )
    heads = np.array([data["head_m"][node["id"]] for node in nodes], dtype=float)
    drawn = np.array([data["emitter_flow_Lph"][emitter["node"]] for emitter in emitters])
    flows = np.array([data["pipe_flow_Lph"][pipe["id"]] for pipe in pipes], dtype=float)
    return network, heads, drawn, flows, data["total_Lph"]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_solved_network(path):
    network, heads, drawn, flows, total = read(path)
    solution = solve_network(network)
    np.testing.assert_allclose(solution.head, heads, rtol=0.0, atol=HEAD_TOLERANCE)
    np.testing.assert_allclose(head_of(solution.pressure), heads - network.elevation, atol=HEAD_TOLERANCE)
    # Relative to each flow alone: where nothing flows, nothing may flow.
    np.testing.assert_allclose(solution.emitter_flow, drawn, rtol=FLOW_TOLERANCE, atol=0.0)
    np.testing.assert_allclose(solution.pipe_flow, flows, rtol=0.0, atol=FLOW_TOLERANCE * total)
    assert solution.supply == pytest.approx(total, rel=FLOW_TOLERANCE)


def test_all_twelve_are_there_with_rings_heights_and_a_shut_valve():
    solved = [read(path) for path in FILES]
    assert len(solved) == 12
    assert sum(np.isnan(heads).any() for _, heads, *_ in solved) == 2
    assert max(np.ptp(network.elevation) for network, *_ in solved) > 1.0
    rings = [network.pipes.start.size - network.elevation.size + 1 for network, *_ in solved]
    assert sorted(rings)[-2:] == [3, 6]
