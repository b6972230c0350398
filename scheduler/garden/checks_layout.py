"""Checks across keys: head assembly, main line, what beds and drip lines say of the layout, takeoff."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from scheduler.errors import Fault
from scheduler.garden.bounds import limit, outside
from scheduler.garden.checks_segments import beds_reached, check_segments
from scheduler.garden.faultwords import nearest_hint
from scheduler.garden.fields import shown
from scheduler.garden.plantables import BedTables, PlanTables
from scheduler.garden.schema_beds import BedTable, DripTable
from scheduler.garden.schema_layout import HeadPartTable, MainLineTable
from scheduler.garden.schema_water import WaterSourceTable
from scheduler.garden.tableread import Read

__all__ = ["check_layout"]

# Keys of a head part that only one kind of part has.
_OWN_KEYS = {
    "kind": "backflow preventer",
    "mesh": "filter",
    "opening": "filter",
    "set_pressure": "regulator",
    "lowest_flow": "regulator",
    "highest_flow": "regulator",
}
# Parts that stand once.
_SINGLE = ("timer", "regulator")


def check_layout(tables: PlanTables) -> Iterator[Fault]:
    """Yield faults of the layout, as far as tables alone can show them."""
    for drip in tables.drips.values():
        yield from _check_range(drip)
    for entry in tables.beds:
        yield from _check_place(entry.bed)
    for part in tables.head_parts:
        yield from _check_part(part, tables.water_source)
    yield from _check_singles(tables)
    if tables.main_line is not None:
        yield from _check_main(tables.main_line, tables)
    yield from check_segments(tables)
    yield from _check_bores(tables)
    if tables.takeoff is not None:
        yield from outside(tables.takeoff, "spare", "ratio", low="0 %", high="60 %", ask="some 10 % is usual")
        yield from outside(
            tables.takeoff, "stake_spacing", "length", low="4 in", high="20 ft", ask="is the unit right?"
        )
    yield from outside(
        tables.water_source, "temperature", "temperature", low="0 degC", high="45 degC", ask="of the water"
    )


def _check_range(drip: Read[DripTable]) -> Iterator[Fault]:
    """Yield faults of what a drip line says of its bore and of the pressures at which it compensates."""
    yield from outside(
        drip, "inside_diameter", "bore", low="0.08 in", high="1.5 in", ask="the bore of the line"
    )
    yield from outside(drip, "passage", "bore", low="0.1 mm", high="5 mm", ask="the passage of an emitter")
    names = ("opening_pressure", "lowest_pressure", "highest_pressure")
    for name in names:
        yield from outside(drip, name, "pressure", low="0.2 psi", high="150 psi", ask="is the unit right?")
    if not drip.has(*names, "at_pressure"):
        return
    table = drip.table
    low, high = table.lowest_pressure, table.highest_pressure
    if (low is None) != (high is None):
        given, missing = names[1:] if high is None else names[:0:-1]
        yield Fault(drip.place(missing), f"missing beside {given}", "a range has two ends: write both")
        return
    if low is None or high is None:
        return
    if low >= high:
        yield Fault(
            drip.place("lowest_pressure"),
            f"{shown(drip.raw['lowest_pressure'])} is not below highest_pressure, "
            f"{shown(drip.raw['highest_pressure'])}",
            "the range goes from the least pressure to the most: are the two exchanged?",
        )
    elif not low <= table.at_pressure <= high:
        yield Fault(
            drip.place("at_pressure"),
            f"{shown(drip.raw['at_pressure'])} lies outside the range of "
            f"{shown(drip.raw['lowest_pressure'])} to {shown(drip.raw['highest_pressure'])}",
            "the printed flow holds within the range",
        )
    if table.opening_pressure is not None and table.opening_pressure > low:
        yield Fault(
            drip.place("opening_pressure"),
            f"{shown(drip.raw['opening_pressure'])} is above lowest_pressure, "
            f"{shown(drip.raw['lowest_pressure'])}",
            "an emitter opens before its flow holds: are the two exchanged?",
        )


def _check_place(bed: Read[BedTable]) -> Iterator[Fault]:
    """Yield faults of where a bed lies and of how the water comes in."""
    yield from _check_height(bed, "rim_height")
    yield from _check_pair(bed, "valve_loss", "valve_loss_at")
    yield from outside(
        bed, "header_diameter", "bore", low="0.08 in", high="3 in", ask="the inside diameter of the tube"
    )
    if bed.has("rotation", "position", "shape"):
        table = bed.table
        if table.rotation is not None and table.position is None:
            yield Fault(
                bed.place("rotation"), "has no effect without position", "write where the bed lies as well"
            )
    if bed.has("inlet", "runs") and bed.table.inlet in ("bottom", "top") and bed.table.runs is not None:
        yield Fault(
            bed.place("inlet"),
            f'"{bed.table.inlet}" lies along the runs, the water comes into them at an end',
            'write "left" or "right", or a corner such as "bottom left"',
        )


def _check_height(read: Read[Any], name: str) -> Iterator[Fault]:
    """Yield a fault for a height that no garden has."""
    value = getattr(read.table, name) if read.has(name) else None
    if value is not None and abs(value) > limit("100 ft", "length"):
        yield Fault(
            read.place(name),
            shown(read.raw[name]),
            "expected -100 ft to 100 ft: the height above the tap outlet",
        )


def _check_pair(read: Read[Any], loss: str, flow: str) -> Iterator[Fault]:
    """Yield a fault for a pressure loss without the flow it holds for, or the other way round."""
    yield from outside(read, loss, "pressure", low="0 psi", high="100 psi", ask="is the unit right?")
    yield from outside(
        read, flow, "flow", low="0.5 gal/h", high="60 gal/min", ask="was gal/min meant, or gal/h?"
    )
    if not read.has(loss, flow):
        return
    given = [name for name in (loss, flow) if getattr(read.table, name) is not None]
    if len(given) == 1:
        missing = flow if given[0] == loss else loss
        yield Fault(
            read.place(missing),
            f"missing beside {given[0]}",
            "a loss holds at a flow: write both, as the leaflet of the part does",
        )


def _check_part(part: Read[HeadPartTable], source: Read[WaterSourceTable]) -> Iterator[Fault]:
    yield from _check_pair(part, "loss", "at_flow")
    yield from _check_height(part, "height")
    if not part.has("part"):
        return
    table = part.table
    for name, owner in _OWN_KEYS.items():
        if part.has(name) and getattr(table, name) is not None and table.part != owner:
            yield Fault(
                part.place(name),
                f'has no meaning for part = "{table.part}"',
                f"leave it out: it belongs to a {owner}",
            )
    if table.part == "other" and part.has("name") and table.name is None:
        yield Fault(part.place("name"), 'missing for part = "other"', 'write what it is, e.g. name = "hose"')
    if table.part == "backflow preventer" and part.has("kind") and table.kind is None:
        yield Fault(
            part.place("kind"),
            'missing for part = "backflow preventer"',
            'write kind = "vacuum breaker", "pressure vacuum breaker" or "other"',
        )
    if table.part == "filter":
        yield from outside(part, "opening", "bore", low="0.01 mm", high="2 mm", ask="of the filter's screen")
        if part.has("mesh", "opening") and table.mesh is not None and table.opening is not None:
            yield Fault(part.where, "says both mesh and opening", "keep one of them")
    if table.part == "regulator":
        yield from _check_regulator(part, source)


def _check_regulator(part: Read[HeadPartTable], source: Read[WaterSourceTable]) -> Iterator[Fault]:
    table = part.table
    yield from outside(
        part, "set_pressure", "pressure", low="3 psi", high="100 psi", ask="is the unit right?"
    )
    if part.has("set_pressure") and table.set_pressure is None:
        yield Fault(
            part.place("set_pressure"), 'missing for part = "regulator"', 'write set_pressure = "25 psi"'
        )
    readable = part.has("lowest_flow", "highest_flow")
    low, high = (table.lowest_flow, table.highest_flow) if readable else (None, None)
    if low is not None and high is not None and low >= high:
        yield Fault(
            part.place("lowest_flow"),
            f"{shown(part.raw['lowest_flow'])} is not below highest_flow, {shown(part.raw['highest_flow'])}",
            "the range goes from the least flow to the most: are the two exchanged?",
        )
    if not part.has("set_pressure") or not source.has("static_pressure"):
        return
    static = source.table.static_pressure
    if table.set_pressure is not None and static is not None and table.set_pressure > static:
        yield Fault(
            part.place("set_pressure"),
            f"{shown(part.raw['set_pressure'])} is above the pressure of the tap at rest, "
            f"{shown(source.raw['static_pressure'])}",
            "a regulator only lowers pressure: it must be set below that of the tap",
        )


def _check_singles(tables: PlanTables) -> Iterator[Fault]:
    """Yield a fault for a second timer or regulator."""
    for kind in _SINGLE:
        found = [part for part in tables.head_parts if part.has("part") and part.table.part == kind]
        for part in found[1:]:
            yield Fault(part.where, f"a second {kind}", f"the head assembly has one {kind}: keep one of them")


def _check_main(main: Read[MainLineTable], tables: PlanTables) -> Iterator[Fault]:
    yield from outside(
        main, "inside_diameter", "bore", low="0.1 in", high="4 in", ask="the inside diameter of the tube"
    )
    yield from _check_height(main, "height")
    reached = beds_reached(tables)
    beds = {entry.bed.table.name: entry for entry in tables.beds if entry.bed.has("name")}
    if main.has("order"):
        yield from _check_order(main, beds, reached)
    for name, entry in beds.items():
        if name not in reached and entry.bed.has("position") and entry.bed.table.position is None:
            yield Fault(
                entry.bed.place("position"),
                "missing, and the main line has to reach this bed",
                'write where it lies on the sketch grid, e.g. position = ["4 ft", "6 ft"]',
            )


def _check_order(
    main: Read[MainLineTable], beds: dict[str, BedTables], reached: frozenset[str]
) -> Iterator[Fault]:
    order = main.table.order
    if order is None:
        return
    seen: set[str] = set()
    for name in order:
        if name in seen:
            yield Fault(main.place("order"), f'bed "{name}" stands twice', "name each bed once")
        elif beds and name not in beds:
            yield Fault(
                main.place("order"),
                f'there is no bed "{name}"',
                nearest_hint(name, list(beds), kind="beds"),
            )
        seen.add(name)
    missing = [name for name in beds if name not in seen and name not in reached]
    if missing:
        names = ", ".join(f'"{name}"' for name in missing)
        yield Fault(
            main.place("order"),
            f"leaves out {names}",
            "every bed is on the main line: add it where the main reaches it",
        )


def _check_bores(tables: PlanTables) -> Iterator[Fault]:
    """Yield a fault for a drip line in use whose bore the layout needs and the plan does not give."""
    if tables.main_line is None and not tables.segments:
        return
    used = {entry.bed.table.drip for entry in tables.beds if entry.bed.has("drip")}
    for name, drip in tables.drips.items():
        if name in used and drip.has("inside_diameter") and drip.table.inside_diameter is None:
            yield Fault(
                drip.place("inside_diameter"),
                "missing, and the layout needs it",
                'measure the bore of the line, e.g. inside_diameter = "0.17 in"; tubes of one nominal size '
                "differ",
            )
