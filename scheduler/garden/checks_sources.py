"""Checks across keys: where weather comes from, and what each kind of source needs."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

from scheduler.errors import Fault, UnitError
from scheduler.garden.bounds import outside
from scheduler.garden.faultwords import attribute_of, nearest_hint, wanted_for
from scheduler.garden.fields import shown
from scheduler.garden.plantables import PlanTables, SourceTables
from scheduler.garden.schema_base import ColumnTable
from scheduler.garden.schema_links import SourceTable
from scheduler.garden.tableread import Read
from scheduler.garden.units import Dimension, parse_quantity

__all__ = ["STATION_DIMENSIONS", "check_sources", "keys_of_kind"]

#: What each column of a station's file is a quantity of.
STATION_DIMENSIONS: dict[str, Dimension] = {
    "temperature": "temperature",
    "humidity": "percent",
    "dew_point": "temperature",
    "wind": "speed",
    "solar": "radiation",
    "rain": "water_depth",
}
_NEEDS: dict[str, tuple[str, ...]] = {
    "open-meteo": ("product",),
    "nws": (),
    "ghcn-daily": ("station",),
    "station csv": ("file", "time_columns", "time_format"),
}
_EXTRAS: dict[str, tuple[str, ...]] = {
    "open-meteo": ("base",),
    "nws": ("base",),
    "ghcn-daily": ("base", "wind_height"),
    "station csv": (
        *("columns", "wind_height", "rain", "clock", "decimal", "missing"),
        *("longest_step", "least_share", "least_share_solar"),
    ),
}
_NETWORK = ("open-meteo", "nws", "ghcn-daily")
_BY_PLACE = ("open-meteo", "nws")
_STATION_ID = re.compile(r"[A-Z]{2}[A-Z0-9_-]{9}", re.ASCII)
# Differs from itself in every part that a format may leave out or exchange.
_PROBE = datetime(2023, 10, 27, 13, 0, tzinfo=UTC)


def check_sources(tables: PlanTables) -> Iterator[Fault]:
    """Yield faults of the sources, and of a plan that has weather from nowhere."""
    weather = tables.weather
    if weather.has("file") and weather.table.file is None:
        if weather.has("source") and not tables.sources:
            wanted = 'write file = "weather.csv", or add a [[weather.source]] to fetch from'
            yield Fault(weather.place("file"), "missing", wanted)
        if tables.columns:
            yield Fault(f"{weather.where} > columns", "has no effect without file", "leave it out")
    kinds = [entry.source.table.kind for entry in tables.sources if entry.source.has("kind")]
    online = [kind for kind in kinds if kind in _NETWORK]
    if online and weather.has("contact") and weather.table.contact is None:
        found = f"missing, and {online[0]} is asked over the network"
        yield Fault(weather.place("contact"), found, wanted_for(type(weather.table), "contact"))
    by_place = [kind for kind in kinds if kind in _BY_PLACE]
    if by_place and tables.site.has("longitude") and tables.site.table.longitude is None:
        found = f"missing, and {by_place[0]} asks for it"
        yield Fault(tables.site.place("longitude"), found, 'write degrees with E or W, e.g. "12.1 W"')
    for entry in tables.sources:
        yield from _check_source(entry)
    yield from _check_twice([entry.source for entry in tables.sources])


def keys_of_kind(
    read: Read[Any], kind: str, *, needs: tuple[str, ...], extras: tuple[str, ...]
) -> Iterator[Fault]:
    """Yield a fault for each key that a kind needs and has not, or that means nothing to it."""
    model = type(read.table)
    known = {info.alias or name for name, info in model.model_fields.items()}
    for key in needs:
        if key not in read.raw and read.has(attribute_of(model, key)):
            yield Fault(f"{read.where} > {key}", f'missing for kind = "{kind}"', wanted_for(model, key))
    for key in read.raw:
        if key in known and key not in ("kind", *needs, *extras):
            listed = ", ".join((*needs, *extras))
            wanted = f'leave it out; kind = "{kind}" takes {listed}'
            yield Fault(f"{read.where} > {key}", f'means nothing for kind = "{kind}"', wanted)


def _check_source(entry: SourceTables) -> Iterator[Fault]:
    source = entry.source
    if not source.has("kind"):
        return
    kind, table = source.table.kind, source.table
    yield from keys_of_kind(source, kind, needs=_NEEDS[kind], extras=_EXTRAS[kind])
    yield from outside(
        source,
        "wind_height",
        "length",
        low="0.5 m",
        high="100 m",
        ask="the height of the sensor above the ground, 10 m at many stations",
    )
    station = table.station if kind == "ghcn-daily" and source.has("station") else None
    if station is not None and not _STATION_ID.fullmatch(station):
        found = f"{shown(station)} is not the identification of a station"
        yield Fault(source.place("station"), found, 'write its eleven signs, e.g. "USC00123456"')
    if kind == "station csv":
        yield from _check_layout(entry)


def _check_layout(entry: SourceTables) -> Iterator[Fault]:
    source = entry.source
    yield from outside(
        source,
        "longest_step",
        "duration",
        low="1 min",
        high="12 h",
        ask="the time from row to row",
    )
    if source.has("time_format") and source.table.time_format is not None:
        yield from _check_time_format(source, source.table.time_format)
    for quantity, column in entry.columns.items():
        yield from _check_column(quantity, column)
    unknown = [quantity for quantity in entry.columns if quantity not in STATION_DIMENSIONS]
    if not unknown and {"temperature", "rain"}.isdisjoint(entry.columns):
        wanted = 'write e.g. columns.rain = { column = "Rain", unit = "mm" }'
        yield Fault(f"{source.where} > columns", "neither temperature nor rain", wanted)
    if "wind" in entry.columns and source.has("wind_height") and source.table.wind_height is None:
        found = "missing, and the file has wind"
        yield Fault(source.place("wind_height"), found, wanted_for(SourceTable, "wind_height"))


def _check_time_format(source: Read[SourceTable], text: str) -> Iterator[Fault]:
    try:
        told = datetime.strptime(_PROBE.strftime(text), text).replace(tzinfo=UTC) == _PROBE
    except (ValueError, re.error):
        told = False
    if not told:
        wanted = (
            'year %Y, month %m, day %d, hour %H (or %I with %p), minute %M, e.g. "%m/%d/%Y %I:%M %p" for '
            "10/27/2023 01:00 PM"
        )
        yield Fault(source.place("time_format"), f"{shown(text)} does not tell a day and an hour", wanted)


def _check_column(quantity: str, column: Read[ColumnTable]) -> Iterator[Fault]:
    if quantity not in STATION_DIMENSIONS:
        hint = nearest_hint(quantity, list(STATION_DIMENSIONS), kind="quantities")
        yield Fault(column.where, "this quantity is unknown", hint)
        return
    if not column.has("unit"):
        return
    unit, dimension = column.table.unit, STATION_DIMENSIONS[quantity]
    if unit is None:
        wanted = 'say what the column is in, e.g. { column = "Outdoor", unit = "degF" }'
        yield Fault(column.where, "no unit", wanted)
        return
    try:
        one = parse_quantity(f"1 {unit}", dimension)
    except UnitError as error:
        yield Fault(column.place("unit"), f"{shown(unit)} does not fit {quantity}", error.wanted)
        return
    if quantity == "solar" and one != parse_quantity("1 W/m2", dimension):
        yield Fault(column.place("unit"), f"{shown(unit)} is not a flux", 'a station tells it in "W/m2"')


def _check_twice(sources: list[Read[SourceTable]]) -> Iterator[Fault]:
    seen: set[tuple[object, ...]] = set()
    for source in sources:
        if not source.has("kind", "product", "station", "file"):
            continue
        table = source.table
        key = (table.kind, table.product, table.station, table.file)
        if key in seen:
            yield Fault(source.where, "this source stands twice", "keep one of them")
        seen.add(key)
