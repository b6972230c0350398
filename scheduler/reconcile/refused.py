"""The error of readings that cannot be used, and the checks that every part of the chapter makes."""

from __future__ import annotations

import math
from collections.abc import Iterable
from numbers import Real

# The base stays private to the tree: nobody should catch "some list of faults".
from scheduler.errors import Fault, _FaultListError

__all__ = ["ReadingError", "finite_fault", "positive_fault", "refuse", "share_fault"]


class ReadingError(_FaultListError):
    """Readings, tests or settings of a comparison that cannot be used; lists all their faults."""


def _is_number(value: float) -> bool:
    return isinstance(value, Real) and not isinstance(value, bool) and math.isfinite(value)


def finite_fault(where: str, value: float, *, wanted: str) -> list[Fault]:
    """Return a fault unless the value is a finite number of at least zero."""
    if not _is_number(value):
        return [Fault(where, f"{value} is not a number", wanted)]
    return [] if value >= 0.0 else [Fault(where, f"{value} is below zero", wanted)]


def positive_fault(where: str, value: float, *, wanted: str) -> list[Fault]:
    """Return a fault unless the value is a finite number above zero."""
    faults = finite_fault(where, value, wanted=wanted)
    return faults or ([] if value else [Fault(where, "is zero", wanted)])


def share_fault(where: str, value: float, *, wanted: str) -> list[Fault]:
    """Return a fault unless the value lies between 0 and 1, both left out."""
    faults = positive_fault(where, value, wanted=wanted)
    return faults or ([] if value < 1.0 else [Fault(where, f"{value} is not below 1", wanted)])


def refuse(source: str, faults: Iterable[Fault]) -> None:
    """Raise one ReadingError with every fault, if there is any.

    Raises
    ------
    ReadingError
        If `faults` is not empty.
    """
    listed = list(faults)
    if listed:
        raise ReadingError(source, listed)
