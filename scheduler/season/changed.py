"""The plan's garden with one thing changed, as remedies against a watering restriction change it. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, time

from scheduler.garden.plan import Bed, Garden, Mulch, Restriction, SoilLayer, WateringWindow, Weekday
from scheduler.timetable.windows import WEEKDAYS

__all__ = [
    "MULCH_COVER",
    "deeper_bed",
    "lies_under_mulch",
    "mulched_bed",
    "with_bed",
    "with_day",
    "with_evening_window",
    "with_every_hour",
    "with_longer_runs",
    "with_weekday_timer",
]

#: Share of a bed that mulch is laid on when it is tried; a judgement.
MULCH_COVER = 0.8


def with_bed(garden: Garden, number: int, change: Callable[[Bed], Bed]) -> Garden:
    """Return the garden with one bed changed."""
    beds = tuple(change(bed) if n == number else bed for n, bed in enumerate(garden.beds))
    return replace(garden, beds=beds)


def deeper_bed(bed: Bed, more: float) -> Bed:
    """Return a bed whose soil is so much deeper [m]: its lowest mix thicker, any fill further down."""
    lowest = max((n for n, layer in enumerate(bed.layers) if layer.soil is not None), default=None)

    def thicker(number: int, layer: SoilLayer) -> SoilLayer:
        return replace(layer, depth=layer.depth + more) if number == lowest else layer

    return replace(
        bed,
        soil_depth=bed.soil_depth + more,
        layers=tuple(thicker(number, layer) for number, layer in enumerate(bed.layers)),
        settled=tuple(replace(later, soil_depth=later.soil_depth + more) for later in bed.settled),
    )


def lies_under_mulch(bed: Bed, on: date) -> bool:
    """Return True if mulch lies on a bed on a day."""
    mulch = bed.mulch
    return mulch is not None and (mulch.begins or on) <= on <= (mulch.ends or on)


def mulched_bed(bed: Bed, begins: date) -> Bed:
    """Return a bed under organic mulch from a day on."""
    return replace(bed, mulch=Mulch("organic", MULCH_COVER, begins))


def _with_orders(
    garden: Garden, orders: Sequence[Restriction], change: Callable[[Restriction], Restriction]
) -> Garden:
    """Return the garden with some of its restrictions changed."""
    changed = tuple(change(r) if r in orders else r for r in garden.restrictions)
    return replace(garden, restrictions=changed)


def with_day(garden: Garden, orders: Sequence[Restriction], day: Weekday) -> Garden:
    """Return the garden with a weekday more on which these restrictions allow watering."""

    def freer(order: Restriction) -> Restriction:
        return replace(order, days=tuple(name for name in WEEKDAYS if name == day or name in order.days))

    return _with_orders(garden, orders, freer)


def with_every_hour(garden: Garden, orders: Sequence[Restriction]) -> Garden:
    """Return the garden with every hour open on the days that these restrictions allow."""
    all_day = (WateringWindow(WEEKDAYS, time(0), time(0)),)
    freer = _with_orders(garden, orders, lambda order: replace(order, begin=None, until=None))
    return replace(freer, windows=all_day)


def with_evening_window(garden: Garden) -> Garden:
    """Return the garden with a window of its own from 18:00 to midnight; restrictions still cut it."""
    evening = WateringWindow(WEEKDAYS, time(18), time(0))
    return replace(garden, windows=(*garden.windows, evening))


def with_longer_runs(garden: Garden, more: int) -> Garden:
    """Return the garden whose timer holds runs that are so much longer [min]."""
    return replace(garden, timer=replace(garden.timer, longest_run=garden.timer.longest_run + more))


def with_weekday_timer(garden: Garden) -> Garden:
    """Return the garden whose timer lets a person choose weekdays, beside what it has."""
    choices = tuple(dict.fromkeys(("weekdays", *garden.timer.day_choices)))
    return replace(garden, timer=replace(garden.timer, day_choices=choices))
