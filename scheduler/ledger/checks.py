"""Whether an entry can be true: every column within its bounds, and the columns together."""

from __future__ import annotations

import datetime
import json
import math
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from scheduler.errors import Fault
from scheduler.ledger.columns import Column, find_table
from scheduler.ledger.entries import Bill, Entry, Moisture, Reading, ReferenceEt, Run, WeatherDay

__all__ = ["faults_of", "faults_of_instant"]

#: No garden's records lie outside; a year typed wrong often does.
YEARS = (1900, 2199)

#: How much of a long text is quoted.
QUOTED = 60


def faults_of(entry: Entry) -> list[Fault]:
    """Return everything that is wrong with an entry; `where` of a fault is the name of the column."""
    pairs = [(column, getattr(entry, column.name)) for column in find_table(type(entry)).columns]
    faults = [fault for column, value in pairs if (fault := _fault(column, value)) is not None]
    # Columns are compared only when each is sound by itself.
    together = _TOGETHER.get(type(entry))
    if not faults and together is not None:
        faults.extend(together(entry))
    return faults


def faults_of_instant(recorded_at: datetime.datetime) -> list[Fault]:
    """Return what is wrong with the instant of an entry; one without a zone could be any of 26 hours."""
    fault = _fault(Column("recorded_at", "instant"), recorded_at)
    return [] if fault is None else [fault]


def _fault(column: Column, value: Any) -> Fault | None:
    """Return what is wrong with one value."""
    if value is None:
        return None if column.optional else Fault(column.name, "empty", f"needs {_wanted(column)}")
    if _SOUND[column.kind](column, value):
        return None
    return Fault(column.name, _quote(value), f"must be {_wanted(column)}")


def _quote(value: Any) -> str:
    """Return a value as it is quoted in a fault, cut if it is long."""
    if not isinstance(value, str):
        return str(value)
    text = ascii(value)[1:-1] if not value.isprintable() else value
    return f'"{text if len(text) <= QUOTED else text[:QUOTED] + "..."}"'


def _wanted(column: Column) -> str:
    """Return in words what a column holds."""
    if column.kind == "choice":
        return " or ".join(column.choices)
    words = _WORDS[column.kind]
    ends = {"from": column.low, "to": column.high}
    wanted = " ".join([words, *(f"{word} {end:.12g}" for word, end in ends.items() if end is not None)])
    return f"{wanted} ({column.hint})" if column.hint else wanted


_WORDS: Mapping[str, str] = {
    "date": f"a date such as 2026-07-13, in the years {YEARS[0]} to {YEARS[1]}",
    "instant": f"a time with its zone such as 2026-07-13T18:30:00Z, in the years {YEARS[0]} to {YEARS[1]}",
    "line": "a text of one line, without blanks at its ends",
    "block": "a text",
    "number": "a number",
    "whole": "a whole number",
    "decimal": "a decimal number",
    "flag": "true or false",
    "json": "a JSON document",
}


def _within(column: Column, number: float | Decimal) -> bool:
    return (column.low is None or number >= column.low) and (column.high is None or number <= column.high)


def _is_date(_column: Column, value: Any) -> bool:
    plain = isinstance(value, datetime.date) and not isinstance(value, datetime.datetime)
    return plain and YEARS[0] <= value.year <= YEARS[1]


def _is_instant(_column: Column, value: Any) -> bool:
    aware = isinstance(value, datetime.datetime) and value.utcoffset() is not None
    return aware and YEARS[0] <= value.year <= YEARS[1]


def _is_number(column: Column, value: Any) -> bool:
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    # A whole number may be too large to become a float; it is outside every bound as well.
    return _within(column, value) and math.isfinite(value)


def _is_whole(column: Column, value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and _within(column, value)


def _is_decimal(column: Column, value: Any) -> bool:
    return isinstance(value, Decimal) and value.is_finite() and _within(column, value)


def _is_block(_column: Column, value: Any) -> bool:
    # SQLite's text functions stop at a NUL, and half of a surrogate pair cannot be written at all.
    return isinstance(value, str) and not any(c == "\0" or unicodedata.category(c) == "Cs" for c in value)


def _is_line(column: Column, value: Any) -> bool:
    if not _is_block(column, value) or value != value.strip():
        return False
    breaks = any(unicodedata.category(c) in {"Cc", "Zl", "Zp"} for c in value)
    return not breaks and (column.blank or bool(value))


def _refuse_constant(word: str) -> float:
    raise ValueError(word)


def _is_json(column: Column, value: Any) -> bool:
    if not _is_block(column, value):
        return False
    try:
        json.loads(value, parse_constant=_refuse_constant)
    except (ValueError, RecursionError):
        return False
    return True


_SOUND: Mapping[str, Callable[[Column, Any], bool]] = {
    "date": _is_date,
    "instant": _is_instant,
    "line": _is_line,
    "block": _is_block,
    "number": _is_number,
    "whole": _is_whole,
    "decimal": _is_decimal,
    "flag": lambda _column, value: isinstance(value, bool),
    "choice": lambda column, value: value in column.choices,
    "json": _is_json,
}


def _order(low: str, high: str, entry: Entry) -> Iterator[Fault]:
    """Yield a fault if one column lies above another, both given."""
    least, most = getattr(entry, low), getattr(entry, high)
    if least is not None and most is not None and least > most:
        yield Fault(low, f"{least}, above {high} {most}", "are the two exchanged?")


def _weather_together(entry: WeatherDay) -> Iterator[Fault]:
    yield from _order("tmin_c", "tmax_c", entry)
    yield from _order("rh_min_pct", "rh_max_pct", entry)
    if entry.wind_m_s is not None and entry.wind_height_m is None:
        yield Fault("wind_height_m", "empty beside a wind", "needs the height of the wind sensor")


def _reference_et_together(entry: ReferenceEt) -> Iterator[Fault]:
    yield from _order("tmin_c", "tmax_c", entry)


def _run_together(entry: Run) -> Iterator[Fault]:
    if entry.status == "skipped" and entry.minutes is not None:
        yield Fault("minutes", f"{entry.minutes} for a run that was skipped", "must be empty")


def _reading_together(entry: Reading) -> Iterator[Fault]:
    if entry.kind == "bucket" and not entry.minutes:
        yield Fault("minutes", f"{entry.minutes or 'empty'}", "a bucket needs the minutes it took to fill")


def _moisture_together(entry: Moisture) -> Iterator[Fault]:
    for kind, column in (("content", "content_share"), ("tension", "tension_kpa")):
        value = getattr(entry, column)
        if kind == entry.kind and value is None:
            yield Fault(column, "empty", f"needs what was measured, since the kind is {kind}")
        if kind != entry.kind and value is not None:
            yield Fault(column, f"{value} beside the kind {entry.kind}", "must be empty")


def _bill_together(entry: Bill) -> Iterator[Fault]:
    yield from _order("first_day", "last_day", entry)


_TOGETHER: Mapping[type[Entry], Callable[[Any], Iterator[Fault]]] = {
    WeatherDay: _weather_together,
    ReferenceEt: _reference_et_together,
    Run: _run_together,
    Reading: _reading_together,
    Moisture: _moisture_together,
    Bill: _bill_together,
}
