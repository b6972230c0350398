"""What each column of the ledger may hold; one table of facts for checking, storing, export and import."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from scheduler.ledger import entries
from scheduler.ledger.entries import Entry

__all__ = ["TABLES", "Column", "Kind", "Table", "find_table"]

#: ``line`` is text without line breaks, ``block`` any text, ``flag`` a truth value, ``json`` a JSON document.
Kind = Literal["date", "instant", "line", "block", "number", "whole", "decimal", "flag", "choice", "json"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column: what it holds, its bounds (both ends included), and whether it may stay empty.

    `blank` allows empty text where there is text; `hint` says in words what a value of it means. `since` is
    the version of the ledger that brought the column; exports of earlier ones lack it.
    """

    name: str
    kind: Kind
    optional: bool = False
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    blank: bool = False
    hint: str = ""
    since: int = 1


@dataclass(frozen=True, slots=True)
class Table:
    """One table: the type of its entries, its columns without id and recorded_at, and who fills it.

    `by_hand` tables hold what a person enters; they can be imported, and undone. Rows of a `withdrawable`
    table can be taken back. `since` is the version of the ledger that brought the table.
    """

    name: str
    entry: type[Entry]
    columns: tuple[Column, ...]
    by_hand: bool = False
    withdrawable: bool = True
    since: int = 1


def _number(name: str, low: float, high: float, *, optional: bool = False) -> Column:
    return Column(name, "number", optional=optional, low=low, high=high)


def _choice(name: str, *choices: str) -> Column:
    return Column(name, "choice", choices=choices)


_DATE = Column("date", "date")
_AT = Column("at", "instant")
_BED = Column("bed", "line")
_MAYBE_BED = Column("bed", "line", optional=True)
# Ranges in which a reading can be one; the same as for weather files [degC, %, m/s, mm].
_RAIN = (0.0, 500.0)
_TEMPERATURE = (-60.0, 60.0)
_HUMIDITY = (0.0, 100.0)
_WIND = (0.0, 60.0)
# A day has 1440 minutes; what ran longer ran on more than one day.
_MINUTES = (0.0, 1440.0)
# A house meter of eight digits in m3 [L].
_LARGEST_VOLUME = 1e11
# Soil or potting mix that holds more water than this share of its volume is a probe in water: judgement.
_WETTEST = 0.8
# The pressure of the air [kPa]; in practice a tensiometer stops before, as the hint says (no source).
_STRONGEST_TENSION = 100.0
# Start times are counted from midnight of the run's day and may lie in the night after it.
_LATEST_START = 2879

_WEATHER = (
    _DATE,
    _choice("origin", "station", "forecast", "gauge"),
    Column("source", "line"),
    Column("issued_at", "instant", optional=True),
    _number("tmax_c", *_TEMPERATURE, optional=True),
    _number("tmin_c", *_TEMPERATURE, optional=True),
    _number("dew_point_c", *_TEMPERATURE, optional=True),
    _number("rh_max_pct", *_HUMIDITY, optional=True),
    _number("rh_min_pct", *_HUMIDITY, optional=True),
    _number("rh_mean_pct", *_HUMIDITY, optional=True),
    _number("wind_m_s", *_WIND, optional=True),
    _number("wind_height_m", 0.1, 200.0, optional=True),
    _number("solar_mj_m2", 0.0, 50.0, optional=True),
    _number("sunshine_h", 0.0, 24.0, optional=True),
    _number("rain_mm", *_RAIN, optional=True),
)
_REFERENCE_ET = (
    _DATE,
    _number("reference_et_mm", 0.0, 20.0),
    Column("inputs_hash", "line"),
    _number("rain_mm", *_RAIN),
    _number("wind_2m_m_s", *_WIND),
    _number("rh_min_pct", *_HUMIDITY),
    _number("tmax_c", *_TEMPERATURE),
    _number("tmin_c", *_TEMPERATURE),
    Column("forecast", "flag"),
    Column("estimated", "line", blank=True),
)
_TIMETABLE = (
    Column("first_day", "date"),
    Column("plan_id", "whole", low=1),
    Column("weather_hash", "line"),
    Column("computed_at", "instant"),
    Column("document", "json"),
)
_TIMETABLE_RUN = (
    Column("timetable_id", "whole", low=1),
    _DATE,
    Column("zone", "line"),
    Column("start_min", "whole", low=0, high=_LATEST_START),
    _number("minutes", *_MINUTES),
    _number("volume_l", 0.0, _LARGEST_VOLUME),
)
_RUN = (
    _DATE,
    _choice("status", "ran", "skipped"),
    Column("zone", "line", optional=True),
    _MAYBE_BED,
    _number("minutes", *_MINUTES, optional=True),
)
_READING = (
    _AT,
    _choice("kind", "meter", "bucket"),
    _number("volume_l", 0.0, _LARGEST_VOLUME),
    _MAYBE_BED,
    _number("minutes", *_MINUTES, optional=True),
    Column("as_written", "line", blank=True),
)
_MOISTURE = (
    _DATE,
    _BED,
    _choice("kind", "content", "tension"),
    Column(
        "content_share",
        "number",
        optional=True,
        low=0.0,
        high=_WETTEST,
        hint="a share of the soil's volume: 24 % is 0.24",
    ),
    Column(
        "tension_kpa",
        "number",
        optional=True,
        low=0.0,
        high=_STRONGEST_TENSION,
        hint="in kPa, which is centibar; a tensiometer stops near 80 to 85 kPa",
    ),
    Column("as_written", "line", blank=True),
)
_BILL = (
    Column("first_day", "date"),
    Column("last_day", "date"),
    Column("units", "decimal", low=0, high=1e9),
    _choice("unit", "m3", "CCF", "kgal", "gal", "L"),
    # A utility that charged too much sends a bill below zero.
    Column("amount", "decimal", low=-1e9, high=1e9),
    Column("currency", "line"),
)


def _tables() -> dict[str, Table]:
    """Return the tables in an order in which every row comes after those it refers to."""
    hand = {"by_hand": True}
    plan = (Column("hash", "line"), Column("text", "block"))
    gauge = (
        _DATE,
        _number("rain_mm", *_RAIN),
        Column("place", "choice", choices=("open", "canopy"), since=2),
    )
    dig = (_DATE, _BED, _choice("finding", "wet", "right", "dry"))
    tables = [
        # A timetable stands on its plan, and its runs stand and fall with it.
        Table("plan_version", entries.PlanVersion, plan, withdrawable=False),
        Table("weather_day", entries.WeatherDay, _WEATHER),
        Table("reference_et", entries.ReferenceEt, _REFERENCE_ET),
        Table("timetable", entries.Timetable, _TIMETABLE),
        Table("timetable_run", entries.TimetableRun, _TIMETABLE_RUN, withdrawable=False),
        Table("run", entries.Run, _RUN, **hand),
        Table("valve", entries.Valve, (_AT, _BED, _choice("state", "open", "shut")), **hand),
        Table("reading", entries.Reading, _READING, **hand),
        Table("gauge", entries.Gauge, gauge, **hand),
        Table("dig", entries.Dig, dig, **hand),
        Table("bill", entries.Bill, _BILL, **hand),
        Table("relaid", entries.Relaid, (_AT, _BED), since=3, **hand),
        Table("moisture", entries.Moisture, _MOISTURE, since=3, **hand),
    ]
    names = tuple(table.name for table in tables if table.withdrawable)
    withdrawal = (_choice("table_name", *names), Column("row_id", "whole", low=1), Column("reason", "line"))
    tables.append(Table("withdrawal", entries.Withdrawal, withdrawal, withdrawable=False))
    return {table.name: table for table in tables}


TABLES: Mapping[str, Table] = MappingProxyType(_tables())

_BY_ENTRY: Mapping[type[object], Table] = {table.entry: table for table in TABLES.values()}


def find_table(entry: type[object]) -> Table:
    """Return the table that keeps entries of a type."""
    return _BY_ENTRY[entry]
