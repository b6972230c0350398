"""An outlet that sticks open: what it runs out, what of it drains, what that adds to the bills."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.season.stuck_open import HOURS_PER_DAY, StuckOutlet
from scheduler.show.notes import percent
from scheduler.show.report import Column, Part

__all__ = ["stuck_lines", "stuck_notes", "stuck_part"]

COLUMNS = (
    Column("zone", "zone"),
    Column("flow_l_h", "an hour", "volume"),
    Column("volume_per_day_l", "a day", "volume"),
    Column("volume_l", "in all", "volume"),
    Column("drained_l", "of it\ndrains", "volume"),
    Column("stored_l", "", "volume"),
    Column("used_l", "", "volume"),
    Column("hours_to_fill", "soil full\nafter", "hours"),
    Column("cost", "added to\nthe bills"),
    Column("currency", ""),
)


def stuck_part(
    stuck: Sequence[StuckOutlet], costs: Sequence[Decimal | None], *, currency: str, days: int
) -> Part:
    """Return what each outlet runs out if it alone sticks open for `days`."""
    rows = tuple(
        {
            "zone": one.beds.zone.name,
            "flow_l_h": one.flow,
            "volume_per_day_l": HOURS_PER_DAY * one.flow,
            "volume_l": one.applied,
            "drained_l": one.drained,
            "stored_l": one.stored,
            "used_l": one.used,
            "hours_to_fill": one.hours_to_fill,
            "cost": None if cost is None else f"{cost:.2f}",
            "currency": currency,
        }
        for one, cost in zip(stuck, costs, strict=True)
    )
    span = "one day" if days == 1 else f"all {days} days"
    money = f", money in {currency}" if currency else ""
    return Part("stuck_open", f"If the timer sticks open instead, for {span}{money}", COLUMNS, rows)


def stuck_lines(
    stuck: Sequence[StuckOutlet],
    costs: Sequence[Decimal | None],
    *,
    currency: str,
    days: int,
    system: System,
) -> list[str]:
    """Return the worst outlet in words, and where the tap is the limit."""
    running = [(one, cost) for one, cost in zip(stuck, costs, strict=True) if one.applied > 0.0]
    if not running:
        return []
    worst, cost = max(running, key=lambda pair: pair[0].applied)
    money = "" if cost is None else f" This water adds {cost:.2f} {currency} to the bills."
    lines = [
        f"Stuck open, {worst.beds.zone.name} runs out {format_quantity(worst.applied, 'volume', system)} in "
        f"{'a day' if days == 1 else f'{days} days'}, of which "
        f"{percent(worst.drained / worst.applied)} drains through the beds.{money}"
    ]
    held = [one.beds.zone.name for one, _ in running if one.throttled]
    if held:
        lines.append(
            f"{', '.join(held)}: the tap gives less than its lines would take; its flow is the limit."
        )
    return lines


def stuck_notes(garden: Garden) -> tuple[str, ...]:
    """Return the usual cautions before leaving."""
    bill = (
        "The bills compare the house's own use with and without this water; what the garden takes otherwise "
        "is not in them."
        if garden.tariff is not None and garden.household is not None
        else "No money: the plan has no tariff, or no household to set it against."
    )
    return (
        "Stuck open: all valves of beds with plants open day and night at their flow, rain left out; stored "
        "and used by plants and air is what does not drain.",
        bill,
        "Battery timers fail silently, shut or open: put a fresh battery in before you leave, watch one run "
        "start and end, and show someone where the tap is and how to shut it. Common practice; whoever knows "
        "your garden and its parts knows better.",
    )
