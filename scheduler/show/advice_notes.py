"""How the advice on spacing was found, what it rests on, and what it does not look at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import to_display, unit_label
from scheduler.layout.bed_choices import BORNE_STRIPE, CLOSEST_LINES
from scheduler.show.advice_beds import AdvisedZone

__all__ = ["advice_notes", "short_length"]


def short_length(length: float, system: System) -> str:
    """Return a length within a bed [m] in whole inches or millimetres."""
    return f"{to_display(length, 'bore', system):.0f} {unit_label('bore', system)}"


def advice_notes(garden: Garden, zones: Sequence[AdvisedZone], *, system: System) -> Iterator[str]:
    """Yield what a person must know of the advice."""
    yield (
        "All choices that are not put aside were weighed: the waste told is the least there is for so many "
        "changes. Of equal ones fewer changes are taken, then less tube."
    )
    yield (
        "It goes by the need of this one week. Ask again for other weeks, the peak of summer first, before "
        "you cut tube: what beds need changes through the season."
    )
    yield (
        "The bed that needs longest sets the time. A valve shut early, as the week's table tells, saves the "
        "same water without new tube."
    )
    yield "Minutes are for what the beds use in the week, not for what their soil lacks now."
    means = [z.name for z in garden.zones if z.rule == "area mean" and len(garden.beds_of(z.name)) > 1]
    if means:
        yield f"{', '.join(means)}: the plan goes by the area mean, the advice by the longest need."
    closest, borne = short_length(CLOSEST_LINES, system), short_length(BORNE_STRIPE, system)
    yield (
        f"Lines lie no closer than {closest}, and no dry stripe is advised that is wider than {borne} and "
        "than what the bed has now: judgements without a source. A stripe along a board counts twice, as "
        "water comes to it from one side alone."
    )
    yield from _too_dry_notes(zones)
    yield from _wetted_notes(zones, system)
    yield (
        "More of the same line is reckoned at the flow that the bed has now, another line at its printed "
        "flow and the bed's pressure. Whether pressure holds in longer lines is not looked at here."
    )


def _too_dry_notes(zones: Sequence[AdvisedZone]) -> Iterator[str]:
    """Yield how many choices were put aside since they leave too much dry."""
    counts = {bed.bed.name: sum(c.too_dry for c in bed.choices) for zone in zones for bed in zone.beds}
    told = [f"{name} {count}" for name, count in counts.items() if count]
    if told:
        yield f"Choices put aside because they leave too wide a dry stripe: {', '.join(told)}."


def _wetted_notes(zones: Sequence[AdvisedZone], system: System) -> Iterator[str]:
    """Yield how wide each line wets the beds and where that is from, beds drawn together."""
    by_text: dict[str, dict[str, None]] = {}
    for zone in zones:
        for advised in zone.beds:
            for choice in advised.choices:
                spacing = short_length(choice.line.emitter_spacing, system)
                wide = short_length(choice.wetted, system)
                text = f"emitters {spacing} apart wet a strip {wide} wide: {choice.wetted_source}"
                by_text.setdefault(text, {})[advised.bed.name] = None
    for text, names in by_text.items():
        yield f"{', '.join(names)}: {text}."
