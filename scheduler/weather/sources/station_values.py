"""Rows of a station's file -> readings in canonical units in the order of time."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.units import convert
from scheduler.weather.findings import Findings
from scheduler.weather.sheet import Row, Sheet
from scheduler.weather.sources.documents import shown
from scheduler.weather.sources.station_layout import QUANTITIES, StationLayout, column_places
from scheduler.weather.sources.station_times import midnight_before, read_times, to_moments

__all__ = ["Readings", "read_readings"]

FloatArray = NDArray[np.float64]

# Share of readings out of all reach that shows a wrong unit rather than a sensor's slips.
_MOST_IMPOSSIBLE = 0.02
_NUMBER = re.compile(r"[+-]?(?:\d{1,9}(?:\.\d{0,9})?|\.\d{1,9})", re.ASCII)


@dataclass(frozen=True, slots=True)
class Readings:
    """Readings in the order of time.

    Attributes
    ----------
    moments : array, shape (n_rows,)
        Seconds since 1970-01-01 UTC, growing.
    midnights : array, shape (n_rows,)
        Moment at which the station's own clock began the day that it showed.
    values : dict of str to array, shape (n_rows,)
        By quantity, NaN where nothing was read; solar in W/m2.
    """

    moments: FloatArray
    midnights: FloatArray
    values: dict[str, FloatArray]


def read_readings(
    sheet: Sheet, layout: StationLayout, *, zone: ZoneInfo, source: str, findings: Findings
) -> Readings:
    """Return the readings of a table.

    Raises
    ------
    WeatherError
        With all faults of the header, else with those of the rows.
    """
    time_places, places = column_places(sheet.header, layout, findings=findings)
    findings.refuse(source)
    rows = list(sheet.rows)
    times = read_times(rows, time_places, layout=layout, findings=findings)
    values = {
        name: _values(rows, name, place, layout=layout, findings=findings) for name, place in places.items()
    }
    findings.refuse(source)
    known = [time for time in times if time is not None]
    rows, known, values = _forwards(rows, known, values, findings)
    moments = to_moments(known, rows, layout=layout, zone=zone, findings=findings)
    findings.refuse(source)
    kept = _kept(moments, rows, values, findings)
    findings.refuse(source)
    return Readings(
        moments[kept],
        np.array([midnight_before(known[place], layout=layout, zone=zone) for place in kept]),
        {name: column[kept] for name, column in values.items()},
    )


def _forwards(
    rows: list[Row], times: list[datetime], values: dict[str, FloatArray], findings: Findings
) -> tuple[list[Row], list[datetime], dict[str, FloatArray]]:
    """Return everything in the order of time if the file has the newest row first."""
    steps = [(later - earlier).total_seconds() for earlier, later in pairwise(times)]
    if sum(step < 0 for step in steps) <= len(steps) / 2:
        return rows, times, values
    findings.notes.append("the newest row came first; the order was turned")
    return rows[::-1], times[::-1], {name: column[::-1] for name, column in values.items()}


def _values(
    rows: Sequence[Row], quantity: str, place: int, *, layout: StationLayout, findings: Findings
) -> FloatArray:
    """Return a column in canonical units, NaN where nothing was read or where it cannot be."""
    missing = {"", *(word.casefold() for word in layout.missing)}
    raw = np.full(len(rows), np.nan)
    bad: list[Row] = []
    for index, row in enumerate(rows):
        text = row.cells[place]
        if text.casefold() in missing:
            continue
        plain = text.replace(",", ".") if layout.decimal == "," and "." not in text else text
        if _NUMBER.fullmatch(plain):
            raw[index] = float(plain)
        else:
            bad.append(row)
    name, unit = layout.columns[quantity]
    if bad:
        number = "" if len(bad) == 1 else f", and {len(bad) - 1} more rows like it"
        found = f"{shown(bad[0].cells[place])}{number}"
        wanted = f'a number with "{layout.decimal}" before its decimals, or an empty cell'
        findings.fault(f'row {bad[0].line}, column "{name}"', found, wanted)
    dimension, low, high = QUANTITIES[quantity]
    values = raw if quantity == "solar" else convert(raw, unit, dimension)
    return _possible(values, low, high, name=name, findings=findings)


def _possible(values: FloatArray, low: float, high: float, *, name: str, findings: Findings) -> FloatArray:
    """Return readings without those that cannot be; a column that is full of them is a fault."""
    beyond = (values < low) | (values > high)
    number, known = int(beyond.sum()), int(np.isfinite(values).sum())
    if number > max(1.0, _MOST_IMPOSSIBLE * known):
        found = f"{number} of {known} readings cannot be, such as {values[beyond][0]:.4g}"
        findings.fault(f'column "{name}"', found, f"{low:g} to {high:g} in the declared unit's canonical one")
    elif number:
        findings.notes.append(f'"{name}": {number} readings cannot be and count as missing')
    return np.where(beyond, np.nan, values)


def _kept(
    moments: FloatArray, rows: Sequence[Row], values: dict[str, FloatArray], findings: Findings
) -> list[int]:
    """Return the places of the rows that go forward in time; a row given twice stands once."""
    kept: list[int] = []
    twice = 0
    for place in range(moments.size):
        step = moments[place] - moments[kept[-1]] if kept else 1.0
        if step > 0:
            kept.append(place)
        elif step == 0 and all(_same(column[place], column[kept[-1]]) for column in values.values()):
            twice += 1
        else:
            found = "its time is not after that of the row before"
            findings.fault(f"row {rows[place].line}", found, "rows in the order of time, one for each time")
            return kept
    if twice:
        findings.notes.append(f"{twice} rows given twice with the same values")
    return kept


def _same(one: float, other: float) -> bool:
    return bool(one == other or (np.isnan(one) and np.isnan(other)))
