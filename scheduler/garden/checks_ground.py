"""Checks across keys: layers, settling, mulch, and what its place does to sun, rain and wetting of a bed."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.errors import Fault
from scheduler.garden.bounds import limit, outside
from scheduler.garden.daylight import longest_daylight
from scheduler.garden.faultwords import nearest_hint
from scheduler.garden.fields import shown
from scheduler.garden.plantables import BedTables, PlanTables
from scheduler.garden.schema_beds import BedTable, LayerTable, MulchTable
from scheduler.garden.schema_place import SiteTable
from scheduler.garden.tableread import Read
from scheduler.garden.units import both_systems

__all__ = ["check_ground"]

_LAYER_EXAMPLES = 'write soil = "raised mix", or fill = "wood" for what lies below the soil'


def check_ground(tables: PlanTables) -> Iterator[Fault]:
    """Yield faults of the ground of all beds, and of where they stand."""
    for entry in tables.beds:
        yield from _check_layers(entry, tables)
        yield from _check_settled(entry.bed)
        if entry.mulch is not None:
            yield from _check_mulch(entry.mulch)
        yield from _check_wetting(entry.bed)
        yield from _check_sun(entry.bed, tables.site)
        yield from _check_place(entry.bed)


def _check_layers(entry: BedTables, tables: PlanTables) -> Iterator[Fault]:
    filled = False
    for layer in entry.layers:
        yield from _check_layer(layer, tables)
        if not layer.has("soil", "fill"):
            continue
        if filled and layer.table.soil is not None:
            yield Fault(
                layer.where,
                f'soil "{layer.table.soil}" below a fill',
                "layers go from top to bottom, and a fill lies below all soil: change their order",
            )
        filled = filled or layer.table.fill is not None
    yield from _check_topmost(entry)
    yield from _check_depths(entry)


def _check_layer(layer: Read[LayerTable], tables: PlanTables) -> Iterator[Fault]:
    yield from outside(
        layer,
        "depth",
        "length",
        low="1 in",
        high="6 ft",
        ask="the thickness of one layer; is the unit right?",
    )
    if not layer.has("soil", "fill"):
        return
    table = layer.table
    if (table.soil is None) == (table.fill is None):
        found = "says neither soil nor fill" if table.soil is None else "says both soil and fill"
        yield Fault(layer.where, found, f"a layer is one of them: {_LAYER_EXAMPLES}")
        return
    known = list(tables.soils)
    if table.soil is not None and known and table.soil not in known:
        hint = nearest_hint(table.soil, known, kind="soil mixes")
        yield Fault(layer.place("soil"), f'there is no soil mix "{table.soil}"', hint)
    if table.soil is not None and layer.has("available_water") and table.available_water is not None:
        yield Fault(
            layer.place("available_water"),
            "stands beside a soil mix",
            "leave it out: what the mix holds follows from its field capacity and wilting point",
        )
    yield from outside(
        layer, "available_water", "ratio", low="0 %", high="40 %", ask="rotten wood holds a few percent"
    )


def _check_topmost(entry: BedTables) -> Iterator[Fault]:
    """Yield a fault if the topmost layer is not of the bed's own mix."""
    if not entry.layers or not entry.layers[0].has("soil", "fill") or not entry.bed.has("soil"):
        return
    top, mix = entry.layers[0], entry.bed.table.soil
    if top.table.soil is not None and top.table.soil != mix:
        yield Fault(
            top.place("soil"),
            f'"{top.table.soil}" lies on top, the bed says soil = "{mix}"',
            "layers go from top to bottom, and the bed's soil is its topmost layer: write the same name",
        )


def _check_depths(entry: BedTables) -> Iterator[Fault]:
    """Yield a fault if the layers of soil do not add up to the depth of the bed's soil."""
    bed = entry.bed
    if not entry.layers or not bed.has("soil_depth"):
        return
    if not all(layer.has("soil", "fill", "depth") for layer in entry.layers):
        return
    total = sum(layer.table.depth for layer in entry.layers if layer.table.soil is not None)
    # Two unit systems in one bed need not meet to the last digit.
    if abs(total - bed.table.soil_depth) > limit("1 mm", "length"):
        yield Fault(
            f"{bed.where} > layer",
            f"the layers of soil add up to {both_systems(total, 'length')}, "
            f"soil_depth is {both_systems(bed.table.soil_depth, 'length')}",
            "soil_depth is all soil above any fill: the two must agree",
        )


def _check_settled(bed: Read[BedTable]) -> Iterator[Fault]:
    if not bed.has("settled"):
        return
    place = bed.place("settled")
    low, high = limit("2 in", "length"), limit("4 ft", "length")
    days = [later.on for later in bed.table.settled]
    for number, later in enumerate(bed.table.settled, start=1):
        if not low <= later.soil_depth <= high:
            yield Fault(
                f"{place} > entry {number} > soil_depth",
                both_systems(later.soil_depth, "length"),
                "expected 2 in to 4 ft: the soil above any wood fill; is the unit right?",
            )
    for number, (before, on) in enumerate(zip(days, days[1:], strict=False), start=2):
        if on <= before:
            found = f"{on} stands twice" if on == before else f"{on} stands after {before}"
            yield Fault(f"{place} > entry {number} > on", found, "write the days in order, each once")


def _check_mulch(mulch: Read[MulchTable]) -> Iterator[Fault]:
    table = mulch.table
    dates = (table.begins, table.ends) if mulch.has("begins", "ends") else (None, None)
    if dates[0] is not None and dates[1] is not None and dates[0] > dates[1]:
        yield Fault(
            mulch.place("ends"),
            f"{dates[1]} is before it begins, {dates[0]}",
            "write the last day that it lies; are the two exchanged?",
        )
    if not mulch.has("kind", "holes") or table.holes is None:
        return
    if table.kind == "organic":
        yield Fault(
            mulch.place("holes"),
            'has no meaning for kind = "organic"',
            "only a film has holes: leave it out",
        )
        return
    yield from outside(
        mulch, "holes", "ratio", low="0 %", high="50 %", ask="the open part of the film, some percent"
    )


def _check_wetting(bed: Read[BedTable]) -> Iterator[Fault]:
    yield from outside(
        bed,
        "runs_through_after",
        "duration",
        low="1 min",
        high="4 h",
        ask="the time from the start of a run until water comes out at the bottom",
    )
    yield from outside(
        bed, "wetted_share", "ratio", low="2 %", high="100 %", ask="drip wets a third of the surface or so"
    )
    yield from outside(
        bed,
        "wetted_width",
        "length",
        low="1 in",
        high="6 ft",
        ask="the strip of one line; is the unit right?",
    )
    if not bed.has("wetted_share", "wetted_width") or bed.table.wetted_width is None:
        return
    if bed.table.wetted_share is not None:
        yield Fault(bed.where, "says both wetted_share and wetted_width", "keep one of them")
        return
    lines = ("runs", "rings", "line_length")
    if bed.has(*lines) and all(getattr(bed.table, name) is None for name in lines):
        yield Fault(
            bed.place("wetted_width"),
            "is the width of a line, and the bed tells the length of none",
            'write runs = 2 or line_length = "18 ft" as well, or wetted_share = "40 %" instead',
        )


def _check_sun(bed: Read[BedTable], site: Read[SiteTable]) -> Iterator[Fault]:
    if not bed.has("direct_sun_lost", "sun_lost_when"):
        return
    lost = bed.table.direct_sun_lost
    if not lost:
        if bed.table.sun_lost_when is not None:
            yield Fault(
                bed.place("sun_lost_when"),
                "has no effect without direct_sun_lost",
                'write direct_sun_lost = "3 h" as well, or leave it out',
            )
        return
    if not site.has("latitude"):
        return
    latitude = site.table.latitude
    longest = longest_daylight(latitude)
    if lost > longest:
        yield Fault(
            bed.place("direct_sun_lost"),
            f"{shown(bed.raw['direct_sun_lost'])} is more than the longest day has: "
            f"{both_systems(longest, 'hours')} of daylight at {both_systems(latitude, 'latitude')}",
            "write the hours that walls and trees take of a clear summer day",
        )


def _check_place(bed: Read[BedTable]) -> Iterator[Fault]:
    yield from outside(
        bed, "wall_heat", "ratio", low="0 %", high="25 %", ask="a warm wall adds some percent to water use"
    )
    yield from outside(
        bed,
        "isolated_stand_width",
        "length",
        low="6 in",
        high="100 ft",
        ask="the width of the stand; is the unit right?",
    )
