"""What a watering restriction costs in its week, and which remedy cures it, as a report."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden, Restriction
from scheduler.garden.units import format_quantity
from scheduler.season.order import NOTABLE_EXCESS, OrderCase, longest_gap
from scheduler.season.trials import Trial
from scheduler.show.notes import day_text, garden_notes, restriction_notes, supply_notes, weather_notes
from scheduler.show.order_remedies import cure_line, remedy_part
from scheduler.show.report import Column, Part, Report, Row
from scheduler.show.week_view import clock_text, weather_rows_of_week
from scheduler.timetable.patterns import DAYS_PER_WEEK

__all__ = ["depth_text", "order_report"]

ZONE_COLUMNS = (
    Column("zone", "zone"),
    Column("outlet", "outlet"),
    Column("order", "order"),
    Column("days", "run on"),
    Column("starts", "start at"),
    Column("run_time_min", "each run", "duration"),
    Column("volume_l", "water", "volume"),
)
BED_COLUMNS = (
    Column("bed", "bed"),
    Column("zone", "zone"),
    Column("limit_mm", "limit", "water_depth"),
    Column("lasts_days", "lasts\n[days]", decimals=1),
    Column("past_on", "first past\nits limit on", day=True),
    Column("past_days", "days\npast"),
    Column("past_mm", "past by\nat most", "water_depth"),
    Column("past_without_mm", "the same\nwithout order", "water_depth"),
    Column("least_stress_coefficient", "least\nKs", decimals=2),
    Column("least_stress_coefficient_without", ""),
    Column("volume_l", "water", "volume"),
    Column("volume_without_l", "without\norder", "volume"),
    Column("deficit_before_mm", ""),
    Column("deficit_before_without_mm", ""),
    Column("past_limit", ""),
)
ORDER_COLUMNS = tuple(
    Column(key, "") for key in ("reason", "begins", "ends", "days", "from", "to", "exempt", "asked_on")
)
#: Before the least depth that is shown, for one that would round to nothing.
LESS_THAN = "less than"
CAUTION = (
    "Whether the order binds you is not for rillbook to say: it goes by your entry. Drip lines and beds "
    "of food are often exempt, so asking pays. Ask the water supplier, whose word goes before anything "
    "here, and enter the answer as exempt and its day as asked_on. Ask about water by hand as well."
)


def _zone_rows(case: OrderCase) -> tuple[Row, ...]:
    """Return the settings of every zone with the order and without it."""
    rows: list[Row] = []
    for number, zone in enumerate(case.setup.zones):
        for words, fare in (("counted in", case.kept), ("left out", case.lifted)):
            setting = fare.plan.settings[number]
            rows.append(
                {
                    "zone": setting.zone,
                    "outlet": setting.outlet,
                    "order": words,
                    "days": setting.days,
                    "starts": [clock_text(begin) for begin in setting.begins] or None,
                    "run_time_min": setting.minutes or None,
                    "volume_l": float(fare.litres[zone.index].sum()),
                }
            )
    return tuple(rows)


def _lasts(case: OrderCase, bed: int) -> float | None:
    """Return how many days of this week's unhindered use a full bed lasts to its limit."""
    in_use = case.result.growth.in_use[:DAYS_PER_WEEK, bed]
    if not in_use.any():
        return None
    use = float(case.lifted.plan.use[:DAYS_PER_WEEK, bed][in_use].mean())
    limit = float(case.result.limit[:DAYS_PER_WEEK, bed][in_use].mean())
    return limit / use if use > 0.0 else None


def _date_of(case: OrderCase, day: int) -> date:
    return case.day.on + timedelta(days=day)


def _bed_row(case: OrderCase, bed: int) -> Row:
    """Return how one bed fares with the order and without it."""
    own = case.setup.garden.beds[bed]
    kept, lifted = case.kept, case.lifted
    first = kept.first_past(bed)
    limits = case.result.limit[:, bed][case.result.growth.in_use[:, bed]]
    return {
        "bed": own.name,
        "zone": own.zone,
        "limit_mm": float(limits.min()) if limits.size else None,
        "lasts_days": _lasts(case, bed),
        "past_on": None if first is None else _date_of(case, first),
        "past_days": int((kept.excess[:, bed] > NOTABLE_EXCESS).sum()) or None,
        "past_mm": float(kept.worst[bed]),
        "past_without_mm": float(lifted.worst[bed]),
        "least_stress_coefficient": float(kept.least_stress[bed]),
        "least_stress_coefficient_without": float(lifted.least_stress[bed]),
        "volume_l": float(kept.litres[bed]),
        "volume_without_l": float(lifted.litres[bed]),
        "deficit_before_mm": float(kept.outlook.depletion[bed]),
        "deficit_before_without_mm": float(lifted.outlook.depletion[bed]),
        "past_limit": bool(case.failing[bed]),
    }


def _order_row(order: Restriction) -> Row:
    """Return a restriction as entered."""
    return {
        "reason": order.reason,
        "begins": order.begins,
        "ends": order.ends,
        "days": list(order.days),
        "from": None if order.begin is None else f"{order.begin:%H:%M}",
        "to": None if order.until is None else f"{order.until:%H:%M}",
        "exempt": order.exempt,
        "asked_on": order.asked_on,
    }


def _entry_line(order: Restriction) -> str:
    """Return what the plan says of an order's exemption, and what follows for the week's table."""
    name = f"Order ({order.reason})" if order.reason else "The order"
    used = {
        "yes": "you entered it as exempt, so `week` leaves it out; here it is counted in to show what it "
        "would cost",
        "no": "you entered that you are not exempt, so `week` counts it in",
        "unknown": "you entered no exemption, or that it is unknown, so `week` counts it in",
    }[order.exempt]
    asked = "no day of asking entered" if order.asked_on is None else f"asked or read on {order.asked_on}"
    return f"{name}: {used} ({asked})."


def _rhythm_line(case: OrderCase) -> str:
    """Return the days that the order leaves, and the longest wait between two of them."""
    days = [name for name in case.orders[0].days if all(name in order.days for order in case.orders)]
    gap = longest_gap(case.setup.limits, case.day.on)
    if not days:
        return "It allows no day."
    allows = f"It allows {' '.join(days)}"
    if gap is None:
        return f"{allows}; no later day is allowed."
    wait = "one day" if gap == 1 else f"{gap} days at the longest"
    return f"{allows}; the water of one run must last {wait}."


def _cost_line(case: OrderCase, system: System) -> str:
    """Return the week's water with the order and without it."""
    kept, lifted = (
        format_quantity(float(fare.litres.sum()), "volume", system) for fare in (case.kept, case.lifted)
    )
    return f"The week takes {kept} with the order, {lifted} without it."


def _bed_line(case: OrderCase, bed: int, trials: Sequence[Trial], system: System) -> str:
    """Return what the order does to a bed, and the least that cures it."""
    worst = int(np.argmax(case.kept.excess[:, bed]))
    first = case.kept.first_past(bed)
    by = depth_text(float(case.kept.worst[bed]), system)
    told = [f"passes its limit on {day_text(_date_of(case, first or 0))}"]
    if first == worst:
        told[0] += f" by {by}"
    else:
        told.append(f"by {by} at most, on {day_text(_date_of(case, worst))}")
    without = depth_text(float(case.lifted.worst[bed]), system)
    anyway = bool(case.lifted.worst[bed] > NOTABLE_EXCESS) and not without.startswith(LESS_THAN)
    if anyway:
        told.append(f"without the order by {without} all the same")
    if case.kept.least_stress[bed] < case.lifted.least_stress[bed] - 0.005:
        told.append(f"and its crops use less than they would (Ks {case.kept.least_stress[bed]:.2f})")
    name = case.setup.garden.beds[bed].name
    undoes = anyway and bool(case.further[bed])
    return f"{name}: {', '.join(told)}. {cure_line(trials, system, anyway=undoes)}"


def depth_text(depth: float, system: System) -> str:
    """Return a depth that is not nothing, and not shown as if it were [mm]."""
    text = format_quantity(depth, "water_depth", system)
    number, _, unit = text.partition(" ")
    if float(number):
        return text
    return f"{LESS_THAN} {number[:-1]}1 {unit}"


def _lines(case: OrderCase, trials: Sequence[Trial], system: System) -> tuple[str, ...]:
    """Return the answer in sentences."""
    lines = [*map(_entry_line, case.day.orders), _rhythm_line(case), _cost_line(case, system)]
    for bed in case.beds:
        lines.append(_bed_line(case, bed, [f for f in trials if f.bed == bed], system))
    if not case.beds:
        lines.append("The schedule under the order keeps every bed within its limit: it fits.")
    return tuple(lines)


def _hard_week_note(case: OrderCase, system: System) -> str:
    """Return why this week."""
    et = format_quantity(case.day.reference_et, "water_depth", system)
    if not case.day.hardest:
        return f"The week asked for; its normal reference ET is {et}."
    return (
        f"The week within the order's dates (and the record's reach) that has the greatest normal reference "
        f"ET, {et}; --on asks for another."
    )


def _remedy_notes(trials: Sequence[Trial]) -> tuple[str, ...]:
    """Return how the remedies were tried, if any were."""
    if not trials:
        return ()
    notes = [
        "Every remedy is tried alone, by planning the week anew: deeper soil as if it had been there all "
        "along, mulch since the order began; other days, hours, runs and timers as if they had held all "
        "along. Cured is a bed no further past its limit than without the order.",
        "Split runs come half in the morning and half in the evening, from this week on, after one refill "
        "by hand of a bed that starts past its limit. Where the plan's windows leave no evening, one of "
        "18:00 to 24:00 is added, as far as the order's own hours allow.",
        "Water by hand comes in the morning over the whole bed, beside the timer's table under the order.",
    ]
    return tuple(notes)


def order_report(garden: Garden, case: OrderCase, *, trials: Sequence[Trial], system: System) -> Report:
    """Return the answer on a restriction as a report.

    `garden` is the plan as entered, `trials` are of every remedy that was tried.
    """
    on = case.day.on
    last = _date_of(case, DAYS_PER_WEEK - 1)
    in_use = tuple(
        bed
        for bed, use in zip(garden.beds, case.result.growth.in_use[:DAYS_PER_WEEK].T, strict=True)
        if use.any()
    )
    return Report(
        schema="rillbook.order/1",
        title=f"{garden.name}: what the watering order costs, week from {on:%a} {on.day} {on:%b %Y}",
        as_of=on,
        parts=(
            Part(
                "rows",
                "The timer under the order and without it",
                ZONE_COLUMNS,
                _zone_rows(case),
                group="zone",
            ),
            Part(
                "beds",
                "Beds under the order: how long a full bed lasts, and how far it goes past its limit",
                BED_COLUMNS,
                tuple(_bed_row(case, bed) for bed in range(len(garden.beds))),
            ),
            remedy_part(garden, trials, system),
            Part("orders", "", ORDER_COLUMNS, tuple(map(_order_row, case.day.orders)), machine_only=True),
        ),
        lines=_lines(case, trials, system),
        notes=(
            CAUTION,
            _hard_week_note(case, system),
            f"Each schedule starts from the soil of a replay under its own condition, from "
            f"{case.result.state_from} on; runs on record count in both.",
            *_remedy_notes(trials),
            *restriction_notes(garden, on, last),
            *weather_notes(case.setup.daily, weather_rows_of_week(case.setup.daily, case.result), until=on),
            *supply_notes(garden, in_use, system),
            *garden_notes(garden, in_use),
        ),
        extra={
            "feasible": not case.beds,
            "hardest_week": case.day.hardest,
            "normal_reference_et_mm": case.day.reference_et,
            "longest_gap_days": longest_gap(case.setup.limits, on),
            "volume_l": float(case.kept.litres.sum()),
            "volume_without_l": float(case.lifted.litres.sum()),
            "conflicts": list(case.result.plan.conflicts),
        },
    )
