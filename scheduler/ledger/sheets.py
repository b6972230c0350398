"""Spreadsheets and JSON files of ledger rows: text -> rows of raw cells."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from scheduler.errors import Fault

__all__ = ["FORMAT", "RawRow", "Sheet", "named_near", "read_csv_rows", "read_json_tables"]

#: Name and number of the JSON format.
FORMAT = "rillbook.ledger/1"

BYTE_ORDER_MARK = "\ufeff"
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}


@dataclass(frozen=True, slots=True)
class RawRow:
    """One row as it stands in a file: its place for people, and its cells by column name."""

    where: str
    cells: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The rows of one table, the columns it has, what is wrong with it and what was recognised."""

    columns: tuple[str, ...]
    rows: tuple[RawRow, ...]
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = field(default=())


def named_near(name: str, known: Iterable[str]) -> str:
    """Return the words that name what was probably meant, or all that is known."""
    names = list(known)
    near = get_close_matches(name, names, n=1)
    return f'did you mean "{near[0]}"?' if near else f"must be one of {', '.join(names)}"


def read_csv_rows(text: str) -> Sheet:
    """Return the rows of a CSV text, numbered as in a spreadsheet: the heading is row 1.

    Commas, semicolons or tabs may separate; the heading decides.
    """
    body = text.removeprefix(BYTE_ORDER_MARK)
    heading = body.split("\n", 1)[0]
    separator = max(SEPARATORS, key=heading.count)
    faults: list[Fault] = []
    rows: list[RawRow] = []
    columns: tuple[str, ...] = ()
    reader = csv.reader(io.StringIO(body, newline=""), delimiter=separator, strict=True)
    try:
        columns = tuple(cell.strip() for cell in next(reader, []))
        for number, cells in enumerate(reader, 2):
            if any(cell.strip() for cell in cells):
                faults.extend(_width_faults(number, cells, len(columns)))
                rows.append(RawRow(f"row {number}", dict(zip(columns, cells, strict=False))))
    except csv.Error as error:
        faults.append(Fault(f"line {reader.line_num}", str(error), "must be CSV with quotes in pairs"))
    notes = () if separator == "," else (f"cells are separated by {SEPARATORS[separator]}s",)
    if not columns:
        faults.append(Fault("row 1", "empty", "must name the columns"))
    return Sheet(columns, tuple(rows), tuple(faults), notes)


def _width_faults(number: int, cells: Sequence[str], width: int) -> list[Fault]:
    """Return the fault of a row that is longer or shorter than the heading; empty cells at its end pass."""
    if len(cells) < width or any(cell.strip() for cell in cells[width:]):
        return [Fault(f"row {number}", f"{len(cells)} cells", f"must have {width}, as the heading")]
    return []


def _refuse_constant(word: str) -> float:
    raise ValueError(f"{word} is no number")


def read_json_tables(text: str) -> tuple[dict[str, Any], list[Fault]]:
    """Return the document of an exported JSON text, its ``tables`` as `Sheet`, and what is wrong with it."""
    try:
        document = json.loads(text.removeprefix(BYTE_ORDER_MARK), parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:
        return {"tables": {}}, [Fault("", f"not JSON: {error}", f"a JSON file of format {FORMAT}")]
    tables = document.get("tables") if isinstance(document, dict) else None
    if not isinstance(tables, dict) or document.get("schema") != FORMAT:
        wanted = f'an object with "schema": "{FORMAT}" and "tables": {{...}}'
        return {"tables": {}}, [Fault("", "another kind of JSON", wanted)]
    faults: list[Fault] = []
    sheets = {name: _json_sheet(name, rows, faults) for name, rows in tables.items()}
    return {**document, "tables": sheets}, faults


def _json_sheet(name: str, rows: Any, faults: list[Fault]) -> Sheet:
    """Return the rows of one table of a JSON document, numbered from 1; adds to the faults."""
    if not isinstance(rows, list):
        faults.append(Fault(name, "no list", "must be a list of rows"))
        return Sheet((), ())
    raw: list[RawRow] = []
    for number, row in enumerate(rows, 1):
        where = f"{name}, row {number}"
        if isinstance(row, dict):
            raw.append(RawRow(where, row))
        else:
            faults.append(Fault(where, "no object", "must be an object of column names and values"))
    return Sheet(tuple(dict.fromkeys(key for row in raw for key in row.cells)), tuple(raw))
