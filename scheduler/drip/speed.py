"""How fast water goes in a line, the flow that flushes it, and the rules of practice for both. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError

__all__ = [
    "FLUSHING_MINUTES",
    "FLUSHING_SPEED",
    "HALF_INCH_MAIN",
    "HIGHEST_SPEED",
    "MainRule",
    "PracticeRule",
    "flow_at_speed",
    "flow_speed",
]

FloatArray = NDArray[np.float64]

LITRES_PER_CUBIC_METRE, SECONDS_PER_HOUR = 1000.0, 3600.0


@dataclass(frozen=True, slots=True)
class PracticeRule:
    """A figure of practice as it is printed; whoever compares with it reads its unit at the edge."""

    text: str
    meaning: str
    source: str


@dataclass(frozen=True, slots=True)
class MainRule:
    """How far a main line reaches, and how much it carries, as it is said."""

    longest: str
    most: str
    meaning: str
    source: str


FLUSHING_SPEED = PracticeRule(
    "1 ft/s",
    "least speed at the open end of a line that carries dirt out",
    "UC ANR, Maintenance of microirrigation systems, flushing",
)
FLUSHING_MINUTES = PracticeRule(
    "2 min",
    "a minute or two suffices if the water comes clean; every 2 to 3 weeks at first, then as found",
    "UC ANR, Maintenance of microirrigation systems, tree and vine crops",
)
HIGHEST_SPEED = PracticeRule(
    "5 ft/s",
    "highest speed in a line: beyond it friction and hammer grow fast",
    "a public irrigation formula sheet, as maximum economical velocity",
)
HALF_INCH_MAIN = MainRule(
    "200 ft",
    "200 gal/h",
    "about as long and as much as a half-inch main carries",
    "common practice without a source",
)


def flow_speed(flow: ArrayLike, *, bore: ArrayLike) -> FloatArray:
    """Return the mean speed [m/s] of a flow [L/h] in a tube of an inside diameter `bore` [m].

    Raises
    ------
    RillbookError
        If a bore is not above 0, or a flow is no number.
    """
    cross = _cross_section(bore)
    carried = np.asarray(flow, dtype=float)
    if not np.all(np.isfinite(carried)):
        raise RillbookError("a flow is no number")
    return np.asarray(carried / LITRES_PER_CUBIC_METRE / SECONDS_PER_HOUR / cross)


def flow_at_speed(speed: ArrayLike, *, bore: ArrayLike) -> FloatArray:
    """Return the flow [L/h] that moves at a mean speed [m/s] in a bore [m].

    With `FLUSHING_SPEED` it is what must leave the open end of a line to flush it; what the emitters on the
    way take must be added at the inlet.

    Raises
    ------
    RillbookError
        If a bore is not above 0, or a speed is no number.
    """
    cross = _cross_section(bore)
    moved = np.asarray(speed, dtype=float)
    if not np.all(np.isfinite(moved)):
        raise RillbookError("a speed is no number")
    return np.asarray(moved * cross * LITRES_PER_CUBIC_METRE * SECONDS_PER_HOUR)


def _cross_section(bore: ArrayLike) -> FloatArray:
    wide = np.asarray(bore, dtype=float)
    if not (np.all(wide > 0.0) and np.all(np.isfinite(wide))):
        raise RillbookError("an inside diameter is not above 0; write what the roll's leaflet prints")
    return np.asarray(math.pi / 4.0 * wide**2)
