"""The bed valves of the week's table: minutes needed and got, their range, and why."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Bed, Garden
from scheduler.garden.units import format_quantity
from scheduler.season.needs import weekly_need
from scheduler.season.results import WeekResult
from scheduler.season.supply import supply_arrays
from scheduler.show.notes import day_text
from scheduler.show.ranges import NeedsRange, needs_range, span_text
from scheduler.show.report import Column, Part, Row
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.runtime import applied_depth
from scheduler.timetable.week import ZoneSetting

__all__ = ["bed_part", "day_of", "goes_short", "mixed_lines"]

BED_COLUMNS = (
    Column("bed", "bed"),
    Column("zone", "zone"),
    Column("needs_min", "needs", "duration"),
    Column("needs_range", "range", "duration"),
    Column("needs_low_min", ""),
    Column("needs_high_min", ""),
    Column("gets_min", "gets", "duration"),
    Column("surplus_percent", "over\n[%]", decimals=0),
    Column("depth_mm", "depth\na day", "water_depth"),
    Column("volume_l", "in all", "volume"),
    Column("deficit_before_mm", "deficit", "water_depth"),
    Column("deficit_after_mm", "after", "water_depth"),
    Column("limit_mm", "limit", "water_depth"),
    Column("need_area_mean_mm", ""),
    Column("need_thirstiest_mm", ""),
    Column("why", ""),
)
BED_TITLE = (
    "Bed valves: minutes a run day needed, their plausible range, and got; soil water missing now, after\n"
    "7 days, and its limit"
)


def day_of(result: WeekResult, number: int) -> date:
    """Return the date of a day of the table."""
    return result.on + timedelta(days=number)


def _first_past_limit(result: WeekResult, bed: int, depletion: np.ndarray) -> date | None:
    """Return the first day that ends with a bed past its limit, None if none does."""
    past = np.flatnonzero(depletion[:, bed] > result.outlook.limit[:, bed] + 1e-9)
    return day_of(result, int(past[0])) if past.size else None


def _why(garden: Garden, result: WeekResult, number: int, setting: ZoneSetting, system: System) -> str:
    """Return one line on why a bed's valve gets what it gets."""
    in_use = result.growth.in_use[:DAYS_PER_WEEK, number]
    if not in_use.any():
        return "nothing grows here this week: keep its valve shut"
    use = float(result.plan.use[:DAYS_PER_WEEK, number][in_use].mean())
    words = [f"uses {format_quantity(use, 'water_depth', system)} a day"]
    if not in_use[0]:
        words.append(f"planted {day_text(day_of(result, int(np.argmax(in_use))))}, valve shut until then")
    elif not in_use[-1]:
        words.append(f"cleared {day_text(day_of(result, int(in_use.sum())))}, then shut its valve")
    dry = _first_past_limit(result, number, result.plan.untouched)
    still = _first_past_limit(result, number, result.plan.depletion)
    if catch_up := _catch_up(result, number, system):
        words.append(catch_up)
    elif dry is None:
        last = day_of(result, result.outlook.n_days - 1)
        words.append(f"without a run it stays within its limit through {day_text(last)}")
    else:
        words.append(f"without a run it would pass its limit on {day_text(dry)}")
    if still is not None:
        words.append(f"passes it on {day_text(still)} all the same")
    needs, gets = int(result.plan.bed_minutes[number]), setting.minutes_per_day
    if goes_short(result, number, setting):
        words.append("it needs more than these days, hours and runs can give it")
    elif gets > needs > 0:
        words.append(f"shut its valve after {needs} of the {gets} min")
    run_days = int((np.array(setting.mask) & in_use).sum())
    if setting.begins and run_days > 1 and _exceeds_store(result, number, run_days):
        words.append(f"its soil cannot hold the week's water at once, so it is split over {run_days} days")
    return "; ".join(words)


def _catch_up(result: WeekResult, number: int, system: System) -> str:
    """Return what to do for a bed that is past its limit when the week, or its planting in it, begins."""
    first = int(np.argmax(result.growth.in_use[:, number]))
    short = float(result.outlook.depletion[number])
    if short <= result.limit[first, number]:
        return ""
    minutes = np.ceil(short / result.outlook.net_rate[first, number])
    if first:
        return f"its soil is dry: water it in with {minutes:.0f} min by hand when planting"
    limit = format_quantity(float(result.limit[0, number]), "water_depth", system)
    last = int(result.growth.in_use[:DAYS_PER_WEEK, number].sum()) - 1
    back = result.plan.depletion[last, number] <= result.limit[last, number] + 1e-9
    then = "else the table brings it back over the week" if back else "for the table does not bring it back"
    return (
        f"is past its limit of today ({limit}) already: {minutes:.0f} min by hand refill it now "
        f"{'(do so if just planted), ' if back else ''}{then}"
    )


def goes_short(result: WeekResult, number: int, setting: ZoneSetting) -> bool:
    """Return True if a bed passes its limit because its zone's runs do not fit."""
    told = any(text.startswith(f'zone "{setting.zone}"') for text in result.plan.conflicts)
    return told and _first_past_limit(result, number, result.plan.depletion) is not None


def _exceeds_store(result: WeekResult, number: int, run_days: int) -> bool:
    """Return True if the week's water in one run, as late as its limit allows, would drain."""
    past = np.flatnonzero(result.plan.untouched[:, number] > result.outlook.limit[:, number])
    if not past.size:
        return False
    eve = int(past[0]) - 1
    held = result.plan.untouched[eve, number] if eve >= 0 else result.outlook.depletion[number]
    rate = float(result.outlook.net_rate[:DAYS_PER_WEEK, number].max())
    return bool(run_days * result.plan.bed_minutes[number] * rate > held)


def bed_part(garden: Garden, result: WeekResult, system: System) -> Part:
    """Return what every bed valve needs and gets."""
    ranges = needs_range(garden, result)
    rows = tuple(_bed_row(garden, result, n, ranges=ranges, system=system) for n in range(len(garden.beds)))
    return Part("beds", BED_TITLE, BED_COLUMNS, rows)


def _bed_row(garden: Garden, result: WeekResult, number: int, *, ranges: NeedsRange, system: System) -> Row:
    """Return the row of one bed."""
    bed = garden.beds[number]
    setting = next(s for s in result.plan.settings if s.zone == bed.zone)
    _, flow, rate, _ = supply_arrays(garden)
    in_use = result.growth.in_use[:DAYS_PER_WEEK, number]
    open_days = int((np.array(setting.mask) & in_use).sum())
    gets = setting.minutes_per_day if open_days else 0
    needs: int | None = int(result.plan.bed_minutes[number]) if open_days else 0
    known = bool(in_use.any())
    if goes_short(result, number, setting):
        # The fewest minutes found are those that the hours allow, not those that it needs.
        needs, known = None, False
    need = weekly_need(garden, result, number)
    limits = result.limit[:DAYS_PER_WEEK, number][in_use]
    low, high = float(ranges.low[number]), float(ranges.high[number])
    return {
        "bed": bed.name,
        "zone": bed.zone,
        "needs_min": needs,
        "needs_range": span_text(low, high) if known else None,
        "needs_low_min": low if known else None,
        "needs_high_min": high if known else None,
        "gets_min": gets,
        "surplus_percent": 100.0 * (gets - needs) / needs if needs else (0.0 if needs == gets else None),
        "depth_mm": float(applied_depth(gets, rate[number])),
        "volume_l": gets * open_days / 60.0 * float(flow[number]),
        "deficit_before_mm": float(result.outlook.depletion[number]),
        "deficit_after_mm": float(result.plan.depletion[DAYS_PER_WEEK - 1, number]),
        "limit_mm": float(limits[-1]) if limits.size else None,
        "need_area_mean_mm": need.by_area if in_use.any() else 0.0,
        "need_thirstiest_mm": need.by_thirstiest if in_use.any() else 0.0,
        "why": _why(garden, result, number, setting, system),
    }


def mixed_lines(garden: Garden, rows: Sequence[Row], result: WeekResult, system: System) -> list[str]:
    """Return both needs of every bed that holds more than one crop this week."""
    lines = []
    for bed, row in zip(garden.beds, rows, strict=True):
        if _crops_in_week(bed, result.on) > 1:
            both = [
                format_quantity(row[key], "water_depth", system)
                for key in ("need_area_mean_mm", "need_thirstiest_mm")
            ]
            lines.append(
                f"{bed.name} is mixed: its area needs {both[0]} this week, its thirstiest plant {both[1]}; "
                f"the plan goes by the {bed.need}."
            )
    return lines


def _crops_in_week(bed: Bed, on: date) -> int:
    """Return how many crops stand in a bed at once during the week from `on`."""
    days = [on + timedelta(days=n) for n in range(DAYS_PER_WEEK)]
    return max(sum(p.planted <= day < p.removed for p in bed.plantings) for day in days)
