"""What a check of a layout found: a number, its limit, where the limit is from, and what to change."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from scheduler.garden.dimensions import Dimension

__all__ = ["Bound", "Finding", "Level", "levelled"]

#: ``wrong`` keeps the layout from working as planned, ``look`` deserves a second look.
Level = Literal["fine", "look", "wrong"]
Bound = Literal["at least", "at most"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One check of one place.

    Attributes
    ----------
    check : str
        What was looked at.
    where : str
        Bed, zone, line or part.
    value, limit : float or None
        In the canonical unit of `dimension`, plain numbers without one; `limit` is None where a figure is
        only told.
    bound : str
        Which way the limit goes.
    source : str
        Where the limit is from.
    advice : str
        What to change; empty where nothing is to do.
    """

    check: str
    where: str
    level: Level
    value: float | None
    limit: float | None
    bound: Bound
    dimension: Dimension | None
    source: str
    advice: str = ""


def levelled(
    check: str,
    where: str,
    *,
    value: float,
    limit: float,
    bound: Bound,
    dimension: Dimension | None,
    source: str,
    advice: str,
    beyond: Level = "look",
) -> Finding:
    """Return a finding that is fine within its limit, and of level `beyond`, with the advice, beyond it."""
    within = value >= limit if bound == "at least" else value <= limit
    return Finding(
        check,
        where,
        "fine" if within else beyond,
        value,
        limit,
        bound,
        dimension,
        source,
        "" if within else advice,
    )
