"""The three layouts of GHCN-Daily -> one list of single values with their flags, nothing judged yet.

Layouts after the archive's own readme, section III.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from scheduler.errors import Fault
from scheduler.weather.sources.documents import shown

__all__ = ["ELEMENTS", "Layout", "Observation", "layout_of", "observations"]

#: Elements that are read.
ELEMENTS = frozenset(
    {"TMAX", "TMIN", "PRCP", "AWND", "WDMV", "ADPT", "RHAV", "RHMN", "RHMX", "TSUN", "MDPR", "DAPR"}
)

_MISSING = "-9999"
_STATION = re.compile(r"[A-Z]{2}[A-Z0-9_\-]{9}", re.ASCII)
_DLY_LINE = re.compile(
    r"(?P<station>.{11})(?P<year>\d{4})(?P<month>\d{2})(?P<element>[A-Z]{2}[A-Z0-9]{2})", re.ASCII
)
_DLY_LENGTH = 269
_DLY_FIRST, _DLY_GROUP, _DLY_GROUPS = 21, 8, 31
# Whole numbers only: values are tenths, and decimals mean that somebody has converted them already.
_WHOLE = re.compile(r"-?\d{1,6}", re.ASCII)
_WHOLE_WANTED = (
    "a whole number, in tenths where the archive keeps tenths; decimals show a file that was converted "
    "to other units, which is not read"
)
_MOST_FAULTS = 25


@dataclass(frozen=True, slots=True)
class Observation:
    """One value of one element on one day, as it is stored, with its flags (empty for none)."""

    station: str
    day: date
    element: str
    value: int
    measurement_flag: str
    quality_flag: str
    time: str


class Layout:
    """Names of the layouts."""

    DLY = ".dly"
    BY_STATION = "one row a day"
    BY_YEAR = "one row a value"


def layout_of(text: str) -> str:
    """Return the layout of a file, or empty text for none of them."""
    line = next((line for line in text.split("\n") if line.strip()), "")
    if line.lstrip('"').startswith("STATION") and "DATE" in line:
        return Layout.BY_STATION
    if _DLY_LINE.match(line):
        return Layout.DLY
    cells = [cell.strip(' "') for cell in line.split(",")]
    if len(cells) >= 7 and _STATION.fullmatch(cells[0]) and re.fullmatch(r"\d{8}", cells[1]):
        return Layout.BY_YEAR
    return ""


def observations(text: str, layout: str, *, station: str, faults: list[Fault]) -> Iterator[Observation]:
    """Yield the values of one station, or of the file's only one if `station` is empty.

    Missing values are left out. Rows that cannot be read become faults; after 25 the rest is not read.
    """
    readers = {Layout.DLY: _dly, Layout.BY_STATION: _by_station, Layout.BY_YEAR: _by_year}
    for found in readers[layout](text, faults):
        if len(faults) >= _MOST_FAULTS:
            return
        if not station or found.station == station:
            yield found


def _dly(text: str, faults: list[Fault]) -> Iterator[Observation]:
    """Yield the values of lines with one month of one element each."""
    for number, line in enumerate(text.split("\n"), 1):
        line = line.rstrip("\r")
        if not line.strip():
            continue
        head = _DLY_LINE.match(line)
        # Blanks at the end of a line may have been trimmed; a value may not.
        if head is None or not _DLY_LENGTH - 3 <= len(line) <= _DLY_LENGTH:
            found = f"{len(line)} characters, {shown(line)}"
            faults.append(Fault(f"line {number}", found, f"{_DLY_LENGTH} characters of one month"))
            continue
        if head["element"] not in ELEMENTS:
            continue
        line = line.ljust(_DLY_LENGTH)
        for day in range(1, _DLY_GROUPS + 1):
            start = _DLY_FIRST + _DLY_GROUP * (day - 1)
            value, flags = line[start : start + 5].strip(), line[start + 5 : start + 8]
            if value == _MISSING:
                continue
            where = f"line {number}, day {day}"
            when = _day(int(head["year"]), int(head["month"]), day, where=where, faults=faults)
            whole = _whole(value, where=where, faults=faults)
            if when is not None and whole is not None:
                station = head["station"].strip()
                yield Observation(
                    station, when, head["element"], whole, flags[0].strip(), flags[1].strip(), ""
                )


def _by_year(text: str, faults: list[Fault]) -> Iterator[Observation]:
    """Yield the values of rows with one value each, without a header."""
    for number, cells in _rows(text, faults):
        where = f"row {number}"
        if len(cells) not in (7, 8):
            faults.append(
                Fault(where, f"{len(cells)} cells", "8 cells: station, day, element, value, flags, time")
            )
            continue
        station, day, element, value, measured, quality, _ = cells[:7]
        if element not in ELEMENTS or value == _MISSING:
            continue
        when = _parse_day(day, r"(\d{4})(\d{2})(\d{2})", where=where, faults=faults)
        whole = _whole(value, where=where, faults=faults)
        if when is not None and whole is not None:
            yield Observation(station, when, element, whole, measured, quality, "".join(cells[7:]))


def _by_station(text: str, faults: list[Fault]) -> Iterator[Observation]:
    """Yield the values of rows with one day each, under a header that differs from station to station."""
    rows = _rows(text, faults)
    header = next(rows, (0, []))[1]
    if len(set(header)) < len(header) or not {"STATION", "DATE"} <= set(header):
        faults.append(Fault("header", "STATION or DATE missing, or a column twice", "each column once"))
        return
    elements = [name for name in header if name in ELEMENTS]
    for number, cells in rows:
        where = f"row {number}"
        if len(cells) != len(header):
            faults.append(Fault(where, f"{len(cells)} cells", f"{len(header)} cells, as in the header"))
            continue
        row = dict(zip(header, cells, strict=True))
        when = _parse_day(row["DATE"], r"(\d{4})-(\d{2})-(\d{2})", where=where, faults=faults)
        for element in elements if when is not None else ():
            if row[element] in ("", _MISSING):
                continue
            flags = [flag.strip() for flag in row.get(f"{element}_ATTRIBUTES", "").split(",")]
            whole = _whole(row[element], where=f"{where}, {element}", faults=faults)
            if len(flags) < 3:
                faults.append(
                    Fault(f"{where}, {element}", "no flags", f'flags such as ",,7" in {element}_ATTRIBUTES')
                )
            elif whole is not None and when is not None:
                yield Observation(
                    row["STATION"], when, element, whole, flags[0], flags[1], "".join(flags[3:4])
                )


def _rows(text: str, faults: list[Fault]) -> Iterator[tuple[int, list[str]]]:
    """Yield the rows that are not blank, cells without blanks around them."""
    reader = csv.reader(text.split("\n"), strict=True)
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield reader.line_num, [cell.strip() for cell in cells]
    except csv.Error as error:
        faults.append(Fault(f"row {reader.line_num}", str(error), "quotation marks in pairs"))


def _parse_day(text: str, pattern: str, *, where: str, faults: list[Fault]) -> date | None:
    match = re.fullmatch(pattern, text, re.ASCII)
    if match is None:
        faults.append(Fault(where, f"date {shown(text)}", "a day in digits"))
        return None
    return _day(*map(int, match.groups()), where=where, faults=faults)


def _day(year: int, month: int, day: int, *, where: str, faults: list[Fault]) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        faults.append(Fault(where, f"day {day} of {year}-{month:02d}", "a day that the calendar has"))
        return None


def _whole(text: str, *, where: str, faults: list[Fault]) -> int | None:
    if not _WHOLE.fullmatch(text):
        faults.append(Fault(where, f"value {shown(text)}", _WHOLE_WANTED))
        return None
    return int(text)
