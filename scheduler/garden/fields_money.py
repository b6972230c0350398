"""How prices, billed volumes and billing periods are read, exactly as the bill prints them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from scheduler.errors import UnitError
from scheduler.garden.fields import Reader, shown

__all__ = [
    "BILLING_UNITS",
    "MONTHS",
    "Billed",
    "BilledVolume",
    "BillingUnit",
    "Money",
    "MonthName",
    "Percent",
    "PeriodLength",
    "PeriodText",
    "Price",
    "UnitPrice",
]

#: Units that a water bill may count in, as the plan holds them.
BILLING_UNITS = ("m3", "CCF", "kgal", "gal", "L")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

_NUMBER = r"(\d+(?:\.\d+)?)"
_MONEY = re.compile(_NUMBER)
_PRICE = re.compile(rf"{_NUMBER}\s+per\s+(?:{_NUMBER}\s*)?([A-Za-z]\w*)")
_BILLED = re.compile(rf"{_NUMBER}\s*([A-Za-z]\w*)")
_PERCENT = re.compile(rf"{_NUMBER}\s*%")
_PERIOD = re.compile(r"(\d{1,3})\s+(month|day)s?")


@dataclass(frozen=True, slots=True)
class UnitPrice:
    """A price per so many units of water, as the bill prints it."""

    amount: Decimal
    per: Decimal
    unit: str


@dataclass(frozen=True, slots=True)
class Billed:
    """A volume in a unit that bills count in."""

    amount: Decimal
    unit: str


@dataclass(frozen=True, slots=True)
class PeriodLength:
    """A billing period: one of the two is set."""

    months: int | None
    days: int | None


def _billing_unit(text: str, found: object) -> str:
    """Return the billing unit in its one spelling."""
    for unit in BILLING_UNITS:
        if text.casefold() == unit.casefold():
            return unit
    raise UnitError(f"{shown(found)} names the unit {shown(text)}", f"use one of {', '.join(BILLING_UNITS)}")


def _quoted(value: object, what: str, example: str) -> str:
    """Return the text of a value that must stand in quotes; a bare number could lose its last cent."""
    if isinstance(value, str):
        return value.strip()
    raise UnitError(f"{shown(value)} is not text", f"write {what} in quotes, e.g. {example}")


class BillingUnit(Reader):
    """The unit that the bill counts in."""

    def read(self, value: object) -> str:
        """Return the unit in its one spelling."""
        text = _quoted(value, "the billing unit", self.example())
        return _billing_unit(text, value)


class Money(Reader):
    """An amount of money without its sign, such as ``9.40``."""

    def read(self, value: object) -> Decimal:
        """Return the amount."""
        text = _quoted(value, "money as the bill prints it", self.example())
        if not _MONEY.fullmatch(text):
            raise UnitError(
                f"{shown(value)} is not an amount of money",
                f"write digits with a decimal point and no currency sign, e.g. {self.example()}",
            )
        return Decimal(text)


class Price(Reader):
    """A price for water, such as ``2.10 per CCF`` or ``4.20 per 1000 gal``."""

    def read(self, value: object) -> UnitPrice:
        """Return the price as printed."""
        text = _quoted(value, "the price with what it is for", self.example())
        match = _PRICE.fullmatch(text)
        if not match:
            raise UnitError(
                f"{shown(value)} is not a price for water",
                f'write the amount, "per" and the unit, e.g. {self.example()}',
            )
        per = Decimal(match[2] or "1")
        if per == 0:
            raise UnitError(f"{shown(value)} is a price for no water", f"write e.g. {self.example()}")
        return UnitPrice(Decimal(match[1]), per, _billing_unit(match[3], value))


class BilledVolume(Reader):
    """A volume as the bill counts it, such as ``7 CCF``."""

    def read(self, value: object) -> Billed:
        """Return the volume as printed."""
        text = _quoted(value, "the volume with its unit", self.example())
        match = _BILLED.fullmatch(text)
        if not match:
            raise UnitError(
                f"{shown(value)} is not a volume as bills count it",
                f"write a number and one of {', '.join(BILLING_UNITS)}, e.g. {self.example()}",
            )
        return Billed(Decimal(match[1]), _billing_unit(match[2], value))


class Percent(Reader):
    """An exact share, such as ``5 %``; above 100 % is allowed up to `highest`."""

    def __init__(self, *examples: str, highest: int) -> None:
        super().__init__(*examples)
        self.highest = highest

    def read(self, value: object) -> Decimal:
        """Return the share, 1 for 100 %."""
        text = _quoted(value, "a percentage", self.example())
        match = _PERCENT.fullmatch(text)
        if not match or Decimal(match[1]) > self.highest:
            raise UnitError(
                f"{shown(value)} is not a percentage up to {self.highest} %", f"write e.g. {self.example()}"
            )
        return Decimal(match[1]) / 100


class PeriodText(Reader):
    """The length of a billing period in months or days."""

    def read(self, value: object) -> PeriodLength:
        """Return the period's months or days."""
        text = _quoted(value, "the length of a billing period", self.example())
        match = _PERIOD.fullmatch(text)
        count = int(match[1]) if match else 0
        longest = 12 if match and match[2] == "month" else 366
        if not match or not 1 <= count <= longest:
            raise UnitError(
                f"{shown(value)} is not a billing period",
                'write "1 month" to "12 months", or the days as on the bill, e.g. "33 days"',
            )
        return PeriodLength(count, None) if match[2] == "month" else PeriodLength(None, count)


class MonthName(Reader):
    """A month by its first three letters."""

    def read(self, value: object) -> int:
        """Return the month's number, 1 to 12."""
        if value not in MONTHS:
            raise UnitError(f"{shown(value)} is not a month", f"use {', '.join(MONTHS)}")
        return MONTHS.index(str(value)) + 1
