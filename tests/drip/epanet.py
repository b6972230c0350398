"""Layouts solved by EPANET through the toolkit of wntr, for comparison in tests and benchmarks.

It knows one emitter exponent for a whole layout, lets a trickle through a shut pipe, so that what has no
water is left out here, lets emitters draw in where pressure is below zero, and may hand back an unbalanced
answer that only its report owns up to.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from wntr.epanet.toolkit import ENepanet

from scheduler.drip.friction import head_of
from scheduler.drip.network import Network

__all__ = ["Answer", "fed_nodes", "input_text", "solve_file", "solve_with_epanet"]

LITRES_PER_SECOND = 1.0 / 3600.0
HEAD, DEMAND, FLOW = 10, 9, 8


@dataclass(frozen=True)
class Answer:
    """Heads [m] of all nodes, NaN without water; flows [L/h] of emitters' nodes and of pipes."""

    heads: NDArray[np.float64]
    drawn: NDArray[np.float64]
    pipe_flow: NDArray[np.float64]


def fed_nodes(network: Network) -> NDArray[np.bool_]:
    """Return which nodes have an open way to the source, spreading along pipes until nothing changes."""
    pipes = network.pipes
    fed = np.zeros(network.elevation.size, dtype=bool)
    fed[network.source.node] = True
    while True:
        through = pipes.is_open & (fed[pipes.start] | fed[pipes.end])
        before = fed.sum()
        fed[pipes.start[through]] = fed[pipes.end[through]] = True
        if fed.sum() == before:
            return fed


def input_text(network: Network) -> str:
    """Return the input file of the part of a layout that has water: pipes and emitters alone."""
    fed, source, pipes, emitters = fed_nodes(network), network.source, network.pipes, network.emitters
    exponents = np.unique(emitters.exponent)
    if exponents.size != 1 or network.parts.start.size or network.regulators.start.size:
        raise ValueError("EPANET is asked about layouts of pipes and of emitters with one exponent alone")
    per_node = np.zeros(network.elevation.size)
    k = emitters.nominal_flow * LITRES_PER_SECOND / head_of(emitters.nominal_pressure) ** exponents[0]
    np.add.at(per_node, emitters.node, k)
    head = network.elevation[source.node] + float(head_of(source.static_pressure))
    wet = np.flatnonzero(pipes.is_open & fed[pipes.start] & fed[pipes.end])
    lines = ["[JUNCTIONS]"]
    lines += [f"N{n} {network.elevation[n]!r} 0" for n in np.flatnonzero(fed).tolist() if n != source.node]
    lines += ["[RESERVOIRS]", f"N{source.node} {head!r}", "[PIPES]"]
    lines += [
        f"P{p} N{pipes.start[p]} N{pipes.end[p]} {pipes.length[p]!r} {pipes.inside_diameter[p]!r}"
        f" {pipes.roughness[p]!r} {pipes.minor_loss[p]!r} Open"
        for p in wet.tolist()
    ]
    lines += ["[EMITTERS]", *(f"N{n} {per_node[n]!r}" for n in np.flatnonzero(per_node * fed).tolist())]
    lines += [
        "[OPTIONS]",
        "Units LPS",
        "Headloss D-W",
        f"Viscosity {network.viscosity!r}",
        f"Emitter Exponent {exponents[0]!r}",
        "Trials 500",
        "Accuracy 0.00001",
        "HEADERROR 1e-7",
        "FLOWCHANGE 1e-9",
        "[TIMES]",
        "Duration 0",
        "[END]",
    ]
    return "\n".join(line.replace("np.float64(", "").replace(")", "") for line in lines) + "\n"


def solve_file(network: Network, path: Path) -> Answer:
    """Return the answer to an input file that `input_text` has made of the layout; a report is beside it."""
    engine = ENepanet()
    engine.ENopen(str(path), str(path.with_suffix(".rpt")), str(path.with_suffix(".bin")))
    try:
        engine.ENsolveH()
        heads = np.full(network.elevation.size, np.nan)
        drawn = np.zeros(network.elevation.size)
        for node in np.flatnonzero(fed_nodes(network)).tolist():
            index = engine.ENgetnodeindex(f"N{node}")
            heads[node] = engine.ENgetnodevalue(index, HEAD)
            drawn[node] = engine.ENgetnodevalue(index, DEMAND) / LITRES_PER_SECOND
        flows = np.zeros(network.pipes.start.size)
        for pipe in np.flatnonzero(network.pipes.is_open & ~np.isnan(heads[network.pipes.start])).tolist():
            flows[pipe] = engine.ENgetlinkvalue(engine.ENgetlinkindex(f"P{pipe}"), FLOW) / LITRES_PER_SECOND
    finally:
        engine.ENclose()
    report = path.with_suffix(".rpt").read_text(encoding="utf-8", errors="replace").casefold()
    if "unbalanced" in report or "warning" in report:
        raise RuntimeError(f"EPANET found no balance:\n{report}")
    return Answer(heads, drawn[network.emitters.node], flows)


def solve_with_epanet(network: Network, folder: Path) -> Answer:
    """Return EPANET's answer; its files go into the folder."""
    path = folder / "layout.inp"
    path.write_text(input_text(network), encoding="utf-8")
    return solve_file(network, path)
