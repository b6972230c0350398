"""Are the tubes wide and short enough: mains by speed, loss and the half-inch rule, runs by their flows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from scheduler.drip.friction import pressure_of
from scheduler.drip.speed import HALF_INCH_MAIN, HIGHEST_SPEED, flow_speed
from scheduler.garden.dimensions import Dimension
from scheduler.garden.plan import DripLine, Garden
from scheduler.garden.units import parse_quantity
from scheduler.layout.findings import Finding, levelled
from scheduler.layout.graph import Edge, Layout
from scheduler.layout.longest_run import longest_run
from scheduler.layout.network_of import NetworkArrays
from scheduler.layout.solved import Solved

__all__ = ["main_findings", "run_findings"]

#: Inside diameters that are sold as half-inch tube.
HALF_INCH = ("0.48 in", "0.66 in")
#: Differences of flow along one run that are called good, and still allowed.
SPREADS = (0.10, 0.20)
_SPREAD_SOURCE = "flows of one run within {:.0%} of the greatest: rule of thumb, from memory"
_SHORTER = "feed the run from its middle, split it in two, or take a line that compensates or is wider"


def main_findings(layout: Layout, runs: Mapping[str, Solved]) -> Iterator[Finding]:
    """Yield speed, loss and the half-inch rule of each zone's main while the whole zone runs."""
    tubes = [edge for edge in layout.edges if edge.kind != "head"]
    for zone, run in runs.items():
        own = [number for number, edge in enumerate(tubes) if edge.kind == "main" and edge.zone == zone]
        if not own:
            continue
        speed = np.abs(flow_speed(run.solution.pipe_flow[own], bore=[tubes[number].bore for number in own]))
        yield levelled(
            "speed in the main",
            zone,
            value=float(speed.max()),
            limit=parse_quantity(HIGHEST_SPEED.text, "flow_speed"),
            bound="at most",
            dimension="flow_speed",
            source=HIGHEST_SPEED.source,
            advice="take a wider main, or open fewer valves together",
        )
        mains = [tubes[number] for number in own]
        yield _loss(zone, mains, run)
        yield from _half_inch(zone, mains, run)


def _loss(zone: str, mains: list[Edge], run: Solved) -> Finding:
    """Return what the main takes between its ends; only told, for the emitters are the judge."""
    head = run.solution.head[sorted({node for edge in mains for node in (edge.start, edge.end)})]
    return Finding(
        check="loss along the main",
        where=zone,
        level="fine",
        value=float(pressure_of(head.max() - head.min())),
        limit=None,
        bound="at most",
        dimension="pressure",
        source="computed from friction and fittings; the lowest emitter pressure tells if it is too much",
    )


def _half_inch(zone: str, mains: list[Edge], run: Solved) -> Iterator[Finding]:
    narrow, wide = (parse_quantity(text, "bore") for text in HALF_INCH)
    if not all(narrow <= edge.bore <= wide for edge in mains):
        return
    rules: tuple[tuple[str, float, str, Dimension], ...] = (
        ("length of the half-inch main", sum(e.length for e in mains), HALF_INCH_MAIN.longest, "length"),
        ("flow of the half-inch main", run.supply, HALF_INCH_MAIN.most, "flow"),
    )
    for check, value, text, dimension in rules:
        yield levelled(
            check,
            zone,
            value=value,
            limit=parse_quantity(text, dimension),
            bound="at most",
            dimension=dimension,
            source=HALF_INCH_MAIN.source,
            advice="a rough rule: if speed and lowest emitter pressure are fine the main may stay, else take "
            "wider tube or feed it from its middle",
        )


def run_findings(
    garden: Garden, layout: Layout, arrays: NetworkArrays, runs: Mapping[str, Solved]
) -> Iterator[Finding]:
    """Yield the spread of flow of each bed's worst run, and the longest run of each line beside what is laid.

    A ring, which is fed from both sides, counts as half its length.
    """
    number = {int(node): at for at, node in enumerate(arrays.emitter_node)}
    lines: dict[str, list[Edge]] = {}
    for edge in layout.edges:
        if edge.kind in ("run", "ring"):
            lines.setdefault(edge.line, []).append(edge)
    laid: dict[str, tuple[DripLine, float, float]] = {}  # line -> its kind, longest run, pressure
    for bed in garden.beds:
        run = runs[bed.zone]
        worst = 0.0
        for edges in (edges for edges in lines.values() if edges[0].bed == bed.name):
            flow = run.flow[[number[edge.end] for edge in edges if edge.end in number]]
            if flow.size and flow.max() > 0.0:
                worst = max(worst, float((flow.max() - flow.min()) / flow.max()))
            length = sum(edge.length for edge in edges) / (2.0 if edges[0].kind == "ring" else 1.0)
            start = float(run.solution.pressure[edges[0].start])
            _, longest, pressure = laid.get(bed.drip.name, (bed.drip, 0.0, 0.0))
            laid[bed.drip.name] = (bed.drip, max(longest, length), max(pressure, start))
        yield levelled(
            "flow along a run",
            bed.name,
            value=worst,
            limit=SPREADS[1],
            bound="at most",
            dimension="ratio",
            source=_SPREAD_SOURCE.format(SPREADS[1]),
            advice=_SHORTER,
        )
    for drip, longest, pressure in laid.values():
        if pressure > 0.0:
            yield from _longest(drip, longest, pressure=pressure, temperature=arrays.temperature)


def _longest(drip: DripLine, laid: float, *, pressure: float, temperature: float) -> Iterator[Finding]:
    for spread in SPREADS:
        yield levelled(
            f"longest run, flows within {spread:.0%}",
            f'drip line "{drip.name}"',
            value=laid,
            limit=longest_run(drip, pressure=pressure, spread=spread, temperature=temperature),
            bound="at most",
            dimension="length",
            source=_SPREAD_SOURCE.format(spread),
            advice=_SHORTER,
        )
