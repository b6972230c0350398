"""Checks across keys: tariff, sewer and household; prices and volumes brought to the billing unit."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from scheduler.errors import Fault
from scheduler.garden.fields import shown
from scheduler.garden.fields_money import Billed, UnitPrice
from scheduler.garden.plantables import PlanTables, TariffTables
from scheduler.garden.schema_water import BlockTable, SewerTable
from scheduler.garden.tableread import Read
from scheduler.garden.units import convert_volume_units

__all__ = ["check_bill", "in_billing_units", "price_per_unit"]

# Keys of the sewer table that each rule needs, and those that it may also have.
_SEWER_NEEDS: dict[str, tuple[str, ...]] = {
    "none": (),
    "all water": ("price",),
    "winter average": ("price", "winter_average"),
    "cap": ("price", "winter_average", "cap"),
}
_SEWER_EXTRAS: dict[str, tuple[str, ...]] = {
    "none": (),
    "all water": ("fixed_charge",),
    "winter average": ("fixed_charge", "averaging_months"),
    "cap": ("fixed_charge", "averaging_months"),
}


def in_billing_units(volume: Billed, unit: str) -> Decimal:
    """Return a billed volume in the tariff's unit, exact wherever a decimal number can be."""
    return _same_or_new(volume.amount, Fraction(volume.amount) * _ratio(volume.unit, unit))


def price_per_unit(price: UnitPrice, unit: str) -> Decimal:
    """Return a price per one billing unit of the tariff, exact wherever a decimal number can be."""
    per_unit = Fraction(price.amount) / Fraction(price.per) / _ratio(price.unit, unit)
    return _same_or_new(price.amount, per_unit)


def _ratio(unit: str, other: str) -> Fraction:
    """Return how many `other` one `unit` is, exactly."""
    return Fraction(convert_volume_units(unit)) / Fraction(convert_volume_units(other))


def _same_or_new(printed: Decimal, number: Fraction) -> Decimal:
    """Return the number, with the digits as printed if it is still the same."""
    return printed if printed == number else Decimal(number.numerator) / Decimal(number.denominator)


def check_bill(tables: PlanTables) -> Iterator[Fault]:
    """Yield faults of the tariff and of what it needs besides."""
    if tables.tariff is None:
        return
    if tables.household is None:
        yield Fault(
            "household",
            "missing, though there is a tariff",
            'the garden is priced on top of the house: write [household] with use_per_day = "180 gal"',
        )
    yield from _check_blocks(tables.tariff)
    if tables.tariff.sewer is not None:
        yield from _check_sewer(tables.tariff.sewer)


def _check_blocks(tables: TariffTables) -> Iterator[Fault]:
    blocks = tables.blocks
    if not blocks and tables.tariff.has("block"):
        yield Fault("tariff > block", "missing", 'write [[tariff.block]] with price = "2.10 per CCF"')
    for block in blocks[:-1]:
        if block.has("up_to") and block.table.up_to is None:
            yield Fault(block.place("up_to"), "missing", "only the last block has no upper end")
    if blocks and blocks[-1].has("up_to") and blocks[-1].table.up_to is not None:
        yield Fault(
            blocks[-1].place("up_to"),
            f"{shown(blocks[-1].raw['up_to'])} leaves water above it without a price",
            "leave it out on the last block",
        )
    if tables.tariff.has("unit"):
        yield from _check_rise(blocks, tables.tariff.table.unit)


def _check_rise(blocks: tuple[Read[BlockTable], ...], unit: str) -> Iterator[Fault]:
    below = Decimal(0)
    for block in blocks:
        if not block.has("up_to") or block.table.up_to is None:
            continue
        up_to = in_billing_units(block.table.up_to, unit)
        if up_to <= below:
            yield Fault(
                block.place("up_to"),
                f"{shown(block.raw['up_to'])} is not above the block before it",
                f"blocks stand from the lowest to the highest: write more than {below:f} {unit}",
            )
        below = max(below, up_to)


def _check_sewer(sewer: Read[SewerTable]) -> Iterator[Fault]:
    if not sewer.has("rule"):
        return
    rule = sewer.table.rule
    needed, allowed = _SEWER_NEEDS[rule], _SEWER_EXTRAS[rule]
    for name in SewerTable.model_fields:
        if name == "rule" or not sewer.has(name):
            continue
        given = getattr(sewer.table, name) is not None
        if given and name not in needed + allowed:
            yield Fault(
                sewer.place(name),
                f'has no effect under rule = "{rule}"',
                "leave it out, or choose another rule",
            )
        elif not given and name in needed:
            reader_hint = {"price": '"3.40 per CCF"', "winter_average": '"6 CCF"', "cap": '"150 %"'}[name]
            yield Fault(sewer.place(name), f'missing under rule = "{rule}"', f"write {name} = {reader_hint}")
