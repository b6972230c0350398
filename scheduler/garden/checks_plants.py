"""Checks across keys: crops, dates, shares and starting soil states."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from scheduler.errors import Fault
from scheduler.garden.bounds import limit, outside
from scheduler.garden.fields import shown
from scheduler.garden.plantables import BedTables, PlanTables
from scheduler.garden.schema_beds import BedTable
from scheduler.garden.schema_plants import PlantingTable
from scheduler.garden.tableread import Read
from scheduler.garden.tables import CropRow, UnknownNameError, crop_row
from scheduler.garden.units import both_systems

__all__ = ["LONGEST_STAY", "check_plants", "lacking_keys"]

# What a plan must say of a crop that the tables do not hold; heat_stages will do for stages.
_OWN_KEYS = ("crop_coefficients", "root_depth", "depletion_fraction", "height", "stages")
#: Days beyond which published stage lengths cannot be stretched: the stages come back each year.
LONGEST_STAY = 366
# Shares are sums of what people write as whole percents.
_ROUNDING = 1e-9


def lacking_keys(table: PlantingTable) -> list[str]:
    """Return the keys for which a planting needs the crop table; none if all figures are its own."""
    by_heat = table.heat_stages is not None
    return [name for name in _OWN_KEYS if getattr(table, name) is None and not (by_heat and name == "stages")]


def check_plants(tables: PlanTables) -> Iterator[Fault]:
    """Yield faults of all plantings."""
    for entry in tables.beds:
        for planting in entry.plantings:
            yield from _check_dates(planting)
            yield from _check_crop(planting)
            yield from _check_own(planting, entry.bed)
            yield from _check_basal(planting)
            yield from _check_heat(planting)
            yield from _check_beginning(planting)
        yield from _check_shares(entry)


def _check_dates(planting: Read[PlantingTable]) -> Iterator[Fault]:
    if planting.has("planted", "removed") and planting.table.planted >= planting.table.removed:
        yield Fault(
            planting.place("removed"),
            f"{planting.table.removed} is not after the planting on {planting.table.planted}",
            "write the day it is taken out; are the two dates exchanged?",
        )


def _check_crop(planting: Read[PlantingTable]) -> Iterator[Fault]:
    if not planting.has("crop", "heat_stages", *_OWN_KEYS):
        return
    table = planting.table
    lacking = lacking_keys(table)
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
    if row.stages is None and table.heat_stages is None:
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
    # Soil that is topped up later may hold deeper roots then.
    later = [settled.soil_depth for settled in bed.table.settled] if bed.has("settled") else []
    deepest = max([bed.table.soil_depth, *later])
    if table.root_depth > deepest + _ROUNDING:
        soil = both_systems(deepest, "length") if later else shown(bed.raw["soil_depth"])
        yield Fault(
            planting.place("root_depth"),
            f"{shown(planting.raw['root_depth'])} is below the bed's soil of {soil}",
            "roots that the bed does not hold find no water: write the depth of the soil at most",
        )


def _check_basal(planting: Read[PlantingTable]) -> Iterator[Fault]:
    """Yield a fault for each basal coefficient above the single one that the plan gives too."""
    if not planting.has("crop_coefficients", "basal_coefficients"):
        return
    single, basal = planting.table.crop_coefficients, planting.table.basal_coefficients
    if single is None or basal is None:
        return
    for stage in ("initial", "mid", "late"):
        whole, part = getattr(single, stage), getattr(basal, stage)
        if part > whole:
            yield Fault(
                f"{planting.place('basal_coefficients')} > {stage}",
                f"{part:g} is above the {whole:g} of crop_coefficients",
                "a basal coefficient leaves out what the soil's surface loses: are the two exchanged?",
            )


def _check_heat(planting: Read[PlantingTable]) -> Iterator[Fault]:
    if not planting.has("stages", "heat_stages") or planting.table.heat_stages is None:
        return
    heat, place = planting.table.heat_stages, planting.place("heat_stages")
    if planting.table.stages is not None:
        yield Fault(planting.where, "gives both stages and heat_stages", "keep one of them")
    low, high = limit("-5 degC", "temperature"), limit("25 degC", "temperature")
    if not low <= heat.base <= high:
        yield Fault(
            f"{place} > base",
            f"{both_systems(heat.base, 'temperature')} is not a temperature at which crops stop growing",
            "expected -5 to 25 degC: cool crops stop near 4 degC (40 degF), warm ones near 10 degC (50 degF)",
        )
    if heat.upper is not None and heat.upper <= heat.base:
        yield Fault(
            f"{place} > upper",
            f"{both_systems(heat.upper, 'temperature')} is not above the base of "
            f"{both_systems(heat.base, 'temperature')}",
            "heat counts from base up to upper: are the two exchanged?",
        )
    total = heat.initial + heat.development + heat.mid + heat.late
    if not limit("100 degC d", "degree_days") <= total <= limit("10000 degC d", "degree_days"):
        yield Fault(
            place,
            f"the stages add up to {both_systems(total, 'degree_days')}",
            "crops take some 500 to 3000 degC d from planting to harvest; is the unit right?",
        )


def _check_beginning(planting: Read[PlantingTable]) -> Iterator[Fault]:
    """Yield faults of the days after sowing or planting out."""
    names = ("keep_surface_wet", "establishing")
    if not planting.has(*names):
        return
    table = planting.table
    if table.keep_surface_wet is not None and table.establishing is not None:
        yield Fault(
            planting.where,
            "gives both keep_surface_wet and establishing",
            "keep the first for what is sown in the bed, the second for plants set out",
        )
    if not planting.has("planted", "removed"):
        return
    stay = (table.removed - table.planted).days
    for name in names:
        days = getattr(table, name)
        if days is not None and 0 < stay < days:
            yield Fault(
                planting.place(name),
                f"{shown(planting.raw[name])} is longer than the {stay} days it stays",
                "write the days until it stands by itself",
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
