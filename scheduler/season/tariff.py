"""Water use to money: block prices, fixed charges, sewer and tax, in decimal arithmetic.

Every line of a bill is rounded to a hundredth of the currency, half a hundredth upwards, and the total is
the sum of the rounded lines. Prices are taken to hold for the whole span.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal

from scheduler.errors import RillbookError
from scheduler.garden.plan import Household, Sewer, Tariff
from scheduler.garden.units import convert_volume_units
from scheduler.season.periods import BillingPeriod, billing_periods

__all__ = [
    "Bill",
    "BillLine",
    "PeriodBill",
    "SeasonBill",
    "block_charge",
    "season_bill",
    "water_bill",
]

_CENT = Decimal("0.01")
_PRICE_STEP = Decimal("0.0001")
# Finest share of a billing unit that is told apart: 1e-6 L of a cubic metre. Coarse enough to shed the
# binary noise of a float, so that a meter at 412 CCF is not taken as 411.999..., whole 411.
_FINEST = Decimal("1e-9")
# Above this [L] the 28 digits of the arithmetic would no longer hold `_FINEST` over many years.
_MOST_LITRES = 1e12
_ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class BillLine:
    """One line of a bill: `quantity` of `unit` at `price` each, `amount` rounded to the cent.

    For tax the quantity is the money taxed and the price the share taken of it.
    """

    label: str
    quantity: Decimal
    unit: str
    price: Decimal
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Bill:
    """The bill between two meter readings.

    Attributes
    ----------
    start_reading, end_reading : Decimal
        Meter readings [billing units], as given.
    units : Decimal
        Billing units charged; whole ones where the utility bills whole units.
    days : int
        Days of the billing period.
    lines : tuple of BillLine
    total : Decimal
        Sum of the amounts of the lines.
    """

    start_reading: Decimal
    end_reading: Decimal
    units: Decimal
    days: int
    lines: tuple[BillLine, ...]
    total: Decimal


@dataclass(frozen=True, slots=True)
class PeriodBill:
    """One billing period's bill with and without the garden.

    Attributes
    ----------
    period : BillingPeriod
    with_garden, without_garden : Bill
    garden_units : Decimal
        Water the garden took through the meter [billing units], whatever was billed.
    garden_cost : Decimal
        Total with the garden less total without it. With whole-unit billing this can be below zero in one
        period, where a unit has moved to the period before.
    """

    period: BillingPeriod
    with_garden: Bill
    without_garden: Bill
    garden_units: Decimal
    garden_cost: Decimal


@dataclass(frozen=True, slots=True)
class SeasonBill:
    """What the garden adds to the water bills of a season.

    Attributes
    ----------
    currency, unit : str
    periods : tuple of PeriodBill
    garden_units : Decimal
        Water the garden took through the meter [billing units].
    billed_units : Decimal
        Units billed with the garden less those billed without it; differs from `garden_units` only where
        whole units are billed.
    total_with, total_without, garden_cost : Decimal
    average_price : Decimal or None
        What all the water of the house and the garden adds to the charges that fall due without any use,
        per unit billed; None if no unit was billed.
    marginal_price : Decimal or None
        Garden cost per unit billed for the garden; None if no unit was billed for it.
    notes : tuple of str
        What was taken for granted, and what the sums leave out.
    """

    currency: str
    unit: str
    periods: tuple[PeriodBill, ...]
    garden_units: Decimal
    billed_units: Decimal
    total_with: Decimal
    total_without: Decimal
    garden_cost: Decimal
    average_price: Decimal | None
    marginal_price: Decimal | None
    notes: tuple[str, ...]


def block_charge(units: Decimal, tariff: Tariff, *, days: int) -> list[BillLine]:
    """Return the lines for water, one for each price block that is used.

    Parameters
    ----------
    units : Decimal
        Billing units of the period, 0 or more.
    tariff : Tariff
        With `blocks_per_days` set, a block's upper end is multiplied by `days` / `blocks_per_days`.
    days : int
        Days of the period, used only then.

    Returns
    -------
    list of BillLine
        Empty if nothing was used. The quantities add up to `units`.
    """
    lines = []
    lower = _ZERO
    for block in tariff.blocks:
        upper = block.up_to
        if upper is not None and tariff.blocks_per_days is not None:
            upper = (upper * days / tariff.blocks_per_days).quantize(_FINEST)
        used = (units if upper is None else min(units, upper)) - lower
        if used <= 0:
            break
        label = _block_label(lower, upper, tariff.unit)
        lines.append(_line(label, used, unit=tariff.unit, price=block.price))
        if upper is not None:
            lower = upper
    return lines


def water_bill(start_reading: Decimal, end_reading: Decimal, *, tariff: Tariff, days: int) -> Bill:
    """Return the bill between two meter readings.

    Where the utility bills whole units, each reading is cut down to a whole unit before they are
    subtracted, as it is on a meter whose last digits are not read. Tax is taken on the sum of the other
    lines.

    Parameters
    ----------
    start_reading, end_reading : Decimal
        [billing units]
    tariff : Tariff
    days : int
        Days of the billing period, 1 or more.

    Raises
    ------
    RillbookError
        If a reading is not a number from 0 up, the later one is the lower, or the period has no day.
    """
    _check_readings(start_reading, end_reading, days)
    units = end_reading - start_reading
    if tariff.whole_units:
        units = _whole(end_reading) - _whole(start_reading)
    lines = block_charge(units, tariff, days=days)
    lines += _fixed_lines(tariff, days)
    lines += _sewer_lines(units, tariff.sewer, unit=tariff.unit)
    if tariff.tax:
        label = f"Tax, {_plain(tariff.tax * 100)} %"
        taxed = _total(line.amount for line in lines)
        lines.append(_line(label, taxed, unit=tariff.currency, price=tariff.tax))
    total = _total(line.amount for line in lines).quantize(_CENT)
    return Bill(start_reading, end_reading, units, days, tuple(lines), total)


def season_bill(
    garden_litres_by_day: Mapping[date, float],
    tariff: Tariff,
    *,
    household: Household,
    begins: date,
    ends: date,
) -> SeasonBill:
    """Return the bills of every billing period that touches a span, with and without the garden.

    The house uses the same each day, in the span and in the days by which the first and last periods reach
    beyond it. One meter runs through all periods: with the garden it passes through the household's reading
    on the day of the first reading; without it, it starts level and gains only what the house uses.

    Parameters
    ----------
    garden_litres_by_day : mapping of date to float
        Garden water [L]; a day left out had none.
    tariff : Tariff
    household : Household
    begins, ends : date
        First and last day of the span, both included.

    Raises
    ------
    RillbookError
        If a use or the reading is not a number from 0 up, a garden day lies outside the span, or the span
        is not one (see `billing_periods`).
    """
    periods = billing_periods(tariff, begins, ends=ends)
    garden, house, meter = _in_units(garden_litres_by_day, tariff, household=household)
    outside = [day for day in sorted(garden) if not begins <= day <= ends]
    if outside:
        raise RillbookError(f"garden water on {outside[0]}, outside {begins} to {ends}; widen the span")
    # Garden water used before the meter was first read is part of that reading.
    meter -= _total(used for day, used in garden.items() if day < tariff.first_reading)
    meter += house * (periods[0].first - tariff.first_reading).days
    # A whole number of units up or down moves no step of the meter, so no charge.
    raised = max(_ZERO, -_whole(meter))
    bills = tuple(_period_bills(periods, garden, house=house, meter=meter + raised, tariff=tariff))
    total_with = _total(bill.with_garden.total for bill in bills)
    garden_cost = _total(bill.garden_cost for bill in bills)
    units_with = _total(bill.with_garden.units for bill in bills)
    billed_units = units_with - _total(bill.without_garden.units for bill in bills)
    unused = _total(water_bill(_ZERO, _ZERO, tariff=tariff, days=period.days).total for period in periods)
    return SeasonBill(
        currency=tariff.currency,
        unit=tariff.unit,
        periods=bills,
        garden_units=_total(garden.values()),
        billed_units=billed_units,
        total_with=total_with,
        total_without=total_with - garden_cost,
        garden_cost=garden_cost,
        average_price=_price_of(total_with - unused, units_with),
        marginal_price=_price_of(garden_cost, billed_units),
        notes=tuple(_notes(bills, garden, tariff=tariff, span=(begins, ends), raised=raised)),
    )


def _period_bills(
    periods: Sequence[BillingPeriod],
    garden: Mapping[date, Decimal],
    *,
    house: Decimal,
    meter: Decimal,
    tariff: Tariff,
) -> Iterator[PeriodBill]:
    """Yield the bills of each period, the meter readings carried from one to the next [billing units]."""
    start_with = start_without = meter
    for period in periods:
        days = (period.first + timedelta(days=number) for number in range(period.days))
        garden_units = _total(garden.get(day, _ZERO) for day in days)
        end_without = start_without + house * period.days
        end_with = start_with + house * period.days + garden_units
        with_garden = water_bill(start_with, end_with, tariff=tariff, days=period.days)
        without_garden = water_bill(start_without, end_without, tariff=tariff, days=period.days)
        cost = with_garden.total - without_garden.total
        yield PeriodBill(period, with_garden, without_garden, garden_units, cost)
        start_with, start_without = end_with, end_without


def _fixed_lines(tariff: Tariff, days: int) -> list[BillLine]:
    """Return the fixed charge, by the day if the tariff says so, and none if it is zero."""
    charge, per_days = tariff.fixed_charge, tariff.fixed_per_days
    if not charge:
        return []
    if per_days is None:
        return [_line("Fixed charge", Decimal(1), unit="bill", price=charge)]
    # Multiplied before it is divided: 24.00 x 31 / 30 is exact, 31 / 30 alone is not.
    amount = _money(charge * days / per_days)
    quantity = (Decimal(days) / per_days).quantize(_FINEST)
    return [BillLine("Fixed charge", quantity, f"period of {per_days} days", charge, amount)]


def _sewer_lines(units: Decimal, sewer: Sewer, *, unit: str) -> list[BillLine]:
    """Return the sewer lines: what the rule lets count of the water used, and the fixed charge if any."""
    lines = []
    average = sewer.winter_average
    if sewer.rule == "all water":
        lines.append(_line("Sewer, on all water", units, unit=unit, price=sewer.price))
    elif sewer.rule == "winter average":
        if average is None:
            raise ValueError("sewer by winter average needs the winter average")
        label = f"Sewer, on no more than the winter average of {_plain(average)} {unit}"
        lines.append(_line(label, min(units, average), unit=unit, price=sewer.price))
    elif sewer.rule == "cap":
        if average is None or sewer.cap is None:
            raise ValueError("a sewer cap needs the cap and the winter average")
        label = f"Sewer, on no more than {_plain(sewer.cap * 100)} % of the winter average"
        lines.append(_line(label, min(units, sewer.cap * average), unit=unit, price=sewer.price))
    if sewer.fixed_charge:
        lines.append(_line("Sewer fixed charge", Decimal(1), unit="bill", price=sewer.fixed_charge))
    return lines


def _notes(
    bills: Sequence[PeriodBill],
    garden: Mapping[date, Decimal],
    *,
    tariff: Tariff,
    span: tuple[date, date],
    raised: Decimal,
) -> Iterator[str]:
    """Yield what a person must know to read a season's bill rightly."""
    yield "Prices are taken to stay the same over all these bills."
    yield "Each line is rounded to the cent, half a cent upwards."
    first, last = bills[0].period.first, bills[-1].period.last
    if first < span[0]:
        yield f"The first bill begins on {first}: the house's use fills it, garden water starts on {span[0]}."
    if last > span[1]:
        yield f"The last bill ends on {last}: the house's use fills it, garden water stops on {span[1]}."
    if raised:
        yield (
            "Counted back from the first reading the meter would stand below zero; all readings are raised "
            f"by {_plain(raised)} {tariff.unit}, which changes no charge."
        )
    if tariff.whole_units:
        yield (
            "Whole units are billed: the garden's units can be off its use by up to two in one bill, "
            "and by less than one over all the bills together."
        )
        if any(bill.garden_cost < 0 for bill in bills):
            yield "Where the garden's cost is below zero, a whole unit has moved to an earlier bill."
    months = tariff.sewer.averaging_months
    averaged = _total(used for day, used in garden.items() if day.month in months)
    if averaged and tariff.sewer.rule in ("winter average", "cap"):
        yield (
            f"{_plain(averaged)} {tariff.unit} of garden water falls in months that set the sewer average; "
            "it may raise later sewer charges, which are not counted here."
        )


def _in_units(
    garden_litres_by_day: Mapping[date, float], tariff: Tariff, *, household: Household
) -> tuple[dict[date, Decimal], Decimal, Decimal]:
    """Return garden use by day, house use a day and the meter's reading [billing units], all checked."""
    litres = {f"garden water on {day}": value for day, value in garden_litres_by_day.items()}
    litres["house use a day"] = household.use_per_day
    litres["meter reading"] = household.meter_reading
    wrong = [f"{what}: {value} L" for what, value in litres.items() if not 0 <= value <= _MOST_LITRES]
    if wrong:
        raise RillbookError("\n".join(f"{text}; a number of litres from 0 up is wanted" for text in wrong))
    per_unit = convert_volume_units(tariff.unit)
    # float() first: the text of a numpy number may name its type.
    exact = [(Decimal(repr(float(value))) / per_unit).quantize(_FINEST) for value in litres.values()]
    *by_day, house, meter = exact
    return dict(zip(garden_litres_by_day, by_day, strict=True)), house, meter


def _check_readings(start_reading: Decimal, end_reading: Decimal, days: int) -> None:
    """Raise RillbookError unless two readings and the days between them can be a bill."""
    for name, reading in (("start", start_reading), ("end", end_reading)):
        if not reading.is_finite() or reading < 0:
            raise RillbookError(f"meter reading at the {name}: {reading}; a number from 0 up is wanted")
    if end_reading < start_reading:
        raise RillbookError(
            f"meter reading at the end: {end_reading}, lower than {start_reading} at the start; "
            "check both, and add what a new or rolled-over meter has lost"
        )
    if days < 1:
        raise RillbookError(f"days between the readings: {days}; at least 1 is wanted")


def _block_label(lower: Decimal, upper: Decimal | None, unit: str) -> str:
    """Return a block's name, such as ``Water, 7 to 12 CCF``."""
    if upper is None:
        return f"Water, above {_plain(lower)} {unit}" if lower else "Water"
    if not lower:
        return f"Water, first {_plain(upper)} {unit}"
    return f"Water, {_plain(lower)} to {_plain(upper)} {unit}"


def _line(label: str, quantity: Decimal, *, unit: str, price: Decimal) -> BillLine:
    """Return a line with its amount rounded to the cent."""
    return BillLine(label, quantity, unit, price, _money(quantity * price))


def _money(amount: Decimal) -> Decimal:
    """Return an amount rounded to the cent, half a cent upwards."""
    return amount.quantize(_CENT, rounding=ROUND_HALF_UP)


def _total(values: Iterable[Decimal]) -> Decimal:
    """Return a sum that is a Decimal even if there is nothing to add."""
    return sum(values, _ZERO)


def _price_of(amount: Decimal, units: Decimal) -> Decimal | None:
    """Return money per unit to four places, or None if there is no unit to share it over."""
    return (amount / units).quantize(_PRICE_STEP, rounding=ROUND_HALF_UP) if units > 0 else None


def _whole(reading: Decimal) -> Decimal:
    """Return a reading cut down to a whole unit."""
    return reading.to_integral_value(rounding=ROUND_FLOOR)


def _plain(value: Decimal) -> str:
    """Return a number for a label: at most three places, no trailing zeros."""
    rounded = value.quantize(Decimal("0.001"), rounding=ROUND_HALF_UP)
    text = f"{rounded:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
