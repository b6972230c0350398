"""Pressure and flow everywhere in a layout, for whatever valves are open. Pure: arrays in, arrays out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.drip.friction import pressure_of
from scheduler.drip.network import Network
from scheduler.drip.network_check import check_network
from scheduler.drip.network_links import links_of
from scheduler.drip.network_regulators import Settled, settle_regulators
from scheduler.errors import UnsettledError

__all__ = ["BALANCE", "NetworkSolution", "solve_network"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

#: Largest imbalance of any node, as a share of the total flow, in an answer that is handed out.
BALANCE = 1e-9


@dataclass(frozen=True, slots=True)
class NetworkSolution:
    """Pressures and flows of a layout.

    Attributes
    ----------
    pressure : array
        At each node [kPa], (n_nodes,); NaN where no open way leads to the source. Below zero where water does
        not rise so high.
    head : array
        Elevation and height of water above it [m], (n_nodes,); NaN as pressure.
    emitter_flow : array
        [L/h], (n_emitters,); zero without water.
    pipe_flow, part_flow, regulator_flow : array
        [L/h], positive from start to end; zero without water.
    dropped_out : array
        (n_regulators,) True where a regulator is fully open since too little pressure comes in.
    supply : float
        Flow from the source [L/h].
    imbalance : float
        Largest imbalance of any node over the total flow, at most `BALANCE`.
    steps : int
        Newton steps that were needed.
    """

    pressure: FloatArray
    head: FloatArray
    emitter_flow: FloatArray
    pipe_flow: FloatArray
    part_flow: FloatArray
    regulator_flow: FloatArray
    dropped_out: BoolArray
    supply: float
    imbalance: float
    steps: int


def solve_network(network: Network) -> NetworkSolution:
    """Return pressures and flows of a layout: trees, rings and any set of shut valves.

    Raises
    ------
    NetworkError
        If the layout has faults; all of them are told.
    UnsettledError
        If no answer balances every node within `BALANCE` of the total flow; no other answer is handed out.
    """
    check_network(network)
    links = links_of(network)
    settled = settle_regulators(links, network.emitters)
    count = network.elevation.size
    first, last = network.pipes.start.size, links.regulators.start
    head = settled.heads[:count]
    return NetworkSolution(
        pressure=pressure_of(head - network.elevation),
        head=head,
        emitter_flow=settled.drawn,
        pipe_flow=settled.flows[:first],
        part_flow=settled.flows[first:last],
        regulator_flow=settled.flows[links.regulators],
        dropped_out=settled.dropped_out,
        supply=float(settled.drawn.sum()),
        imbalance=_checked_balance(network, settled),
        steps=settled.steps,
    )


def _checked_balance(network: Network, settled: Settled) -> float:
    """Return the largest imbalance over the total flow, counted afresh on the answer itself."""
    count = settled.heads.size
    balance = np.bincount(settled.end, settled.flows, count) - np.bincount(
        settled.start, settled.flows, count
    )
    balance -= np.bincount(network.emitters.node, settled.drawn, count)
    balance[settled.root] = 0.0
    total = float(settled.drawn.sum())
    worst = (
        float(np.abs(balance).max(initial=0.0)) / total if total else float(np.abs(balance).max(initial=0.0))
    )
    if not worst <= BALANCE:
        raise UnsettledError(
            "the answer does not balance", mass_residual=worst, head_residual=0.0, steps=settled.steps
        )
    return worst
