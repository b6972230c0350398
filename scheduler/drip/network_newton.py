"""Newton's method on heads and flows together, with one matrix over the heads (Todini and Pilati, 1988).

Flows are unknowns of their own: read from heads, the flow of a short wide tube would be the difference of two
almost equal numbers, and no balance of 1e-9 could be told. Emitters are unknowns too, by their place on a
path of flow and pressure, so that neither an exponent near 0 nor an emitter that is nearly dry is a hard
case.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.drip.friction import GRAVITY, TubeLaw, tube_loss
from scheduler.drip.network import Emitters
from scheduler.drip.network_emitters import EmitterPath, along, emitter_path, limited, position
from scheduler.drip.network_matrix import Pattern, make_pattern, solve_matrix
from scheduler.errors import UnsettledError

__all__ = ["HEAD_TOLERANCE", "MASS_TOLERANCE", "System", "make_system", "settle"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

#: Largest imbalance of a node over the total flow, and largest miss of a loss [m], in a settled answer. The
#: balance promised is ten times wider and is checked once more on the answer itself.
MASS_TOLERANCE = 1e-10
HEAD_TOLERANCE = 1e-9
_MOST_STEPS = 200
#: A step is halved, at most so often, until its misses are below the largest of the last few: a first step
#: too far is better than many short ones, but no circle is run through for ever.
_MOST_HALVINGS = 30
_REMEMBERED = 4


@dataclass(frozen=True, slots=True)
class System:
    """Links and emitters with water in them, and where each stands in the equations.

    Attributes
    ----------
    start, end, law
        Links, nodes counted as in the network.
    node : array
        Nodes of the emitters with water.
    path : EmitterPath
        Their curves.
    elevation : array
        Height of every node [m].
    free : array
        Nodes whose head is sought, in the order of the equations.
    rows, signs, things : arrays
        Flow of which thing (links, then emitters) is counted in which equation, and with which sign.
    pattern : Pattern
        Where conductances and emitter slopes stand in the matrix.
    """

    start: IntArray
    end: IntArray
    law: TubeLaw
    node: IntArray
    path: EmitterPath
    elevation: FloatArray
    free: IntArray
    rows: IntArray
    signs: FloatArray
    things: IntArray
    pattern: Pattern

    def gathered(self, flows: FloatArray) -> FloatArray:
        """Return the sum of flows of links and emitters in each equation, (n_free,)."""
        summed = np.bincount(self.rows, self.signs * flows[self.things], self.free.size)
        return np.asarray(summed, dtype=np.float64)


def make_system(
    start: IntArray,
    end: IntArray,
    *,
    law: TubeLaw,
    emitters: Emitters,
    elevation: FloatArray,
    free: IntArray,
    balance: IntArray,
) -> System:
    """Return the system of equations.

    Parameters
    ----------
    free : array
        Nodes whose head is sought, in the order in which they are eliminated.
    balance : array
        (n_nodes,) the node in whose balance a node's flows are counted; -1 for none. A node behind an active
        regulator has its head set and draws its flow from the node before the regulator.
    """
    column = np.full(elevation.size, -1)
    column[free] = np.arange(free.size)
    row = np.where(balance >= 0, column[balance], -1)
    u, v, e = start, end, emitters.node
    links = np.arange(u.size)
    rows = np.concatenate([row[v], row[u], row[e]])
    signs = np.concatenate([np.ones(u.size), np.full(u.size + e.size, -1.0)])
    things = np.concatenate([links, links, u.size + np.arange(e.size)])
    counted = rows >= 0
    pattern = make_pattern(
        np.concatenate([row[u], row[v], row[v], row[u], row[e]]),
        np.concatenate([column[u], column[v], column[u], column[v], column[e]]),
        size=free.size,
    )
    return System(
        start=u,
        end=v,
        law=law,
        node=e,
        path=emitter_path(emitters),
        elevation=elevation,
        free=free,
        rows=rows[counted],
        signs=signs[counted],
        things=things[counted],
        pattern=pattern,
    )


@dataclass(frozen=True, slots=True)
class _Point:
    """Heads, flows of links and positions of emitters, with what they miss and the slopes there."""

    heads: FloatArray
    flows: FloatArray
    at: FloatArray
    drawn: FloatArray
    #: Of links, then of emitters: flow by head [L/h per m], and head that is missed [m].
    conductance: FloatArray
    head_miss: FloatArray
    imbalance: FloatArray
    #: Head of the emitters by position [m].
    rise: FloatArray


def _point(system: System, heads: FloatArray, flows: FloatArray, at: FloatArray) -> _Point:
    pressure, drawn, pressure_slope, flow_slope = along(at, system.path)
    loss, resistance = tube_loss(flows, system.law)
    node, rise = system.node, pressure_slope / GRAVITY
    miss = np.concatenate(
        [
            heads[system.start] - heads[system.end] - loss,
            heads[node] - system.elevation[node] - pressure / GRAVITY,
        ]
    )
    conductance = np.concatenate([1.0 / resistance, flow_slope / rise])
    imbalance = system.gathered(np.concatenate([flows, drawn]))
    return _Point(heads, flows, at, drawn, conductance, miss, imbalance, rise)


def _newton_step(system: System, point: _Point) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the change of heads, flows and positions that would settle the linear laws at this point."""
    links = system.start.size
    g = point.conductance[:links]
    values = np.concatenate([g, g, -g, -g, point.conductance[links:]])
    wanted = point.imbalance + system.gathered(point.conductance * point.head_miss)
    heads = np.zeros(system.elevation.size)
    heads[system.free] = solve_matrix(system.pattern, values, wanted)
    drop = heads[system.start] - heads[system.end]
    flows = g * (point.head_miss[:links] + drop)
    return heads, flows, (point.head_miss[links:] + heads[system.node]) / point.rise


def settle(
    system: System, heads: FloatArray, flows: FloatArray, *, scale: float
) -> tuple[FloatArray, FloatArray, FloatArray, int]:
    """Return settled heads [m], flows of links and of emitters [L/h], and the number of steps.

    Parameters
    ----------
    heads, flows : array
        Where to begin; heads of nodes that are not free stay.
    scale : float
        The heads' range [m], which makes misses of heads and of flows comparable.

    Raises
    ------
    UnsettledError
        If no answer is reached.
    """
    node = system.node
    begin = position((heads[node] - system.elevation[node]) * GRAVITY, system.path)
    point = _point(system, heads, flows, begin)
    least = 1e-6 * float(system.path.emitters.nominal_flow.sum()) + 1e-12
    recent = deque([math.inf], maxlen=_REMEMBERED)
    mass, head = _misses(point, least)
    # A step too far may overflow; its misses are then no numbers, and it is shortened like any other.
    with np.errstate(over="ignore", invalid="ignore"):
        for step in range(1, _MOST_STEPS + 1):
            change = _newton_step(system, point)
            share = 1.0
            for _ in range(_MOST_HALVINGS):
                to = _moved(system, point, change, share)
                mass, head = _misses(to, least)
                miss = max(mass, head / scale)
                if miss < (1.0 - 1e-4 * share) * max(recent) or miss <= MASS_TOLERANCE:
                    break
                share *= 0.5
            if not math.isfinite(miss):
                break
            point = to
            recent.append(miss)
            if mass <= MASS_TOLERANCE and head <= HEAD_TOLERANCE:
                return point.heads, point.flows, point.drawn, step
    raise UnsettledError("too many steps", mass_residual=mass, head_residual=head, steps=step)


def _moved(
    system: System, point: _Point, change: tuple[FloatArray, FloatArray, FloatArray], share: float
) -> _Point:
    heads, flows = point.heads + share * change[0], point.flows + share * change[1]
    pressure = (heads[system.node] - system.elevation[system.node]) * GRAVITY
    at = limited(point.at + share * change[2], point.at, pressure, system.path)
    return _point(system, heads, flows, at)


def _misses(point: _Point, least: float) -> tuple[float, float]:
    """Return the largest imbalance over the total flow and the largest head that is missed [m]."""
    total = max(float(point.drawn.sum()), least)
    return (
        float(np.abs(point.imbalance).max(initial=0.0)) / total,
        float(np.abs(point.head_miss).max(initial=0.0)),
    )
