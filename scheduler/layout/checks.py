"""All checks of a layout in one answer. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduler.drip.clogging import CloggingHazard
from scheduler.garden.plan import Garden
from scheduler.layout.bed_flows import BedFlow, bed_flows
from scheduler.layout.checks_backflow import backflow_findings
from scheduler.layout.checks_care import clogging_findings, filter_findings, flushing_findings
from scheduler.layout.checks_pressure import (
    busy_findings,
    emitter_findings,
    measured_findings,
    regulator_findings,
    uniformity_findings,
)
from scheduler.layout.checks_supply import capacity_findings, low_head_finding
from scheduler.layout.checks_tubes import main_findings, run_findings
from scheduler.layout.findings import Finding
from scheduler.layout.graph import Layout
from scheduler.layout.network_of import NetworkArrays, network_of
from scheduler.layout.solved import House, Solved, solve_layout

__all__ = ["CheckedLayout", "check_layout"]


@dataclass(frozen=True, slots=True)
class CheckedLayout:
    """A layout with its flows and findings.

    Attributes
    ----------
    flows, busy : tuple of BedFlow
        Every bed in plan order while its zone runs, house quiet and busy; `flows` is empty if the pressure of
        the tap is not known, `busy` also without a bucket test of that.
    findings : tuple of Finding
    """

    flows: tuple[BedFlow, ...]
    busy: tuple[BedFlow, ...]
    findings: tuple[Finding, ...]

    @property
    def wrong(self) -> tuple[str, ...]:
        """Return what is wrong, as check and place."""
        return tuple(f"{one.check}, {one.where}" for one in self.findings if one.level == "wrong")


def check_layout(
    layout: Layout,
    garden: Garden,
    *,
    hazards: Sequence[CloggingHazard] = (),
    minutes: Mapping[str, float] | None = None,
) -> CheckedLayout:
    """Return flows and findings of a layout.

    Parameters
    ----------
    hazards : sequence of CloggingHazard
        Of the water test.
    minutes : mapping of str to float or None
        Zone -> minutes with water on in the longest day of a table.

    Raises
    ------
    NetworkError
        If the layout cannot be solved; all faults are told.
    UnsettledError
        If its pressures do not settle.
    """
    arrays = network_of(layout, garden)
    head = garden.layout.head if garden.layout is not None else ()
    quiet = _runs(layout, garden, arrays, "quiet")
    busy = _runs(layout, garden, arrays, "busy") if math.isfinite(arrays.tap_flow_busy) else {}
    flows = bed_flows(garden, arrays, quiet) if quiet else ()
    at_busy = bed_flows(garden, arrays, busy) if busy else ()
    findings = [low_head_finding(garden), *capacity_findings(garden, _demands(garden, flows))]
    if quiet:
        findings += emitter_findings(garden, flows)
        findings += busy_findings(garden, at_busy)
        findings += measured_findings(garden, flows)
        findings += uniformity_findings(flows)
        findings += regulator_findings(arrays, quiet, zones=_part_zones(layout))
        findings += main_findings(layout, quiet)
        findings += run_findings(garden, layout, arrays, quiet)
        findings += flushing_findings(garden, layout, arrays, quiet)
    findings += filter_findings(garden, head)
    findings += clogging_findings(hazards)
    findings += backflow_findings(garden, layout, minutes=minutes)
    return CheckedLayout(flows, at_busy, tuple(findings))


def _runs(layout: Layout, garden: Garden, arrays: NetworkArrays, house: House) -> dict[str, Solved]:
    """Return zone -> its run with all its valves open; nothing if the tap's pressure is not known."""
    if not math.isfinite(arrays.static_pressure):
        return {}
    return {
        zone.name: solve_layout(
            arrays, layout, open_beds=[bed.name for bed in garden.beds_of(zone.name)], house=house
        )
        for zone in garden.zones
        if garden.beds_of(zone.name)
    }


def _demands(garden: Garden, flows: Sequence[BedFlow]) -> dict[str, float]:
    """Return bed -> what it would draw [L/h]: its printed flow, or the computed one where that is more.

    Emitters under more than their rated pressure draw more than is printed; under less, since the tap cannot,
    the printed flow is what is asked of it.
    """
    demands = {bed.name: bed.emitters * bed.drip.emitter_flow for bed in garden.beds}
    return demands | {flow.bed: max(flow.flow, demands[flow.bed]) for flow in flows}


def _part_zones(layout: Layout) -> dict[int, str]:
    """Return part of the head -> the zone that it serves, empty for all; numbered as in the arrays."""
    parts = [edge for edge in layout.edges if edge.kind == "head"]
    return {number: edge.zone for number, edge in enumerate(parts)}
