"""What in a layout calls for a question about backflow: a caution, never an approval. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from scheduler.garden.dimensions import Dimension
from scheduler.garden.layout_plan import HeadPart
from scheduler.garden.plan import Garden
from scheduler.layout.findings import Finding
from scheduler.layout.graph import Edge, Layout

__all__ = ["BACKFLOW_CAUTION", "LONGEST_UNDER_PRESSURE", "backflow_findings"]

#: Told with every answer on backflow.
BACKFLOW_CAUTION = (
    "Backflow: nothing here approves an arrangement. Which device, where it sits and what may stand behind "
    "it is for your local code, the water supplier or a licensed plumber to say."
)
#: Hours in a day after which an atmospheric vacuum breaker counts as under constant pressure [h].
LONGEST_UNDER_PRESSURE = 12.0
_DEFER = "ask local code, the water supplier or a licensed plumber"
_PRACTICE = "common practice, from memory; local code decides"


def backflow_findings(
    garden: Garden, layout: Layout, *, minutes: Mapping[str, float] | None = None
) -> Iterator[Finding]:
    """Yield what deserves a question; `minutes` is zone -> minutes of water on its longest day, if known."""
    head = garden.layout.head if garden.layout is not None else ()
    if not any(part.part == "backflow preventer" for part in head):
        yield _finding(
            "backflow preventer",
            "tap",
            advice="none is named in [[head]]: soil water can be drawn back into the house; " + _DEFER,
        )
        return
    seen: set[tuple[str, str]] = set()
    for edge in layout.edges:
        part = edge.part
        if part is None or part.part != "backflow preventer":
            continue
        where = edge.zone or "tap"
        yield from _rims(garden, layout, edge, where)
        atmospheric = part.kind == "vacuum breaker"
        if atmospheric and ("valves", part.label) not in seen:
            seen.add(("valves", part.label))
            yield _valves(garden, head, part)
        if atmospheric:
            yield _hours(head, edge, part, where, minutes)


def _valves(garden: Garden, head: tuple[HeadPart, ...], part: HeadPart) -> Finding:
    """Return how many shut-off valves stand behind a vacuum breaker."""
    later = head[head.index(part) + 1 :]
    timer = any(other.part == "timer" for other in later)
    return _finding(
        "valves behind a vacuum breaker",
        "tap",
        value=float(len(garden.beds) + timer),
        limit=0.0,
        advice=f"the hand valves of the beds{' and the timer' if timer else ''} stand behind it; shut, they "
        f"keep it under pressure, which this kind is mostly not made for: {_DEFER}",
    )


def _rims(garden: Garden, layout: Layout, edge: Edge, where: str) -> Iterator[Finding]:
    """Yield the highest rim that lies above a device."""
    height = layout.nodes[edge.end].height
    rims: dict[str, float] = {}
    for node in layout.nodes:
        if node.bed and node.kind == "emitter" and edge.zone in ("", node.zone):
            rims[node.bed] = max(rims.get(node.bed, node.height), node.height)
    above = [name for name, rim in rims.items() if rim > height]
    if above:
        yield _finding(
            "bed above the backflow preventer",
            where,
            value=max(rims[name] for name in above) - height,
            limit=0.0,
            dimension="length",
            advice=f"{', '.join(above)}: water standing in the lines can run back towards it; a device is "
            f"mostly set above the highest outlet: {_DEFER}",
        )


def _hours(
    head: tuple[HeadPart, ...],
    edge: Edge,
    part: HeadPart,
    where: str,
    minutes: Mapping[str, float] | None,
) -> Finding:
    """Return how many hours of a day a vacuum breaker is under pressure."""
    at = head.index(part)
    behind_timer = any(other.part == "timer" for other in head[:at])
    hours: float | None
    if not behind_timer:
        hours = 24.0
        advice = f"it stands before the timer: under pressure day and night while the tap is open; {_DEFER}"
    elif minutes is None:
        hours = None
        advice = f"not checked without a day's table: give the first day of a week with --on; {_DEFER}"
    else:
        own = [minutes.get(edge.zone, 0.0)] if edge.zone else list(minutes.values())
        hours = sum(own) / 60.0
        advice = f"hours with water on in the longest day of the table; {_DEFER}"
    return _finding(
        "hours a day under pressure",
        where,
        value=hours,
        limit=LONGEST_UNDER_PRESSURE,
        dimension="hours",
        advice=advice,
    )


def _finding(
    check: str,
    where: str,
    *,
    advice: str,
    value: float | None = None,
    limit: float | None = None,
    dimension: Dimension | None = None,
) -> Finding:
    """Return a caution: never "fine", for that would read as an approval."""
    return Finding(check, where, "look", value, limit, "at most", dimension, _PRACTICE, advice)
