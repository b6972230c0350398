"""A hot spell in the forecast: which beds it overruns, and what to set from when until when."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.units import format_quantity
from scheduler.season.heat import HOT_SHARE
from scheduler.season.heat_days import Heat, Temporary
from scheduler.season.results import WeekResult
from scheduler.season.setup import Setup
from scheduler.show.known import known_notes
from scheduler.show.notes import (
    day_text,
    garden_notes,
    percent,
    restriction_notes,
    supply_notes,
    weather_notes,
)
from scheduler.show.report import Column, Part, Report, Row
from scheduler.show.week_view import clock_text, weather_rows_of_week
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.week import ZoneSetting

__all__ = ["heat_report"]

ZONE_COLUMNS = (
    Column("zone", "zone"),
    Column("standing", "stands at"),
    Column("days", "set to\nrun on"),
    Column("starts", "start at"),
    Column("run_time_min", "each run", "duration"),
    Column("first", ""),
    Column("last", ""),
    Column("more_l", "water\nmore", "volume"),
)
BED_COLUMNS = (
    Column("bed", "bed"),
    Column("zone", "zone"),
    Column("passes_on", "passes its\nlimit on", day=True),
    Column("excess_mm", "by at most", "water_depth"),
    Column("excess_mm_d", ""),
    Column("left_mm_d", ""),
    Column("then", "with the temporary setting"),
)
DAY_COLUMNS = (
    Column("date", "day", day=True),
    Column("tmax_c", "warmest", "temperature"),
    Column("reference_et_mm", "reference ET", "water_depth"),
    Column("usual_et_mm", "usual", "water_depth"),
    Column("hot", ""),
    Column("word", "over usual"),
)

#: What is left of an excess below this is not worth a word [mm d].
LITTLE_LEFT = 0.5


def _zone_title(temporary: Temporary | None, on: date) -> str:
    """Return the title of the zones, with the days of a temporary setting."""
    if temporary is None:
        return "Zones"
    first, last = (day_text(on + timedelta(days=day)) for day in (temporary.first, temporary.last))
    return f"Zones, for {_span_text(first, last)} alone"


def _span_text(first: str, last: str) -> str:
    """Return a span of days in words."""
    return first if first == last else f"{first} up to and with {last}"


def _setting_text(setting: ZoneSetting) -> str:
    """Return a setting in a few words."""
    if not setting.begins:
        return "no run"
    starts = " ".join(clock_text(begin) for begin in setting.begins)
    return f"{setting.days}, {setting.minutes} min at {starts}"


def _days_text(setting: ZoneSetting, temporary: Temporary, on: date) -> str:
    """Return the run days of a temporary setting, those of its span alone."""
    span = range(temporary.last - temporary.first + 1)
    runs = [day for day in span if setting.mask[day]]
    if len(runs) == len(span):
        return "every day"
    if "every" in setting.days:
        return setting.days
    return " ".join(f"{on + timedelta(days=temporary.first + day):%a}" for day in runs) or "no run"


def _zone_rows(heat: Heat, setup: Setup, on: date) -> list[Row]:
    """Return what every zone stands at, and what to set where it changes."""
    rows: list[Row] = []
    temporary = heat.temporary
    for number, (beds, stands) in enumerate(zip(setup.zones, heat.standing, strict=True)):
        row: Row = {"zone": beds.zone.name, "standing": _setting_text(stands)}
        if temporary is not None:
            changed = temporary.changed[number]
            setting = temporary.settings[number]
            row |= {
                "days": _days_text(setting, temporary, on) if changed else "as it stands",
                "starts": [clock_text(begin) for begin in setting.begins] if changed else None,
                "run_time_min": setting.minutes if changed else None,
                "first": on + timedelta(days=temporary.first) if changed else None,
                "last": on + timedelta(days=temporary.last) if changed else None,
                "more_l": float(temporary.litres_more[number]),
            }
        rows.append(row)
    return rows


def _bed_rows(heat: Heat, setup: Setup, on: date) -> list[Row]:
    """Return the beds that pass their limits under the standing setting, for the forecast's sake."""
    rows: list[Row] = []
    for number, bed in enumerate(setup.garden.beds):
        if not heat.failing[number]:
            continue
        over = heat.heat_excess[:, number]
        left = None if heat.temporary is None else float(heat.temporary.heat_excess[number])
        rows.append(
            {
                "bed": bed.name,
                "zone": bed.zone,
                "passes_on": on + timedelta(days=int(np.argmax(over > 0.0))),
                "excess_mm": float(over.max()),
                "excess_mm_d": float(over.sum()),
                "left_mm_d": left,
                "then": "-" if left is None else "within" if left <= LITTLE_LEFT else _still(left, over),
            }
        )
    return rows


def _still(left: float, over: np.ndarray) -> str:
    """Return how much of an excess is left, in words."""
    return f"still past it, {percent(left / float(over.sum()))} of that"


def _day_rows(heat: Heat, on: date) -> list[Row]:
    """Return the forecast days."""
    ahead = heat.ahead
    return [
        {
            "date": on + timedelta(days=int(day)),
            "tmax_c": float(ahead.tmax[day]),
            "reference_et_mm": float(ahead.reference_et[day]),
            "usual_et_mm": float(ahead.usual_et[day]),
            "hot": bool(heat.hot[day]),
            "word": f"{percent(ahead.reference_et[day] / ahead.usual_et[day] - 1.0)}"
            + (", hot" if heat.hot[day] else ""),
        }
        for day in np.flatnonzero(ahead.foretold)
    ]


def _lines(heat: Heat, setup: Setup, on: date, system: System) -> list[str]:
    """Return the answer in sentences."""
    names = [bed.name for bed, fails in zip(setup.garden.beds, heat.failing, strict=True) if fails]
    if not heat.ahead.foretold.any():
        return [
            f"There are no forecast rows from {day_text(on)} on, so nothing can be said of heat to come. Add "
            "some to the record, or fetch them if the plan names a source."
        ]
    if not names:
        hot = "The forecast has hot days, but no bed" if heat.hot.any() else "No heat in the forecast: no bed"
        return [f"{hot} passes its limit for it. Leave the timer as it is."]
    if heat.spell is None:
        return [
            f"No hot spell, yet {', '.join(names)} will be drier than the setting allows for: for want of "
            "rain, or by many days a little above usual. See rillbook week for a new setting."
        ]
    begin, end = (day_text(on + timedelta(days=day)) for day in heat.spell)
    spell = f"Hot day {begin}" if begin == end else f"Hot spell {begin} to {end}"
    if heat.temporary is None:
        return [
            f"{spell}: {', '.join(names)} will pass the limit, and no setting of this timer helps: the soil "
            "holds less than such days take, or the hours allow no more. Leave the timer as it is; shade "
            "those beds at midday, or water them a second time by hand (common practice)."
        ]
    return [
        f"{spell}: the standing setting does not carry it.",
        *_what_to_set(heat, heat.temporary, on, system),
    ]


def _what_to_set(heat: Heat, temporary: Temporary, on: date, system: System) -> list[str]:
    """Return what to do for a spell, in sentences."""
    first, last = (day_text(on + timedelta(days=day)) for day in (temporary.first, temporary.last))
    lines = []
    back = on + timedelta(days=temporary.last + 1)
    for setting, stands, changed in zip(temporary.settings, heat.standing, temporary.changed, strict=True):
        if changed:
            starts = " and ".join(clock_text(begin) for begin in setting.begins)
            run = f"{setting.minutes} min at {starts}" if setting.begins else "no run"
            when = f"on {first}, " if first == last else f"from {first} up to and with {last}: "
            days = "" if first == last else f"{_days_text(setting, temporary, on)}, "
            lines.append(f"{setting.zone}, {when}{days}{run}; then put back: {_setting_text(stands)}.")
    amount = format_quantity(float(temporary.litres_more.sum()), "volume", system)
    lines.append(f"That takes {amount} more than the standing setting.")
    if temporary.goes_on:
        lines.append(f"The spell lasts longer than a week's setting: ask again on {day_text(back)}.")
    return lines


def _notes(
    heat: Heat,
    setup: Setup,
    result: WeekResult,
    *,
    given: frozenset[int],
    advised: date | None,
    system: System,
) -> tuple[str, ...]:
    """Return what the answer rests on."""
    garden, care = setup.garden, setup.garden.planning
    beds = tuple(bed for bed, grows in zip(garden.beds, result.growth.in_use[0], strict=True) if grows)
    told = ", ".join(garden.zones[number].name for number in sorted(given))
    others = ", ".join(zone.name for number, zone in enumerate(garden.zones) if number not in given)
    seen = result.on + timedelta(days=DAYS_PER_WEEK - 1)
    return (
        *([f"Standing, as you gave it: {told}."] if told else []),
        *([_others_note(others, advised)] if others else []),
        f"Hot is a forecast day whose reference ET is over {percent(HOT_SHARE - 1.0)} above the usual of its "
        "date (judgement). A bed counts if it passes its limit further than it would in usual weather.",
        f"Of forecast rain {percent(care.forecast_rain)} is counted, of a normal's "
        f"{percent(care.normal_rain)}. A forecast of more than a few days is often wrong: ask again every "
        "other day.",
        "Run before dawn: water that stands in black tube at midday can scald what it meets (usual caution).",
        *weather_notes(setup.daily, weather_rows_of_week(setup.daily, result), until=result.on),
        *known_notes(garden, result, system=system),
        *restriction_notes(garden, result.on, seen),
        *supply_notes(garden, beds, system),
        *garden_notes(garden, beds),
    )


def _others_note(names: str, advised: date | None) -> str:
    """Return where the standing settings are from that nobody gave."""
    if advised is not None:
        return f"Standing, as the table from {day_text(advised)} in the ledger advised: {names}."
    return (
        "Standing, as usual weather asks for (the planner's setting on the normals of these days, from beds "
        f"at their limits): {names}. Give your own with --standing, or take the ledger's with --advised."
    )


def heat_report(
    setup: Setup,
    result: WeekResult,
    heat: Heat,
    *,
    given: frozenset[int],
    advised: date | None,
    system: System,
) -> Report:
    """Return what the forecast's heat asks for as a report; `given` are zones whose setting a person gave.

    `advised` is the first day of the table that stands on the others, None if usual weather gives them.
    """
    on, temporary = result.on, heat.temporary
    spell = None if heat.spell is None else [on + timedelta(days=day) for day in heat.spell]
    columns = ZONE_COLUMNS if temporary is not None else ZONE_COLUMNS[:2]
    return Report(
        schema="rillbook.heat/1",
        title=f"{setup.garden.name}: heat ahead, from {day_text(on)} {on:%Y}",
        as_of=on,
        parts=(
            Part("rows", _zone_title(temporary, on), columns, tuple(_zone_rows(heat, setup, on))),
            Part(
                "beds",
                "Beds that pass their limits under the standing setting, beyond what usual weather would do",
                BED_COLUMNS,
                tuple(_bed_rows(heat, setup, on)),
            ),
            Part("days", "Forecast", DAY_COLUMNS, tuple(_day_rows(heat, on))),
        ),
        lines=tuple(_lines(heat, setup, on, system)),
        notes=_notes(heat, setup, result, given=given, advised=advised, system=system),
        extra={
            "spell": spell,
            "first": None if temporary is None else on + timedelta(days=temporary.first),
            "last": None if temporary is None else on + timedelta(days=temporary.last),
            "more_l": None if temporary is None else float(temporary.litres_more.sum()),
            "forecast_days": int(heat.ahead.foretold.sum()),
        },
    )
