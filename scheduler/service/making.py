"""A day's table out of plan, weather and notes, and what of it the ledger keeps."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from scheduler.garden.plan import Garden
from scheduler.ledger.entries import Kept, Timetable, TimetableRun
from scheduler.ledger.fieldnotes import field_notes
from scheduler.ledger.reading import LedgerReader
from scheduler.publish.table import WeekTable, minute_of, read_table
from scheduler.season.field import FieldNotes
from scheduler.season.run import run_week
from scheduler.service.hashes import inputs_hash, text_hash, watering_hash, weather_hash
from scheduler.service.notices import Doubt
from scheduler.service.settle import Settled, settle
from scheduler.service.standing import Standing, read_standing, standing_rows
from scheduler.show.report import render_json
from scheduler.show.week_view import week_report
from scheduler.weather.record import DailyWeather

__all__ = [
    "Advice",
    "DayInputs",
    "advice_of",
    "day_inputs",
    "notes_until",
    "settled_week",
    "table_of",
    "timetable_entry",
    "timetable_runs",
]

#: Key of a stored document under which the service keeps what it must know the next day.
SERVICE = "service"


@dataclass(frozen=True, slots=True, eq=False)
class DayInputs:
    """What a day's table follows from; the hashes stand for the plan, the weather, and everything."""

    on: date
    garden: Garden
    plan_text: str
    daily: DailyWeather
    notes: FieldNotes
    doubts: tuple[Doubt, ...]
    plan_hash: str
    weather_hash: str
    all_hash: str


@dataclass(frozen=True, slots=True)
class Advice:
    """What an earlier table left for the next: what the timer is set to, and what was told."""

    first_day: date
    watering_hash: str
    all_hash: str
    standing: dict[str, Standing]
    told: tuple[str, ...]


def notes_until(on: date, garden: Garden, ledger: LedgerReader) -> FieldNotes:
    """Return what is recorded from the plan's first soil state to a day."""
    begins = min((state.on for state in garden.soil_states), default=on)
    return field_notes(ledger, garden, begins=min(begins, on), ends=on)


def day_inputs(
    garden: Garden,
    plan_text: str,
    *,
    on: date,
    daily: DailyWeather,
    notes: FieldNotes,
    doubts: tuple[Doubt, ...] = (),
) -> DayInputs:
    """Return what the table of a day, and what is told with it, follow from."""
    plan, weather = text_hash(plan_text), weather_hash(daily)
    everything = inputs_hash(on, plan=plan, weather=weather, noted=(notes, doubts))
    return DayInputs(on, garden, plan_text, daily, notes, doubts, plan, weather, everything)


def advice_of(kept: Kept[Timetable] | None) -> Advice | None:
    """Return what a stored table left for the next day; None if there is none, or if no service made it."""
    if kept is None:
        return None
    own = json.loads(kept.entry.document).get(SERVICE)
    if own is None:
        return None
    return Advice(
        first_day=kept.entry.first_day,
        watering_hash=own["watering_hash"],
        all_hash=own["inputs_hash"],
        standing=read_standing(own["standing"]),
        told=tuple(own["told"]),
    )


def settled_week(inputs: DayInputs, before: Advice | None) -> Settled:
    """Return the week as the timer will run it."""
    fresh = run_week(inputs.garden, inputs.daily, on=inputs.on, notes=inputs.notes)
    if before is None:
        return settle(inputs.garden, fresh, standing={}, made_on=None)
    same_plan = before.watering_hash == watering_hash(inputs.garden)
    return settle(
        inputs.garden,
        fresh,
        standing=before.standing,
        made_on=before.first_day if same_plan else None,
    )


def timetable_entry(
    inputs: DayInputs, settled: Settled, *, told: tuple[str, ...], plan_id: int, moment: datetime
) -> Timetable:
    """Return the row that keeps a day's table, with the whole answer and what the next day must know."""
    report = week_report(inputs.garden, inputs.daily, result=settled.result, system="metric")
    document: dict[str, Any] = json.loads(render_json(report))
    document[SERVICE] = {
        "watering_hash": watering_hash(inputs.garden),
        "inputs_hash": inputs.all_hash,
        "standing": standing_rows(settled.standing),
        "told": list(told),
    }
    text = json.dumps(document, ensure_ascii=False)
    return Timetable(inputs.on, plan_id, inputs.weather_hash, moment, text)


def timetable_runs(entry: Timetable, timetable_id: int) -> tuple[TimetableRun, ...]:
    """Return the runs of a table as rows of their own."""
    return tuple(
        TimetableRun(
            timetable_id,
            date.fromisoformat(run["date"]),
            run["zone"],
            minute_of(run["start"]),
            run["run_time_min"],
            run["volume_l"],
        )
        for run in json.loads(entry.document)["runs"]
    )


def table_of(entry: Timetable, garden: Garden) -> WeekTable:
    """Return a stored table for publishing."""
    return read_table(
        json.loads(entry.document),
        garden=garden.name,
        timezone=garden.site.timezone,
        computed_at=entry.computed_at,
    )
