"""Weather files -> `WeatherRecord`: one row a day, in canonical units, gaps visible."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, WeatherError
from scheduler.garden.plan import WeatherChoice
from scheduler.weather.cells import read_dates, read_origin, read_values
from scheduler.weather.columns import find_columns
from scheduler.weather.days import name_days
from scheduler.weather.findings import Findings
from scheduler.weather.quality import check_values, clip_humidity
from scheduler.weather.record import VARIABLES, WeatherRecord
from scheduler.weather.sheet import Row, read_sheet

__all__ = ["parse_weather", "read_weather"]

_LARGEST_FILE = 50_000_000
# No record of daily weather is longer; a longer one has a slip in a year.
_LONGEST_RECORD = np.timedelta64(200 * 366, "D")
_TEXT_WANTED = "a text file with one row a day: in a spreadsheet program, save the table as CSV in UTF-8"


@dataclass(frozen=True, slots=True)
class _Table:
    """Rows that could be dated, with what they hold: shape (n_rows,) each."""

    rows: tuple[Row, ...]
    dates: NDArray[np.datetime64]
    forecast: NDArray[np.bool_]
    values: dict[str, NDArray[np.float64]]

    def take(self, chosen: NDArray[np.intp]) -> _Table:
        """Return some of the rows, in the order asked for."""
        return _Table(
            tuple(self.rows[i] for i in chosen),
            self.dates[chosen],
            self.forecast[chosen],
            {name: column[chosen] for name, column in self.values.items()},
        )

    def same(self, one: int, other: int) -> bool:
        """Return True if two rows hold the same."""
        pairs = [(column[one], column[other]) for column in self.values.values()]
        equal = all(a == b or (np.isnan(a) and np.isnan(b)) for a, b in pairs)
        return equal and bool(self.forecast[one] == self.forecast[other])


def read_weather(path: Path, choice: WeatherChoice) -> WeatherRecord:
    """Return the weather in a file.

    Parameters
    ----------
    path : Path
    choice : WeatherChoice
        Its `columns` say which column is what where the header does not.

    Raises
    ------
    WeatherError
        If the file cannot be opened, is larger than 50 MB or is not text, and as `parse_weather` does.
    """
    source = path.name
    try:
        size = path.stat().st_size
        with path.open("rb") as file:
            # What is no plain file, such as a device, tells no size and may never end.
            data = file.read(_LARGEST_FILE + 1) if size <= _LARGEST_FILE else b""
        if max(size, len(data)) > _LARGEST_FILE:
            wanted = "at most 50 MB; a daily record of a century is under 5 MB"
            found = f"the file has {max(size, len(data)) / 1e6:.1f} MB"
            raise WeatherError(source, [Fault("", found, wanted)])
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else error
        wanted = "the name of a weather file, as seen from the folder of the plan"
        raise WeatherError(str(path), [Fault("", f"cannot be read ({reason})", wanted)]) from error
    notes: list[str] = []
    text = _decode(data, source, notes=notes)
    return parse_weather(text, choice, source=source, notes=tuple(notes))


def parse_weather(
    text: str, choice: WeatherChoice, *, source: str, notes: tuple[str, ...] = ()
) -> WeatherRecord:
    """Return the weather in the text of a table.

    Parameters
    ----------
    text : str
        Comment lines that begin with ``#``, a header, one row a day with an ISO date.
    choice : WeatherChoice
        Its `columns` say which column is what where the header does not.
    source : str
        Name of the file, as people should see it.
    notes : tuple of str
        What was already said about the file.

    Raises
    ------
    WeatherError
        With all faults of the text, of which 25 are listed.
    """
    findings = Findings(notes=list(notes))
    sheet = read_sheet(text, findings=findings)
    if not sheet.header:
        findings.refuse(source)
    columns = find_columns(sheet.header, choice.columns, findings=findings)
    by_variable = {column.variable: column for column in columns}
    if "date" not in by_variable:
        findings.refuse(source)
    measured = [column for column in columns if column.variable in VARIABLES]
    dates = read_dates(sheet.rows, by_variable["date"], findings=findings)
    forecast = read_origin(sheet.rows, by_variable.get("origin"), findings=findings)
    values = read_values(sheet, measured, findings=findings)
    table = _sorted(_dated(sheet.rows, dates, forecast=forecast, values=values), findings)
    table = _without_duplicates(table, findings)
    if findings.faults and table.rows:
        # A cell that cannot be read must not hide a value elsewhere that cannot be.
        check_values(_on_every_day(table, source=source, attribution="", notes=()), findings)
    findings.refuse(source)
    record = _on_every_day(table, source=source, attribution=sheet.attribution, notes=tuple(findings.notes))
    return clip_humidity(record)


def _decode(data: bytes, source: str, *, notes: list[str]) -> str:
    """Return the bytes of a file as text; UTF-8 with or without its mark, else Windows-1252."""
    if not data.strip():
        raise WeatherError(source, [Fault("", "the file is empty", "a header and one row a day")])
    # Text in any encoding read here has none of these; UTF-16, pictures and spreadsheets are full of them.
    if any(byte in data for byte in (b"\x00", b"\x01", b"\x02", b"\x03")):
        raise WeatherError(source, [Fault("", "this is not a text file", _TEXT_WANTED)])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        pass
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError as error:
        raise WeatherError(source, [Fault("", "this is not a text file", _TEXT_WANTED)]) from error
    notes.append("the text is not UTF-8; it was read as Windows-1252")
    return text


def _dated(
    rows: Sequence[Row],
    dates: NDArray[np.datetime64],
    *,
    forecast: Sequence[bool],
    values: dict[str, NDArray[np.float64]],
) -> _Table:
    """Return the rows whose date could be read."""
    table = _Table(tuple(rows), dates, np.array(forecast, dtype=bool), values)
    dated = ~np.isnat(dates)
    return table if dated.all() else table.take(np.flatnonzero(dated))


def _sorted(table: _Table, findings: Findings) -> _Table:
    """Return the rows in the order of their dates."""
    order = np.argsort(table.dates, kind="stable")
    if not (np.diff(order) < 0).any():
        return table
    findings.notes.append("the rows were not in the order of their dates; they were sorted")
    return table.take(order)


def _without_duplicates(table: _Table, findings: Findings) -> _Table:
    """Return one row a day: a measurement before a forecast; rows that differ otherwise are refused."""
    starts = np.flatnonzero(np.diff(table.dates, prepend=np.datetime64("NaT")) != np.timedelta64(0, "D"))
    ends = np.append(starts[1:], table.dates.size)
    kept = starts.copy()
    twice = np.zeros(starts.size, dtype=bool)
    superseded = np.zeros(starts.size, dtype=bool)
    for place in np.flatnonzero(ends - starts > 1):
        rows = range(starts[place], ends[place])
        group = [i for i in rows if not table.forecast[i]] or list(rows)
        kept[place] = group[0]
        superseded[place] = len(group) < len(rows)
        if not all(table.same(group[0], i) for i in group[1:]):
            quoted = " and ".join(f'row {table.rows[i].line} "{table.rows[i].text}"' for i in group)
            findings.fault(str(table.dates[rows[0]]), f"rows that differ: {quoted}", "one row for each date")
        else:
            twice[place] = len(group) > 1
    if kept.size == table.dates.size:
        return table
    days = table.dates[starts]
    if twice.any():
        findings.notes.append(f"given twice with the same values: {name_days(days, twice)}")
    if superseded.any():
        findings.notes.append(f"measured, so the forecast row was left out: {name_days(days, superseded)}")
    return table.take(kept)


def _on_every_day(table: _Table, *, source: str, attribution: str, notes: tuple[str, ...]) -> WeatherRecord:
    """Return the record with a day for every date from the first to the last, NaN where no row was."""
    if table.dates[-1] - table.dates[0] > _LONGEST_RECORD:
        found = f"dates from {table.dates[0]} to {table.dates[-1]}"
        raise WeatherError(source, [Fault("", found, "at most 200 years; look for a slip in a year")])
    dates = np.arange(table.dates[0], table.dates[-1] + 1, dtype="datetime64[D]")
    place = np.searchsorted(dates, table.dates)
    values = {name: np.full(dates.size, np.nan) for name in VARIABLES}
    for name, column in table.values.items():
        values[name][place] = column
    # A day without a row belongs to what the row before it was.
    last_row = np.searchsorted(table.dates, dates, side="right") - 1
    return WeatherRecord(dates, values, table.forecast[last_row], source, attribution, notes)
