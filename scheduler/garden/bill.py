"""Water prices as the utility bills them, and the rest of the house on the same meter."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Literal

__all__ = ["BillBlock", "Household", "Sewer", "Tariff"]


@dataclass(frozen=True, slots=True)
class BillBlock:
    """One price block: price per billing unit up to `up_to` units a period (None: no upper end)."""

    up_to: Decimal | None
    price: Decimal


@dataclass(frozen=True, slots=True)
class Sewer:
    """How sewer is charged on water; `winter_average` in billing units a period."""

    rule: Literal["none", "all water", "winter average", "cap"]
    price: Decimal
    fixed_charge: Decimal
    winter_average: Decimal | None
    cap: Decimal | None
    averaging_months: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Tariff:
    """Water prices as the utility bills them.

    Attributes
    ----------
    unit : str
        Billing unit: ``m3``, ``CCF``, ``kgal``, ``gal`` or ``L``.
    whole_units : bool
        True if the utility bills whole units: each meter reading is cut down to a whole unit.
    period : str
        Text of the billing period as written, such as ``1 month`` or ``33 days``.
    period_months, period_days : int or None
        One of the two is set.
    first_reading : date
        A day on which the meter was read; periods follow from it both ways.
    blocks_per_days : int or None
        Days a block's width holds for; widths then grow with the days of the period.
    fixed_per_days : int or None
        Likewise for the fixed charge.
    tax : Decimal
        Share of the sum, 0..1.
    """

    currency: str
    unit: str
    whole_units: bool
    period: str
    period_months: int | None
    period_days: int | None
    first_reading: date
    fixed_charge: Decimal
    fixed_per_days: int | None
    blocks: tuple[BillBlock, ...]
    blocks_per_days: int | None
    sewer: Sewer
    tax: Decimal


@dataclass(frozen=True, slots=True)
class Household:
    """The rest of the house on the same meter [L]: use a day, and the reading on `first_reading`."""

    use_per_day: float
    meter_reading: float
