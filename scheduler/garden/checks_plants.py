"""Checks across keys: crops, dates, shares and starting soil states."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from scheduler.errors import Fault
from scheduler.garden.bounds import outside
from scheduler.garden.fields import shown
from scheduler.garden.plantables import BedTables, PlanTables
from scheduler.garden.schema_beds import BedTable, PlantingTable
from scheduler.garden.tableread import Read
from scheduler.garden.tables import CropRow, UnknownNameError, crop_row

__all__ = ["LONGEST_STAY", "OWN_KEYS", "check_plants"]

#: What a plan must say of a crop that the tables do not hold.
OWN_KEYS = ("crop_coefficients", "root_depth", "depletion_fraction", "height", "stages")
#: Days beyond which published stage lengths cannot be stretched: the stages come back each year.
LONGEST_STAY = 366
# Shares are sums of what people write as whole percents.
_ROUNDING = 1e-9


def check_plants(tables: PlanTables) -> Iterator[Fault]:
    """Yield faults of all plantings."""
    for entry in tables.beds:
        for planting in entry.plantings:
            yield from _check_dates(planting)
            yield from _check_crop(planting)
            yield from _check_own(planting, entry.bed)
        yield from _check_shares(entry)


def _check_dates(planting: Read[PlantingTable]) -> Iterator[Fault]:
    if planting.has("planted", "removed") and planting.table.planted >= planting.table.removed:
        yield Fault(
            planting.place("removed"),
            f"{planting.table.removed} is not after the planting on {planting.table.planted}",
            "write the day it is taken out; are the two dates exchanged?",
        )


def _check_crop(planting: Read[PlantingTable]) -> Iterator[Fault]:
    if not planting.has("crop", *OWN_KEYS):
        return
    table = planting.table
    lacking = [name for name in OWN_KEYS if getattr(table, name) is None]
    if not lacking:
        if planting.has("staked") and table.staked:
            yield _staked_fault(planting, "its coefficients are your own")
        return
    try:
        row = crop_row(table.crop)
    except UnknownNameError as error:
        near = ", ".join(error.nearest)
        wanted = (
            f"nearest in the table: {near}; or give {', '.join(lacking)} as well and it may have any name"
        )
        yield Fault(planting.place("crop"), f'"{table.crop}" is not in the crop table', wanted)
        return
    yield from _check_row(planting, row)


def _check_row(planting: Read[PlantingTable], row: CropRow) -> Iterator[Fault]:
    table = planting.table
    if planting.has("staked") and table.staked and table.crop_coefficients is not None:
        yield _staked_fault(planting, "its coefficients are your own")
    elif planting.has("staked") and table.staked and row.kc_mid_staked is None:
        yield _staked_fault(planting, f"the crop table has no figure for {row.name} on stakes")
    if table.stages is not None:
        return
    example = 'stages = ["20 days", "30 days", "40 days", "10 days"]'
    if row.stages is None:
        yield Fault(
            planting.place("stages"),
            f"missing: the crop table has no stage lengths for {row.name}",
            f"write {example}",
        )
    elif planting.has("planted", "removed") and (table.removed - table.planted).days > LONGEST_STAY:
        yield Fault(
            planting.where,
            f"stays {(table.removed - table.planted).days} days, and its growth stages come back each year",
            "write one planting for each year, from the first growth to the last, "
            "with removed on the day before planted comes round",
        )


def _staked_fault(planting: Read[PlantingTable], found: str) -> Fault:
    return Fault(planting.place("staked"), found, "leave staked out")


def _check_own(planting: Read[PlantingTable], bed: Read[BedTable]) -> Iterator[Fault]:
    yield from outside(
        planting, "depletion_fraction", "ratio", low="10 %", high="80 %", ask="crops have 20 to 70 %"
    )
    yield from outside(planting, "height", "length", low="1 cm", high="6 m", ask="is the unit right?")
    table = planting.table
    if planting.has("stages") and table.stages is not None and sum(table.stages) <= 0:
        yield Fault(planting.place("stages"), "all stages are 0 days", "write the days of the four stages")
    if not (planting.has("root_depth") and bed.has("soil_depth")) or table.root_depth is None:
        return
    if table.root_depth > bed.table.soil_depth + _ROUNDING:
        yield Fault(
            planting.place("root_depth"),
            f"{shown(planting.raw['root_depth'])} is below the bed's soil of {shown(bed.raw['soil_depth'])}",
            "roots that the bed does not hold find no water: write the depth of the soil at most",
        )


def _check_shares(entry: BedTables) -> Iterator[Fault]:
    spans = [
        (read.table.planted, read.table.removed, read.table.share)
        for read in entry.plantings
        if read.has("planted", "removed", "share") and read.table.planted < read.table.removed
    ]
    crowded = [
        day for day in sorted({start for start, _, _ in spans}) if _share_on(spans, day) > 1 + _ROUNDING
    ]
    if crowded:
        total = _share_on(spans, crowded[0])
        yield Fault(
            f"{entry.bed.where} > planting",
            f"the shares add up to {round(total * 100, 2):g} % on {crowded[0]}",
            "plantings that are in the ground together take up 100 % of the bed at most",
        )


def _share_on(spans: list[tuple[date, date, float]], day: date) -> float:
    return sum(share for start, end, share in spans if start <= day < end)
