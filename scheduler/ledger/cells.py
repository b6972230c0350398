"""Cells of a spreadsheet and values of a JSON file -> what an entry holds."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any

from scheduler.ledger.columns import Column
from scheduler.spreadsheet import unguarded

__all__ = ["TEXTS", "CellError", "from_json_value", "from_text"]

#: Kinds of columns that hold a person's own words, which a spreadsheet program might run as a formula.
TEXTS = frozenset({"line", "block", "json"})

# Python reads 1_000 and digits of any script as numbers, and 20260713 as a date; a spreadsheet means neither.
_NUMBER = re.compile(r"[+-]?(\d{1,40}(\.\d{0,40})?|\.\d{1,40})([eE][+-]?\d{1,3})?", re.ASCII)
_WHOLE = re.compile(r"[+-]?\d{1,18}", re.ASCII)
_DATE = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)
_INSTANT = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d{1,6})?)?(Z|[+-]\d\d:\d\d)?", re.ASCII)


class CellError(Exception):
    """A cell that cannot be read; the text says what would be right."""


def from_text(column: Column, text: str, *, zone: datetime.tzinfo | None) -> Any:
    """Return what a cell of a spreadsheet says; an empty cell is None, or empty text where that may stand.

    The guard that an export puts before text is taken off.

    Parameters
    ----------
    column : Column
    text : str
    zone : tzinfo or None
        Zone of times written without one; None refuses them.

    Raises
    ------
    CellError
        If the cell does not hold what the column does. Bounds are not looked at.
    """
    cell = _trimmed(column, text)
    return _read(column, unguarded(cell) if column.kind in TEXTS else cell, zone=zone)


def _trimmed(column: Column, text: str) -> str:
    return text if column.kind in {"block", "json"} else text.strip()


def _read(column: Column, cell: str, *, zone: datetime.tzinfo | None) -> Any:
    """Return what a text says as its column asks."""
    if not cell:
        return "" if column.blank or column.kind == "block" else None
    if column.kind == "instant":
        return _instant(cell, zone)
    reader = _FROM_TEXT.get(column.kind)
    return cell if reader is None else reader(cell)


def from_json_value(column: Column, value: Any, *, zone: datetime.tzinfo | None) -> Any:
    """Return what a value of a JSON file says: numbers as JSON numbers, all else as in `from_text`.

    Raises
    ------
    CellError
        As `from_text`.
    """
    plain = {"number": "a number", "whole": "a whole number", "flag": "0 or 1"}.get(column.kind)
    if value is None:
        return None
    if plain is None:
        if not isinstance(value, str):
            raise CellError("must be text between quotes")
        return _read(column, _trimmed(column, value), zone=zone)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise CellError(f"must be {plain}, without quotes")
    if column.kind == "flag":
        return _flag(str(value))
    return value


def _number(cell: str) -> float:
    if not _NUMBER.fullmatch(cell):
        comma = ", with a point before the decimals" if "," in cell else " and nothing else"
        raise CellError(f"must be a number such as 12.5{comma}")
    return float(cell)


def _whole(cell: str) -> int:
    if not _WHOLE.fullmatch(cell):
        raise CellError("must be a whole number")
    return int(cell)


def _decimal(cell: str) -> Decimal:
    if not _NUMBER.fullmatch(cell):
        raise CellError("must be a number such as 1234.56, with a point before the decimals")
    return Decimal(cell)


def _flag(cell: str) -> bool:
    if cell not in {"0", "1"}:
        raise CellError("must be 0 or 1")
    return cell == "1"


def _date(cell: str) -> datetime.date:
    if _DATE.fullmatch(cell):
        try:
            return datetime.date.fromisoformat(cell)
        except ValueError as error:
            raise CellError("must be a day of the calendar") from error
    raise CellError("must be a date such as 2026-07-13, year first")


def _instant(cell: str, zone: datetime.tzinfo | None) -> datetime.datetime:
    """Return an aware instant; a time without zone is taken in `zone` where it happened once."""
    if not _INSTANT.fullmatch(cell):
        raise CellError("must be a date and time such as 2026-07-13 18:30 or 2026-07-13T18:30:00Z")
    try:
        instant = datetime.datetime.fromisoformat(cell)
    except ValueError as error:
        raise CellError("must be a day of the calendar and a time of that day") from error
    if instant.tzinfo is not None:
        return instant
    if zone is None:
        raise CellError("needs its zone, such as 2026-07-13T18:30:00Z or 2026-07-13T18:30:00+02:00")
    # The two readings of a time differ in the hour that a clock change leaves out or doubles.
    first, second = instant.replace(tzinfo=zone, fold=0), instant.replace(tzinfo=zone, fold=1)
    if first.utcoffset() != second.utcoffset():
        raise CellError("lies in a change of the clock; give its offset, such as 2026-10-25T02:30:00+01:00")
    return first


_FROM_TEXT: Mapping[str, Callable[[str], Any]] = {
    "date": _date,
    "number": _number,
    "whole": _whole,
    "decimal": _decimal,
    "flag": _flag,
}
