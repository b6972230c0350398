"""Text of a delimited table -> its header and rows, each with its line, nothing interpreted yet."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from scheduler.weather.findings import Findings

__all__ = ["Row", "Sheet", "read_sheet"]

# In the order of trial: a comma may also stand within numbers, the others do not.
_SEPARATORS = {"\t": "tab", ";": "semicolon", ",": "comma"}
_ATTRIBUTION = re.compile(r"#\s*attribution\s*:\s*(.*)", re.IGNORECASE)
_DATE_LIKE = re.compile(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}")


class Row(NamedTuple):
    """One row: number of its line in the file, counted from 1, its text and its cells."""

    line: int
    text: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table as text: names of its columns, rows of as many cells, separator and attribution."""

    header: tuple[str, ...]
    rows: tuple[Row, ...]
    separator: str
    attribution: str


def read_sheet(text: str, *, findings: Findings) -> Sheet:
    """Return the table in `text`; rows that are not whole are left out and become faults.

    Lines before the header that begin with ``#`` are comments; ``# attribution: ...`` among them says who
    measured. Separator is a tab, a semicolon or a comma, whichever of them, in this order, the header has.
    """
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    first = next((i for i, line in enumerate(lines) if line.strip() and not line.startswith("#")), len(lines))
    said = [match[1].strip() for line in lines[:first] if (match := _ATTRIBUTION.match(line))]
    attribution = "; ".join(part for part in said if part)
    if first == len(lines):
        findings.fault("", "the file is empty", "a header and one row a day")
        return Sheet((), (), ",", attribution)
    separator = next((sign for sign in _SEPARATORS if sign in lines[first]), None)
    if separator is None:
        wanted = "names of columns, with commas, semicolons or tabs between them"
        findings.fault(f"row {first + 1}", f'"{lines[first][:80]}"', wanted)
        return Sheet((), (), ",", attribution)
    rows = list(_split(lines, first, separator=separator, findings=findings))
    header = tuple(cell.strip() for cell in rows[0].cells) if rows else ()
    if any(_DATE_LIKE.fullmatch(cell) for cell in header):
        findings.fault(f"row {first + 1}", f'"{rows[0].text}"', "a header that names the columns first")
        return Sheet((), (), separator, attribution)
    if separator != ",":
        findings.notes.append(f"separator: {_SEPARATORS[separator]}")
    whole = tuple(_whole_rows(rows[1:], header, separator=separator, findings=findings))
    if rows and not rows[1:]:
        findings.fault("", "the file has a header but no rows", "one row a day")
    return Sheet(header, whole, separator, attribution)


def _split(lines: Sequence[str], first: int, *, separator: str, findings: Findings) -> Iterator[Row]:
    """Yield the rows that are not blank, header first; a quotation that never ends is a fault."""
    reader = csv.reader(lines[first:], delimiter=separator, strict=True, skipinitialspace=True)
    begin = first
    try:
        for cells in reader:
            end = first + reader.line_num
            stripped = tuple(map(str.strip, cells))
            if any(stripped):
                yield Row(begin + 1, "\n".join(lines[begin:end]), stripped)
            begin = end
    except csv.Error as error:
        findings.fault(f"row {begin + 1}", f'"{lines[begin][:80]}" ({error})', "quotation marks in pairs")


def _whole_rows(
    rows: Sequence[Row], header: Sequence[str], *, separator: str, findings: Findings
) -> Iterator[Row]:
    """Yield the rows that have a cell for every column, without empty cells beyond the last."""
    for row in rows:
        if len(row.cells) == len(header):
            yield row
            continue
        if len(row.cells) > len(header) and not any(row.cells[len(header) :]):
            yield Row(row.line, row.text, row.cells[: len(header)])
            continue
        hint = ""
        if separator == "," and len(row.cells) > len(header):
            hint = "; numbers with a decimal comma need semicolons or tabs between the columns"
        wanted = f"{len(header)} cells, as in the header{hint}"
        findings.fault(f"row {row.line}", f'{len(row.cells)} cells in "{row.text}"', wanted)
