"""The ledger as CSV and JSON text, and back: all of it, or what a person kept in a spreadsheet."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scheduler.errors import Fault, LedgerError
from scheduler.ledger.cells import TEXTS
from scheduler.ledger.columns import TABLES, Table
from scheduler.ledger.entries import Entry, Kept
from scheduler.ledger.reading import LedgerReader
from scheduler.ledger.rows import Value, instant_text, to_row
from scheduler.ledger.schema import VERSION
from scheduler.ledger.sheetrows import Known, read_kept_rows, read_new_rows
from scheduler.ledger.sheets import FORMAT, Sheet, named_near, read_csv_rows, read_json_tables
from scheduler.ledger.store import Ledger
from scheduler.spreadsheet import csv_text, guarded

__all__ = ["Imported", "Known", "export_csv", "export_json", "import_csv", "import_json", "restore_json"]

#: A table that an export of an earlier version has not.
NO_ROWS = Sheet((), ())


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did: rows added, rows left out because the ledger had them, and what was recognised."""

    added: int
    already_kept: int
    notes: tuple[str, ...] = ()


def export_csv(ledger: LedgerReader, table: str, *, withdrawn: bool = False) -> str:
    """Return one table as CSV, its texts guarded against being run as formulas.

    With `withdrawn`, rows that were taken back too, marked in a last column.

    Raises
    ------
    LedgerError
        If there is no such table, or if the ledger cannot be read.
    """
    found = _find(table, TABLES)
    mark = ("withdrawn",) if withdrawn else ()
    columns = ("id", "recorded_at", *(column.name for column in found.columns), *mark)
    texts = {column.name for column in found.columns if column.kind in TEXTS}
    rows = (_guarded(row, texts) for row in _export(ledger, found, withdrawn=withdrawn))
    return csv_text(columns, rows)


def _guarded(row: Mapping[str, Value], texts: Collection[str]) -> dict[str, Value]:
    """Return a row whose texts no spreadsheet program runs as a formula."""
    return {
        name: guarded(value) if name in texts and isinstance(value, str) else value
        for name, value in row.items()
    }


def export_json(
    ledger: LedgerReader, *, tables: Collection[str] | None = None, withdrawn: bool = False
) -> str:
    """Return tables (None: all of them) as JSON; `restore_json` needs all of them with withdrawn rows.

    Raises
    ------
    LedgerError
        If there is no such table, or if the ledger cannot be read.
    """
    found = [_find(name, TABLES) for name in (TABLES if tables is None else tables)]
    document: dict[str, Any] = {"schema": FORMAT}
    if withdrawn and tables is None:
        document["logbook"] = ledger.logbook()
    document["tables"] = {table.name: _export(ledger, table, withdrawn=withdrawn) for table in found}
    return json.dumps(document, ensure_ascii=False, indent=1) + "\n"


def import_csv(ledger: Ledger, table: str, text: str, *, known: Known) -> Imported:
    """Add the rows of a CSV text to a table of a person's entries; all of them, or none.

    Columns that may be empty may be missing; ``id`` is not looked at; ``recorded_at`` is kept where it is
    given. A row that the ledger already holds is left out, so that the same file can be imported again.

    Raises
    ------
    LedgerError
        With every fault of the text, each with its row as a spreadsheet numbers it.
    """
    found = _find(table, _by_hand())
    sheet = read_csv_rows(text)
    rows, faults = read_new_rows(found, sheet, known, textual=True)
    _refuse(table, [*sheet.faults, *faults])
    return _add(ledger, {table: rows}, sheet.notes)


def import_json(ledger: Ledger, text: str, *, known: Known) -> Imported:
    """Add the tables of a JSON text as `import_csv` does those of a spreadsheet; all of them, or none.

    Raises
    ------
    LedgerError
        With every fault of the text, rows numbered from 1.
    """
    document, faults = read_json_tables(text)
    rows: dict[str, list[Kept[Entry]]] = {}
    for name, sheet in document["tables"].items():
        if name in _by_hand():
            rows[name], more = read_new_rows(TABLES[name], sheet, known, textual=False)
            faults.extend(more)
        else:
            faults.append(Fault(name, "is no table of a person's entries", named_near(name, _by_hand())))
    _refuse("import", faults)
    return _add(ledger, rows, ())


def restore_json(ledger: Ledger, text: str) -> int:
    """Fill an empty ledger from a JSON export of everything, withdrawn rows included; return the rows put in.

    Row numbers, instants, withdrawals and the order of a person's entries come back as they were.

    Raises
    ------
    LedgerError
        With every fault of the text, or if the ledger is not empty.
    """
    document, faults = read_json_tables(text)
    sheets: Mapping[str, Sheet] = document["tables"]
    order = document.get("logbook")
    if not faults and (not _is_whole(sheets) or not isinstance(order, list)):
        faults.append(Fault("", "a part of a ledger", "must be an export of everything, withdrawn rows too"))
    _refuse("restore", faults)
    rows: dict[tuple[str, int], Kept[Entry]] = {}
    for table in TABLES.values():
        read, more = read_kept_rows(table, sheets.get(table.name, NO_ROWS))
        faults.extend(more)
        rows.update({(table.name, kept.id): kept for kept in read})
    _refuse("restore", faults)
    ledger.restore([rows[place] for place in _restoring_order(rows, order or [])])
    return len(rows)


def _is_whole(sheets: Collection[str]) -> bool:
    """Return True if these are all the tables of this version of the ledger, or of an earlier one."""
    return any(
        set(sheets) == {name for name, table in TABLES.items() if table.since <= version}
        for version in range(1, VERSION + 1)
    )


def _restoring_order(rows: Iterable[tuple[str, int]], logbook: list[Any]) -> list[tuple[str, int]]:
    """Return the places of rows so that each follows what it refers to, a person's as in the logbook."""
    places = list(rows)
    # Compared as text, since a list in a changed file may hold anything.
    by_text = {json.dumps(place): place for place in places if TABLES[place[0]].by_hand}
    lines = [json.dumps(line) for line in logbook]
    if sorted(lines) != sorted(by_text):
        found = "does not name each row of a person's entries once"
        _refuse("restore", [Fault("logbook", found, "must be as it was exported")])
    withdrawals = [place for place in places if place[0] == "withdrawal"]
    computed = [place for place in places if place[0] != "withdrawal" and not TABLES[place[0]].by_hand]
    return [*computed, *(by_text[line] for line in lines), *withdrawals]


def _add(ledger: Ledger, rows: Mapping[str, Sequence[Kept[Entry]]], notes: tuple[str, ...]) -> Imported:
    """Add rows that the ledger does not hold yet; equal rows count as often as they come."""
    added = seen = 0
    with ledger.writing():
        for table, new in rows.items():
            held = Counter(_content(kept) for kept in ledger.rows(TABLES[table]))
            for kept in new:
                if held[_content(kept)] > 0:
                    held[_content(kept)] -= 1
                    seen += 1
                else:
                    ledger.record(kept.entry, recorded_at=kept.recorded_at)
                    added += 1
    return Imported(added, seen, notes)


def _content(kept: Kept[Entry]) -> tuple[Value, ...]:
    """Return what a row says, as the ledger would hold it."""
    return tuple(to_row(kept.entry).values())


def _by_hand() -> dict[str, Table]:
    """Return the tables that a person fills."""
    return {name: table for name, table in TABLES.items() if table.by_hand}


def _find(name: str, tables: Mapping[str, Table]) -> Table:
    """Return a table by its name."""
    if name not in tables:
        _refuse("ledger", [Fault("table", f'"{name}"', named_near(name, tables))])
    return tables[name]


def _refuse(source: str, faults: list[Fault]) -> None:
    """Raise an error if there are faults."""
    if faults:
        raise LedgerError(source, faults)


def _export(ledger: LedgerReader, table: Table, *, withdrawn: bool) -> list[dict[str, Value]]:
    """Return the rows of a table with their numbers and instants."""
    standing = {kept.id for kept in ledger.rows(table)} if withdrawn else set()
    rows: list[dict[str, Value]] = []
    for kept in ledger.rows(table, withdrawn=withdrawn):
        row = {"id": kept.id, "recorded_at": instant_text(kept.recorded_at), **to_row(kept.entry)}
        rows.append({**row, "withdrawn": int(kept.id not in standing)} if withdrawn else row)
    return rows
