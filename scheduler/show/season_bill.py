"""The season's bills, line by line, with the garden and without it."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from scheduler.season.tariff import Bill, BillLine, PeriodBill, SeasonBill
from scheduler.show.notes import day_text
from scheduler.show.report import Column, Part, Row

__all__ = ["bill_part"]

BILL_COLUMNS = (
    Column("period", "bill"),
    Column("first", ""),
    Column("last", ""),
    Column("label", "line"),
    Column("unit", ""),
    Column("with_quantity", "with\ngarden"),
    Column("with_amount", "\namount"),
    Column("without_quantity", "with-\nout"),
    Column("without_amount", "\namount"),
    Column("difference", "garden's\ncost"),
)


def _merged(have: Bill, lack: Bill) -> list[str]:
    """Return the labels of two bills in the order of both: one only the second has follows its forerunner."""
    labels = [line.label for line in have.lines]
    place = 0
    for line in lack.lines:
        if line.label in labels:
            place = labels.index(line.label) + 1
        else:
            labels.insert(place, line.label)
            place += 1
    return labels


def _bill_row(
    name: str, period: PeriodBill, *, label: str, lines: Sequence[BillLine | None], unit: str
) -> Row:
    """Return one line of a bill with and without the garden; only volumes show a quantity."""
    known = next(line for line in lines if line is not None)
    amounts = [Decimal(0) if line is None else line.amount for line in lines]
    counted = known.unit == unit
    quantities = [(Decimal(0) if line is None else line.quantity) if counted else None for line in lines]
    shown = [
        None if quantity is None else f"{quantity.quantize(Decimal('0.001')).normalize():f}"
        for quantity in quantities
    ]
    return {
        "period": name,
        "first": period.period.first,
        "last": period.period.last,
        "label": label,
        "unit": known.unit if counted else "",
        "with_quantity": shown[0],
        "with_amount": f"{amounts[0]:.2f}",
        "without_quantity": shown[1],
        "without_amount": f"{amounts[1]:.2f}",
        "difference": f"{amounts[0] - amounts[1]:.2f}",
    }


def bill_part(bill: SeasonBill) -> Part:
    """Return every line of every bill with and without the garden."""
    rows: list[Row] = []
    for period in bill.periods:
        name = f"{day_text(period.period.first)[4:]} to {day_text(period.period.last)[4:]}"
        have, lack = period.with_garden, period.without_garden
        for label in _merged(have, lack):
            pair = [next((x for x in b.lines if x.label == label), None) for b in (have, lack)]
            rows.append(_bill_row(name, period, label=label, lines=pair, unit=bill.unit))
        whole = [BillLine("", b.units, bill.unit, Decimal(0), b.total) for b in (have, lack)]
        rows.append(_bill_row(name, period, label="this bill", lines=whole, unit=bill.unit))
    title = f"The bill, in {bill.currency} and {bill.unit}"
    return Part("bill", title, BILL_COLUMNS, tuple(rows), group="period")
