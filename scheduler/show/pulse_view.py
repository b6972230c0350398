"""Runs kept short for a bed's soil: their starts and pauses, why, and where a timer cannot keep to it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.season.pulses import PONDING_DEPTH, PulseLimits, pulse_limits
from scheduler.season.results import WeekResult
from scheduler.show.bed_steps import Steps
from scheduler.timetable.patterns import DAYS_PER_WEEK

__all__ = [
    "limit_reason",
    "pulse_line",
    "pulse_lines",
    "pulse_steps",
    "refill_lines",
    "shortest_pause",
    "whole_minutes",
]


def pulse_lines(garden: Garden, result: WeekResult, system: System) -> list[str]:
    """Return a line for every bed whose minutes a run day are more than its soil takes in one run."""
    in_use = result.growth.in_use[:DAYS_PER_WEEK].any(axis=0)
    lines = [pulse_line(garden, result, int(number), system=system) for number in np.flatnonzero(in_use)]
    return [line for line in lines if line]


def pulse_line(garden: Garden, result: WeekResult, number: int, *, system: System) -> str:
    """Return how a bed's minutes are split and why; empty if one run of them does no harm."""
    bed, limits = garden.beds[number], pulse_limits(garden)
    setting = next(s for s in result.plan.settings if s.zone == bed.zone)
    longest = float(limits.longest[number])
    if setting.minutes_per_day <= longest:
        return ""
    why = limit_reason(garden, limits, number, system)
    total, starts = setting.minutes_per_day, len(setting.begins)
    given = f"one run of {total} min" if starts == 1 else f"{starts} starts of {setting.minutes} min"
    pause = shortest_pause(setting.begins, setting.minutes)
    pauses = "" if pause is None else f" with {pause} min pauses"
    if setting.minutes > longest:
        harm = "run off" if limits.reasons[number] == "ponds" else "run through and be lost"
        if total > garden.timer.starts_per_day * longest:
            cause = f"{garden.timer.starts_per_day} starts a day are all that the timer has"
        else:
            cause = "shorter runs with pauses found no place in this week's setting"
        return (
            f"{bed.name}: some water may {harm}: it gets {given}{pauses}, and no run should be longer than "
            f"{whole_minutes(longest)} min, since {why}; {cause}. Watch it, and dig after a run."
        )
    needed = math.ceil(float(limits.soak[number]) * setting.minutes / longest)
    short = (
        ""
        if pause is None or pause >= needed
        else f"; pauses of {needed} min would be better and found no place"
    )
    return f"{bed.name}: gives its {total} min as {given}{pauses}, since {why}{short}."


def refill_lines(garden: Garden, number: int, *, minutes: float) -> list[str]:
    """Return how to refill a bed by hand whose soil takes a run in parts; none for any other.

    `minutes` refill its root zone, so that more would only drain.
    """
    limits = pulse_limits(garden)
    longest = float(limits.longest[number])
    if minutes <= longest:
        return []
    pause = max(longest, float(limits.soak[number]))
    return [
        f"By hand give it no more than {whole_minutes(longest)} min at once, with pauses of "
        f"{math.ceil(pause)} min; more in all than refills it would only drain away, however it is split."
    ]


def pulse_steps(steps: Steps, garden: Garden, number: int) -> None:
    """Add the steps to the longest run that a bed's soil takes at once, if the plan tells of a limit."""
    bed, limits = garden.beds[number], pulse_limits(garden)
    if not limits.reasons[number]:
        return
    if bed.soil.intake_rate is not None:
        steps.add(
            "rate on the strip that drip wets",
            float(limits.strip_rate[number]),
            of="application_rate",
            working="application rate / wetted share",
            source="arithmetic",
        )
        steps.add(
            "intake rate of the mix", bed.soil.intake_rate, of="application_rate", working="", source="plan"
        )
    if limits.reasons[number] == "ponds":
        depth = steps.exact(PONDING_DEPTH, "water_depth")
        working, source = (
            f"60 x {depth} / (rate on the strip - intake rate)",
            "judgement: depth that may stand",
        )
    else:
        working, source = "water was seen to come out at the bottom after it", "plan"
    steps.add(
        "longest run at once", float(limits.longest[number]), of="duration", working=working, source=source
    )
    steps.add(
        "pause that such a run needs",
        float(limits.soak[number]),
        of="duration",
        working="until it has sunk in; at least as long as a run",
        source="judgement",
    )


def limit_reason(garden: Garden, limits: PulseLimits, number: int, system: System) -> str:
    """Return what limits a run on a bed, in words."""
    bed = garden.beds[number]
    if limits.reasons[number] == "runs through":
        after = whole_minutes(float(limits.longest[number]))
        return f"water was seen to come out at the bottom after {after} min"
    rate = format_quantity(float(limits.strip_rate[number]), "application_rate", system)
    intake = format_quantity(float(bed.soil.intake_rate or 0.0), "application_rate", system)
    depth = format_quantity(PONDING_DEPTH, "water_depth", system)
    return (
        f"the strip that drip wets gets {rate} and takes in {intake}: after "
        f"{whole_minutes(float(limits.longest[number]))} min water would stand {depth} deep (a judgement)"
    )


def whole_minutes(minutes: float) -> str:
    """Return minutes rounded down, since a longer run would be too long; below one as they are."""
    return f"{minutes:.1f}" if minutes < 1.0 else f"{math.floor(minutes + 1e-9)}"


def shortest_pause(begins: Sequence[int], minutes: int) -> int | None:
    """Return the shortest pause between two runs of a day [min], None for one run.

    `begins` are their starts [min after midnight], `minutes` their length.
    """
    pairs = zip(begins, begins[1:], strict=False)
    return min((later - earlier - minutes for earlier, later in pairs), default=None)
