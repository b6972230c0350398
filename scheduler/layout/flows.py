"""What the layout gives each bed while its zone runs. Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from scheduler.drip.friction import kinematic_viscosity
from scheduler.drip.network import (
    Network,
    Source,
    make_emitters,
    make_parts,
    make_pipes,
    make_regulators,
)
from scheduler.drip.network_solve import NetworkSolution, solve_network
from scheduler.errors import UnsettledError
from scheduler.garden.plan import Garden
from scheduler.layout.network_of import NetworkArrays, network_of
from scheduler.layout.segments import layout_of

__all__ = ["BedFlow", "LayoutFlows", "layout_flows"]


@dataclass(frozen=True, slots=True)
class BedFlow:
    """What one bed gets.

    Attributes
    ----------
    flow : float
        Of the whole bed [L/h].
    lowest_pressure, highest_pressure : float
        At its emitters [kPa].
    least_share : float
        Least emitter flow as a share of the mean, 0..1: what pressure takes from evenness.
    dry : int
        Emitters that get no water.
    """

    flow: float
    lowest_pressure: float
    highest_pressure: float
    least_share: float
    dry: int


@dataclass(frozen=True, slots=True)
class LayoutFlows:
    """Flows of all beds in plan order; none of them, and the reason in words, if they cannot be computed."""

    beds: tuple[BedFlow, ...] = ()
    reason: str = ""


def layout_flows(garden: Garden) -> LayoutFlows:
    """Return what each bed gets with all valves of its zone open and the house quiet.

    The other zones are shut if the timer opens one at a time, else all are open together.

    Raises
    ------
    NoLayoutError
        If the plan gives no layout.
    NetworkError
        If the layout cannot be solved.
    """
    if garden.water_source.static_pressure is None:
        return LayoutFlows(reason="the plan gives no static pressure of the tap")
    arrays = network_of(layout_of(garden), garden)
    network = _network(arrays)
    beds: dict[int, BedFlow] = {}
    try:
        for together in _open_together(garden):
            solution = solve_network(_with_open(network, arrays, together))
            beds |= {bed: _bed_flow(arrays, solution, bed) for bed in together}
    except UnsettledError:
        return LayoutFlows(reason="the pressures of the layout did not settle")
    return LayoutFlows(tuple(beds[number] for number in range(len(garden.beds))))


def _open_together(garden: Garden) -> list[list[int]]:
    """Return the beds whose valves are open at one time."""
    every = list(range(len(garden.beds)))
    if not garden.timer.one_zone_at_a_time:
        return [every]
    return [[n for n in every if garden.beds[n].zone == zone.name] for zone in garden.zones]


def _network(arrays: NetworkArrays) -> Network:
    """Return the layout with all valves open; a head part of which the plan says no loss has none."""
    regulates = np.isfinite(arrays.part_set_pressure)
    loss = np.nan_to_num(arrays.part_loss, nan=0.0)
    at_flow = np.nan_to_num(arrays.part_at_flow, nan=1.0)
    return Network(
        arrays.elevation,
        Source(arrays.source, arrays.static_pressure, arrays.tap_flow),
        make_pipes(
            arrays.pipe_from,
            arrays.pipe_to,
            length=arrays.pipe_length,
            inside_diameter=arrays.pipe_diameter,
            minor_loss=arrays.pipe_k,
        ),
        make_emitters(
            arrays.emitter_node,
            arrays.emitter_flow,
            nominal_pressure=arrays.emitter_pressure,
            exponent=arrays.emitter_exponent,
            opening_pressure=np.nan_to_num(arrays.emitter_opens, nan=0.0),
            min_pressure=np.nan_to_num(arrays.emitter_lowest, nan=0.0),
            max_pressure=np.where(np.isnan(arrays.emitter_highest), np.inf, arrays.emitter_highest),
        ),
        kinematic_viscosity(arrays.temperature),
        parts=make_parts(
            arrays.part_from[~regulates],
            arrays.part_to[~regulates],
            loss=loss[~regulates],
            at_flow=at_flow[~regulates],
        ),
        regulators=make_regulators(
            arrays.part_from[regulates],
            arrays.part_to[regulates],
            set_pressure=arrays.part_set_pressure[regulates],
            loss=loss[regulates],
            at_flow=at_flow[regulates],
        ),
    )


def _with_open(network: Network, arrays: NetworkArrays, beds: list[int]) -> Network:
    """Return the layout with the hand valves of these beds alone open."""
    is_open = (arrays.pipe_valve < 0) | np.isin(arrays.pipe_valve, beds)
    return replace(network, pipes=replace(network.pipes, is_open=is_open))


def _bed_flow(arrays: NetworkArrays, solution: NetworkSolution, bed: int) -> BedFlow:
    """Return what one bed gets in a settled layout."""
    own = arrays.emitter_bed == bed
    flows, pressures = solution.emitter_flow[own], solution.pressure[arrays.emitter_node[own]]
    mean = float(flows.mean())
    return BedFlow(
        flow=float(flows.sum()),
        lowest_pressure=float(pressures.min()),
        highest_pressure=float(pressures.max()),
        least_share=min(1.0, float(flows.min()) / mean) if mean > 0.0 else 0.0,
        dry=int(np.count_nonzero(flows <= 0.0)),
    )
