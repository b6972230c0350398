"""Meter readings -> volumes between them, with the register's rollover, its resolution and its slow end.

Resolution is taken as a rectangular distribution over one smallest digit, the whole of what a register
hides (JCGM 100:2008, F.2.2.1): standard uncertainty 0.29 digit a reading, whether the last digit is cut
or rounded. A volume is the difference of two, hence triangular over two digits: 0.41 digit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from scheduler.errors import Fault
from scheduler.reconcile.refused import finite_fault, positive_fault, refuse

__all__ = [
    "LARGEST_FLOW",
    "LOW_FLOW_LIMIT",
    "Meter",
    "MeteredVolume",
    "Reading",
    "meter_faults",
    "reading_uncertainty",
    "volumes_between",
]

#: Lowest flow at which the smallest house meter is tested [L/h]: 0.25 gal/min (from memory).
LOW_FLOW_LIMIT = 56.8
#: Highest flow the smallest house meter is made for [L/h]: 20 gal/min (from memory).
LARGEST_FLOW = 4542.0


@dataclass(frozen=True, slots=True)
class Meter:
    """A water meter as it can be read.

    Attributes
    ----------
    capacity : float
        Volume at which the register starts again at zero [L].
    smallest_digit : float
        Smallest step that is read [L].
    low_flow_limit : float
        Flow below which it may under-read [L/h].
    largest_flow : float
        More than this cannot pass [L/h]; tells a rollover from a slip of the pen.
    """

    capacity: float
    smallest_digit: float
    low_flow_limit: float = LOW_FLOW_LIMIT
    largest_flow: float = LARGEST_FLOW


@dataclass(frozen=True, slots=True)
class Reading:
    """What the register showed [L], and when (with its time zone)."""

    at: datetime
    volume: float


@dataclass(frozen=True, slots=True)
class MeteredVolume:
    """Water between two readings.

    Attributes
    ----------
    minutes : float
        Time between the readings [min], clock changes allowed for.
    volume, uncertainty : float
        Volume and its standard uncertainty from resolution [L].
    flow : float
        Mean flow [L/h].
    rolled_over : bool
        True if the register passed zero in between.
    another_turn_fits : bool
        True if in that time the register could have gone round once more unseen.
    may_under_read : bool
        True if the mean flow lies below the meter's low-flow limit.
    """

    begins: datetime
    ends: datetime
    minutes: float
    volume: float
    uncertainty: float
    flow: float
    rolled_over: bool
    another_turn_fits: bool
    may_under_read: bool


def reading_uncertainty(meter: Meter) -> float:
    """Return the standard uncertainty of one reading [L]: a rectangle one smallest digit wide."""
    return meter.smallest_digit / math.sqrt(12.0)


def volumes_between(readings: Sequence[Reading], meter: Meter) -> tuple[MeteredVolume, ...]:
    """Return the water between each reading and the next.

    A reading below the one before counts as a rollover only if the water that follows from the meter's
    capacity could have passed in the time. Neighbouring volumes share a reading: what one has too much
    the other has too little, so uncertainties of a longer span follow from its two ends, not from the sum.

    Raises
    ------
    ReadingError
        Fewer than two readings, a volume that is no number or not on the register, a time without a zone
        or not after the one before, or more water (forwards or past zero) than the meter lets through;
        every fault at once, with the pair named.
    """
    faults = [*meter_faults(meter), *_reading_faults(readings, meter)]
    refuse("meter readings", faults)
    pairs = list(zip(readings, readings[1:], strict=False))
    refuse(
        "meter readings",
        [fault for n, (before, after) in enumerate(pairs, 1) for fault in _pair_faults(n, before, after)],
    )
    volumes = [_between(before, after, meter) for before, after in pairs]
    refuse(
        "meter readings",
        [
            _too_much(n, pair, volume)
            for n, (pair, volume) in enumerate(zip(pairs, volumes, strict=True), 1)
            if volume.volume > _most(volume.minutes, meter)
        ],
    )
    return tuple(volumes)


def meter_faults(meter: Meter) -> list[Fault]:
    """Return what is wrong with the description of a meter."""
    return [
        *positive_fault(
            "meter > capacity", meter.capacity, wanted="give the volume at which it turns to zero"
        ),
        *positive_fault(
            "meter > smallest digit", meter.smallest_digit, wanted="give the smallest step you read"
        ),
        *finite_fault(
            "meter > low-flow limit", meter.low_flow_limit, wanted="give a flow, or leave the default"
        ),
        *positive_fault(
            "meter > largest flow", meter.largest_flow, wanted="give a flow, or leave the default"
        ),
    ]


def _reading_faults(readings: Sequence[Reading], meter: Meter) -> list[Fault]:
    wanted = "write what the register shows, with its unit"
    faults = [
        fault
        for n, reading in enumerate(readings, 1)
        for fault in finite_fault(f"reading {n}", reading.volume, wanted=wanted)
    ]
    if len(readings) < 2:
        faults.append(Fault("", f"found {len(readings)} reading", "two are needed for a volume"))
    for n, reading in enumerate(readings, 1):
        if reading.volume >= meter.capacity:
            faults.append(Fault(f"reading {n}", "is more than the register can show", wanted))
        if reading.at.utcoffset() is None:
            faults.append(Fault(f"reading {n}", "its time has no zone", "give the garden's time zone"))
    return faults


def _place(number: int, before: Reading, after: Reading) -> str:
    return f"readings {number} and {number + 1} ({before.at:%Y-%m-%d %H:%M} and {after.at:%Y-%m-%d %H:%M})"


def _minutes(before: Reading, after: Reading) -> float:
    """Return the time that passed [min]; in UTC, since times of one zone would be subtracted by the clock."""
    return (after.at.astimezone(UTC) - before.at.astimezone(UTC)).total_seconds() / 60.0


def _pair_faults(number: int, before: Reading, after: Reading) -> list[Fault]:
    minutes = _minutes(before, after)
    if minutes > 0.0:
        return []
    found = "the second is earlier than the first" if minutes < 0.0 else "both have the same time"
    return [Fault(_place(number, before, after), found, "put the readings in the order they were taken")]


def _between(before: Reading, after: Reading, meter: Meter) -> MeteredVolume:
    minutes = _minutes(before, after)
    rolled_over = after.volume < before.volume
    volume = after.volume - before.volume + (meter.capacity if rolled_over else 0.0)
    flow = volume * 60.0 / minutes
    return MeteredVolume(
        begins=before.at,
        ends=after.at,
        minutes=minutes,
        volume=volume,
        uncertainty=math.sqrt(2.0) * reading_uncertainty(meter),
        flow=flow,
        rolled_over=rolled_over,
        another_turn_fits=volume + meter.capacity <= _most(minutes, meter),
        may_under_read=flow < meter.low_flow_limit,
    )


def _most(minutes: float, meter: Meter) -> float:
    """Return the most that two readings can lie apart [L]."""
    return meter.largest_flow * minutes / 60.0 + meter.smallest_digit


def _too_much(number: int, pair: tuple[Reading, Reading], volume: MeteredVolume) -> Fault:
    """Tell of a step that no water explains: a slip, two readings swapped, or a meter that ran backwards."""
    before, after = pair
    if volume.rolled_over:
        found = (
            f"the register goes back from {before.volume:g} L to {after.volume:g} L, "
            "and a full turn is more water than the meter lets through in that time"
        )
        wanted = (
            "check both numbers and their order; if both are right, water ran backwards "
            "or the meter was changed"
        )
    else:
        found = (
            f"the register goes from {before.volume:g} L to {after.volume:g} L, "
            "more water than the meter lets through in that time"
        )
        wanted = "check both numbers for a slip, and their unit"
    return Fault(_place(number, before, after), found, wanted)
