"""What a comparison of timetables says in plain sentences, also where the weekly table does not win."""

from __future__ import annotations

from decimal import Decimal

from scheduler.garden.dimensions import System
from scheduler.garden.units import format_quantity
from scheduler.season.compare import Tally
from scheduler.show.notes import percent

__all__ = ["SMALL_DAYS", "SMALL_WATER", "verdict"]

#: Difference in water below which a timetable is said to save little. Judgement, no source: about what the
#: flow of a bed is uncertain by.
SMALL_WATER = 0.05

#: Difference in bed-days short of water, as a share of those on which something grows, up to which beds are
#: said to fare alike. Judgement, no source.
SMALL_DAYS = 0.01


def verdict(ours: Tally, other: Tally, *, currency: str, system: System) -> str:
    """Return how the weekly table does beside another timetable: water, bed-days short of water, money.

    A saving that the beds pay for, a saving too small to matter, and more water than the other takes are said
    as plainly as a gain.
    """
    return _water_and_days(ours, other, system) + _money(ours, other, currency)


def _water_and_days(ours: Tally, other: Tally, system: System) -> str:
    """Return the sentence on water and on how the beds fare."""
    saved = other.litres - ours.litres
    share = abs(saved) / max(other.litres, ours.litres, 1e-9)
    water = f"{format_quantity(abs(saved), 'volume', system)} ({percent(share)})"
    name = f'"{other.label}"'
    spared = other.short_days - ours.short_days
    alike = abs(spared) <= SMALL_DAYS * ours.used_days
    short = f"{_days(ours.short_days)} short of water against {other.short_days:.0f}"
    if share < SMALL_WATER:
        begin = f"Beside {name} the weekly table saves little or no water: {water} {_sign(saved)}"
        if alike:
            return f"{begin}. The beds fare alike ({short}): that timetable serves this garden about as well."
        if spared > 0:
            return f"{begin}. What it brings: {short}."
        return f"{begin}, and the beds fare worse ({short}): that timetable serves this garden better."
    if saved > 0:
        begin = f"The weekly table takes {water} less than {name}"
        if alike:
            return f"{begin}, and the beds fare alike ({short})."
        if spared > 0:
            return f"{begin}, and the beds fare better ({short})."
        missed = _used_more(other, ours, system)
        return f"{begin}, but the beds fare worse ({short}){missed and f': {missed} the crops missed'}."
    begin = f"The weekly table takes {water} more than {name}"
    if alike:
        return f"{begin}, and the beds fare alike ({short}): that timetable serves this garden better."
    if spared > 0:
        used = _used_more(ours, other, system)
        return f"{begin}, because that leaves beds too dry ({short}){used and f': {used} the crops used'}."
    return f"{begin}, and the beds fare worse ({short}): that timetable serves this garden better."


def _used_more(one: Tally, other: Tally, system: System) -> str:
    """Return by how much crops used more water under one timetable than under another; empty if they did not.

    How much of a difference reached the crops tells whether it was worth it.
    """
    used = one.transpired - other.transpired
    return f"{format_quantity(used, 'volume', system)} of that" if used > 0.0 else ""


def _sign(saved: float) -> str:
    return "less" if saved >= 0.0 else "more"


def _days(count: float) -> str:
    """Return bed-days in words."""
    return "1 bed-day" if round(count) == 1 else f"{count:.0f} bed-days"


def _money(ours: Tally, other: Tally, currency: str) -> str:
    """Return what it makes on the bills; nothing without a tariff."""
    if ours.cost is None or other.cost is None:
        return ""
    saved = other.cost - ours.cost
    if abs(saved) < Decimal("0.005"):
        return " The water bills come to the same."
    return f" The water bills come to {abs(saved):.2f} {currency} {'less' if saved > 0 else 'more'}."
