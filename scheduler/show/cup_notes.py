"""A person's cup test weighed, in words: how sure its figures are, and what more cups would do."""

from __future__ import annotations

from scheduler.drip.cup_evaluation import CupEvaluation, evaluate_cups, more_cups
from scheduler.garden.dimensions import System
from scheduler.garden.plan import Bed
from scheduler.garden.units import to_display, unit_label
from scheduler.show.notes import percent

__all__ = ["cup_notes"]

#: Half-widths worth more cups: of the mean flow, and of the statistical uniformity. Judgement, no source.
FLOW_WITHIN = 0.03
UNIFORMITY_WITHIN = 0.03


def cup_notes(bed: Bed, system: System) -> tuple[str, ...]:
    """Return what the newest cup test of a bed tells, with its 95 % intervals; nothing without a test."""
    test = bed.cup_test
    if test is None:
        return ()
    told = evaluate_cups(test.volumes, test.minutes)
    flow = [f"{float(to_display(value, 'flow', system)):.3g}" for value in (told.flow.low, told.flow.high)]
    quarter = [percent(value) for value in (told.low_quarter.low, told.low_quarter.high)]
    uniformity = [percent(value) for value in (told.statistical.low, told.statistical.high)]
    return (
        f"Cup test of {test.on}, {told.cups} cups, 95 % intervals: one emitter {flow[0]} to {flow[1]} "
        f"{unit_label('flow', system)}; "
        f"low-quarter uniformity {quarter[0]} to {quarter[1]} ({told.emission_class.name}); statistical "
        f"uniformity {uniformity[0]} to {uniformity[1]} ({told.statistical_class.name}); Christiansen "
        f"{percent(told.christiansen)}. Classes: {told.emission_class.source}.",
        _further(told),
        *_doubtful(told),
    )


def _further(told: CupEvaluation) -> str:
    """Return how many more cups would narrow the intervals."""
    flow = more_cups(told.variation.value, told.cups, within=FLOW_WITHIN)
    evenness = more_cups(told.variation.value, told.cups, within=UNIFORMITY_WITHIN, of="uniformity")
    return (
        f"To know the flow within {percent(FLOW_WITHIN)} takes {_cups(flow)}; the evenness within "
        f"{percent(UNIFORMITY_WITHIN)} takes {_cups(evenness)}, if they vary as these did."
    )


def _cups(count: int | None) -> str:
    """Return a number of further cups in words."""
    if count is None:
        return "more cups than are worth it"
    return "no more cups" if count == 0 else f"{count} more cup{'s' if count > 1 else ''}"


def _doubtful(told: CupEvaluation) -> tuple[str, ...]:
    """Return the cups that stand out, by their place in the plan's list."""
    parts = [
        f"{what}: {', '.join(str(number) for number in cups)}"
        for what, cups in (("dry", told.dry), ("low", told.low), ("high", told.high))
        if cups
    ]
    return (f"Cups that stand out, by their place in the list: {'; '.join(parts)}.",) if parts else ()
