"""What a command answers: titled parts of rows, and how they become text, CSV and JSON.

Rows hold canonical numbers under keys that carry their unit; machine output keeps them whole. Text rounds
them to what a person can use, in the person's unit system.
"""

from __future__ import annotations

import io
import json
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any, Literal

from scheduler.garden.dimensions import MEANINGS, Dimension, System
from scheduler.garden.units import format_quantity, to_display, unit_label
from scheduler.spreadsheet import csv_text, guarded

__all__ = ["Column", "Part", "Report", "render_csv", "render_json", "render_text"]

Row = dict[str, Any]

#: Width of tables when no terminal says how wide it is.
PIPED_WIDTH = 110


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its key in rows, its heading for people, and how to show a number.

    `dimension` names what the number measures; the text heading then carries the unit. A row may name
    another dimension of its own under the key `<key>_dimension`: text then shows value and unit together.
    `decimals` overrides what the dimension says; `day` shows a date with its weekday. A column with an
    empty heading is for machines only.
    """

    key: str
    heading: str
    dimension: Dimension | None = None
    decimals: int | None = None
    day: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """One table of a report.

    `by` turns long rows into a table for people: (key of table rows, key of table columns, key of values).
    A part with `machine_only` set is left out of text. In text a cell of column `group` that repeats the
    one above it stays blank.
    """

    key: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    by: tuple[str, str, str] | None = None
    machine_only: bool = False
    group: str | None = None


@dataclass(frozen=True, slots=True)
class Report:
    """The whole answer of a command.

    Attributes
    ----------
    schema : str
        Name and number of the machine format, such as ``rillbook.week/1``.
    title : str
    as_of : date or None
    parts : tuple of Part
        The first is what ``--csv`` prints unless another is asked for.
    lines : tuple of str
        Sentences below the tables.
    notes : tuple of str
        What was assumed, filled, borrowed or capped.
    extra : dict
        Further fields of the JSON document.
    """

    schema: str
    title: str
    as_of: date | None
    parts: tuple[Part, ...]
    lines: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    extra: dict[str, Any] = field(default_factory=dict)


def _machine(value: Any) -> Any:
    """Return a value as JSON can hold it; an infinite or missing number becomes null."""
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, (bool, str, int)) or value is None:
        return value
    if isinstance(value, (list, tuple)):
        return [_machine(item) for item in value]
    number = float(value)
    return number if math.isfinite(number) else None


def _machine_rows(part: Part) -> list[Row]:
    """Return a part's rows with the keys of its columns only."""
    return [{c.key: _machine(row.get(c.key)) for c in part.columns} for row in part.rows]


def render_json(report: Report) -> str:
    """Return the report as one JSON document; the first part's rows are under ``rows``."""
    document: Row = {
        "schema": report.schema,
        "as_of": report.as_of.isoformat() if report.as_of else None,
        "title": report.title,
        "notes": list(report.notes),
    }
    document.update({key: _machine(value) for key, value in report.extra.items()})
    for part in report.parts:
        document[part.key] = _machine_rows(part)
    return json.dumps(document, ensure_ascii=False, indent=2) + "\n"


def _csv_cell(value: Any) -> Any:
    """Return a value as a CSV cell: numbers as they are, texts so that no spreadsheet program runs them."""
    cell = _machine(value)
    if isinstance(cell, list):
        return guarded(" ".join(map(str, cell)))
    return guarded(value) if isinstance(value, str) else cell


def render_csv(report: Report, *, part: str | None = None) -> str:
    """Return one part of the report as CSV, its texts guarded, the first part if none is named.

    Raises
    ------
    KeyError
        If the report has no such part.
    """
    chosen = report.parts[0] if part is None else {p.key: p for p in report.parts}[part]
    keys = [column.key for column in chosen.columns]
    return csv_text(keys, ({key: _csv_cell(row.get(key)) for key in keys} for row in chosen.rows))


def _heading(column: Column, system: System) -> str:
    """Return a column's heading with its unit."""
    if column.dimension is None:
        return column.heading
    return f"{column.heading}\n[{unit_label(column.dimension, system)}]"


def _number(value: float, dimension: Dimension, decimals: int | None, system: System) -> str:
    """Return a number in a column whose heading names the unit."""
    if not math.isfinite(value):
        return "-"
    meaning = MEANINGS[dimension]
    places = (meaning.metric if system == "metric" else meaning.us)[1] if decimals is None else decimals
    shown = float(to_display(value, dimension, system))
    return (
        f"{shown:,.{places}f}".replace("-0.0", "0.0") if round(shown, places) == 0 else f"{shown:,.{places}f}"
    )


def _text(row: Row, column: Column, system: System) -> str:
    """Return one cell for people."""
    value = row.get(column.key)
    own: Dimension | None = row.get(f"{column.key}_dimension")
    if value is None:
        return "-"
    if isinstance(value, str):
        return value
    if isinstance(value, date):
        return f"{value:%a} {value.day} {value:%b}" if column.day else value.isoformat()
    if own is not None:
        return format_quantity(float(value), own, system)
    if column.dimension is not None:
        return _number(float(value), column.dimension, column.decimals, system)
    if isinstance(value, (list, tuple)):
        return ", ".join(str(item) for item in value)
    if isinstance(value, float) and column.decimals is not None:
        return f"{value:,.{column.decimals}f}"
    return str(value)


def _cells(part: Part, system: System) -> tuple[list[str], list[list[str]]]:
    """Return headings and cells of a part for people."""
    if part.by is None:
        shown = [column for column in part.columns if column.heading]
        cells = [[_text(row, column, system) for column in shown] for row in part.rows]
        if part.group is not None:
            _blank_repeats(cells, [column.key for column in shown].index(part.group))
        return [_heading(c, system) for c in shown], cells
    down, across, key = part.by
    by_key = {column.key: column for column in part.columns}
    names = list(dict.fromkeys(row[across] for row in part.rows))
    lines: dict[Any, dict[Any, str]] = {}
    for row in part.rows:
        lines.setdefault(row[down], {})[row[across]] = _text(row, by_key[key], system)
    heads = [_heading(by_key[down], system), *(str(name) for name in names)]
    return heads, [[str(at), *(cells.get(n, "-") for n in names)] for at, cells in lines.items()]


def _blank_repeats(cells: list[list[str]], at: int) -> None:
    """Blank the cells of one column that say the same as the cell above."""
    above = None
    for line in cells:
        line[at], above = ("" if line[at] == above else line[at]), line[at]


def _is_number(cells: Sequence[str]) -> bool:
    """Return True if a column of cells reads as numbers, which then stand to the right."""
    plain = [cell.replace(",", "").replace("%", "").strip("+- ") for cell in cells]
    return all(text == "" or text.replace(".", "", 1).isdigit() for text in plain)


def render_text(
    report: Report,
    *,
    system: System,
    width: int | None = None,
    colour: Literal[True, False] = False,
) -> str:
    """Return the report for people: title, tables, sentences, then notes."""
    from rich import box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    out = io.StringIO()
    console = Console(
        file=out,
        width=width or PIPED_WIDTH,
        force_terminal=colour,
        no_color=not colour,
        highlight=False,
        markup=False,
        emoji=False,
    )
    console.print(Text(report.title, style="bold"))
    for part in report.parts:
        if part.machine_only or not part.rows:
            continue
        heads, cells = _cells(part, system)
        if part.title:
            console.print(Text(f"\n{part.title}", style="bold"))
        table = Table(box=box.SIMPLE_HEAD)
        for number, head in enumerate(heads):
            right = _is_number([line[number] for line in cells])
            table.add_column(head, justify="right" if right else "left", vertical="bottom", overflow="fold")
        for line in cells:
            table.add_row(*(Text(cell) for cell in line))
        console.print(table)
    for line_text in report.lines:
        console.print(Text(line_text))
    if report.notes:
        console.print(Text("\nNotes", style="bold"))
        for note in report.notes:
            grid = Table.grid(padding=(0, 1))
            grid.add_row(Text("-"), Text(note))
            console.print(grid)
    return "\n".join(line.rstrip() for line in out.getvalue().splitlines()) + "\n"
