"""Advice on spacing: what one common run time wastes, and which beds to lay otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.layout.advice import Advice
from scheduler.layout.bed_choices import BORNE_STRIPE, CLOSEST_LINES, LineChoice
from scheduler.season.results import WeekResult
from scheduler.season.supply import BedSupply
from scheduler.show.advice_beds import MOST_STEPS, AdvisedBed, AdvisedZone
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
BED_COLUMNS = (
    Column("bed", "bed"),
    Column("zone", "zone"),
    Column("step", "laid"),
    Column("layout", "drip line"),
    Column("emitters", "emitters"),
    Column("rate_mm_h", "rate", "application_rate"),
    Column("needs_min", "needs\na week", "duration"),
    Column("gets_min", "gets\na week", "duration"),
    Column("waste_l", "more than\nneeded", "volume"),
    Column("line_m", "tube", "length"),
    Column("dry_stripe_m", "stays\ndry", "length"),
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
                tuple(row for zone in zones for row in _zone_rows(zone, system)),
                group="zone",
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
        lines=tuple(line for zone in zones for line in _zone_lines(garden, zone, system)),
        notes=(
            *_own_notes(garden, zones, system),
            *weather_notes(daily, weather_rows_of_week(daily, result), until=result.on),
            *supply_notes(beds, system),
            *garden_notes(garden, beds),
        ),
    )


def _layout_text(choice: LineChoice, system: System) -> str:
    """Return how a bed is laid in words, such as ``3 runs of "close", emitters 6.0 in apart``."""
    line = f'"{choice.line.name}", emitters {_short(choice.line.emitter_spacing, system)} apart'
    if choice.runs is not None:
        return f"{choice.runs} run{'s' * (choice.runs != 1)} of {line}"
    if choice.rings:
        across = ", ".join(_short(diameter, system) for diameter in choice.rings)
        return f"{len(choice.rings)} ring{'s' * (len(choice.rings) != 1)} ({across} across) of {line}"
    if choice.length is not None:
        return f"{format_quantity(choice.length, 'length', system)} of {line}"
    return f"{choice.emitters} emitters of {line}"


def _short(length: float, system: System) -> str:
    """Return a length within a bed in inches or centimetres."""
    return format_quantity(length, "length", system)


def _step_words(step: Advice, *, of: int) -> str:
    """Return how many beds a step changes."""
    if step.changes == 0:
        return "none"
    many = "all that help: " if step.changes > MOST_STEPS else ""
    return f"{many}{step.changes} of {of}"


def _zone_rows(zone: AdvisedZone, system: System) -> Iterator[Row]:
    for step in zone.steps:
        changed = [
            (advised, advised.choices[option])
            for advised, option in zip(zone.beds, step.chosen, strict=True)
            if option
        ]
        yield {
            "zone": zone.zone,
            "step": _step_words(step, of=len(zone.beds)),
            "changes": step.changes,
            "run_time_min": step.minutes,
            "volume_l": step.volume,
            "waste_l": step.waste,
            "flow_l_h": _flow(zone, step),
            "beds": [f"{advised.bed.name}: {_layout_text(choice, system)}" for advised, choice in changed]
            or None,
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
        yield f"{zone.zone}: no bed behind it needs water this week."
        return
    yield _gain(zone, system)
    names = ", ".join(zone.without_need)
    if names:
        yield f"{zone.zone}: without need this week and left out: {names}; keep the valves shut."
    usable = garden.water_source.flow * garden.water_source.usable_share
    flow = _flow(zone, zone.steps[-1])
    if zone.steps[-1].changes and flow > usable:
        yield (
            f"{zone.zone}: CAUTION: after all changes its beds draw {format_quantity(flow, 'flow', system)} "
            f"together, more than the {format_quantity(usable, 'flow', system)} that the plan counts on."
        )


def _gain(zone: AdvisedZone, system: System) -> str:
    """Return what the first change and all changes save."""
    now, last = zone.steps[0], zone.steps[-1]
    waste = format_quantity(now.waste, "volume", system)
    if len(zone.beds) == 1:
        return f"{zone.zone}: one bed alone has its own run time; nothing to gain by spacing."
    if not last.changes:
        return f"{zone.zone}: {waste} a week more than needed; no choice at hand makes it less."
    parts = [f"{zone.zone}: {waste} a week more than its beds need"]
    for step in zone.steps[1:]:
        names = ", ".join(bed.bed.name for bed, option in zip(zone.beds, step.chosen, strict=True) if option)
        left = format_quantity(step.waste, "volume", system)
        parts.append(
            f"{step.changes} change{'s' * (step.changes != 1)} ({names}) leave{'s' * (step.changes == 1)} {left}"
        )
    return "; ".join(parts) + "."


def _own_notes(garden: Garden, zones: Sequence[AdvisedZone], system: System) -> Iterator[str]:
    """Yield how the advice was found and what it does not look at."""
    yield (
        "Every choice was tried: the waste told is the least there is for so many changes. Of equal ones "
        "fewer changes are taken, then less tube."
    )
    yield (
        "It is the need of this one week. Ask again for other weeks, the peak of summer first, before you "
        "cut tube: beds change their need through the season."
    )
    yield (
        "The bed that needs longest sets the time; a valve shut early, as the week's table tells, saves the "
        "same water without new tube. The valve minutes are of the week's use, not of what the soil lacks now."
    )
    means = [
        zone.name for zone in garden.zones if zone.rule == "area mean" and len(garden.beds_of(zone.name)) > 1
    ]
    if means:
        yield f"{', '.join(means)}: the plan goes by the area mean there; the advice by the bed that needs longest."
    yield (
        f"Lines are laid no closer than {_short(CLOSEST_LINES, system)}, and no stripe is left dry that is wider "
        f"than {_short(BORNE_STRIPE, system)} and than what the bed has now: judgements without a source. A "
        "stripe along a board counts twice, as water reaches it from one side."
    )
    yield from _wetted_notes(zones, system)
    yield (
        "More of the same line is reckoned at the flow measured, another line at its printed flow and the bed's "
        "pressure. Whether pressure holds in longer lines is not looked at here."
    )


def _wetted_notes(zones: Sequence[AdvisedZone], system: System) -> Iterator[str]:
    """Yield how wide each line wets the beds and where that is from, beds drawn together."""
    by_text: dict[str, list[str]] = {}
    for zone in zones:
        for advised in zone.beds:
            for choice in advised.choices:
                text = (
                    f"emitters {_short(choice.line.emitter_spacing, system)} apart wet a strip "
                    f"{_short(choice.wetted, system)} wide ({choice.wetted_source})"
                )
                names = by_text.setdefault(text, [])
                if advised.bed.name not in names:
                    names.append(advised.bed.name)
    for text, names in by_text.items():
        yield f"{', '.join(names)}: {text}."
