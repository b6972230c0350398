"""Entries as the values that SQLite and JSON hold, and back."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from scheduler.ledger.columns import Column, Table, find_table
from scheduler.ledger.entries import Entry

__all__ = ["Value", "from_row", "instant_text", "read_instant", "to_row"]

#: What a cell of SQLite holds here.
Value = str | int | float | None


def instant_text(instant: datetime.datetime) -> str:
    """Return an aware instant as UTC text to the second, such as ``2026-07-13T04:10:00Z``."""
    plain = instant.astimezone(datetime.UTC).replace(microsecond=0, tzinfo=None)
    return f"{plain.isoformat()}Z"


def read_instant(text: str) -> datetime.datetime:
    """Return the instant of a text made by `instant_text`."""
    return datetime.datetime.fromisoformat(text)


def _decimal_text(number: Decimal) -> str:
    """Return a decimal without exponent, every digit kept."""
    return format(number, "f")


_TO_CELL: Mapping[str, Callable[[Any], Value]] = {
    "date": datetime.date.isoformat,
    "instant": instant_text,
    "number": float,
    "whole": int,
    "flag": int,
    "decimal": _decimal_text,
}
_FROM_CELL: Mapping[str, Callable[[Any], Any]] = {
    "date": datetime.date.fromisoformat,
    "instant": read_instant,
    "flag": bool,
    "decimal": Decimal,
}


def to_row(entry: Entry) -> dict[str, Value]:
    """Return a sound entry as column name -> value."""
    return {
        column.name: _through(_TO_CELL, column, getattr(entry, column.name))
        for column in find_table(type(entry)).columns
    }


def from_row(table: Table, values: Sequence[Value]) -> Entry:
    """Return the entry of a row, whose values come in the order of the table's columns."""
    pairs = zip(table.columns, values, strict=True)
    return table.entry(*(_through(_FROM_CELL, column, value) for column, value in pairs))


def _through(way: Mapping[str, Callable[[Any], Any]], column: Column, value: Any) -> Any:
    """Return a value changed as its column asks; None stays None."""
    change = way.get(column.kind)
    return value if change is None or value is None else change(value)
