"""A layout as plain arrays, for a solver of its flows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.defaults import WATER_TEMPERATURE
from scheduler.garden.plan import Bed, Garden
from scheduler.layout.fitting_losses import loss_coefficient
from scheduler.layout.graph import Edge, Layout

__all__ = ["NetworkArrays", "network_of"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: Density of water by which a loss in pressure becomes a K [kg/m3].
WATER_DENSITY = 998.2
_PASCALS = 1000.0
_LITRES = 1000.0
_SECONDS_PER_HOUR = 3600.0
_MM = 1000.0


@dataclass(frozen=True, slots=True, eq=False)
class NetworkArrays:
    """A network of tubes, emitters and head parts; arrays of one group have one length.

    Attributes
    ----------
    nodes : tuple of str
    elevation : ndarray
        Of each node above the tap outlet [m].
    pipe_from, pipe_to : ndarray of int
        Nodes at both ends, the first towards the tap.
    pipe_length, pipe_diameter, pipe_k : ndarray
        Length [m], inside diameter [mm], sum of minor-loss K on the pipe's own velocity.
    pipe_valve : ndarray of int
        Index in `valves` of the hand valve in a pipe, -1 for none.
    valves : tuple of str
        Beds, in plan order; a valve has the name of its bed.
    emitter_node, emitter_bed : ndarray of int
        Node of each emitter, and index of its bed.
    emitter_flow, emitter_pressure, emitter_exponent : ndarray
        q_n [L/h], p_n [kPa] and x of q = q_n (p / p_n)^x.
    emitter_opens, emitter_lowest, emitter_highest : ndarray
        Pressures [kPa] at which it opens, and between which it holds its flow; NaN where the plan has none.
    part_from, part_to : ndarray of int
        Nodes before and behind each part of the head assembly; a timer outlet is a part without a loss.
    part_loss, part_at_flow : ndarray
        Loss [kPa] at a flow [L/h]; NaN where the plan says none.
    part_set_pressure, part_lowest_flow, part_highest_flow : ndarray
        Of a regulator [kPa, L/h]; NaN for other parts, and where the plan says none.
    parts : tuple of str
    source : int
        Node of the tap.
    static_pressure : float
        Of the tap at rest [kPa]; NaN if it was not measured.
    tap_flow, tap_flow_busy : float
        Bucket tests, house quiet and busy [L/h]; NaN if there was none.
    temperature : float
        Of the water [degC].
    """

    nodes: tuple[str, ...]
    elevation: FloatArray
    pipe_from: IntArray
    pipe_to: IntArray
    pipe_length: FloatArray
    pipe_diameter: FloatArray
    pipe_k: FloatArray
    pipe_valve: IntArray
    valves: tuple[str, ...]
    emitter_node: IntArray
    emitter_bed: IntArray
    emitter_flow: FloatArray
    emitter_pressure: FloatArray
    emitter_exponent: FloatArray
    emitter_opens: FloatArray
    emitter_lowest: FloatArray
    emitter_highest: FloatArray
    part_from: IntArray
    part_to: IntArray
    part_loss: FloatArray
    part_at_flow: FloatArray
    part_set_pressure: FloatArray
    part_lowest_flow: FloatArray
    part_highest_flow: FloatArray
    parts: tuple[str, ...]
    source: int
    static_pressure: float
    tap_flow: float
    tap_flow_busy: float
    temperature: float


def network_of(layout: Layout, garden: Garden) -> NetworkArrays:
    """Return a layout as arrays; pipes stand in the order of its pieces of tube."""
    tubes = [number for number, edge in enumerate(layout.edges) if edge.kind != "head"]
    pipes = [layout.edges[number] for number in tubes]
    parts = [edge for edge in layout.edges if edge.kind == "head"]
    names = tuple(bed.name for bed in garden.beds)
    index = {name: number for number, name in enumerate(names)}
    emitters = [number for number, node in enumerate(layout.nodes) if node.kind == "emitter"]
    beds = _ints([index[layout.nodes[number].bed] for number in emitters])
    drips = [bed.drip for bed in garden.beds]

    def of_drip(*values: float | None) -> FloatArray:
        return _floats(values)[beds]

    def of_part(name: str) -> FloatArray:
        return _floats([None if edge.part is None else getattr(edge.part, name) for edge in parts])

    source = garden.water_source
    return NetworkArrays(
        nodes=tuple(node.name for node in layout.nodes),
        elevation=_floats([node.height for node in layout.nodes]),
        pipe_from=_ints([pipe.start for pipe in pipes]),
        pipe_to=_ints([pipe.end for pipe in pipes]),
        pipe_length=_floats([pipe.length for pipe in pipes]),
        pipe_diameter=_floats([pipe.bore * _MM for pipe in pipes]),
        pipe_k=_losses(layout, garden)[tubes],
        pipe_valve=_ints([index.get(pipe.valve, -1) for pipe in pipes]),
        valves=names,
        emitter_node=_ints(emitters),
        emitter_bed=beds,
        emitter_flow=of_drip(*(drip.emitter_flow for drip in drips)),
        emitter_pressure=of_drip(*(drip.at_pressure for drip in drips)),
        emitter_exponent=of_drip(*(drip.exponent for drip in drips)),
        emitter_opens=of_drip(*(drip.opening_pressure for drip in drips)),
        emitter_lowest=of_drip(*(drip.lowest_pressure for drip in drips)),
        emitter_highest=of_drip(*(drip.highest_pressure for drip in drips)),
        part_from=_ints([edge.start for edge in parts]),
        part_to=_ints([edge.end for edge in parts]),
        part_loss=of_part("loss"),
        part_at_flow=of_part("at_flow"),
        part_set_pressure=of_part("set_pressure"),
        part_lowest_flow=of_part("lowest_flow"),
        part_highest_flow=of_part("highest_flow"),
        parts=tuple(edge.line for edge in parts),
        source=next(number for number, node in enumerate(layout.nodes) if node.kind == "tap"),
        static_pressure=_number(source.static_pressure),
        tap_flow=source.flow,
        tap_flow_busy=_number(source.flow_house_busy),
        temperature=WATER_TEMPERATURE if source.temperature is None else source.temperature,
    )


def _losses(layout: Layout, garden: Garden) -> FloatArray:
    """Return the sum of K of every piece, on its own velocity."""
    total = np.zeros(len(layout.edges))
    beds = {bed.name: bed for bed in garden.beds}
    for fitting in layout.fittings:
        for loss in fitting.losses:
            edge = layout.edges[loss.edge]
            stated = _stated_valve(beds[fitting.bed], edge) if loss.role == "hand valve" else None
            total[loss.edge] += loss_coefficient(fitting, loss.role, edge.bore) if stated is None else stated
    return total


def _stated_valve(bed: Bed, edge: Edge) -> float | None:
    """Return K of a hand valve whose loss the plan states, on the velocity in its tube."""
    place = bed.place
    if place is None or place.valve_loss is None or place.valve_loss_at is None:
        return None
    area = math.pi * edge.bore**2 / 4
    velocity = place.valve_loss_at / _LITRES / _SECONDS_PER_HOUR / area
    return place.valve_loss * _PASCALS / (WATER_DENSITY * velocity**2 / 2)


def _number(value: float | None) -> float:
    return math.nan if value is None else value


def _floats(values: Sequence[float | None]) -> FloatArray:
    return np.array([_number(value) for value in values], dtype=np.float64)


def _ints(values: Sequence[int]) -> IntArray:
    return np.array(values, dtype=np.int64)
