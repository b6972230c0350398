"""Readings against what was expected, as a report."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.reconcile.overview import NIGHT_SHARE, Overview
from scheduler.reconcile.water_use import HOUSE_DAY, HOUSE_MEAN
from scheduler.show.notes import percent
from scheduler.show.reconcile_next import next_steps
from scheduler.show.reconcile_tables import reconcile_parts
from scheduler.show.reconcile_words import sentences, since_relaid, volume
from scheduler.show.report import Column, Part, Report

__all__ = ["reconcile_report"]

NEXT = (Column("why", ""), Column("command", ""))


def reconcile_report(garden: Garden, found: Overview, *, plan: str, system: System) -> Report:
    """Return the comparison as a report; `plan` is the plan's file as the person named it."""
    steps = next_steps(found, plan=plan, system=system)
    rows = tuple({"why": step.why, "command": line} for step in steps for line in step.commands)
    told = [line for step in steps for line in (step.why, *(f"  {command}" for command in step.commands))]
    said = sentences(found, system)
    newest = found.inputs.newest
    return Report(
        schema="rillbook.reconcile/1",
        title=f"{garden.name}: readings against what was expected",
        as_of=None if newest is None else newest.date(),
        parts=(*reconcile_parts(found), Part("next", "", NEXT, rows, machine_only=True)),
        lines=(*said, *(("", "To record next:", *told) if told else ())),
        notes=tuple(_notes(found, system)),
        extra={"looks_wrong": bool(found.wrong), "wrong": list(found.wrong), "sentences": list(said)},
    )


def _notes(found: Overview, system: System) -> Iterator[str]:
    """Yield what was assumed, and how sure each answer is."""
    yield from _meter_notes(found, system)
    if found.rounds:
        yield from _flow_notes(found)
    yield from _relaid_notes(found)
    if (plan := found.drift_plan) is not None:
        yield (
            f"Drift: CUSUM with allowance k {plan.k:.1f} and limit h {plan.h:.1f}, in standard deviations of "
            f"one test; {plan.false_alarms:.1f} false alarms a season among {plan.beds} beds of {plan.tests} "
            f"tests each. A lasting change of {plan.shift:.0f} is found within the season in "
            f"{percent(plan.found_in_season)} of cases."
        )
    if found.leak is not None:
        yield from found.leak.caveats
        if found.inputs.house_per_day is None:
            yield "The house is taken to draw nothing by night, since the plan states no use of the house."
        else:
            share = percent(NIGHT_SHARE)
            yield f"The house is taken to draw nothing by night, give or take {share} of its use a day."
    if found.water:
        yield from _water_notes(found, system)
    if strangers := ", ".join(found.inputs.strangers):
        yield f"Readings of {strangers} make no test: there is no such bed in the plan."


def _meter_notes(found: Overview, system: System) -> Iterator[str]:
    """Yield what the meter can show."""
    meter = found.inputs.meter
    if not found.inputs.meter_stated:
        yield (
            f"Meter: a smallest digit of {volume(meter.smallest_digit, system)} is assumed, and a register "
            "that never starts again at zero; give both in [meter]."
        )
    if found.inputs.whole or found.rounds:
        limit = format_quantity(meter.low_flow_limit, "flow", system)
        yield f"Below {limit} the meter may count too little; a bucket and a watch tell a small flow better."


def _flow_notes(found: Overview) -> Iterator[str]:
    """Yield how sure the calls on beds are, and what weakens some of them."""
    yield (
        "A bed by itself is called changed in 5 % of sound tests, a round of beds in 5 % of sound rounds; "
        "whether something looks wrong goes by the round. What would show is found in 95 % of cases."
    )
    by_note: dict[str, list[str]] = {}
    for one in found.rounds:
        for check in one.checks:
            for note in check.notes:
                by_note.setdefault(note, []).append(check.bed)
    for note, beds in by_note.items():
        yield f"{', '.join(beds)}: {note}"
    if any(check.verdict == "lower" for one in found.rounds for check in one.checks):
        yield "When emitters block, the open ones give a little more, so the count may be a little low."


def _relaid_notes(found: Overview) -> Iterator[str]:
    """Yield which tests are no longer compared, and what a baseline that began anew cannot show."""
    for bed in found.beds:
        if bed.relaid is None:
            continue
        line = f"{bed.bed}:{since_relaid(bed)} its flow is followed anew."
        if bed.earlier:
            tests = "1 earlier test is" if bed.earlier == 1 else f"{bed.earlier} earlier tests are"
            line += f" {tests} no longer compared."
        if bed.baseline.tests:
            line += " What was off with all beds while its new baseline was made is part of that baseline."
        yield line


def _water_notes(found: Overview, system: System) -> Iterator[str]:
    """Yield what the water of the whole garden rests on."""
    use = found.inputs.house_per_day
    if use is not None:
        yield (
            f"The house is taken at {volume(use, system)} a day as the plan states, its mean within "
            f"{percent(HOUSE_MEAN)} and a single day within {percent(HOUSE_DAY)} (standard deviations)."
        )
    span = found.water[-1].span
    if span.advised:
        days = "1 day" if span.advised == 1 else f"{span.advised} days"
        yield f"Runs of {days} of the newest span are as advised; nobody recorded whether they ran."
    if span.metered.another_turn_fits:
        yield "The register could have gone round once more in the newest span; read the meter more often."
