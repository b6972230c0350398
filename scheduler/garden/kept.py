"""What follows from a plan alone and takes long to work out, kept with the plan that it follows from."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

__all__ = ["Kept"]

T = TypeVar("T")


class Kept:
    """Values worked out when first asked for, one of each class.

    They live and go with their plan; a plan with anything changed is another plan, with nothing kept.
    """

    __slots__ = ("_values",)

    def __init__(self) -> None:
        self._values: dict[type, object] = {}

    def of(self, kind: type[T], work: Callable[[], T]) -> T:
        """Return the value of this class, by `work` the first time."""
        found = self._values.get(kind)
        if not isinstance(found, kind):
            found = self._values[kind] = work()
        return found
