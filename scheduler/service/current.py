"""The timetable of a day for whoever asks, without recording anything."""

from __future__ import annotations

from contextlib import nullcontext
from datetime import date, datetime
from pathlib import Path

from scheduler.garden.planfile import load_plan
from scheduler.ledger.place import ledger_path
from scheduler.ledger.reading import LedgerReader, open_reader
from scheduler.publish.table import WeekTable
from scheduler.season.field import FieldNotes
from scheduler.service.making import (
    advice_of,
    day_inputs,
    notes_until,
    settled_week,
    table_of,
    timetable_entry,
)
from scheduler.service.tools import Tools

__all__ = ["current_table"]


def current_table(
    plan_path: Path, *, on: date, moment: datetime, tools: Tools | None = None
) -> tuple[WeekTable, bool]:
    """Return the table of a day and whether it was stored; one that is not is made from what is there.

    Raises
    ------
    RillbookError
        If the plan, the weather or the ledger do not allow a table.
    """
    garden = load_plan(plan_path)
    path = ledger_path(plan_path, garden)
    reader: LedgerReader | None
    with open_reader(path) if path.exists() else nullcontext() as reader:
        newest = None if reader is None else reader.latest_timetable(on)
        if newest is not None and newest.entry.first_day == on:
            return table_of(newest.entry, garden), True
        if tools is None:
            from scheduler.service.usual import USUAL_TOOLS

            tools = USUAL_TOOLS
        daily = tools.gather(plan_path, garden, reader, moment=moment)
        notes = FieldNotes() if reader is None else notes_until(on, garden, reader)
    text = plan_path.read_text(encoding="utf-8-sig")
    inputs = day_inputs(garden, text, on=on, daily=daily, notes=notes)
    settled = settled_week(inputs, advice_of(newest))
    # Numbers of rows are of no account in an entry that is not kept.
    entry = timetable_entry(inputs, settled, told=(), plan_id=1, moment=moment)
    return table_of(entry, garden), False
