"""The layout as arrays: heights, pipes, losses, valves, emitters, parts at the tap."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scheduler.layout.fitting_losses import loss_coefficient, published_losses
from scheduler.layout.graph import Fitting
from scheduler.layout.network_of import network_of
from scheduler.layout.segments import layout_of
from tests.layout.plans import FOOT, INCH, garden_of, plan_with

HEAD = (
    '\n[[head]]\npart = "timer"\nloss = "3 psi"\nat_flow = "4 gal/min"\nheight = "-4 in"\n'
    '\n[[head]]\npart = "regulator"\nset_pressure = "20 psi"\nlowest_flow = "6 gal/h"\n'
)
PSI = 6.894757
GALLON = 3.785411784


def network(*pairs, added=HEAD):
    garden = garden_of(plan_with(*pairs) + added)
    layout = layout_of(garden)
    return layout, network_of(layout, garden)


def test_pipes_are_the_tubes_of_the_layout():
    layout, arrays = network()
    tubes = [edge for edge in layout.edges if edge.kind != "head"]
    assert arrays.pipe_length.tolist() == [edge.length for edge in tubes]
    assert arrays.pipe_diameter == pytest.approx([edge.bore * 1000 for edge in tubes])
    assert arrays.elevation.tolist() == [node.height for node in layout.nodes]
    assert set(arrays.pipe_diameter.round(3)) == {15.24, 4.318}
    assert len(arrays.nodes) == arrays.elevation.size


def test_heights_of_head_main_and_rim():
    _, arrays = network()
    heights = dict(zip(arrays.nodes, arrays.elevation.tolist(), strict=True))
    assert heights["tap"] == 0.0
    assert heights["outlet 1"] == pytest.approx(-4 * INCH)
    assert heights["tall bed: riser foot"] == 0.0
    assert arrays.elevation[arrays.emitter_node] == pytest.approx(np.full(38, FOOT))


def test_valve_sits_in_the_riser():
    layout, arrays = network()
    (pipe,) = np.flatnonzero(arrays.pipe_valve >= 0)
    assert arrays.valves == ("tall bed",)
    assert arrays.nodes[arrays.pipe_to[pipe]] == "tall bed: rim"
    # The elbow at the foot and the open ball valve.
    assert arrays.pipe_k[pipe] == pytest.approx(1.5 + 0.05)
    assert layout.nodes[arrays.pipe_to[pipe]].kind == "rim"


def test_stated_loss_of_a_valve():
    """1 psi at 5 gal/min in 0.60 in: K = 2 x 6894.757 Pa / (998.2 kg/m3 V2), V = 1.7293 m/s."""
    _, arrays = network(
        ('inlet = "left"', 'inlet = "left"\nvalve_loss = "1 psi"\nvalve_loss_at = "5 gal/min"')
    )
    (pipe,) = np.flatnonzero(arrays.pipe_valve >= 0)
    velocity = 5 * GALLON / 60000 / (math.pi / 4 * 0.01524**2)
    assert velocity == pytest.approx(1.7293, abs=5e-5)
    assert arrays.pipe_k[pipe] - 1.5 == pytest.approx(2 * PSI * 1000 / 998.2 / velocity**2)


def test_emitters_carry_the_curve_of_their_line():
    line = 'emitter_spacing = "6 in"\n'
    ranged = line + 'opening_pressure = "5 psi"\nlowest_pressure = "10 psi"\nhighest_pressure = "50 psi"\n'
    layout, arrays = network((line, ranged))
    assert arrays.emitter_node.tolist() == [
        n for n, node in enumerate(layout.nodes) if node.kind == "emitter"
    ]
    for values, one in (
        (arrays.emitter_flow, 0.6 * GALLON),
        (arrays.emitter_pressure, 20 * PSI),
        (arrays.emitter_exponent, 0.5),
        (arrays.emitter_opens, 5 * PSI),
        (arrays.emitter_lowest, 10 * PSI),
        (arrays.emitter_highest, 50 * PSI),
    ):
        assert values == pytest.approx(np.full(38, one))
    assert set(arrays.emitter_bed.tolist()) == {0}
    assert np.isnan(network()[1].emitter_opens).all()


def test_head_and_source():
    _, arrays = network(
        ('flow = "5 gal/min"', 'flow = "5 gal/min"\nstatic_pressure = "50 psi"\ntemperature = "59 degF"')
    )
    assert arrays.parts == ("timer", "timer port 1", "outlet 1: regulator")
    assert arrays.part_loss == pytest.approx([3 * PSI, math.nan, math.nan], nan_ok=True)
    assert arrays.part_at_flow == pytest.approx([240 * GALLON, math.nan, math.nan], nan_ok=True)
    assert arrays.part_set_pressure == pytest.approx([math.nan, math.nan, 20 * PSI], nan_ok=True)
    assert arrays.part_lowest_flow[-1] == pytest.approx(6 * GALLON)
    assert np.isnan(arrays.part_highest_flow).all()
    assert (arrays.nodes[arrays.source], arrays.nodes[arrays.part_to[-1]]) == ("tap", "outlet 1")
    assert arrays.static_pressure == pytest.approx(50 * PSI)
    assert arrays.tap_flow == pytest.approx(300 * GALLON)
    assert math.isnan(arrays.tap_flow_busy)
    assert arrays.temperature == pytest.approx(15.0)


def test_losses_of_the_tables():
    """Minor-loss tables of hydraulics references: tee 0.9 and 2.0, elbow up to 1.5, open ball valve 0.05."""
    losses = published_losses()
    read = {role: one.k for role, one in losses.items() if not one.from_memory}
    assert read == {"tee line": 0.9, "tee branch": 2.0, "elbow": 1.5, "hand valve": 0.05}
    assert all(one.source for one in losses.values())


def test_losses_by_shape():
    """A barb three quarters as wide as its tube: r = 0.5625, (0.5 + 0.4375^2) / 0.5625^2 = 2.185."""
    barb = Fitting("barb", (0.015, 0.004))
    assert loss_coefficient(barb, "barb", 0.004) == pytest.approx(2.185, abs=5e-4)
    assert loss_coefficient(barb, "barb to ring", 0.004) == pytest.approx(4 * 2.185, abs=2e-3)
    # (0.5 x 0.4375 + 0.4375^2) / 0.5625^2 = 1.296
    assert loss_coefficient(barb, "coupling", 0.004) == pytest.approx(1.296, abs=5e-4)
    # From 2 to 1: r = 0.25, 0.5 x 0.75; into a wider tube nothing is counted.
    reducer = Fitting("reducer", (0.02, 0.01))
    assert loss_coefficient(reducer, "reducer", 0.01) == pytest.approx(0.375)
    assert loss_coefficient(reducer, "reducer", 0.02) == 0.0
