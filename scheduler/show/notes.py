"""What a person must know about an answer: what was assumed, estimated, borrowed, measured or limited."""

from __future__ import annotations

from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Bed, Garden
from scheduler.garden.units import format_quantity, to_display, unit_label
from scheduler.season.clock_changes import clock_changes
from scheduler.season.ground import drip_wetted_share
from scheduler.season.growth import zero_yield_salinity
from scheduler.season.supply import garden_supply, pressure_span
from scheduler.water.need import GREATEST_LEACHING
from scheduler.weather.record import DailyWeather

__all__ = [
    "clock_notes",
    "clock_text",
    "day_text",
    "garden_notes",
    "percent",
    "restriction_notes",
    "salt_notes",
    "supply_notes",
    "weather_notes",
    "wetted_notes",
]


def day_text(day: date) -> str:
    """Return a date for people, such as ``Mon 13 Jul``."""
    return f"{day:%a} {day.day} {day:%b}"


def clock_text(minute: int) -> str:
    """Return minutes after midnight as a time of day."""
    return f"{minute // 60:02d}:{minute % 60:02d}"


def _spans(dates: NDArray[np.datetime64]) -> str:
    """Return dates as text, runs of days drawn together."""
    parts: list[str] = []
    begin = previous = None
    for day in [*dates.tolist(), None]:
        if previous is not None and (day is None or (day - previous).days != 1):
            parts.append(f"{begin}" if begin == previous else f"{begin} to {previous}")
            begin = day
        begin = begin or day
        previous = day
    return ", ".join(parts)


def percent(share: float) -> str:
    """Return a share as whole percent."""
    return f"{100.0 * share:.0f} %"


def weather_notes(
    daily: DailyWeather, rows: NDArray[np.int64], *, until: date | None = None
) -> tuple[str, ...]:
    """Return the record, its terms, and what of the days used was estimated or foretold.

    `rows` are the rows of the record that went into the answer; forecast rows from `until` on are what a
    forecast is for and are not named.
    """
    notes = [f"Weather: {daily.source}" + (f" ({daily.attribution})." if daily.attribution else ".")]
    for kind, flags in daily.estimated.items():
        used = daily.dates[rows][flags[rows]]
        if used.size:
            which = f": {_spans(used)}" if kind == "gap" or used.size <= 7 else ""
            what = "filled for missing days" if kind == "gap" else f"{kind} estimated, not measured,"
            notes.append(f"Weather {what} on {used.size} of the {rows.size} days reckoned{which}.")
    past = np.ones(rows.size, dtype=bool) if until is None else daily.dates[rows] < np.datetime64(until)
    foretold = daily.dates[rows][daily.forecast[rows] & past]
    if foretold.size:
        notes.append(f"Forecast rows stand in for days not yet recorded: {_spans(foretold)}.")
    notes += [f"Weather: {note}." for note in daily.notes if not note.startswith("columns read")]
    return tuple(notes)


def supply_notes(garden: Garden, beds: tuple[Bed, ...], system: System) -> tuple[str, ...]:
    """Return where flows and efficiencies of some of the garden's beds are from, beds drawn together."""
    by_text: dict[str, list[str]] = {}
    computed = []
    for bed, supply in zip(garden.beds, garden_supply(garden), strict=True):
        if bed not in beds:
            continue
        flow = f"{to_display(supply.emitter_flow, 'flow', system):.2f} {unit_label('flow', system)}"
        if supply.pressures is None:
            by_text.setdefault(f"emitter flow {flow}: {supply.emitter_flow_source}", []).append(bed.name)
        else:
            computed.append(f"{bed.name} {flow} at {pressure_span(supply.pressures, system)}")
        share = format_quantity(supply.efficiency, "ratio", system)
        by_text.setdefault(f"application efficiency {share}: {supply.efficiency_source}", []).append(bed.name)
    drawn = tuple(f"{_names(names, len(beds))}: {text}." for text, names in by_text.items())
    if not computed:
        return drawn
    return (*drawn, f"Emitter flow computed from the layout, not measured: {', '.join(computed)}.")


def wetted_notes(garden: Garden, beds: tuple[Bed, ...]) -> tuple[str, ...]:
    """Return of which beds the share that drip wets is assumed, and why; none if it is not reckoned with."""
    if garden.planning.coefficient != "dual":
        return ()
    by_text: dict[str, list[str]] = {}
    for bed in beds:
        share, source = drip_wetted_share(bed)
        if source.startswith("assumed"):
            by_text.setdefault(f"drip wets {percent(share)} of the surface, {source}", []).append(bed.name)
    return tuple(f"{_names(names, len(beds))}: {text}." for text, names in by_text.items())


def _names(names: list[str], of: int) -> str:
    """Return bed names for a note."""
    return "All beds" if len(names) == of and of > 1 else ", ".join(names)


def garden_notes(garden: Garden, beds: tuple[Bed, ...]) -> tuple[str, ...]:
    """Return what the plan left to assumptions, and every crop whose figures are borrowed.

    Of beds and soils only those given; what is said of several beds is said once. Timer and bill are left
    to `check`, which tells all.
    """
    borrowed = {
        f"Borrowed: {planting.crop} in {bed.name} goes by the figures of {planting.borrowed_from}."
        for bed in beds
        for planting in bed.plantings
        if planting.borrowed_from
    }
    places = {f'bed "{bed.name}"': bed.name for bed in beds}
    soils = {f'soil "{bed.soil.name}"' for bed in beds}
    by_text: dict[str, list[str]] = {}
    for note in garden.assumed:
        if note.where in places:
            by_text.setdefault(note.text, []).append(places[note.where])
        elif note.where in soils or note.where.startswith(("planning", "water_source", "zone", "weather")):
            by_text.setdefault(note.text, []).append(note.where)
    assumed = tuple(f"{_names(names, len(beds))}: {text}." for text, names in by_text.items())
    return (*sorted(borrowed), *assumed)


def salt_notes(garden: Garden, beds: tuple[Bed, ...]) -> tuple[str, ...]:
    """Return where leaching is capped, or cannot be reckoned, with a water test in the plan."""
    salinity = garden.water_source.salinity
    if salinity is None:
        return ()
    unknown, unfit = set(), set()
    for bed in beds:
        for planting in bed.plantings:
            if planting.salinity_threshold is None or planting.salinity_slope is None:
                unknown.add(planting.crop)
            elif salinity / (2.0 * zero_yield_salinity(planting)) > GREATEST_LEACHING:
                unfit.add(planting.crop)
    notes = []
    if unknown:
        notes.append(f"No salt tolerance is known for {', '.join(sorted(unknown))}: nothing is added for it.")
    if unfit:
        notes.append(
            f"The water is too salty for {', '.join(sorted(unfit))}: leaching is held at "
            f"{percent(GREATEST_LEACHING)}, which will not do; ask your extension service."
        )
    return tuple(notes)


def restriction_notes(garden: Garden, first: date, last: date) -> tuple[str, ...]:
    """Return the restrictions that touch a span of days, and how the person entered their exemption."""
    notes = []
    for limit in garden.restrictions:
        if limit.begins <= last and first <= limit.ends:
            kept = {
                "yes": "entered as exempt, so not kept",
                "no": "kept",
                "unknown": "kept, since it is not known whether drip or food beds are exempt; ask",
            }[limit.exempt]
            asked = "" if limit.asked_on is None else f" (asked or read on {limit.asked_on})"
            notes.append(f"Restriction ({limit.reason}), {limit.begins} to {limit.ends}: {kept}{asked}.")
    return tuple(notes)


def clock_notes(garden: Garden, first: date, last: date) -> tuple[str, ...]:
    """Return the changes of clocks in a span of days, and what the table makes of them."""
    return tuple(
        f"Clocks change: on {day_text(change.on)} {clock_text(change.begin)} to {clock_text(change.until)} "
        f"{'never comes' if change.skipped else 'comes twice'}. No run of that day lies in it or across it; "
        "look whether the timer's clock has followed."
        for change in clock_changes(first, last, garden.site.timezone)
    )
