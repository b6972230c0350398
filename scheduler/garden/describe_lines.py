"""One line of a plan told back, and lines for quantities in both unit systems."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.garden.units import Dimension, both_systems

__all__ = ["Line", "quantities"]

#: Place in the plan, what it is, and its value as text.
Line = tuple[str, str, str]


def quantities(place: str, *entries: tuple[str, float | None, Dimension]) -> Iterator[Line]:
    """Yield a line for each quantity that the plan has; None is one that it has not."""
    for what, value, dimension in entries:
        if value is not None:
            yield place, what, both_systems(value, dimension)
