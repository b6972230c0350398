"""Limits of what a garden can plausibly hold: beyond them the plan is asked, not believed."""

from __future__ import annotations

from functools import cache
from typing import Any

from scheduler.errors import Fault
from scheduler.garden.fields import shown
from scheduler.garden.tableread import Read
from scheduler.garden.units import Dimension, both_systems, parse_quantity

__all__ = ["limit", "outside"]


@cache
def limit(text: str, dimension: Dimension) -> float:
    """Return a limit written as text, in canonical units."""
    return parse_quantity(text, dimension)


def outside(
    read: Read[Any], name: str, dimension: Dimension, *, low: str, high: str, ask: str
) -> list[Fault]:
    """Return a fault if a quantity lies outside plausible limits.

    Parameters
    ----------
    read : Read
    name : str
        Attribute of the table; nothing is said of one that is absent or could not be read.
    dimension : Dimension
    low, high : str
        The limits as text, such as ``0.05 gal/h``; both are still allowed.
    ask : str
        What the person may have meant.
    """
    value = getattr(read.table, name) if read.has(name) else None
    if value is None or limit(low, dimension) <= value <= limit(high, dimension):
        return []
    found = f"{shown(read.raw[name])} is {both_systems(value, dimension)}"
    return [Fault(read.place(name), found, f"expected {low} to {high}: {ask}")]
