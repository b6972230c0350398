"""Why the timer runs on its days, and how sure it is that no other setting is better."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.show.report import Column, Part, Row
from scheduler.timetable.options import WATER_PARTS
from scheduler.timetable.week import WeekPlan
from scheduler.timetable.why import Instead, ZoneReasons

__all__ = ["proof_note", "why_lines", "why_part"]

COLUMNS = (
    Column("zone", "zone"),
    Column("date", "run of", day=True),
    Column("bed", "without it"),
    Column("past_limit_on", "passes its limit on", day=True),
)

#: Alternatives that differ by less are as good [L], [mm2 d].
SAME_WATER = 0.05
SAME_SHORTAGE = 0.05


def _on(first: date, day: int) -> date:
    """Return the date of a day of the week."""
    return first + timedelta(days=day)


def why_part(garden: Garden, first: date, reasons: Sequence[ZoneReasons]) -> Part:
    """Return what leaving out each run would do, for machines."""
    rows: list[Row] = [
        {
            "zone": zone.zone,
            "date": _on(first, missed.day),
            "bed": None if missed.bed is None else garden.beds[missed.bed].name,
            "past_limit_on": None if missed.past is None else _on(first, missed.past),
        }
        for zone in reasons
        for missed in zone.missed
    ]
    return Part("why", "Why these days", COLUMNS, tuple(rows), machine_only=True)


def _without(garden: Garden, first: date, zone: ZoneReasons) -> str:
    """Return what leaving out one of the runs would do, bed by bed."""
    by_bed: dict[str, list[str]] = {}
    for missed in zone.missed:
        if missed.bed is not None and missed.past is not None:
            past = _on(first, missed.past)
            run = f"{_on(first, missed.day):%a} (on {past:%a} {past.day})"
            by_bed.setdefault(garden.beds[missed.bed].name, []).append(run)
    if not by_bed:
        return "its runs make up for what is missing already"
    return "; ".join(
        f"{bed} would pass its limit without the run of {_either(runs)}" for bed, runs in by_bed.items()
    )


def _either(words: Sequence[str]) -> str:
    """Return words as a list of which any one counts."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def _run_days(count: int) -> str:
    """Return a number of run days in words."""
    return "1 run day" if count == 1 else f"{count} run days"


def _instead(instead: Instead | None, days: str, system: System) -> str | None:
    """Return what other days would do."""
    if instead is None:
        return None
    if instead.shortage > SAME_SHORTAGE:
        return f"{days} would leave beds drier"
    if instead.shortage < -SAME_SHORTAGE:
        return f"{days} would serve its beds better, but the other outlets need those hours"
    if instead.litres > SAME_WATER:
        return f"{days} would take {format_quantity(instead.litres, 'volume', system)} more"
    if instead.litres < -SAME_WATER:
        return f"{days} would take less, but the other outlets need those hours"
    return f"{days} would do as well; ties go to fewer runs and earlier days"


def why_lines(garden: Garden, first: date, reasons: Sequence[ZoneReasons], *, system: System) -> list[str]:
    """Return one sentence a zone on why it runs on its days."""
    lines = []
    for zone in reasons:
        count = len(zone.missed)
        fewer = None
        if zone.fewer is not None:
            days = "no run" if not zone.fewer.run_days else _run_days(zone.fewer.run_days)
            fewer = _instead(zone.fewer, f"{days} at best", system)
        others = _instead(zone.others, f"{count} other days" if count > 1 else "any other day", system)
        parts = [_without(garden, first, zone), *(text for text in (fewer, others) if text)]
        lines.append(f"Why these days, {zone.zone}: {'. '.join(parts)}.")
    return lines


def proof_note(plan: WeekPlan, system: System) -> str:
    """Return how sure it is that no other setting of the timer is better."""
    if plan.proven:
        return (
            "No other setting that this timer and these hours allow leaves the beds less short, or as little "
            "short with less water: all were ruled out."
        )
    score, bound = plan.score, plan.bound
    other = "The hours are crowded and the search ended early: another setting"
    if plan.kept:
        zones = ", ".join(plan.kept)
        other = f"What stands on the timer and still serves was kept ({zones}); settings made anew"
    if score.shortage > bound.shortage:
        share = 100.0 * (score.shortage - bound.shortage) / score.shortage
        return (
            f"{other} could lessen what the beds are past their limits by {share:.0f} % at most (reckoned by "
            "its squares)."
        )
    if score.hasty > bound.hasty:
        return f"{other} could come nearer to runs that the soil takes at once."
    if score.water > bound.water:
        share = 100.0 * (score.water - bound.water) / score.water
        litres = (score.water - bound.water) / WATER_PARTS
        return f"{other} could save {format_quantity(litres, 'volume', system)} ({share:.0f} %) at most."
    return f"{other} could do with fewer runs."
