"""What the tables of hand valves come to in sentences, and how they were found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.season.order import NOTABLE_EXCESS
from scheduler.season.results import WeekResult
from scheduler.season.valves import WORTH_WALKING, ZoneValves
from scheduler.show.notes import day_text, percent
from scheduler.show.week_beds import day_of

__all__ = ["stand_shut_line", "valve_notes", "zone_lines"]


def zone_lines(garden: Garden, zone: ZoneValves, result: WeekResult, system: System) -> Iterator[str]:
    """Yield what one zone's tables come to."""
    yield _gain(zone, system)
    yield from _within_runs(zone, system)
    names = [garden.beds[number].name for number in zone.beds.index]
    bare = [name for name, growing in zip(names, zone.growing, strict=True) if not growing.all()]
    if bare:
        yield (f"{', '.join(bare)}: keep the valve shut while nothing grows there; that counts as no trip.")
    for n, name in enumerate(names):
        if zone.excess[:, n].max() > NOTABLE_EXCESS:
            yield _short(name, zone, result, n, system)


def _gain(zone: ZoneValves, system: System) -> str:
    """Return what the trips save, and what more of them would."""
    name, recipe, first, last = zone.beds.zone.name, zone.recipe, zone.ladder[0], zone.ladder[-1]
    if not first.volume:
        return f"{name}: no run is needed this week, so there is nothing to shut."
    water = format_quantity(first.volume, "volume", system)
    if last is first:
        return f"{name}: no trip to a valve saves water; {water} is the least that leaves nobody shorter."
    parts = [f"{name}: without a trip {water} a week"]
    if (freed := float(zone.litres_before.sum()) - first.volume) > WORTH_WALKING:
        parts[0] += f", {format_quantity(freed, 'volume', system)} less than the week's table"
    if recipe is not first:
        saved = first.volume - recipe.volume
        parts.append(
            f"{recipe.all_trips} trips save {format_quantity(saved, 'volume', system)} of it "
            f"({percent(saved / first.volume)})"
        )
    if recipe is last:
        parts.append("more trips save nothing more")
    else:
        after = zone.ladder[zone.ladder.index(recipe) + 1]
        more = format_quantity(recipe.volume - after.volume, "volume", system)
        parts.append(f"{after.all_trips - recipe.all_trips} more would save another {more}")
        if after is not last:
            most = format_quantity(first.volume - last.volume, "volume", system)
            parts.append(f"all that walking can save is {most}, with {last.all_trips} trips")
    return "; ".join(parts) + "."


def _within_runs(zone: ZoneValves, system: System) -> Iterator[str]:
    """Yield what the other way comes to, if it saves anything."""
    other = zone.within_runs
    if other.visits:
        yield (
            f"{zone.beds.zone.name}: the other way (season --shut-valves), each valve shut within every "
            "run of the week's table once its own bed has enough, takes "
            f"{format_quantity(other.volume, 'volume', system)} and {other.visits} visits while "
            "water runs, and as many to open the valves again."
        )


def _short(name: str, zone: ZoneValves, result: WeekResult, n: int, system: System) -> str:
    """Return how far a bed passes its own limit under the recipe, and how far by the week's table."""
    over = zone.excess[:, n]
    first = day_text(day_of(result, int(np.argmax(over > NOTABLE_EXCESS))))
    most, before = (
        format_quantity(float(excess[:, n].max()), "water_depth", system)
        for excess in (zone.excess, zone.excess_before)
    )
    if zone.excess_before[:, n].max() <= NOTABLE_EXCESS:
        table = "which it keeps to by the week's table"
    else:
        table = f"by the week's table {'too' if before == most else f'by up to {before}'}"
    may = " may go short: it" if zone.may_pass[n] else ""
    return f"{name}{may} passes its limit on {first} by up to {most}, {table}."


def stand_shut_line(names: Sequence[str]) -> Iterator[str]:
    """Yield which valves are recorded as shut on the first day, if any are."""
    if names:
        yield (
            f"{', '.join(names)}: recorded as shut now. The recipe begins with all valves open: open it in "
            "time for the first run that it should get, and record that."
        )


def valve_notes(
    garden: Garden, zones: Sequence[ZoneValves], *, trips: int, asked: bool, system: System
) -> Iterator[str]:
    """Yield what a trip is, what was searched, and what the recipe rests on."""
    least = format_quantity(WORTH_WALKING, "volume", system)
    if not asked:
        yield f"The recipe is for {trips} trips a week, as --trips does not tell how many you will make."
    yield (
        "A trip is one visit to one valve, to open or to shut it between runs. Every valve begins and ends "
        "the week open, so that the recipe can be kept again: each row of runs through which it is shut "
        "takes two trips."
    )
    yield (
        "No bed is left shorter than the week's table leaves it, unless it is named with --may-go-short; one "
        "that starts past its limit may take the week to catch up, as in the table. Of all days that the "
        "timer holds, minutes that have room, and runs for each valve, these take the least water; trips "
        f"that save less than {least} together are left out."
    )
    yield (
        "Saved is beside the week's table; saved a trip is what would run through the valve if it stayed "
        "open, by the trips that shutting it takes."
    )
    if len(zones) > 1:
        yield (
            "The trips go to the zones where they save most. Zones are set in the plan's order, each in "
            "the room that the others leave."
        )
    yield (
        "With some valves shut the others are taken to flow as with all open. A bed that is kept near its "
        "limit starts the next week drier: ask again each week, and when plants or weather change."
    )
    if garden.timer.starts_per_day > 1:
        yield "All starts of one day count as one run here: valves are not turned between them."
    yield "A valve left shut over a run is kept in mind with: rillbook log valve BED shut, and later open."
