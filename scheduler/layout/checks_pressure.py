"""Is the pressure right where it is needed: at the emitters and at the regulators. Pure."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from scheduler.drip.uniformity_classes import DESIGN_UNIFORMITY, emission_class
from scheduler.garden.plan import Garden
from scheduler.layout.bed_flows import BedFlow
from scheduler.layout.findings import Finding, levelled
from scheduler.layout.network_of import NetworkArrays
from scheduler.layout.solved import Solved

__all__ = [
    "LEAST_OF_RATING",
    "busy_findings",
    "emitter_findings",
    "measured_findings",
    "regulator_findings",
    "uniformity_findings",
]

#: A bed should give this share of its computed flow when it is measured; a judgement without a source.
LEAST_MEASURED = 0.90
#: An emitter that does not compensate should have this share of the pressure it is rated at.
LEAST_OF_RATING = 0.80
LOWEST = "lowest emitter pressure"
_RATING_SOURCE = "80 % of the rated pressure: judgement after common practice"
_RANGE_SOURCE = "pressure range of the emitter in the plan"
_RAISE = (
    "open fewer valves together, widen or shorten the main, set the regulator higher, or take emitters for "
    "less pressure"
)


def emitter_findings(garden: Garden, flows: Sequence[BedFlow]) -> Iterator[Finding]:
    """Yield the lowest pressure of each bed, and the highest where the emitters have a range."""
    for bed, flow in zip(garden.beds, flows, strict=True):
        drip = bed.drip
        compensates = drip.lowest_pressure is not None
        limit = LEAST_OF_RATING * drip.at_pressure if drip.lowest_pressure is None else drip.lowest_pressure
        dry = flow.least_share <= 0.0
        yield levelled(
            LOWEST,
            bed.name,
            value=flow.lowest,
            limit=limit,
            bound="at least",
            dimension="pressure",
            source=_RANGE_SOURCE if compensates else _RATING_SOURCE,
            advice=("some emitters get no water: " if dry else "") + _RAISE,
            beyond="wrong" if compensates or dry else "look",
        )
        if drip.highest_pressure is not None:
            yield levelled(
                "highest emitter pressure",
                bed.name,
                value=flow.highest,
                limit=drip.highest_pressure,
                bound="at most",
                dimension="pressure",
                source=_RANGE_SOURCE,
                advice="put in a regulator, or one that is set lower",
                beyond="wrong",
            )


def busy_findings(garden: Garden, flows: Sequence[BedFlow]) -> Iterator[Finding]:
    """Yield the lowest pressure of each bed while the house is busy; it asks for a look at most."""
    for finding in emitter_findings(garden, flows) if flows else ():
        if finding.check == LOWEST:
            yield replace(
                finding,
                check=f"{LOWEST}, house busy",
                level="fine" if finding.level == "fine" else "look",
                advice=finding.advice and f"water while the house draws nothing; else {finding.advice}",
            )


def regulator_findings(
    arrays: NetworkArrays, runs: Mapping[str, Solved], *, zones: Mapping[int, str]
) -> Iterator[Finding]:
    """Yield pressure before and flow through each regulator while its zone runs.

    `zones` holds part -> zone behind it, empty for a part that all zones share.
    """
    for part, zone in zones.items():
        if not math.isfinite(arrays.part_set_pressure[part]):
            continue
        served = [zone] if zone else list(runs)
        name = f"regulator of {zone}" if zone else "regulator"
        lowest = min(served, key=lambda one: _before(arrays, runs[one], part))
        flows = [runs[one].supply for one in served]
        loss = float(arrays.part_loss[part])
        yield levelled(
            "pressure before the regulator",
            name,
            value=_before(arrays, runs[lowest], part),
            limit=float(arrays.part_set_pressure[part]) + (loss if math.isfinite(loss) else 0.0),
            bound="at least",
            dimension="pressure",
            source="set pressure and stated loss of the regulator: below, it is fully open and holds nothing",
            advice="open fewer valves together, take parts at the tap that lose less, or a lower regulator",
        )
        yield from _flow_findings(arrays, part, name, flows)


def _flow_findings(arrays: NetworkArrays, part: int, name: str, flows: Sequence[float]) -> Iterator[Finding]:
    """Yield the least and greatest flow against the range in which a regulator holds its pressure."""
    source = "flow range of the regulator in the plan"
    low, high = float(arrays.part_lowest_flow[part]), float(arrays.part_highest_flow[part])
    if math.isfinite(low):
        yield levelled(
            "least flow of the regulator",
            name,
            value=min(flows),
            limit=low,
            bound="at least",
            dimension="flow",
            source=source,
            advice="take a regulator made for less flow, or open more beds together: below its range the "
            "pressure behind it creeps up",
        )
    if math.isfinite(high):
        yield levelled(
            "greatest flow of the regulator",
            name,
            value=max(flows),
            limit=high,
            bound="at most",
            dimension="flow",
            source=source,
            advice="open fewer valves together, or take a regulator made for more flow",
            beyond="wrong",
        )


def _before(arrays: NetworkArrays, run: Solved, part: int) -> float:
    return float(run.solution.pressure[arrays.part_from[part]])


def uniformity_findings(flows: Sequence[BedFlow]) -> Iterator[Finding]:
    """Yield the emission uniformity of each bed against that of a good design of line on flat ground."""
    design = next(one for one in DESIGN_UNIFORMITY if one.emitters == "line source" and one.ground == "flat")
    for flow in flows:
        value = flow.uniformity or 0.0
        assumed = "" if flow.variation_stated else "; manufacturing variation assumed"
        yield levelled(
            "emission uniformity",
            flow.bed,
            value=value,
            limit=design.least,
            bound="at least",
            dimension="ratio",
            source=f"line source on flat ground, {design.source}{assumed}",
            advice=f"class {emission_class(value).name}: shorten runs, feed them from the middle, or take "
            "emitters that compensate",
            beyond="look" if value > 0.0 else "wrong",
        )


def measured_findings(garden: Garden, flows: Sequence[BedFlow]) -> Iterator[Finding]:
    """Yield the measured flow of each bed that has one against the flow that its pressure should give."""
    for bed, flow in zip(garden.beds, flows, strict=True):
        if bed.measured_flow is not None:
            yield levelled(
                "measured flow",
                bed.name,
                value=bed.measured_flow,
                limit=LEAST_MEASURED * flow.flow,
                bound="at least",
                dimension="flow",
                source="90 % of the computed flow: judgement",
                advice="look for clogged emitters; else pressure, a loss at the tap or the printed curve is "
                "not as the plan says",
            )
