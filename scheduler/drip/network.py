"""A drip layout as arrays: nodes, pipes, emitters, parts of the head, regulators and the tap.

Canonical units: length m, bore mm, flow L/h, pressure kPa. Nodes are counted from 0.
`network_solve.solve_network` answers with pressures and flows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.drip.friction import SMOOTH_PLASTIC

__all__ = [
    "Emitters",
    "Network",
    "Parts",
    "Pipes",
    "Regulators",
    "Source",
    "make_emitters",
    "make_parts",
    "make_pipes",
    "make_regulators",
]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Pipes:
    """Lengths of tube between nodes, all (n_pipes,); made by `make_pipes`.

    `minor_loss` is the sum of the K of the fittings, on V2 / 2g in the tube. A shut pipe lets nothing
    through.
    """

    start: IntArray
    end: IntArray
    length: FloatArray
    inside_diameter: FloatArray
    roughness: FloatArray
    minor_loss: FloatArray
    is_open: BoolArray


@dataclass(frozen=True, slots=True)
class Emitters:
    """Emitters at nodes, all (n_emitters,); made by `make_emitters`, see `network_emitters.emitter_curve`."""

    node: IntArray
    nominal_flow: FloatArray
    nominal_pressure: FloatArray
    exponent: FloatArray
    opening_pressure: FloatArray
    min_pressure: FloatArray
    max_pressure: FloatArray


@dataclass(frozen=True, slots=True)
class Parts:
    """Parts of the head with a stated `loss` [kPa] `at_flow` [L/h], all (n_parts,); made by `make_parts`.

    The loss of a timer, a filter or a backflow preventer grows with the square of the flow.
    """

    start: IntArray
    end: IntArray
    loss: FloatArray
    at_flow: FloatArray


@dataclass(frozen=True, slots=True)
class Regulators:
    """Pressure regulators from `start` to `end`, all (n_regulators,); made by `make_regulators`.

    At `end` stands the set pressure, or what comes in less the loss of the open regulator where that is lower
    (drop-out). Nothing flows backward.
    """

    start: IntArray
    end: IntArray
    set_pressure: FloatArray
    loss: FloatArray
    at_flow: FloatArray


@dataclass(frozen=True, slots=True)
class Source:
    """The tap, or the outlet of a barrel.

    Attributes
    ----------
    node : int
        Where it joins the layout.
    static_pressure : float
        Pressure with no flow [kPa].
    open_flow : float
        Flow into an open bucket [L/h], where no pressure is left: p = p_s (1 - (Q / Q_b)2). The service line,
        the meter and the valves of a house lose pressure with the square of the flow, and these two tests
        with a gauge and a bucket fix that curve. Infinite for a pressure that does not fall.
    """

    node: int
    static_pressure: float
    open_flow: float = math.inf


def make_pipes(
    start: ArrayLike,
    end: ArrayLike,
    *,
    length: ArrayLike,
    inside_diameter: ArrayLike,
    roughness: ArrayLike = SMOOTH_PLASTIC,
    minor_loss: ArrayLike = 0.0,
    is_open: ArrayLike = True,
) -> Pipes:
    """Return pipes with every array (n_pipes,); single numbers hold for all of them."""
    count = _count(start)
    return Pipes(
        _nodes(start, count),
        _nodes(end, count),
        _values(length, count),
        _values(inside_diameter, count),
        _values(roughness, count),
        _values(minor_loss, count),
        np.broadcast_to(np.asarray(is_open, dtype=bool), (count,)).copy(),
    )


def make_emitters(
    node: ArrayLike,
    nominal_flow: ArrayLike,
    *,
    nominal_pressure: ArrayLike,
    exponent: ArrayLike,
    opening_pressure: ArrayLike = 0.0,
    min_pressure: ArrayLike = 0.0,
    max_pressure: ArrayLike = math.inf,
) -> Emitters:
    """Return emitters with every array (n_emitters,); single numbers hold for all of them.

    An emitter that compensates has the range `min_pressure` to `max_pressure` in which its `exponent`, mostly
    0, holds, and an `opening_pressure` below the range.
    """
    count = _count(node)
    return Emitters(
        _nodes(node, count),
        _values(nominal_flow, count),
        _values(nominal_pressure, count),
        _values(exponent, count),
        _values(opening_pressure, count),
        _values(min_pressure, count),
        _values(max_pressure, count),
    )


def make_parts(start: ArrayLike, end: ArrayLike, *, loss: ArrayLike, at_flow: ArrayLike) -> Parts:
    """Return parts with every array (n_parts,); single numbers hold for all of them."""
    count = _count(start)
    return Parts(_nodes(start, count), _nodes(end, count), _values(loss, count), _values(at_flow, count))


def make_regulators(
    start: ArrayLike, end: ArrayLike, *, set_pressure: ArrayLike, loss: ArrayLike, at_flow: ArrayLike
) -> Regulators:
    """Return regulators with every array (n_regulators,); `loss` is that of the fully open one."""
    count = _count(start)
    return Regulators(
        _nodes(start, count),
        _nodes(end, count),
        _values(set_pressure, count),
        _values(loss, count),
        _values(at_flow, count),
    )


def _no_parts() -> Parts:
    return make_parts([], [], loss=0.0, at_flow=1.0)


def _no_regulators() -> Regulators:
    return make_regulators([], [], set_pressure=0.0, loss=0.0, at_flow=1.0)


@dataclass(frozen=True, slots=True)
class Network:
    """A layout that can be solved.

    Attributes
    ----------
    elevation : array
        Height of each node [m], (n_nodes,).
    source, pipes, emitters, parts, regulators
        What stands between and at the nodes.
    viscosity : float
        Kinematic viscosity of the water [m2/s], see `friction.kinematic_viscosity`.
    """

    elevation: FloatArray
    source: Source
    pipes: Pipes
    emitters: Emitters
    viscosity: float
    parts: Parts = field(default_factory=_no_parts)
    regulators: Regulators = field(default_factory=_no_regulators)


def _count(nodes: ArrayLike) -> int:
    return int(np.asarray(nodes).size)


def _nodes(values: ArrayLike, count: int) -> IntArray:
    return np.asarray(values, dtype=np.intp).reshape(count)


def _values(values: ArrayLike, count: int) -> FloatArray:
    return np.broadcast_to(np.asarray(values, dtype=float), (count,)).copy()
