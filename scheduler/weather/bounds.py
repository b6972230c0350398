"""Refusing daily values outside the range in which an equation means something."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, WeatherError
from scheduler.weather.record import FloatArray

__all__ = ["Bound", "require"]

# Days named one by one in a fault; a record in the wrong unit fails on all of its days.
DAYS_NAMED = 5


@dataclass(frozen=True, slots=True, eq=False)
class Bound:
    """The range that the values of one variable must lie in, both ends included.

    Attributes
    ----------
    name : str
        Name of the variable, as people should see it.
    values : float or array
        One value, or one a day.
    low, high : float or array
        Ends of the range; one for all days, or one a day.
    unit : str
        Unit, with a hint in brackets where that helps.
    whole : bool
        True if only whole numbers will do.
    """

    name: str
    values: float | FloatArray
    low: float | FloatArray
    high: float | FloatArray
    unit: str
    whole: bool = False

    def fault(self) -> Fault | None:
        """Return what is wrong with the values, or None; NaN is always wrong."""
        values, low, high = np.broadcast_arrays(*map(np.asarray, (self.values, self.low, self.high)))
        sound = (values >= low) & (values <= high)
        if self.whole:
            sound &= values == np.rint(values)
        bad = np.flatnonzero(~sound)
        if not bad.size:
            return None
        where = self.name if np.ndim(self.values) == 0 else f"{self.name}, {_days(bad)}"
        first = bad[0]
        number = "whole number" if self.whole else "number"
        wanted = f"a {number} from {low.flat[first]:.4g} to {high.flat[first]:.4g} {self.unit}"
        return Fault(where, f"{values.flat[first]:.4g}", wanted)


def require(source: str, *bounds: Bound) -> None:
    """Refuse values out of their bounds, all of them at once.

    Raises
    ------
    WeatherError
        With one fault for each variable out of its bounds: `source`, the days by their index in the
        arrays, the first bad value and what would be right on that day.
    """
    faults = [fault for fault in (bound.fault() for bound in bounds) if fault is not None]
    if faults:
        raise WeatherError(source, faults)


def _days(bad: NDArray[np.intp]) -> str:
    """Return the indices of bad days in words."""
    named = ", ".join(str(index) for index in bad[:DAYS_NAMED])
    more = f" and {bad.size - DAYS_NAMED} more" if bad.size > DAYS_NAMED else ""
    return f"day index {named}{more}"
