"""Hand watering as a line of its own, beside the timer's minutes."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.garden.dimensions import System
from scheduler.garden.units import format_quantity
from scheduler.season.hand import HandWater
from scheduler.show.notes import day_text
from scheduler.show.report import Column, Part

__all__ = ["hand_lines", "hand_part"]

COLUMNS = (
    Column("bed", "bed"),
    Column("crop", "crop"),
    Column("reason", "for"),
    Column("first", "from", day=True),
    Column("last", "through", day=True),
    Column("volume_l_a_day", "a dry day", "volume"),
)


def hand_part(watering: Sequence[HandWater]) -> Part:
    """Return the rows of hand watering, for machines: people read the lines."""
    rows = tuple(
        {
            "bed": one.bed,
            "crop": one.crop,
            "reason": one.reason,
            "first": one.first,
            "last": one.last,
            "volume_l_a_day": one.litres_a_day,
        }
        for one in watering
    )
    return Part("by_hand", "By hand", COLUMNS, rows, machine_only=True)


def hand_lines(watering: Sequence[HandWater], system: System) -> tuple[str, ...]:
    """Return what to water by hand, in words."""
    return tuple(_line(one, system) for one in watering)


def _line(one: HandWater, system: System) -> str:
    """Return one line."""
    amount = format_quantity(one.litres_a_day, "volume", system)
    task = (
        "keep its seedbed's surface wet"
        if one.reason == "seedbed"
        else "water the young plants at their roots"
    )
    return (
        f"BY HAND, {one.bed}: {one.crop}, {task} through {day_text(one.last)}, about {amount} on a dry day "
        "in one or two turns with a fine rose (judgement). It is not part of the minutes above."
    )
