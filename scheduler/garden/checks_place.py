"""Checks across keys: site, weather, soil mixes, starting soil states and planning."""

from __future__ import annotations

from collections.abc import Iterator
from zoneinfo import ZoneInfo, available_timezones

from scheduler.errors import Fault, UnitError
from scheduler.garden.bounds import limit, outside
from scheduler.garden.faultwords import nearest_hint
from scheduler.garden.fields import shown
from scheduler.garden.plantables import PlanTables
from scheduler.garden.schema_base import ColumnTable
from scheduler.garden.schema_place import FillTable, PlanningTable, SiteTable, SoilTable
from scheduler.garden.tableread import Read
from scheduler.garden.tables import UnknownNameError, soil_names, soil_row
from scheduler.garden.units import Dimension, both_systems, parse_quantity

__all__ = ["COLUMN_DIMENSIONS", "check_place"]

# Depth of the layer that dries by evaporation: Ze of FAO-56 eq. 73.
_SURFACE = "10 cm"

#: What each measured variable of a weather record is a quantity of.
COLUMN_DIMENSIONS: dict[str, Dimension] = {
    "tmax": "temperature",
    "tmin": "temperature",
    "rh_max": "percent",
    "rh_min": "percent",
    "rh_mean": "percent",
    "dew_point": "temperature",
    "wind": "speed",
    "solar_radiation": "radiation",
    "sunshine": "hours",
    "rain": "water_depth",
}


def check_place(tables: PlanTables) -> Iterator[Fault]:
    """Yield faults of site, weather, soil mixes and planning."""
    yield from _check_site(tables.site)
    yield from outside(
        tables.weather,
        "wind_height",
        "length",
        low="0.5 m",
        high="100 m",
        ask="the height of the sensor above the ground, 10 m at many stations",
    )
    yield from _check_fill(tables.fill)
    for variable, column in tables.columns.items():
        yield from _check_column(variable, column)
    for soil in tables.soils.values():
        yield from _check_soil(soil)
        yield from _check_evaporable(soil)
    yield from _check_planning(tables.planning)


def _check_site(site: Read[SiteTable]) -> Iterator[Fault]:
    if site.has("elevation") and not -450 <= site.table.elevation <= limit("6000 m", "length"):
        found = f"{shown(site.raw['elevation'])} is not a height at which gardens lie"
        yield Fault(site.place("elevation"), found, 'write the height above sea level, e.g. "230 ft"')
    if not site.has("timezone"):
        return
    name = site.table.timezone
    try:
        ZoneInfo(name)
    except (OSError, ValueError, LookupError):
        hint = nearest_hint(name, sorted(available_timezones()), kind="time zones")
        if not hint.startswith("did"):
            hint = 'write the zone\'s name in the IANA list, e.g. "Etc/GMT+8" for 8 hours behind UTC'
        yield Fault(site.place("timezone"), f'"{name}" is not a time zone', hint)


def _check_fill(fill: Read[FillTable]) -> Iterator[Fault]:
    yield from outside(
        fill, "wind", "speed", low="0.5 m/s", high="10 m/s", ask="the mean wind of a whole day at 2 m height"
    )
    yield from outside(
        fill,
        "dew_point_below_tmin",
        "temperature_difference",
        low="0 degC",
        high="10 degC",
        ask="a few degrees in a dry place, zero in a moist one",
    )
    for name, rule, needed in (
        ("dew_point_below_tmin", "humidity", "dew point from tmin"),
        ("radiation_site", "radiation", "from temperature"),
    ):
        given = fill.has(name, rule) and getattr(fill.table, name) is not None
        if given and getattr(fill.table, rule) != needed:
            yield Fault(
                fill.place(name),
                f'has no effect without {rule} = "{needed}"',
                f"set {rule} as well, or leave it out",
            )


def _check_column(variable: str, column: Read[ColumnTable]) -> Iterator[Fault]:
    if variable != "date" and variable not in COLUMN_DIMENSIONS:
        hint = nearest_hint(variable, ["date", *COLUMN_DIMENSIONS], kind="weather variables")
        yield Fault(column.where, "this weather variable is unknown", hint)
        return
    if not column.has("unit"):
        return
    unit = column.table.unit
    if variable == "date":
        if unit is not None:
            yield Fault(column.place("unit"), f"{shown(unit)} for a date", "a date has no unit: leave it out")
    elif unit is None:
        yield Fault(
            column.where, "no unit", 'say what the column is in, e.g. { column = "TMAX", unit = "degF" }'
        )
    else:
        try:
            parse_quantity(f"1 {unit}", COLUMN_DIMENSIONS[variable])
        except UnitError as error:
            yield Fault(column.place("unit"), f"{shown(unit)} does not fit {variable}", error.wanted)


def _check_soil(soil: Read[SoilTable]) -> Iterator[Fault]:
    yield from outside(
        soil, "salinity", "salinity", low="0 dS/m", high="30 dS/m", ask="soil tests give 0.5 to 10 dS/m"
    )
    if not soil.has("texture", "field_capacity", "wilting_point"):
        return
    table = soil.table
    own = [name for name in ("field_capacity", "wilting_point") if getattr(table, name) is not None]
    if table.texture is not None:
        if own:
            yield Fault(
                soil.where,
                f"gives a texture and {' and '.join(own)}",
                "say one: the texture, or both figures",
            )
        try:
            soil_row(table.texture)
        except UnknownNameError:
            hint = nearest_hint(table.texture, list(soil_names()), kind="textures")
            yield Fault(soil.place("texture"), f'"{table.texture}" is not in the table', hint)
    elif table.field_capacity is None or table.wilting_point is None:
        found = f"gives {own[0]} alone" if own else "says nothing of the water that it holds"
        yield Fault(
            soil.where, found, 'write texture = "sandy loam", or both field_capacity and wilting_point'
        )
    elif table.wilting_point >= table.field_capacity:
        yield Fault(
            soil.place("wilting_point"),
            f"{shown(soil.raw['wilting_point'])} is not below the field capacity of "
            f"{shown(soil.raw['field_capacity'])}",
            "a mix holds less water at the wilting point than at field capacity: are the two exchanged?",
        )


def _check_evaporable(soil: Read[SoilTable]) -> Iterator[Fault]:
    """Yield a fault if the surface would lose more at full speed than it can lose in all."""
    for name in ("readily_evaporable_water", "total_evaporable_water"):
        yield from outside(
            soil,
            name,
            "water_depth",
            low="1 mm",
            high="60 mm",
            ask="the top 10 cm of soils hold 6 to 30 mm for evaporation; is the unit right?",
        )
    if not soil.has("readily_evaporable_water", "total_evaporable_water"):
        return
    table = soil.table
    if table.readily_evaporable_water is None and table.total_evaporable_water is None:
        return
    readily = _evaporable(soil, table.readily_evaporable_water, "readily_evaporable")
    total = _evaporable(soil, table.total_evaporable_water, "total_evaporable")
    if readily is None or total is None or readily < total:
        return
    own = "readily" if table.readily_evaporable_water is not None else "total"
    yield Fault(
        soil.place(f"{own}_evaporable_water"),
        f"{both_systems(readily, 'water_depth')} are lost at full speed, of "
        f"{both_systems(total, 'water_depth')} in all",
        "the first is a part of the second: write less for it, or both; are they exchanged?",
    )


def _evaporable(soil: Read[SoilTable], own: float | None, figure: str) -> float | None:
    """Return evaporable water [mm]: the plan's own, else the table's, else the total by FAO-56 eq. 73."""
    table = soil.table
    if own is not None or not soil.has("texture", "field_capacity", "wilting_point"):
        return own
    if table.texture is not None:
        try:
            return float(getattr(soil_row(table.texture), figure))
        except UnknownNameError:
            return None
    if figure != "total_evaporable" or table.field_capacity is None or table.wilting_point is None:
        return None
    held = table.field_capacity - 0.5 * table.wilting_point
    return held * limit(_SURFACE, "water_depth")


def _check_planning(planning: Read[PlanningTable]) -> Iterator[Fault]:
    yield from outside(
        planning,
        "reserve",
        "ratio",
        low="0 %",
        high="90 %",
        ask="a reserve of all the water leaves none to use",
    )
