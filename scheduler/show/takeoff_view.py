"""The parts list of a layout as parts of a report."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import to_display, unit_label
from scheduler.layout.takeoff import PartRow
from scheduler.show.report import Column, Part, Row

__all__ = ["takeoff_part"]

COLUMNS = (
    Column("part", "part"),
    Column("size", "inside\ndiameter"),
    Column("bores_mm", ""),
    Column("count", "laid"),
    Column("length_m", "laid", "length"),
    Column("buy_count", "to buy"),
    Column("buy_length_m", "to buy", "length"),
    Column("used_for", "where"),
    Column("where", ""),
    Column("rule", "amount to buy"),
)


def takeoff_part(rows: Sequence[PartRow], garden: Garden, *, system: System) -> Part:
    """Return the parts list as a table; `system` is that of its sizes in words."""
    return Part("takeoff", "Parts", COLUMNS, tuple(_row(row, garden, system) for row in rows))


def _row(row: PartRow, garden: Garden, system: System) -> Row:
    every = len(garden.beds) > 1 and {bed.name for bed in garden.beds} <= set(row.where)
    return {
        "part": row.part,
        "size": _size(row.bores, system),
        "bores_mm": [to_display(bore, "bore", "metric") for bore in row.bores],
        "count": row.count,
        "length_m": row.length,
        "buy_count": row.buy_count,
        "buy_length_m": row.buy_length,
        "used_for": "all beds" if every else ", ".join(row.where) or "all",
        "where": list(row.where),
        "rule": row.rule,
    }


def _size(bores: Sequence[float], system: System) -> str:
    """Return the sizes of a part as it is asked for, such as ``0.600 x 0.170 in``; one where all agree."""
    decimals = 1 if system == "metric" else 3
    shown = [f"{to_display(bore, 'bore', system):.{decimals}f}" for bore in bores]
    if not shown:
        return ""
    sizes = shown if len(set(shown)) > 1 else shown[:1]
    return f"{' x '.join(sizes)} {unit_label('bore', system)}"
