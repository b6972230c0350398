"""Checks of the plan as a whole: names, zones, the starting soil state, and all others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from scheduler.errors import Fault
from scheduler.garden.checks_beds import check_beds
from scheduler.garden.checks_bill import check_bill
from scheduler.garden.checks_ground import check_ground
from scheduler.garden.checks_layout import check_layout
from scheduler.garden.checks_links import check_links
from scheduler.garden.checks_measured import check_measured
from scheduler.garden.checks_place import check_place
from scheduler.garden.checks_plants import check_plants
from scheduler.garden.checks_water import check_water
from scheduler.garden.faultwords import nearest_hint
from scheduler.garden.plantables import PlanTables
from scheduler.garden.schema_beds import BedTable, ZoneTable
from scheduler.garden.schema_place import SoilStateTable
from scheduler.garden.tableread import Read

__all__ = ["check_plan"]


def check_plan(tables: PlanTables) -> list[Fault]:
    """Return what is wrong between keys and tables, as far as they could be read."""
    beds = [entry.bed for entry in tables.beds]
    return [
        *check_place(tables),
        *_check_names(tables.zones, "zone"),
        *_check_zones(tables),
        *_check_names(beds, "bed"),
        *check_beds(tables),
        *check_ground(tables),
        *check_plants(tables),
        *check_measured(tables),
        *_check_soil_beds(tables.soil_states, beds),
        *_check_soil_states(tables),
        *check_water(tables),
        *check_layout(tables),
        *check_bill(tables),
        *check_links(tables),
    ]


def _check_names(reads: Sequence[Read[ZoneTable]] | Sequence[Read[BedTable]], kind: str) -> Iterator[Fault]:
    seen: set[str] = set()
    for read in reads:
        name = read.table.name if read.has("name") else None
        if name in seen:
            yield Fault(read.place("name"), f'a second {kind} is called "{name}"', "give each its own name")
        if name is not None:
            seen.add(name)


def _check_zones(tables: PlanTables) -> Iterator[Fault]:
    timer = tables.timer
    outlets: dict[int, str] = {}
    fed = {entry.bed.table.zone for entry in tables.beds if entry.bed.has("zone")}
    known = {zone.table.name for zone in tables.zones if zone.has("name")}
    all_known = all(entry.bed.has("zone") for entry in tables.beds) and fed <= known
    for zone in tables.zones:
        if zone.has("name") and zone.table.name not in fed and all_known:
            yield Fault(zone.where, "no bed is in this zone", f'write zone = "{zone.table.name}" in a bed')
        if not zone.has("outlet"):
            continue
        outlet = zone.table.outlet
        if outlet in outlets:
            yield Fault(
                zone.place("outlet"),
                f"outlet {outlet} already feeds {outlets[outlet]}",
                "one zone for each outlet",
            )
        outlets.setdefault(outlet, zone.where)
        if timer.has("outlets") and outlet > timer.table.outlets:
            yield Fault(
                zone.place("outlet"),
                f"outlet {outlet} is not on the timer",
                f"write 1 to {timer.table.outlets}",
            )


def _check_soil_beds(
    states: Sequence[Read[SoilStateTable]], beds: Sequence[Read[BedTable]]
) -> Iterator[Fault]:
    known = [bed.table.name for bed in beds if bed.has("name")]
    for state in states:
        name = state.table.bed if state.has("bed") else None
        if name is not None and known and name not in known:
            hint = nearest_hint(name, known, kind="beds")
            yield Fault(state.place("bed"), f'there is no bed "{name}"', hint)


def _check_soil_states(tables: PlanTables) -> Iterator[Fault]:
    seen: set[tuple[str | None, date]] = set()
    for state in tables.soil_states:
        if not state.has("on", "bed"):
            continue
        key = (state.table.bed, state.table.on)
        if key in seen:
            yield Fault(state.where, f"a second state for the same bed on {key[1]}", "keep one of them")
        seen.add(key)
    general = [day for bed, day in seen if bed is None]
    readable = all(state.has("on", "bed") for state in tables.soil_states)
    plantings = [planting for entry in tables.beds for planting in entry.plantings if planting.has("planted")]
    if not plantings or not readable or not tables.soil_states:
        return
    first = min(planting.table.planted for planting in plantings)
    if not general or min(general) > first:
        found = (
            "no state for all beds" if not general else f"the first state for all beds is of {min(general)}"
        )
        yield Fault(
            "soil_state",
            f"{found}, and the first planting is on {first}",
            f'say how wet the soil was, without bed: [[soil_state]] with on = {first} and depletion = "full"',
        )
