"""A station's own file, with a row every few minutes or hours -> one row a local day."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from scheduler.errors import Fault, WeatherError
from scheduler.weather.days import name_days
from scheduler.weather.findings import Findings
from scheduler.weather.record import WeatherRecord
from scheduler.weather.sheet import read_sheet
from scheduler.weather.sources.daily_table import impossible, to_record
from scheduler.weather.sources.intervals import LocalDays, day_of, zone_named
from scheduler.weather.sources.station_days import daily_columns
from scheduler.weather.sources.station_layout import StationLayout
from scheduler.weather.sources.station_values import read_readings

__all__ = ["parse_station_csv", "read_station_csv"]

_LARGEST_FILE = 100_000_000
_LONGEST_DAYS = 200 * 366
_TEXT = "a text file: save the table as CSV in UTF-8"


def read_station_csv(path: Path, layout: StationLayout, *, timezone: str) -> tuple[WeatherRecord, datetime]:
    """Return the days in a station's file, and when the file was last changed, UTC.

    Raises
    ------
    WeatherError
        If it cannot be opened, is larger than 100 MB or is not text, and as `parse_station_csv` does.
    """
    source = path.name
    try:
        state = path.stat()
        size = state.st_size
        if size > _LARGEST_FILE:
            fault = Fault("", f"the file has {size / 1e6:.1f} MB", f"at most {_LARGEST_FILE / 1e6:g} MB")
            raise WeatherError(source, [fault])
        data = path.read_bytes()
    except OSError as error:
        found = f"cannot be read ({error.strerror})"
        raise WeatherError(source, [Fault("", found, "the name of a station's file")]) from error
    notes: list[str] = []
    text = _decode(data, source, notes=notes)
    record = parse_station_csv(text, layout, timezone=timezone, source=source, notes=tuple(notes))
    return record, datetime.fromtimestamp(state.st_mtime, UTC)


def _decode(data: bytes, source: str, *, notes: list[str]) -> str:
    """Return the bytes of a file as text; UTF-8 with or without its mark, else Windows-1252."""
    if b"\x00" in data:
        raise WeatherError(source, [Fault("", "this is not a text file", _TEXT)])
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        notes.append("the text is not UTF-8; it was read as Windows-1252")
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError as error:
        raise WeatherError(source, [Fault("", "this is not a text file", _TEXT)]) from error


def parse_station_csv(
    text: str, layout: StationLayout, *, timezone: str, source: str, notes: tuple[str, ...] = ()
) -> WeatherRecord:
    """Return one row a local day from rows at any step.

    Greatest and least are taken over the readings of a day, midnight at its beginning included; means
    are weighted by time, straight between neighbours. Radiation is the mean flux times the length of
    the day. A day counts only as far as enough of it is covered; each other day is told with its hours.

    Parameters
    ----------
    text : str
        A header and rows, in the order of time or the other way round.
    layout : StationLayout
    timezone : str
        IANA time zone of the garden.
    source : str
    notes : tuple of str
        What was already said about the file.

    Raises
    ------
    WeatherError
        With the faults of the text.
    ValueError
        If there is no time zone of that name; a plan's is checked before.
    """
    zone = zone_named(timezone)
    findings = Findings(notes=list(notes))
    sheet = read_sheet(text, findings=findings)
    findings.refuse(source)
    readings = read_readings(sheet, layout, zone=zone, source=source, findings=findings)
    if readings.moments[-1] - readings.moments[0] > _LONGEST_DAYS * 86_400:
        findings.fault("", "rows that lie more than 200 years apart", "look for a slip in a year")
        findings.refuse(source)
    # A last row at midnight closes its day; it does not open another.
    last = max(readings.moments[0], readings.moments[-1] - 1.0)
    days = LocalDays(day_of(readings.moments[0], zone), day_of(last, zone), zone=zone)
    columns = daily_columns(readings, layout, days=days, findings=findings)
    for name, bad in impossible(columns).items():
        if bad.any():
            findings.notes.append(f"{name} cannot be and counts as missing: {name_days(days.dates, bad)}")
            columns[name] = np.where(bad, np.nan, columns[name])
    return to_record(
        days.dates,
        columns,
        forecast=False,
        source=source,
        attribution=sheet.attribution,
        notes=findings.notes,
    )
