"""Can the lines be kept clean: flushing, the filter, what the water carries. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from scheduler.drip.clogging import CloggingHazard
from scheduler.drip.filters import FILTER_MESHES, FILTER_SOURCE, LEAST_STRICT, check_filter
from scheduler.drip.speed import FLUSHING_MINUTES, FLUSHING_SPEED, flow_at_speed, flow_speed
from scheduler.garden.dimensions import Dimension
from scheduler.garden.layout_plan import HeadPart
from scheduler.garden.plan import Garden
from scheduler.garden.units import parse_quantity
from scheduler.layout.findings import Finding, Level, levelled
from scheduler.layout.graph import Layout
from scheduler.layout.network_of import NetworkArrays
from scheduler.layout.solved import OpenEnd, Solved, solve_layout

__all__ = ["clogging_findings", "filter_findings", "flushing_findings"]

_PLAIN_ITEMS: dict[str, Dimension | None] = {"ph": None, "bacteria": "count"}


def flushing_findings(
    garden: Garden, layout: Layout, arrays: NetworkArrays, runs: dict[str, Solved]
) -> Iterator[Finding]:
    """Yield speed at an opened end, and minutes of flushing, for each bed.

    The end with the least pressure is opened while only this bed's valve is. It gives to the air what its
    pressure turns into speed: q = A sqrt(2 p / density). A ring has no end and is opened at its tee.
    """
    for bed in garden.beds:
        ends = [
            edge
            for edge in layout.edges
            if edge.bed == bed.name and edge.kind == "run" and layout.nodes[edge.end].kind == "end"
        ]
        rings = {edge.line for edge in layout.edges if edge.bed == bed.name and edge.kind == "ring"}
        if ends:
            pressure = runs[bed.zone].solution.pressure
            worst = min(ends, key=lambda edge: float(pressure[edge.end]))
            # 1 kPa is 1 m2/s2 for water of 1000 kg/m3, so that sqrt(2 p / density) is sqrt(2) m/s.
            opened = OpenEnd(worst.end, float(flow_at_speed(math.sqrt(2.0), bore=worst.bore)))
            solved = solve_layout(arrays, layout, open_beds=[bed.name], end=opened)
            yield levelled(
                "flushing speed",
                bed.name,
                value=float(flow_speed(solved.end_flow, bore=worst.bore)),
                limit=parse_quantity(FLUSHING_SPEED.text, "flow_speed"),
                bound="at least",
                dimension="flow_speed",
                source=FLUSHING_SPEED.source,
                advice="clean filter, shut all other valves, open one end at a time; else use shorter runs",
            )
        yield Finding(
            check="minutes of flushing",
            where=bed.name,
            level="fine",
            value=(len(ends) + len(rings)) * parse_quantity(FLUSHING_MINUTES.text, "duration"),
            limit=None,
            bound="at least",
            dimension="duration",
            source=FLUSHING_MINUTES.source,
            advice="a ring has no end: open it at its tee" if rings else "",
        )


def filter_findings(garden: Garden, head: Sequence[HeadPart]) -> Iterator[Finding]:
    """Yield the finest filter of the head against the passage of each drip line that tells one."""
    filters = [part for part in head if part.part == "filter"]
    if not filters:
        yield Finding(
            "filter",
            "tap",
            "look",
            None,
            None,
            "at least",
            None,
            FILTER_SOURCE,
            "no filter is named in [[head]]: emitters clog without one",
        )
        return
    openings = [opening for part in filters if (opening := _opening(part)) is not None]
    for drip in {bed.drip.name: bed.drip for bed in garden.beds}.values():
        where = f'drip line "{drip.name}"'
        if drip.passage is None or not openings:
            missing = "passage of the drip line" if drip.passage is None else "mesh or opening of the filter"
            yield Finding(
                "passage over filter opening",
                where,
                "look",
                None,
                LEAST_STRICT,
                "at least",
                None,
                FILTER_SOURCE,
                f"not checked: write the {missing}, from its leaflet",
            )
            continue
        checked = check_filter(min(openings), passage=drip.passage)
        wanted = checked.wanted
        advice = "take emitters with wider passages: no screen of the table is fine enough"
        if wanted is not None:
            advice = f"take a screen of {wanted.mesh} mesh or finer"
        yield levelled(
            "passage over filter opening",
            where,
            value=checked.ratio,
            limit=LEAST_STRICT,
            bound="at least",
            dimension=None,
            source=checked.source,
            advice=advice,
        )


def _opening(part: HeadPart) -> float | None:
    """Return the opening of a filter [m]: as stated, else that of the next coarser mesh of the table."""
    if part.opening is not None:
        return part.opening
    coarser = [one for one in FILTER_MESHES if part.mesh is not None and one.mesh <= part.mesh]
    return coarser[-1].opening if coarser else None


def clogging_findings(hazards: Sequence[CloggingHazard]) -> Iterator[Finding]:
    """Yield each item of the water test against where its hazard turns moderate."""
    for hazard in hazards:
        limit = hazard.limit
        level: Level = "fine" if hazard.grade == "slight" and not hazard.elsewhere else "look"
        advice = f"{hazard.grade} hazard: {limit.advice}" if hazard.grade != "slight" else ""
        if hazard.elsewhere:
            advice = f"{hazard.grade} hazard, {hazard.elsewhere}: {limit.advice}"
        yield Finding(
            check=f"clogging by {hazard.item.replace('_', ' ')}",
            where="water test",
            level=level,
            value=hazard.value,
            limit=limit.moderate,
            bound="at most",
            dimension=_PLAIN_ITEMS.get(hazard.item, "concentration"),
            source=limit.source,
            advice=advice,
        )
