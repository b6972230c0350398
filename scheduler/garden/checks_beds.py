"""Checks across keys: shape, line and emitters of beds, drip lines, and the flow of each zone."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.errors import Fault
from scheduler.garden.bounds import limit, outside
from scheduler.garden.checks_water import check_tap_flow
from scheduler.garden.faultwords import nearest_hint
from scheduler.garden.layout import SHAPE_KEYS, area_of, emitters_of, flow_at_pressure, line_of, sides_of
from scheduler.garden.plantables import BedTables, PlanTables
from scheduler.garden.schema_beds import BedTable, DripTable
from scheduler.garden.shapes import ShapeError
from scheduler.garden.tableread import Read
from scheduler.garden.units import both_systems

__all__ = ["bed_flow", "check_beds"]

_LONGEST_SIDE = "60 ft"
_LINE_KEYS = ("runs", "rings", "line_length")
_EXAMPLES = {
    "length": '"8 ft"',
    "width": '"4 ft"',
    "diameter": '"6 ft"',
    "corners": '[["0 ft", "0 ft"], ...]',
}


def check_beds(tables: PlanTables) -> Iterator[Fault]:
    """Yield faults of drip lines and beds, and of zones that ask for more than the tap gives."""
    for drip in tables.drips.values():
        yield from _check_drip(drip)
    for entry in tables.beds:
        yield from _check_bed(entry, tables)
    yield from _check_flows(tables)


def _check_drip(drip: Read[DripTable]) -> Iterator[Fault]:
    yield from _check_emitter_flow(drip)
    yield from outside(
        drip,
        "at_pressure",
        "pressure",
        low="0.5 psi",
        high="150 psi",
        ask="drip lines are printed for 8 to 60 psi",
    )
    yield from _check_spacing(drip)
    yield from outside(
        drip,
        "efficiency",
        "ratio",
        low="30 %",
        high="100 %",
        ask="the part of the water that reaches the roots",
    )
    yield from outside(
        drip, "manufacturing_variation", "ratio", low="0 %", high="50 %", ask="new emitters have 2 to 20 %"
    )


def _check_emitter_flow(drip: Read[DripTable]) -> list[Fault]:
    ask = "the flow of one emitter; was gal/h meant, not gal/min?"
    return outside(drip, "emitter_flow", "flow", low="0.05 gal/h", high="5 gal/h", ask=ask)


def _check_spacing(read: Read[DripTable] | Read[BedTable]) -> Iterator[Fault]:
    yield from outside(read, "emitter_spacing", "length", low="1 in", high="6 ft", ask="is the unit right?")


def _check_bed(entry: BedTables, tables: PlanTables) -> Iterator[Fault]:
    bed = entry.bed
    for name, known, kind in (
        ("zone", [zone.table.name for zone in tables.zones if zone.has("name")], "zones"),
        ("soil", list(tables.soils), "soil mixes"),
        ("drip", list(tables.drips), "drip lines"),
    ):
        value = getattr(bed.table, name) if bed.has(name) else None
        # Without any known name the table itself is what is missing.
        if value is not None and known and value not in known:
            hint = nearest_hint(value, known, kind=kind)
            yield Fault(bed.place(name), f'there is no {kind[:-1].replace("mixe", "mix")} "{value}"', hint)
    yield from outside(
        bed,
        "soil_depth",
        "length",
        low="2 in",
        high="4 ft",
        ask="the soil above any wood fill; is the unit right?",
    )
    yield from outside(bed, "pressure", "pressure", low="0.5 psi", high="150 psi", ask="is the unit right?")
    yield from _check_spacing(bed)
    yield from _check_shape(bed)
    yield from _check_line(bed, tables)


def _check_shape(bed: Read[BedTable]) -> Iterator[Fault]:
    if not bed.has("shape"):
        return
    shape = bed.table.shape
    needed = SHAPE_KEYS[shape]
    for name in ("length", "width", "diameter", "corners"):
        if not bed.has(name):
            continue
        given = getattr(bed.table, name) is not None
        if name in needed and not given:
            yield Fault(
                bed.place(name), f'missing for shape = "{shape}"', f"write {name} = {_EXAMPLES[name]}"
            )
        elif given and name not in needed:
            yield Fault(
                bed.place(name),
                f'has no meaning for shape = "{shape}"',
                f"this shape takes {' and '.join(needed)}",
            )
    if not _measured(bed):
        return
    try:
        area_of(bed.table)
    except ShapeError as error:
        yield Fault(bed.place(needed[0]), str(error), "measure the inside of the bed again")
        return
    longest = max(sides_of(bed.table))
    if longest > limit(_LONGEST_SIDE, "length") and not (bed.has("long") and bed.table.long):
        yield Fault(
            bed.place(needed[0]),
            f"a side of {both_systems(longest, 'length')}",
            f"longer than {_LONGEST_SIDE}: were inches meant? If it is right, add long = true",
        )


def _measured(bed: Read[BedTable]) -> bool:
    """Return True if the shape and all its measures are there."""
    if not bed.has("shape"):
        return False
    names = SHAPE_KEYS[bed.table.shape]
    return bed.has(*names) and all(getattr(bed.table, name) is not None for name in names)


def _check_line(bed: Read[BedTable], tables: PlanTables) -> Iterator[Fault]:
    if not bed.has(*_LINE_KEYS, "emitters", "end_gap", "shape"):
        return
    table = bed.table
    given = [name for name in _LINE_KEYS if getattr(table, name) is not None]
    if len(given) > 1:
        yield Fault(bed.where, f"describes the line by {' and '.join(given)}", "keep one of them")
        return
    if not given and table.emitters is None:
        yield Fault(
            bed.where,
            "does not say how much drip line it has",
            'write runs = 2, or rings = ["54 in", "26 in"], or line_length = "18 ft", or emitters = 38',
        )
        return
    if table.end_gap is not None and table.runs is None:
        yield Fault(bed.place("end_gap"), "has no effect without runs", "write runs = 2, or leave it out")
    if table.runs is not None and table.shape in ("circle", "polygon"):
        yield Fault(
            bed.place("runs"),
            f'has no length for shape = "{table.shape}"',
            'write rings = ["54 in", "26 in"] or line_length = "18 ft"',
        )
        return
    yield from _check_emitters(bed, tables)


def _check_emitters(bed: Read[BedTable], tables: PlanTables) -> Iterator[Fault]:
    table = bed.table
    if table.runs is not None and not _measured(bed):
        return
    try:
        line_of(table)
    except ShapeError as error:
        yield Fault(bed.place("end_gap"), str(error), "write a smaller end_gap, or count: emitters = 3")
        return
    spacing = _spacing(bed, tables)
    if table.emitters is None and spacing is not None and emitters_of(table, spacing) == 0:
        yield Fault(
            bed.where,
            f"its line is shorter than one emitter spacing of {both_systems(spacing, 'length')}",
            "is the unit of the line right? Otherwise count: emitters = 1",
        )


def _spacing(bed: Read[BedTable], tables: PlanTables) -> float | None:
    """Return the emitter spacing of a bed [m], its own or its drip line's, if it can be known."""
    if not bed.has("emitter_spacing", "drip"):
        return None
    if bed.table.emitter_spacing is not None:
        return bed.table.emitter_spacing
    drip = tables.drips.get(bed.table.drip)
    return drip.table.emitter_spacing if drip is not None and drip.has("emitter_spacing") else None


def bed_flow(bed: Read[BedTable], tables: PlanTables) -> float | None:
    """Return the flow of a bed with its valve open [L/h], or None if it cannot be known yet."""
    spacing = _spacing(bed, tables)
    drip = tables.drips.get(bed.table.drip) if bed.has("drip") else None
    if drip is None or spacing is None or not bed.has("emitters", "pressure", *_LINE_KEYS, "end_gap"):
        return None
    if not drip.has("emitter_flow", "at_pressure", "exponent") or _check_emitter_flow(drip):
        return None
    table, line = bed.table, drip.table
    if table.emitters is None and table.runs is not None and not _measured(bed):
        return None
    try:
        emitters = emitters_of(table, spacing) if table.emitters is None else table.emitters
    except ShapeError:
        return None
    pressure = line.at_pressure if table.pressure is None else table.pressure
    return flow_at_pressure(line, emitters=emitters, pressure=pressure)


def _check_flows(tables: PlanTables) -> Iterator[Fault]:
    source = tables.water_source
    if not source.has("flow") or check_tap_flow(source, "flow"):
        return
    for zone in tables.zones:
        if not zone.has("name"):
            continue
        beds = [entry.bed for entry in tables.beds if entry.bed.has("zone")]
        flows = [bed_flow(bed, tables) for bed in beds if bed.table.zone == zone.table.name]
        total = sum(flow for flow in flows if flow is not None)
        if total > source.table.flow:
            yield Fault(
                zone.where,
                f"its beds draw {both_systems(total, 'flow')} together",
                f"the tap gives {both_systems(source.table.flow, 'flow')}: put some beds in another zone",
            )
