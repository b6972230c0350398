"""Pipes, parts, regulators and the tap as one row of links with one law of loss each. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.drip.friction import TubeLaw, head_of, tube_law
from scheduler.drip.network import Emitters, Network

__all__ = ["Links", "links_of", "pick_emitters", "pick_law"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]

#: Share of a stated loss that follows the flow and not its square, so that a trickle has a slope; and the
#: least such resistance [m per L/h], for parts without a loss: 0.01 mm of water at 1000 L/h.
_STRAIGHT_SHARE = 1e-6
_LEAST_RESISTANCE = 1e-8


@dataclass(frozen=True, slots=True)
class Links:
    """Links between nodes: pipes, then parts, then regulators, then the tap's curve if it falls.

    Attributes
    ----------
    start, end : array
        Nodes, (n_links,).
    law : TubeLaw
        Law of loss of each link; that of an open regulator.
    is_open : array
        What lets water through, (n_links,).
    elevation : array
        Height of the nodes [m]; with a tap that falls, a node more that stands for the water main.
    root : int
        The node whose head does not change.
    root_head : float
        Its head [m].
    regulators : slice
        Where the regulators stand among the links.
    set_head : array
        Head that each of them keeps [m], (n_regulators,).
    """

    start: IntArray
    end: IntArray
    law: TubeLaw
    is_open: BoolArray
    elevation: FloatArray
    root: int
    root_head: float
    regulators: slice
    set_head: FloatArray


def links_of(network: Network) -> Links:
    """Return the links of a checked network."""
    pipes, parts, regulators, source = network.pipes, network.parts, network.regulators, network.source
    elevation, root = network.elevation, source.node
    head = float(elevation[root] + head_of(source.static_pressure))
    starts, ends = [pipes.start, parts.start, regulators.start], [pipes.end, parts.end, regulators.end]
    losses, at_flows = [parts.loss, regulators.loss], [parts.at_flow, regulators.at_flow]
    if math.isfinite(source.open_flow):
        root = elevation.size
        elevation = np.append(elevation, elevation[source.node])
        starts, ends = [*starts, np.array([root])], [*ends, np.array([source.node])]
        losses.append(np.array([source.static_pressure]))
        at_flows.append(np.array([source.open_flow]))
    tubes = tube_law(
        pipes.length,
        pipes.inside_diameter,
        roughness=pipes.roughness,
        minor_loss=pipes.minor_loss,
        viscosity=network.viscosity,
    )
    law = _joined(tubes, _square_law(head_of(np.concatenate(losses)), np.concatenate(at_flows)))
    start, end = np.concatenate(starts), np.concatenate(ends)
    is_open = np.concatenate([pipes.is_open, np.ones(start.size - pipes.start.size, dtype=bool)])
    first = pipes.start.size + parts.start.size
    return Links(
        start,
        end,
        law,
        is_open,
        elevation,
        root,
        head,
        regulators=slice(first, first + regulators.start.size),
        set_head=elevation[regulators.end] + head_of(regulators.set_pressure),
    )


def _square_law(loss: FloatArray, at_flow: FloatArray) -> TubeLaw:
    """Return laws of parts that lose `loss` [m] `at_flow` [L/h], with its square."""
    nothing = np.zeros(loss.shape)
    straight = np.maximum(_STRAIGHT_SHARE * loss / at_flow, _LEAST_RESISTANCE)
    return TubeLaw(straight, nothing, loss / at_flow**2, nothing, nothing, np.zeros((4, loss.size)))


def _joined(one: TubeLaw, other: TubeLaw) -> TubeLaw:
    return TubeLaw(
        np.concatenate([one.laminar, other.laminar]),
        np.concatenate([one.kinetic, other.kinetic]),
        np.concatenate([one.minor, other.minor]),
        np.concatenate([one.reynolds, other.reynolds]),
        np.concatenate([one.roughness_term, other.roughness_term]),
        np.concatenate([one.transition, other.transition], axis=1),
    )


def pick_law(law: TubeLaw, which: IntArray) -> TubeLaw:
    """Return the laws of the links at the places `which`."""
    return TubeLaw(
        law.laminar[which],
        law.kinetic[which],
        law.minor[which],
        law.reynolds[which],
        law.roughness_term[which],
        law.transition[:, which],
    )


def pick_emitters(emitters: Emitters, which: BoolArray) -> Emitters:
    """Return the emitters where `which` is true."""
    if which.all():
        return emitters
    return Emitters(
        emitters.node[which],
        emitters.nominal_flow[which],
        emitters.nominal_pressure[which],
        emitters.exponent[which],
        emitters.opening_pressure[which],
        emitters.min_pressure[which],
        emitters.max_pressure[which],
    )
