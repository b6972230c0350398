"""A layout solved for chosen open beds: pressure and flow of every emitter, house quiet or busy. Pure."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.drip.friction import kinematic_viscosity
from scheduler.drip.network import (
    Emitters,
    Network,
    Source,
    make_emitters,
    make_parts,
    make_pipes,
    make_regulators,
)
from scheduler.drip.network_solve import NetworkSolution, solve_network
from scheduler.errors import Fault, NetworkError
from scheduler.layout.graph import Layout
from scheduler.layout.network_of import NetworkArrays

__all__ = ["House", "OpenEnd", "Solved", "network_with", "solve_layout"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
House = Literal["quiet", "busy"]

# The solver wants the opening pressure below the range; a plan may let both be one.
_BELOW_RANGE = 0.99


@dataclass(frozen=True, slots=True)
class OpenEnd:
    """An end of a line that is opened to flush it: its node, and its flow [L/h] under 1 kPa."""

    node: int
    flow: float


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """Pressures and flows of a layout while some beds are open.

    Attributes
    ----------
    open_beds : frozenset of str
    house : str
        ``quiet`` or ``busy``.
    solution : NetworkSolution
        Pipes as in the layout's tubes, nodes as in the layout.
    pressure, flow : ndarray
        At each emitter of the layout [kPa, L/h]; NaN and 0 behind shut valves.
    end_flow : float
        What leaves an opened end [L/h]; NaN if none is open.
    dropped_out : tuple of int
        Parts of the head assembly that are regulators with too little pressure before them.
    supply : float
        What the garden draws [L/h].
    """

    open_beds: frozenset[str]
    house: House
    solution: NetworkSolution
    pressure: FloatArray
    flow: FloatArray
    end_flow: float
    dropped_out: tuple[int, ...]
    supply: float

    def of_bed(self, arrays: NetworkArrays, bed: str) -> tuple[FloatArray, FloatArray]:
        """Return pressure [kPa] and flow [L/h] of the emitters of one bed."""
        own = arrays.emitter_bed == arrays.valves.index(bed)
        return self.pressure[own], self.flow[own]


def solve_layout(
    arrays: NetworkArrays,
    layout: Layout,
    *,
    open_beds: Collection[str],
    house: House = "quiet",
    end: OpenEnd | None = None,
) -> Solved:
    """Return pressures and flows while the valves of `open_beds` are open and all others shut.

    Raises
    ------
    NetworkError
        If the layout cannot be solved; each fault names the bed, tube or part.
    UnsettledError
        If pressures and flows do not settle.
    """
    try:
        solution = solve_network(network_with(arrays, open_beds=open_beds, house=house, end=end))
    except NetworkError as refused:
        raise NetworkError("layout", [_named(fault, arrays, layout) for fault in refused.faults]) from refused
    count = arrays.emitter_node.size
    flow = solution.emitter_flow[:count]
    end_flow = math.nan if end is None else float(solution.emitter_flow[count])
    regulators = np.flatnonzero(np.isfinite(arrays.part_set_pressure))
    return Solved(
        open_beds=frozenset(open_beds),
        house=house,
        solution=solution,
        pressure=solution.pressure[arrays.emitter_node],
        flow=flow,
        end_flow=end_flow,
        dropped_out=tuple(int(part) for part in regulators[solution.dropped_out]),
        supply=float(flow.sum()) + (0.0 if end is None else end_flow),
    )


def network_with(
    arrays: NetworkArrays,
    *,
    open_beds: Collection[str],
    house: House = "quiet",
    end: OpenEnd | None = None,
) -> Network:
    """Return the network of a layout with the valves of some beds open.

    The tap follows p = p_s (1 - (Q / Q_b)2) by its gauge and bucket. While the house is busy it draws the
    difference of both buckets through the same pipes: a judgement, that draw is taken to stay as it is.
    Parts without a stated loss take none.
    """
    valves = np.array([name in open_beds for name in (*arrays.valves, "")], dtype=bool)
    valves[-1] = True  # index -1 stands for a pipe without a valve
    regulates = np.isfinite(arrays.part_set_pressure)
    loss = np.nan_to_num(arrays.part_loss, nan=0.0)
    at_flow = np.nan_to_num(arrays.part_at_flow, nan=1.0)
    plain = ~regulates
    return Network(
        elevation=arrays.elevation,
        source=Source(
            arrays.source, arrays.static_pressure, arrays.tap_flow if arrays.tap_flow > 0.0 else math.inf
        ),
        pipes=make_pipes(
            arrays.pipe_from,
            arrays.pipe_to,
            length=arrays.pipe_length,
            inside_diameter=arrays.pipe_diameter,
            minor_loss=arrays.pipe_k,
            is_open=valves[arrays.pipe_valve],
        ),
        emitters=_emitters(arrays, house, end),
        viscosity=kinematic_viscosity(arrays.temperature),
        parts=make_parts(
            arrays.part_from[plain], arrays.part_to[plain], loss=loss[plain], at_flow=at_flow[plain]
        ),
        regulators=make_regulators(
            arrays.part_from[regulates],
            arrays.part_to[regulates],
            set_pressure=arrays.part_set_pressure[regulates],
            loss=loss[regulates],
            at_flow=at_flow[regulates],
        ),
    )


def _emitters(arrays: NetworkArrays, house: House, end: OpenEnd | None) -> Emitters:
    """Return the emitters, then the opened end, then what a busy house draws at the tap."""
    low = np.nan_to_num(arrays.emitter_lowest, nan=0.0)
    opens = np.minimum(np.nan_to_num(arrays.emitter_opens, nan=0.0), _BELOW_RANGE * low)
    high = np.where(np.isnan(arrays.emitter_highest), math.inf, arrays.emitter_highest)
    more: list[tuple[int, float, float]] = []  # node, flow at 1 kPa, exponent
    if end is not None:
        more.append((end.node, end.flow, 0.5))
    drawn = arrays.tap_flow - arrays.tap_flow_busy
    if house == "busy" and drawn > 0.0:
        more.append((arrays.source, drawn, 0.0))
    nodes = [one[0] for one in more]
    ones = np.ones(len(more))
    return make_emitters(
        np.concatenate([arrays.emitter_node, np.array(nodes, dtype=np.int64)]),
        np.concatenate([arrays.emitter_flow, [one[1] for one in more]]),
        nominal_pressure=np.concatenate([arrays.emitter_pressure, ones]),
        exponent=np.concatenate([arrays.emitter_exponent, [one[2] for one in more]]),
        opening_pressure=np.concatenate([opens, 0.0 * ones]),
        min_pressure=np.concatenate([low, 0.0 * ones]),
        max_pressure=np.concatenate([high, math.inf * ones]),
    )


def _named(fault: Fault, arrays: NetworkArrays, layout: Layout) -> Fault:
    """Return a fault of the solver with its place in the words of the plan."""
    kind, _, place = fault.where.partition(" ")
    if not place.isdecimal():
        return fault
    number = int(place)
    regulates = np.isfinite(arrays.part_set_pressure)
    if kind == "pipe":
        edge = [edge for edge in layout.edges if edge.kind != "head"][number]
        where = f"{edge.line}: from {arrays.nodes[edge.start]} to {arrays.nodes[edge.end]}"
    elif kind == "emitter":
        more = number >= arrays.emitter_node.size
        where = "water_source" if more else arrays.nodes[arrays.emitter_node[number]]
    elif kind == "node":
        where = arrays.nodes[number]
    else:
        numbers = np.flatnonzero(regulates if kind == "regulator" else ~regulates)
        where = arrays.parts[int(numbers[number])]
    return Fault(where, fault.found, fault.wanted)
