"""Which regulators hold their pressure, stand fully open or shut: settled by trying and looking.

A regulator that holds fixes the head behind it. The flow that it passes is whatever is drawn there, so that
its node's balance is counted at the node before it; every other law stays as it is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.drip.friction import tube_loss
from scheduler.drip.network import Emitters
from scheduler.drip.network_links import Links, pick_emitters, pick_law
from scheduler.drip.network_matrix import breadth_first
from scheduler.drip.network_newton import make_system, settle
from scheduler.errors import UnsettledError

__all__ = ["HOLDS", "OPEN", "SHUT", "Settled", "settle_regulators"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]

HOLDS = 0
OPEN = 1
SHUT = 2

#: Slack in judging a regulator's state: of heads [m], and of flows as a share of the total or [L/h].
_HEAD_SLACK = 1e-6
_FLOW_SLACK = 1e-9
#: Sets of states that are tried before giving up; a garden needs one or two.
_MOST_TRIES = 60


@dataclass(frozen=True, slots=True)
class Settled:
    """Heads [m], flows of all links [L/h] and of all emitters [L/h], with NaN and zero where no water is."""

    heads: FloatArray
    flows: FloatArray
    drawn: FloatArray
    dropped_out: NDArray[np.bool_]
    start: IntArray
    end: IntArray
    root: int
    steps: int


@dataclass(frozen=True, slots=True)
class _Reach:
    """Nodes with an open way to the source, as a search from it meets them, and the links between them."""

    order: IntArray
    fed: NDArray[np.bool_]
    wet: NDArray[np.bool_]


def settle_regulators(links: Links, emitters: Emitters) -> Settled:
    """Return the settled layout.

    Raises
    ------
    UnsettledError
        If Newton's method or the regulators find no rest.
    """
    likely = np.where(links.root_head > links.set_head, HOLDS, OPEN)
    try:
        return _settled_from(links, emitters, likely.copy())
    except UnsettledError:
        # With a way round a regulator there may be no answer in which it holds: water would go in a circle.
        # With all of them open there is one.
        if not np.any(likely == HOLDS):
            raise
    return _settled_from(links, emitters, np.full(likely.shape, OPEN))


def _settled_from(links: Links, emitters: Emitters, state: IntArray) -> Settled:
    """Return the settled layout, from these states on."""
    heads, flows = np.full(links.elevation.size, links.root_head), np.zeros(links.start.size)
    seen: set[tuple[int, ...]] = set()
    steps = 0
    for _ in range(_MOST_TRIES):
        reach = _reach(links, state)
        heads, flows, drawn, more = _settle_with(links, emitters, state, reach, heads, flows)
        steps += more
        wanted = _judged(links, state, reach, heads, flows)
        changed = np.flatnonzero(wanted != state)
        if not changed.size:
            out = (state == OPEN) & reach.fed[links.start[links.regulators]]
            heads = np.where(reach.fed, heads, np.nan)
            return Settled(heads, flows, drawn, out, links.start, links.end, links.root, steps)
        # All at once; one at a time when states come back, lest two regulators wait for each other for ever.
        if tuple(wanted) in seen:
            changed = changed[:1]
        seen.add(tuple(state))
        state[changed] = wanted[changed]
    raise UnsettledError(
        "regulators open and shut by turns", mass_residual=0.0, head_residual=0.0, steps=steps
    )


def _reach(links: Links, state: IntArray) -> _Reach:
    usable = links.is_open.copy()
    usable[links.regulators] &= state != SHUT
    back = usable.copy()
    back[links.regulators] = False
    starts = np.concatenate([links.start[usable], links.end[back]])
    ends = np.concatenate([links.end[usable], links.start[back]])
    size = links.elevation.size
    order = breadth_first(starts, ends, root=links.root, size=size)
    fed = np.zeros(size, dtype=bool)
    fed[order] = True
    return _Reach(order, fed, usable & fed[links.start] & fed[links.end])


def _settle_with(
    links: Links, emitters: Emitters, state: IntArray, reach: _Reach, heads: FloatArray, flows: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, int]:
    """Return heads, flows of all links and all emitters, and steps, with the regulators in these states."""
    places = np.arange(links.start.size)[links.regulators]
    holding = (state == HOLDS) & reach.wet[places]
    held = places[holding]
    heads = heads.copy()
    heads[links.root] = links.root_head
    heads[links.end[held]] = links.set_head[holding]
    fixed = np.zeros(heads.size, dtype=bool)
    fixed[links.root] = fixed[links.end[held]] = True
    order = reach.order[::-1]
    lawful = reach.wet.copy()
    lawful[held] = False
    which, served = np.flatnonzero(lawful), reach.fed[emitters.node]
    system = make_system(
        links.start[which],
        links.end[which],
        law=pick_law(links.law, which),
        emitters=pick_emitters(emitters, served),
        elevation=links.elevation,
        free=order[~fixed[order]],
        balance=_counted_at(links, held),
    )
    scale = max(1.0, links.root_head - float(links.elevation.min()))
    heads, settled, at_served, steps = settle(system, heads, flows[which], scale=scale)
    flows = np.zeros(links.start.size)
    flows[which] = settled
    drawn = np.zeros(emitters.node.size)
    drawn[served] = at_served
    # What a holding regulator passes is drawn at its end; those behind others come first.
    rank = np.empty(heads.size, dtype=np.intp)
    rank[reach.order] = np.arange(reach.order.size)
    for link in sorted(held, key=lambda place: -rank[links.end[place]]):
        end = links.end[link]
        leaving = flows[links.start == end].sum() + drawn[emitters.node == end].sum()
        flows[link] = leaving - flows[links.end == end].sum()
    return heads, flows, drawn, steps


def _counted_at(links: Links, held: IntArray) -> IntArray:
    """Return for each node the node in whose balance its flows are counted; -1 for the source's."""
    before = dict(zip(links.end[held].tolist(), links.start[held].tolist(), strict=True))
    balance = np.arange(links.elevation.size)
    for node in before:
        at, seen = node, {node}
        while at in before:
            at = before[at]
            if at in seen:
                raise UnsettledError(
                    "regulators feed each other in a circle", mass_residual=0.0, head_residual=0.0, steps=0
                )
            seen.add(at)
        balance[node] = at
    balance[balance == links.root] = -1
    return balance


def _judged(links: Links, state: IntArray, reach: _Reach, heads: FloatArray, flows: FloatArray) -> IntArray:
    """Return the states that these heads and flows ask for."""
    regulators = links.regulators
    q, set_head = flows[regulators], links.set_head
    opened, _ = tube_loss(flows, links.law)
    before, behind = heads[links.start[regulators]], heads[links.end[regulators]]
    total = float(np.abs(flows).max(initial=0.0))
    backward = q < -_FLOW_SLACK * max(1.0, total)
    enough = before - opened[regulators] >= set_head - _HEAD_SLACK
    high = behind > set_head + _HEAD_SLACK
    low = (behind < np.minimum(before, set_head) - _HEAD_SLACK) | ~reach.fed[links.end[regulators]]
    again = np.where(before > set_head, HOLDS, OPEN)
    wanted = np.select(
        [state == SHUT, backward, state == HOLDS],
        [np.where(low, again, SHUT), SHUT, np.where(enough, HOLDS, OPEN)],
        np.where(high, HOLDS, OPEN),
    )
    return np.where(reach.fed[links.start[regulators]], wanted, state)
