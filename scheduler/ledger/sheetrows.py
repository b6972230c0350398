"""Rows of raw cells -> entries, with every fault at its row and column."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable
from dataclasses import MISSING, dataclass, fields
from typing import Any

from scheduler.errors import Fault
from scheduler.ledger.cells import CellError, from_json_value, from_text
from scheduler.ledger.checks import faults_of, faults_of_instant
from scheduler.ledger.columns import Column, Table
from scheduler.ledger.entries import Entry, Kept
from scheduler.ledger.sheets import RawRow, Sheet, named_near

__all__ = ["Known", "read_kept_rows", "read_new_rows"]

_ID = Column("id", "whole", low=1)
_RECORDED_AT = Column("recorded_at", "instant")
_HEAD = ("id", "recorded_at")
#: Column that an export of withdrawn rows carries; it follows from the withdrawals.
_MARK = "withdrawn"


@dataclass(frozen=True, slots=True)
class Known:
    """What an import is checked against and completed with.

    Attributes
    ----------
    recorded_at : datetime
        Aware instant for rows that bring none.
    beds, zones : collection of str or None
        Names in the plan; None takes any name.
    timezone : tzinfo or None
        Zone of times written without one; None refuses them.
    """

    recorded_at: datetime.datetime
    beds: Collection[str] | None = None
    zones: Collection[str] | None = None
    timezone: datetime.tzinfo | None = None


def read_new_rows(
    table: Table, sheet: Sheet, known: Known, *, textual: bool
) -> tuple[list[Kept[Entry]], list[Fault]]:
    """Return rows to be added, their ids 0, and what is wrong; `textual` if every cell is text."""
    needed = [
        column.name for column in table.columns if not column.optional and not _has_default(table, column)
    ]
    faults = _heading_faults(table, sheet, needed=needed, extra=_HEAD)
    rows: list[Kept[Entry]] = []
    if faults:
        return rows, faults
    for raw in sheet.rows:
        columns = [*table.columns, _RECORDED_AT]
        cells, wrong = _read_cells(raw, columns, zone=known.timezone, textual=textual)
        if not wrong:
            recorded_at = cells.pop("recorded_at", None) or known.recorded_at
            entry = _entry(table, cells)
            wrong = [*faults_of(entry), *faults_of_instant(recorded_at), *_unknown_names(entry, known)]
            rows.append(Kept(0, recorded_at, entry))
        faults.extend(_at(raw, wrong))
    return rows, faults


def read_kept_rows(table: Table, sheet: Sheet) -> tuple[list[Kept[Entry]], list[Fault]]:
    """Return rows of a JSON export as they were kept, and what is wrong with them.

    Names of beds and zones were checked when they came, against the plan of that time.
    """
    head = [_ID, _RECORDED_AT]
    # Exports of an earlier version lack later columns, whose entries have a value to stand for them.
    needed = [column.name for column in (*head, *table.columns) if column.since == 1]
    faults = _heading_faults(table, sheet, needed=needed if sheet.rows else [], extra=(*_HEAD, _MARK))
    rows: list[Kept[Entry]] = []
    ids: set[int] = set()
    for raw in sheet.rows:
        cells, wrong = _read_cells(raw, [*head, *table.columns], zone=None, textual=False)
        row_id, recorded_at = cells.pop("id", None), cells.pop("recorded_at", None)
        if not isinstance(row_id, int) or row_id < 1:
            wrong.append(Fault("id", str(row_id), "must be a whole number from 1"))
        elif row_id in ids:
            wrong.append(Fault("id", f"{row_id}, twice", "must be there once"))
        if recorded_at is None:
            wrong.append(Fault("recorded_at", "empty or unread", "must be the instant of the entry"))
        if not wrong:
            entry = _entry(table, cells)
            wrong = [*faults_of(entry), *faults_of_instant(recorded_at)]
            rows.append(Kept(row_id, recorded_at, entry))
            ids.add(row_id)
        faults.extend(_at(raw, wrong))
    return rows, faults


def _has_default(table: Table, column: Column) -> bool:
    return any(each.name == column.name and each.default is not MISSING for each in fields(table.entry))


def _at(raw: RawRow, faults: Iterable[Fault]) -> list[Fault]:
    """Return faults of columns with their row."""
    return [Fault(f"{raw.where}, column {fault.where}", fault.found, fault.wanted) for fault in faults]


def _heading_faults(
    table: Table, sheet: Sheet, *, needed: Collection[str], extra: Collection[str]
) -> list[Fault]:
    """Return unknown, missing and doubled columns."""
    known = [*extra, *(column.name for column in table.columns)]
    where = f"{table.name}, columns"
    unknown = [name for name in sheet.columns if name not in known]
    doubled = sorted({name for name in sheet.columns if sheet.columns.count(name) > 1 and name in known})
    missing = [name for name in needed if name not in sheet.columns] if sheet.columns else []
    return [
        *(Fault(where, f'unknown column "{name}"', named_near(name, known)) for name in unknown),
        *(Fault(where, f'column "{name}" twice', "must be there once") for name in doubled),
        *(Fault(where, f'no column "{name}"', "is needed") for name in missing),
    ]


def _read_cells(
    raw: RawRow, columns: Iterable[Column], *, zone: datetime.tzinfo | None, textual: bool
) -> tuple[dict[str, Any], list[Fault]]:
    """Return the values of the cells that can be read, and a fault for each other."""
    read = from_text if textual else from_json_value
    values: dict[str, Any] = {}
    faults: list[Fault] = []
    for column in columns:
        cell = raw.cells.get(column.name)
        if cell is None:
            continue
        try:
            values[column.name] = read(column, cell, zone=zone)
        except CellError as error:
            faults.append(Fault(column.name, f'"{cell}"' if isinstance(cell, str) else str(cell), str(error)))
    return values, faults


def _entry(table: Table, cells: dict[str, Any]) -> Entry:
    """Return an entry; a cell that is missing or empty takes the default, or None where there is none."""
    given = {name: value for name, value in cells.items() if value is not None}
    lacking: dict[str, Any] = {
        column.name: None
        for column in table.columns
        if column.name not in given and not _has_default(table, column)
    }
    return table.entry(**given, **lacking)


def _unknown_names(entry: Entry, known: Known) -> list[Fault]:
    """Return a fault for each bed and zone that the plan has not."""
    faults = []
    for column, names in (("bed", known.beds), ("zone", known.zones)):
        name = getattr(entry, column, None)
        if names is not None and name is not None and name not in names:
            faults.append(Fault(column, f'"{name}", not in the plan', named_near(name, names)))
    return faults
