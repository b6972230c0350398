"""Tariff and household of the typed plan, with every price per billing unit."""

from __future__ import annotations

from decimal import Decimal

from scheduler.garden.checks_bill import in_billing_units, price_per_unit
from scheduler.garden.plan import BillBlock, Household, Sewer, Tariff
from scheduler.garden.plantables import TariffTables
from scheduler.garden.schema_water import HouseholdTable, SewerTable

__all__ = ["build_household", "build_tariff"]


def build_tariff(tables: TariffTables) -> Tariff:
    """Return the tariff; block widths, prices and averages count in its billing unit."""
    table = tables.tariff.table
    blocks = tuple(
        BillBlock(
            up_to=None if block.table.up_to is None else in_billing_units(block.table.up_to, table.unit),
            price=price_per_unit(block.table.price, table.unit),
        )
        for block in tables.blocks
    )
    return Tariff(
        currency=table.currency,
        unit=table.unit,
        whole_units=table.whole_units,
        period=str(tables.tariff.raw["period"]).strip(),
        period_months=table.period.months,
        period_days=table.period.days,
        first_reading=table.first_reading,
        fixed_charge=table.fixed_charge,
        fixed_per_days=table.fixed_per_days,
        blocks=blocks,
        blocks_per_days=table.blocks_per_days,
        sewer=_sewer(None if tables.sewer is None else tables.sewer.table, table.unit),
        tax=Decimal(0) if table.tax is None else table.tax,
    )


def _sewer(table: SewerTable | None, unit: str) -> Sewer:
    if table is None:
        return Sewer("none", Decimal(0), Decimal(0), None, None, ())
    return Sewer(
        rule=table.rule,
        price=Decimal(0) if table.price is None else price_per_unit(table.price, unit),
        fixed_charge=Decimal(0) if table.fixed_charge is None else table.fixed_charge,
        winter_average=None if table.winter_average is None else in_billing_units(table.winter_average, unit),
        cap=table.cap,
        averaging_months=tuple(table.averaging_months or ()),
    )


def build_household(table: HouseholdTable) -> Household:
    """Return what the rest of the house uses [L/d] and where its meter stood [L]."""
    reading = 0.0 if table.meter_reading is None else table.meter_reading
    return Household(use_per_day=table.use_per_day, meter_reading=reading)
