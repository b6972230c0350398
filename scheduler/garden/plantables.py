"""All tables of a plan file, as far as they could be read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from scheduler.errors import Fault
from scheduler.garden.faultwords import nearest_hint
from scheduler.garden.fields import shown
from scheduler.garden.schema import PlanFile
from scheduler.garden.schema_base import ColumnTable, Table
from scheduler.garden.schema_beds import BedTable, DripTable, LayerTable, MulchTable, ZoneTable
from scheduler.garden.schema_layout import HeadPartTable, MainLineTable, SegmentTable, TakeoffTable
from scheduler.garden.schema_links import MeterTable, MqttTable, NotifyTable, PublishTable, SourceTable
from scheduler.garden.schema_measured import CupTestTable, FlowTestTable
from scheduler.garden.schema_place import (
    FillTable,
    HeadTable,
    PlanningTable,
    SiteTable,
    SoilStateTable,
    SoilTable,
    UncertaintyTable,
    WeatherTable,
)
from scheduler.garden.schema_plants import PlantingTable
from scheduler.garden.schema_water import (
    BlockTable,
    HouseholdTable,
    RestrictionTable,
    SewerTable,
    TariffTable,
    TimerTable,
    WaterSourceTable,
    WindowTable,
)
from scheduler.garden.tableread import Read, read_table, unreadable

__all__ = ["BedTables", "PlanTables", "SourceTables", "TariffTables", "read_tables"]

T = TypeVar("T", bound=Table)

# Names of the tables that come one or more times, as a person must write them.
_MANY = (
    *("zone", "bed", "head", "segment", "cup_test", "flow_test", "soil_state", "watering_window"),
    *("restriction", "notify"),
)
_NAMED = ("soil", "drip")
_OPTIONAL = (
    *("cup_test", "flow_test", "planning", "uncertainty", "restriction", "tariff", "household", "meter"),
    *("notify", "publish", "head", "main_line", "segment", "takeoff"),
)
#: Keys by which a secret would stand in the plan itself.
_SECRETS = ("password", "token")
_INNER_HEADS = {
    "layer": "[[bed.layer]]",
    "planting": "[[bed.planting]]",
    "block": "[[tariff.block]]",
    "source": "[[weather.source]]",
}
_START_HINT = (
    "say how wet the soil was before the first planting, e.g. [[soil_state]] with on = 2026-03-01 and "
    'depletion = "full"'
)


@dataclass(frozen=True, slots=True)
class BedTables:
    """One bed with its layers, its mulch and its plantings."""

    bed: Read[BedTable]
    layers: tuple[Read[LayerTable], ...]
    mulch: Read[MulchTable] | None
    plantings: tuple[Read[PlantingTable], ...]


@dataclass(frozen=True, slots=True)
class TariffTables:
    """One tariff with its blocks and its sewer rule."""

    tariff: Read[TariffTable]
    blocks: tuple[Read[BlockTable], ...]
    sewer: Read[SewerTable] | None


@dataclass(frozen=True, slots=True)
class SourceTables:
    """One source of weather and the columns of its file."""

    source: Read[SourceTable]
    columns: Mapping[str, Read[ColumnTable]]


@dataclass(frozen=True, slots=True)
class PlanTables:
    """The whole file; a required table that is not there is present with all its keys bad."""

    head: Read[HeadTable]
    site: Read[SiteTable]
    weather: Read[WeatherTable]
    columns: Mapping[str, Read[ColumnTable]]
    fill: Read[FillTable]
    soils: Mapping[str, Read[SoilTable]]
    water_source: Read[WaterSourceTable]
    drips: Mapping[str, Read[DripTable]]
    zones: tuple[Read[ZoneTable], ...]
    beds: tuple[BedTables, ...]
    head_parts: tuple[Read[HeadPartTable], ...]
    main_line: Read[MainLineTable] | None
    segments: tuple[Read[SegmentTable], ...]
    takeoff: Read[TakeoffTable] | None
    cup_tests: tuple[Read[CupTestTable], ...]
    flow_tests: tuple[Read[FlowTestTable], ...]
    soil_states: tuple[Read[SoilStateTable], ...]
    planning: Read[PlanningTable]
    uncertainty: Read[UncertaintyTable]
    timer: Read[TimerTable]
    windows: tuple[Read[WindowTable], ...]
    restrictions: tuple[Read[RestrictionTable], ...]
    tariff: TariffTables | None
    household: Read[HouseholdTable] | None
    sources: tuple[SourceTables, ...]
    meter: Read[MeterTable] | None
    notices: tuple[Read[NotifyTable], ...]
    publish: Read[PublishTable] | None
    mqtt: Read[MqttTable] | None


def read_tables(raw: Mapping[str, Any]) -> tuple[PlanTables, list[Fault]]:
    """Return all tables of a plan, and a fault for each thing in them that cannot be read."""
    faults: list[Fault] = []
    head = read_table(
        HeadTable,
        {key: value for key, value in raw.items() if key in HeadTable.model_fields},
        where="",
        faults=faults,
    )
    _check_heads(raw, faults)
    weather = _one(WeatherTable, raw, "weather", faults, inner=("columns", "fill", "source"))
    publish, mqtt = _publish(raw, faults)
    return PlanTables(
        head=head,
        site=_one(SiteTable, raw, "site", faults),
        weather=weather,
        columns=_named(ColumnTable, weather.raw, "columns", faults, where="weather > columns > {}"),
        fill=read_table(FillTable, weather.raw.get("fill", {}), where="weather > fill", faults=faults),
        soils=_named(SoilTable, raw, "soil", faults),
        water_source=_one(WaterSourceTable, raw, "water_source", faults),
        drips=_named(DripTable, raw, "drip", faults),
        zones=_many(ZoneTable, raw, "zone", faults),
        beds=_beds(raw, faults),
        head_parts=_many(HeadPartTable, raw, "head", faults),
        main_line=_one(MainLineTable, raw, "main_line", faults) if "main_line" in raw else None,
        segments=_many(SegmentTable, raw, "segment", faults),
        takeoff=_one(TakeoffTable, raw, "takeoff", faults) if "takeoff" in raw else None,
        cup_tests=_many(CupTestTable, raw, "cup_test", faults),
        flow_tests=_many(FlowTestTable, raw, "flow_test", faults),
        soil_states=_many(SoilStateTable, raw, "soil_state", faults),
        planning=read_table(PlanningTable, raw.get("planning", {}), where="planning", faults=faults),
        uncertainty=read_table(
            UncertaintyTable, raw.get("uncertainty", {}), where="uncertainty", faults=faults
        ),
        timer=_one(TimerTable, raw, "timer", faults),
        windows=_many(WindowTable, raw, "watering_window", faults),
        restrictions=_many(RestrictionTable, raw, "restriction", faults),
        tariff=_tariff(raw, faults),
        household=_one(HouseholdTable, raw, "household", faults) if "household" in raw else None,
        sources=_sources(weather.raw, faults),
        meter=_one(MeterTable, raw, "meter", faults) if "meter" in raw else None,
        notices=tuple(
            _secretless(NotifyTable, item, where=_place("notify", number, item), faults=faults)
            for number, item in enumerate(_items(raw, "notify", "notify", faults), start=1)
        ),
        publish=publish,
        mqtt=mqtt,
    ), faults


def _check_heads(raw: Mapping[str, Any], faults: list[Fault]) -> None:
    """Add a fault for each unknown name at the top, and for each required table that is not there."""
    known = list(PlanFile.model_fields)
    missing = [name for name in known if name not in HeadTable.model_fields and _is_absent(raw, name)]
    for name in raw:
        if name not in known:
            hint = nearest_hint(name, known, kind="names")
            faults.append(Fault(name, "this name is unknown at the top of the file", hint))
            missing = [other for other in missing if f'"{other}"' not in hint]
    for name in missing:
        if name in _OPTIONAL:
            continue
        hint = _START_HINT if name == "soil_state" else f"add a table that begins with {_head(name)}"
        faults.append(Fault(name, "missing", hint))


def _is_absent(raw: Mapping[str, Any], name: str) -> bool:
    """Return True if there is no table of that name, or only an empty list or group of them."""
    return name not in raw or (name in _MANY + _NAMED and raw[name] in ([], {}))


def _head(name: str) -> str:
    """Return the line that begins a table of that name."""
    if name in _MANY:
        return f"[[{name}]]"
    return f'[{name}."a name"]' if name in _NAMED else f"[{name}]"


def _one(
    model: type[T], raw: Mapping[str, Any], name: str, faults: list[Fault], *, inner: tuple[str, ...] = ()
) -> Read[T]:
    """Return a table that stands once; its absence is told elsewhere."""
    if name not in raw:
        return unreadable(model, where=name)
    value = raw[name]
    if isinstance(value, list):
        faults.append(Fault(name, f"written as [[{name}]]", f"it stands once: write [{name}]"))
        return unreadable(model, where=name)
    return read_table(model, value, where=name, faults=faults, inner=inner)


def _named(
    model: type[T], raw: Mapping[str, Any], name: str, faults: list[Fault], *, where: str = ""
) -> dict[str, Read[T]]:
    """Return tables that have a name in their head, by name."""
    value = raw.get(name, {})
    if not isinstance(value, dict):
        faults.append(Fault(name, f"{shown(value)} holds no names", f"write {_head(name)} for each one"))
        return {}
    pattern = where or f'{name} "{{}}"'
    strays = [key for key, table in value.items() if not isinstance(table, dict)]
    if strays and not where:
        wanted = f"give it a name of your own: write {_head(name)} instead of [{name}]"
        faults.append(Fault(f"{name} > {strays[0]}", "stands in a table without a name", wanted))
    return {
        key: read_table(model, table, where=pattern.format(key), faults=faults)
        for key, table in value.items()
        if where or key not in strays
    }


def _items(raw: Mapping[str, Any], name: str, where: str, faults: list[Fault]) -> list[Any]:
    """Return the entries of tables that come many times."""
    value = raw.get(name, [])
    if isinstance(value, list):
        return value
    head = _INNER_HEADS.get(name, f"[[{name}]]")
    faults.append(Fault(where, f"written as {head[1:-1]}", f"it can stand many times: write {head}"))
    return []


def _many(model: type[T], raw: Mapping[str, Any], name: str, faults: list[Fault]) -> tuple[Read[T], ...]:
    """Return tables that come many times, each with a readable place."""
    return tuple(
        read_table(model, item, where=_place(name, number, item), faults=faults)
        for number, item in enumerate(_items(raw, name, name, faults), start=1)
    )


def _place(name: str, number: int, item: object) -> str:
    """Return a readable place: by name where there is one, else by number."""
    if isinstance(item, dict):
        label = item.get("name") if name in ("bed", "zone", "segment") else None
        if isinstance(label, str) and label.strip():
            return f"{name} {shown(label.strip())}"
        asides = (item[key] for key in ("crop", "reason", "part", "kind") if key in item)
        aside = next(asides, None)
        if isinstance(aside, str) and aside.strip():
            return f"{name} {number} ({shown(aside.strip())[1:-1]})"
    return f"{name} {number}"


def _beds(raw: Mapping[str, Any], faults: list[Fault]) -> tuple[BedTables, ...]:
    """Return the beds with their layers, mulch and plantings."""
    beds = []
    for number, item in enumerate(_items(raw, "bed", "bed", faults), start=1):
        where = _place("bed", number, item)
        bed = read_table(BedTable, item, where=where, faults=faults, inner=("layer", "mulch", "planting"))
        mulch = None
        if "mulch" in bed.raw:
            mulch = read_table(MulchTable, bed.raw["mulch"], where=f"{where} > mulch", faults=faults)
        layers = _inner(LayerTable, bed, "layer", faults)
        beds.append(BedTables(bed, layers, mulch, _inner(PlantingTable, bed, "planting", faults)))
    return tuple(beds)


def _inner(model: type[T], bed: Read[BedTable], name: str, faults: list[Fault]) -> tuple[Read[T], ...]:
    """Return tables inside a bed that come many times."""
    items = enumerate(_items(bed.raw, name, f"{bed.where} > {name}", faults), start=1)
    return tuple(
        read_table(model, item, where=f"{bed.where} > {_place(name, number, item)}", faults=faults)
        for number, item in items
    )


def _tariff(raw: Mapping[str, Any], faults: list[Fault]) -> TariffTables | None:
    """Return the tariff with its blocks and its sewer rule, if there is one."""
    if "tariff" not in raw:
        return None
    tariff = _one(TariffTable, raw, "tariff", faults, inner=("block", "sewer"))
    blocks = tuple(
        read_table(BlockTable, item, where=f"tariff > block {number}", faults=faults)
        for number, item in enumerate(_items(tariff.raw, "block", "tariff > block", faults), start=1)
    )
    sewer = None
    if "sewer" in tariff.raw:
        sewer = read_table(SewerTable, tariff.raw["sewer"], where="tariff > sewer", faults=faults)
    return TariffTables(tariff, blocks, sewer)


def _sources(weather: Mapping[str, Any], faults: list[Fault]) -> tuple[SourceTables, ...]:
    """Return the sources of weather with the columns of their files."""
    sources = []
    for number, item in enumerate(_items(weather, "source", "weather > source", faults), start=1):
        where = f"weather > {_place('source', number, item)}"
        source = read_table(SourceTable, item, where=where, faults=faults, inner=("columns",))
        columns = _named(ColumnTable, source.raw, "columns", faults, where=f"{where} > columns > {{}}")
        sources.append(SourceTables(source, columns))
    return tuple(sources)


def _publish(
    raw: Mapping[str, Any], faults: list[Fault]
) -> tuple[Read[PublishTable] | None, Read[MqttTable] | None]:
    """Return where to publish, and the broker, as far as they are there."""
    if "publish" not in raw:
        return None, None
    publish = _one(PublishTable, raw, "publish", faults, inner=("mqtt",))
    if "mqtt" not in publish.raw:
        return publish, None
    return publish, _secretless(MqttTable, publish.raw["mqtt"], where="publish > mqtt", faults=faults)


def _secretless(model: type[T], item: Any, *, where: str, faults: list[Fault]) -> Read[T]:
    """Return a table without any secret in it; one that stands there is a fault, and is not quoted."""
    if isinstance(item, dict):
        for key in _SECRETS:
            if key in item:
                wanted = (
                    f'keep it elsewhere and write {key}_env = "NAME_OF_A_VARIABLE", or {key}_file = "a file '
                    'that only you can read"'
                )
                faults.append(Fault(f"{where} > {key}", "a secret does not belong in a plan", wanted))
        item = {key: value for key, value in item.items() if key not in _SECRETS}
    return read_table(model, item, where=where, faults=faults)
