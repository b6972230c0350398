"""Advice on spacing: what one common run time wastes, and which beds to lay otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.layout.advice import Advice
from scheduler.layout.bed_choices import LineChoice
from scheduler.season.results import WeekResult
from scheduler.season.supply import BedSupply
from scheduler.show.advice_beds import MOST_STEPS, AdvisedBed, AdvisedZone
from scheduler.show.advice_notes import advice_notes, short_length
from scheduler.show.notes import garden_notes, supply_notes, weather_notes
from scheduler.show.report import Column, Part, Report, Row
from scheduler.show.week_view import weather_rows_of_week
from scheduler.weather.record import DailyWeather

__all__ = ["advice_report"]

ZONE_COLUMNS = (
    Column("zone", "zone"),
    Column("step", "beds changed"),
    Column("changes", ""),
    Column("run_time_min", "valve open\na week", "duration"),
    Column("volume_l", "water\na week", "volume"),
    Column("waste_l", "more than\nneeded", "volume"),
    Column("flow_l_h", "all open", "flow"),
    Column("beds", "which"),
)
CHANGE_COLUMNS = (
    Column("zone", "zone"),
    Column("step", "beds changed"),
    Column("changes", ""),
    Column("bed", "bed"),
    Column("now", "is now\n(emitters apart)"),
    Column("then", "lay instead\n(emitters apart)"),
    Column("tube_now_m", "tube\nnow", "length"),
    Column("tube_then_m", "tube\nthen", "length"),
)
BED_COLUMNS = (
    Column("bed", "bed"),
    Column("zone", "zone"),
    Column("step", "laid"),
    Column("layout", ""),
    Column("emitters", "emitters"),
    Column("rate_mm_h", "rate", "application_rate"),
    Column("needs_min", "needs\na week", "duration"),
    Column("gets_min", "gets\na week", "duration"),
    Column("waste_l", "more than\nneeded", "volume"),
    Column("line_m", "tube", "length"),
    Column("dry_stripe_m", "stripe\nleft dry", "bore", decimals=0),
)
CHOICE_COLUMNS = (
    Column("bed", "bed"),
    Column("line", "drip line"),
    Column("spacing_m", "emitters apart", "length"),
    Column("runs", "runs"),
    Column("rings_m", "rings"),
    Column("emitters", "emitters"),
    Column("line_m", "tube", "length"),
    Column("flow_l_h", "flow", "flow"),
    Column("rate_mm_h", "rate", "application_rate"),
    Column("needs_min", "needs", "duration"),
    Column("gap_m", "lines apart", "length"),
    Column("wetted_m", "wetted", "length"),
    Column("wetted_source", "from"),
    Column("dry_stripe_m", "stays dry", "length"),
    Column("too_dry", "too dry"),
)


def advice_report(
    garden: Garden,
    daily: DailyWeather,
    *,
    result: WeekResult,
    zones: Sequence[AdvisedZone],
    system: System,
) -> Report:
    """Return the advice for the week of a table as a report."""
    beds = tuple(advised.bed for zone in zones for advised in zone.beds)
    return Report(
        schema="rillbook.advice/1",
        title=f"{garden.name}: spacing of drip line, by the week from {result.on:%a} {result.on.day} "
        f"{result.on:%b %Y}",
        as_of=result.on,
        parts=(
            Part(
                "rows",
                "What one common run time wastes in the week",
                ZONE_COLUMNS,
                tuple(row for zone in zones for row in _zone_rows(zone)),
                group="zone",
            ),
            Part(
                "changes",
                "Changes",
                CHANGE_COLUMNS,
                tuple(row for zone in zones for row in _change_rows(zone, system)),
            ),
            Part(
                "beds",
                "Beds as they are, and after all changes",
                BED_COLUMNS,
                tuple(row for zone in zones for row in _bed_rows(zone, system)),
                group="bed",
            ),
            Part(
                "choices",
                "All choices",
                CHOICE_COLUMNS,
                tuple(row for zone in zones for bed in zone.beds for row in _choice_rows(bed)),
                machine_only=True,
            ),
        ),
        lines=(
            *(line for zone in zones for line in _zone_lines(garden, zone, system)),
            *(f"DOES NOT FIT: {text}." for text in result.plan.conflicts),
        ),
        notes=(
            *advice_notes(garden, zones, system=system),
            *weather_notes(daily, weather_rows_of_week(daily, result), until=result.on),
            *supply_notes(garden, beds, system),
            *garden_notes(garden, beds),
        ),
    )


def _layout_text(choice: LineChoice, system: System) -> str:
    """Return how a bed is laid in words, such as ``3 runs of close (6 in)``."""
    line = f"{choice.line.name} ({short_length(choice.line.emitter_spacing, system)})"
    if choice.runs is not None:
        return f"{choice.runs} run{'s' * (choice.runs != 1)} of {line}"
    if choice.rings:
        across = ", ".join(short_length(diameter, system) for diameter in choice.rings)
        return f"{len(choice.rings)} ring{'s' * (len(choice.rings) != 1)} of {line}, {across} across"
    if choice.length is not None:
        return f"{format_quantity(choice.length, 'length', system)} of {line}"
    return f"{choice.emitters} emitters of {line}"


def _step_words(zone: AdvisedZone, step: Advice) -> str:
    """Return how many beds a step changes."""
    if step.changes == 0:
        return "none"
    full = ", all that help" * (step is zone.steps[-1] and step.changes > MOST_STEPS)
    return f"{step.changes} of {len(zone.beds)}{full}"


def _changed(zone: AdvisedZone, step: Advice) -> list[tuple[AdvisedBed, LineChoice]]:
    """Return the beds that a step changes, each with how it is laid then."""
    pairs = zip(zone.beds, step.chosen, strict=True)
    return [(advised, advised.choices[option]) for advised, option in pairs if option]


def _zone_rows(zone: AdvisedZone) -> Iterator[Row]:
    for step in zone.steps:
        yield {
            "zone": zone.zone,
            "step": _step_words(zone, step),
            "changes": step.changes,
            "run_time_min": step.minutes,
            "volume_l": step.volume,
            "waste_l": step.waste,
            "flow_l_h": _flow(zone, step),
            "beds": [advised.bed.name for advised, _ in _changed(zone, step)] or None,
        }


def _change_rows(zone: AdvisedZone, system: System) -> Iterator[Row]:
    """Yield what to lay in place of what, for every step."""
    for step in zone.steps:
        for advised, choice in _changed(zone, step):
            yield {
                "zone": zone.zone,
                "step": f"{step.changes} of {len(zone.beds)}",
                "changes": step.changes,
                "bed": advised.bed.name,
                "now": _layout_text(advised.choices[0], system),
                "then": _layout_text(choice, system),
                "tube_now_m": advised.choices[0].length,
                "tube_then_m": choice.length,
            }


def _flow(zone: AdvisedZone, step: Advice) -> float:
    """Return the flow of a zone's beds that need water, all open [L/h]."""
    return sum(bed.options.flow[option] for bed, option in zip(zone.beds, step.chosen, strict=True))


def _bed_rows(zone: AdvisedZone, system: System) -> Iterator[Row]:
    """Yield a row for each bed as it is, and another if it is to be changed."""
    if not zone.steps:
        return
    now, last = zone.steps[0], zone.steps[-1]
    for number, advised in enumerate(zone.beds):
        yield _bed_row(zone, advised, option=0, step=now, words="now", system=system)
        if last.changes:
            option = last.chosen[number]
            words = "then" if option else "stays"
            yield _bed_row(zone, advised, option=option, step=last, words=words, system=system)


def _bed_row(
    zone: AdvisedZone, advised: AdvisedBed, *, option: int, step: Advice, words: str, system: System
) -> Row:
    choice, supply = advised.choices[option], advised.supplies[option]
    return {
        "bed": advised.bed.name,
        "zone": zone.zone,
        "step": words,
        "layout": _layout_text(choice, system),
        "emitters": choice.emitters,
        "rate_mm_h": supply.rate,
        "needs_min": advised.options.minutes(option),
        "gets_min": step.minutes,
        "waste_l": max(advised.options.over(option, step.minutes), 0.0),
        "line_m": choice.length,
        "dry_stripe_m": choice.dry_stripe,
    }


def _choice_rows(advised: AdvisedBed) -> Iterator[Row]:
    for number, (choice, supply) in enumerate(zip(advised.choices, advised.supplies, strict=True)):
        yield _choice_row(advised, number, choice, supply)


def _choice_row(advised: AdvisedBed, number: int, choice: LineChoice, supply: BedSupply) -> Row:
    return {
        "bed": advised.bed.name,
        "line": choice.line.name,
        "spacing_m": choice.line.emitter_spacing,
        "runs": choice.runs,
        "rings_m": list(choice.rings) or None,
        "emitters": choice.emitters,
        "line_m": choice.length,
        "flow_l_h": supply.flow,
        "rate_mm_h": supply.rate,
        "needs_min": advised.options.minutes(number),
        "gap_m": choice.gap,
        "wetted_m": choice.wetted,
        "wetted_source": choice.wetted_source,
        "dry_stripe_m": choice.dry_stripe,
        "too_dry": choice.too_dry,
    }


def _zone_lines(garden: Garden, zone: AdvisedZone, system: System) -> Iterator[str]:
    """Yield what the tables come to, in sentences."""
    if not zone.steps:
        yield f"{zone.zone}: no bed behind it is planted all week and needs water."
        return
    yield _gain(zone, system)
    names = ", ".join(zone.without_need)
    if names:
        yield f"{zone.zone}: left out, as they need no water or are not planted all week: {names}."
    usable = garden.water_source.flow * garden.water_source.usable_share
    for step in zone.steps[1:]:
        if (flow := _flow(zone, step)) > usable:
            yield (
                f"{zone.zone}: CAUTION: with {step.changes} of {len(zone.beds)} changed its beds draw "
                f"{format_quantity(flow, 'flow', system)} together, more than the "
                f"{format_quantity(usable, 'flow', system)} that the plan counts on."
            )


def _gain(zone: AdvisedZone, system: System) -> str:
    """Return what the first change and all changes save."""
    now, last = zone.steps[0], zone.steps[-1]
    waste = format_quantity(now.waste, "volume", system)
    if len(zone.beds) == 1:
        return f"{zone.zone}: one bed alone has its own run time; nothing to gain by spacing."
    if not last.changes:
        return f"{zone.zone}: {waste} a week more than needed; no choice at hand makes it less."
    parts = [f"{zone.zone}: as it is, {waste} a week more than its beds need"]
    for step in zone.steps[1:]:
        names = ", ".join(advised.bed.name for advised, _ in _changed(zone, step))
        what = "one bed" if step.changes == 1 else f"{step.changes} beds"
        parts.append(f"{what} laid otherwise ({names}): {format_quantity(step.waste, 'volume', system)}")
    return "; ".join(parts) + "."
