"""Cells of a weather table -> dates, marks of origin and numbers; what cannot be read is a fault."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import UnitError
from scheduler.garden.units import convert
from scheduler.weather.columns import DIMENSIONS, Column
from scheduler.weather.findings import Findings
from scheduler.weather.quality import POSSIBLE
from scheduler.weather.sheet import Row, Sheet

__all__ = ["read_dates", "read_origin", "read_values"]

FloatArray = NDArray[np.float64]

_MISSING = frozenset({"", "na", "nan", "--", "-", "m"})
# Codes for "missing" at the high end; taken for one only where the weather cannot reach the value, since
# 999 langley or 9999 Wh/m2 are a sunny day. At the low end no weather in any unit reaches -99.
_HIGH_CODES = (99.99, 999.0, 999.9, 9999.0, 9999.9, 99999.0, 32767.0, 65535.0)
_LOW_CODES_FROM = -99.0
_POINT = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,2})?", re.ASCII)
_ALL_PLAIN = re.compile(r"-?\d+(?:\.\d+)?(?:\n-?\d+(?:\.\d+)?)*", re.ASCII)
_COMMA = re.compile(r"[+-]?\d+,\d+", re.ASCII)
# One to three digits and exactly three after the comma: a decimal, or thousands.
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}", re.ASCII)
_ISO = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_NUMBER_WANTED = "a number such as 12.5, or an empty cell where nothing was measured"


def read_dates(rows: Sequence[Row], column: Column, *, findings: Findings) -> NDArray[np.datetime64]:
    """Return the date of each row, shape (n_rows,); NaT if it is not in ISO form (a fault quotes it)."""
    days = [_iso_date(row, row.cells[column.index], findings) for row in rows]
    return np.array(days, dtype="datetime64[D]")


def read_origin(rows: Sequence[Row], column: Column | None, *, findings: Findings) -> list[bool]:
    """Return for each row whether it is a forecast; all False without a column of origin."""
    if column is None:
        return [False] * len(rows)
    words = [row.cells[column.index].lower() for row in rows]
    for row, word in zip(rows, words, strict=True):
        if word not in ("observed", "forecast"):
            where = f'row {row.line}, column "{column.name}"'
            findings.fault(where, f'"{row.cells[column.index]}"', '"observed" or "forecast"')
    return [word == "forecast" for word in words]


def read_values(sheet: Sheet, columns: Sequence[Column], *, findings: Findings) -> dict[str, FloatArray]:
    """Return each variable's column as numbers in its canonical unit, NaN where nothing was measured.

    Shape (n_rows,) each, in the order of the rows. Decimal commas are read where the separator is a
    tab or a semicolon and the whole table writes them in one unmistakable way.
    """
    comma = _decimal_comma(sheet, columns, findings)
    values: dict[str, FloatArray] = {}
    for column in columns:
        raw = None if comma else _plain_numbers(sheet, column)
        if raw is None:
            numbers = [_number(row, column, comma=comma, findings=findings) for row in sheet.rows]
            raw = np.array(numbers, dtype=float)
        try:
            converted = convert(raw, column.unit, DIMENSIONS[column.variable])
        except UnitError as error:
            findings.fault(f'column "{column.name}" ({column.variable})', error.found, error.wanted)
            continue
        canonical = np.asarray(converted, dtype=float)
        code = _refuse_codes(sheet.rows, column, raw=raw, converted=canonical, findings=findings)
        values[column.variable] = np.where(code, np.nan, canonical)
    return values


def _iso_date(row: Row, text: str, findings: Findings) -> str:
    """Return the text if it is an ISO date, else NaT and a fault."""
    wanted = "year-month-day with leading zeros, such as 2025-04-03"
    if "/" in text or text.count(".") == 2:
        wanted += "; a date such as 03/04/2025 may be 3 April or 4 March"
    if _ISO.fullmatch(text):
        try:
            date.fromisoformat(text)
        except ValueError:
            wanted = "a day that the calendar has"
        else:
            return text
    findings.fault(f"row {row.line}", f'date "{text}" in "{row.text}"', wanted)
    return "NaT"


def _decimal_comma(sheet: Sheet, columns: Sequence[Column], findings: Findings) -> bool:
    """Return True if the table writes decimals with a comma; refuse a table that leaves it open."""
    if sheet.separator == ",":
        return False
    cells = [row.cells[column.index] for row in sheet.rows for column in columns]
    written = [cell for cell in cells if _COMMA.fullmatch(cell)]
    if not written:
        return False
    if all(_THOUSANDS.fullmatch(cell) for cell in written):
        if any("." in cell for cell in cells):
            # Then the commas stand between thousands; each such cell is refused on its own.
            return False
        wanted = f'decimals with a point; "{written[0]}" may be a decimal or thousands'
        findings.fault("numbers with a comma", f'"{written[0]}"', wanted)
    else:
        findings.notes.append(f'decimal comma: "{written[0]}" was read as {written[0].replace(",", ".")}')
    return True


def _plain_numbers(sheet: Sheet, column: Column) -> FloatArray | None:
    """Return a column at once if every cell is a plain number, the usual case; None if one is not."""
    cells = [row.cells[column.index] for row in sheet.rows]
    return np.array(cells, dtype=float) if _ALL_PLAIN.fullmatch("\n".join(cells)) else None


def _number(row: Row, column: Column, *, comma: bool, findings: Findings) -> float:
    """Return the number in a cell; NaN for a missing value, and for a cell that is refused."""
    text = row.cells[column.index]
    if text.lower() in _MISSING:
        return np.nan
    if comma and _COMMA.fullmatch(text):
        return float(text.replace(",", "."))
    if _POINT.fullmatch(text) and not (comma and "." in text):
        return float(text)
    wanted = _NUMBER_WANTED
    if comma and "." in text:
        wanted = "decimals with a comma, as elsewhere in the file, and no sign between thousands"
    elif "," in text:
        wanted = "decimals with a point and no sign between thousands, such as 12.5"
    findings.fault(f'row {row.line}, column "{column.name}"', f'"{text}"', wanted)
    return np.nan


def _refuse_codes(
    rows: Sequence[Row], column: Column, *, raw: FloatArray, converted: FloatArray, findings: Findings
) -> NDArray[np.bool_]:
    """Refuse numbers that stand for a missing value; return which they are, shape (n_rows,)."""
    low, high = POSSIBLE[column.variable]
    beyond = (converted < low) | (converted > high)
    code = (raw <= _LOW_CODES_FROM) | (np.isin(raw, _HIGH_CODES) & beyond)
    for row in (rows[int(index)] for index in np.flatnonzero(code)):
        findings.fault(
            f'row {row.line}, column "{column.name}"',
            f"{row.cells[column.index]} looks like a code for a missing value",
            "leave the cell empty where nothing was measured",
        )
    return code
