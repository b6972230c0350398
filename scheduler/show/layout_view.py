"""A checked layout as a report: flows of the beds, what to change, what is fine, parts to buy."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from scheduler.garden.dimensions import Dimension, System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity, to_display, unit_label
from scheduler.layout.bed_flows import BedFlow
from scheduler.layout.checks import CheckedLayout
from scheduler.layout.checks_backflow import BACKFLOW_CAUTION
from scheduler.layout.findings import Finding
from scheduler.layout.takeoff import PartRow
from scheduler.show.report import Column, Part, Report, Row
from scheduler.show.takeoff_view import takeoff_part

__all__ = ["layout_report"]

BEDS = (
    Column("bed", "bed"),
    Column("zone", "zone"),
    Column("lowest_kpa", "lowest\npressure", "pressure", 1),
    Column("mean_kpa", "mean", "pressure", 1),
    Column("highest_kpa", "highest", "pressure", 1),
    Column("lowest_busy_kpa", "lowest,\nhouse busy", "pressure", 1),
    Column("flow_l_h", "flow", "flow"),
    Column("printed_flow_l_h", "printed\nflow", "flow"),
    Column("measured_flow_l_h", "measured\nflow", "flow"),
    Column("uniformity_percent", "even-\nness", "percent"),
    Column("low_quarter_percent", ""),
    Column("variation_percent", ""),
)
CHECKS = (
    Column("level", "level"),
    Column("check", "check"),
    Column("where", "where"),
    Column("found", "found"),
    Column("wanted", "limit"),
    Column("value", ""),
    Column("bound", ""),
    Column("limit", ""),
    Column("unit", ""),
    Column("advice", "what to do"),
    Column("source", ""),
)
TO_DO = (
    Column("level", "level"),
    Column("place", "what and where"),
    Column("found", "found"),
    Column("advice", "what to do"),
)
FINE = (
    Column("check", "fine"),
    Column("places", "places"),
    Column("where", "tightest at"),
    Column("found", "found there"),
    Column("wanted", "limit"),
)
SOURCES = (Column("checks", "check"), Column("source", "limit from"))
#: Canonical units of what checks are told in.
UNITS: dict[Dimension | None, str] = {
    "pressure": "kPa",
    "flow": "L/h",
    "flow_speed": "m/s",
    "length": "m",
    "ratio": "share",
    "duration": "min",
    "hours": "h",
    "concentration": "mg/L",
    "count": "1/mL",
    None: "",
}
_PERCENT = 100.0


def layout_report(
    garden: Garden, checked: CheckedLayout, parts: Sequence[PartRow], *, laid: Sequence[str], system: System
) -> Report:
    """Return a layout's answer; `laid` are notes of how it was laid, `system` is that of its words."""
    findings = checked.findings
    return Report(
        schema="rillbook.layout/1",
        title=f"{garden.name}: layout, from the tap to the emitters",
        as_of=None,
        parts=(
            Part("rows", "Beds, each while its whole zone runs", BEDS, tuple(_bed_rows(garden, checked))),
            Part("to_do", "What to look at", TO_DO, tuple(_to_do(findings, system))),
            Part("fine", "What is fine", FINE, tuple(_fine(findings, system))),
            Part("sources", "Where the limits are from", SOURCES, tuple(_sources(findings))),
            Part("checks", "", CHECKS, tuple(_row(one, system) for one in findings), machine_only=True),
            takeoff_part(parts, garden, system=system),
        ),
        lines=("", BACKFLOW_CAUTION),
        notes=tuple(_notes(garden, checked, laid)),
    )


def _bed_rows(garden: Garden, checked: CheckedLayout) -> Iterator[Row]:
    busy: dict[str, BedFlow] = {flow.bed: flow for flow in checked.busy}
    beds = {bed.name: bed for bed in garden.beds}
    for flow in checked.flows:
        yield {
            "bed": flow.bed,
            "zone": flow.zone,
            "lowest_kpa": flow.lowest,
            "mean_kpa": flow.mean,
            "highest_kpa": flow.highest,
            "lowest_busy_kpa": busy[flow.bed].lowest if flow.bed in busy else None,
            "flow_l_h": flow.flow,
            "printed_flow_l_h": flow.printed,
            "measured_flow_l_h": beds[flow.bed].measured_flow,
            "uniformity_percent": None if flow.uniformity is None else _PERCENT * flow.uniformity,
            "low_quarter_percent": None if flow.low_quarter is None else _PERCENT * flow.low_quarter,
            "variation_percent": _PERCENT * flow.variation,
        }


def _row(finding: Finding, system: System) -> Row:
    return {
        "level": finding.level,
        "check": finding.check,
        "where": finding.where,
        "found": _shown(finding.value, finding.dimension, system),
        "wanted": "" if finding.limit is None else _wanted(finding, system),
        "value": finding.value,
        "bound": finding.bound,
        "limit": finding.limit,
        "unit": UNITS[finding.dimension],
        "advice": finding.advice,
        "source": finding.source,
    }


def _wanted(finding: Finding, system: System) -> str:
    return f"{finding.bound} {_shown(finding.limit, finding.dimension, system)}"


def _shown(value: float | None, dimension: Dimension | None, system: System) -> str:
    if value is None:
        return ""
    if dimension is None:
        return f"{value:.3g}"
    if dimension == "pressure":  # whole psi would hide what a main takes
        return f"{to_display(value, dimension, system):.1f} {unit_label(dimension, system)}"
    return format_quantity(value, dimension, system)


def _closeness(finding: Finding) -> float:
    """Return the value over its limit, or the limit over its value: the greater, the nearer to the limit."""
    if finding.value is None or finding.limit is None:
        return finding.value or 0.0
    over, under = finding.value, finding.limit
    if finding.bound == "at least":
        over, under = under, over
    return over / under if under > 0.0 else 0.0


def _to_do(findings: Sequence[Finding], system: System) -> Iterator[Row]:
    """Yield what is not fine, the wrong first, places with one advice together."""
    open_ones = sorted((one for one in findings if one.level != "fine"), key=lambda one: one.level != "wrong")
    groups: dict[tuple[str, str, str], list[Finding]] = {}
    for one in open_ones:
        groups.setdefault((one.level, one.check, one.advice), []).append(one)
    for group in groups.values():
        worst = max(group, key=_closeness)
        row = _row(worst, system)
        yield row | {
            "place": f"{worst.check}: {', '.join(one.where for one in group)}",
            "found": "; ".join(text for text in (row["found"], row["wanted"]) if text),
        }


def _fine(findings: Sequence[Finding], system: System) -> Iterator[Row]:
    """Yield one line for each check with fine places: how many, and the one nearest to its limit."""
    fine = [one for one in findings if one.level == "fine"]
    order = list(dict.fromkeys(one.check for one in fine))
    fine.sort(key=lambda one: order.index(one.check))
    for _, group in groupby(fine, key=lambda one: one.check):
        places = list(group)
        nearest = max(places, key=_closeness)
        yield _row(nearest, system) | {"places": len(places)}


def _sources(findings: Sequence[Finding]) -> Iterator[Row]:
    """Yield each source with the checks that it is for."""
    checks: dict[str, list[str]] = {}
    for one in findings:
        checks.setdefault(one.source, []).append(one.check)
    for source, told in checks.items():
        yield {"checks": ", ".join(dict.fromkeys(told)), "source": source}


def _notes(garden: Garden, checked: CheckedLayout, laid: Sequence[str]) -> Iterator[str]:
    """Yield what was taken for granted in the flows."""
    yield from laid
    if checked.flows:
        yield (
            "flow: computed from the pressures of the layout with the printed curve of the emitters; printed "
            "flow: at the pressure that the plan gives; measured: by cups, bucket or meter"
        )
        yield "evenness: emission uniformity (Keller and Karmeli): manufacturing variation and weakest flow"
    assumed = [flow.bed for flow in checked.flows if not flow.variation_stated]
    if assumed:
        variation = next(flow.variation for flow in checked.flows if not flow.variation_stated)
        yield (
            f"manufacturing variation of {variation:.0%} is assumed for {', '.join(assumed)}: the most that "
            "ISO 9261 allows new emitters, from memory"
        )
    if checked.busy:
        yield (
            "house busy: the house keeps drawing the difference of both bucket tests through the same pipes, "
            "a judgement"
        )
    places: dict[str, list[str]] = {}
    for note in garden.assumed:
        if note.where.startswith(("head", "main_line", "layout", "takeoff")) or note.where.endswith(
            "> layout"
        ):
            places.setdefault(note.text, []).append(note.where.removesuffix(" > layout"))
    yield from (f"{', '.join(where)}: {text}" for text, where in places.items())
