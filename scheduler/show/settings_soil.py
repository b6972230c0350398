"""What the soil of beds says to a card: gaps that they do not last, runs longer than they take at once."""

from __future__ import annotations

import math
from collections.abc import Sequence

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.season.between_runs import LongGap
from scheduler.season.outlet_settings import FewSettings, OutletSetting, Stretch
from scheduler.season.pulses import PulseLimits, pulse_limits
from scheduler.show.notes import day_text
from scheduler.show.pulse_view import limit_reason, shortest_pause, whole_minutes
from scheduler.timetable.runtime import run_lengths

__all__ = ["daily_lines", "gap_faults", "run_length_lines"]

#: Settings that are named by their dates; of more only the first and the last.
FEW_DATES = 4

Held = list[tuple[Stretch, OutletSetting]]


def _held(few: FewSettings, zone: str) -> Held:
    """Return the settings of a zone under which water runs, with their stretches."""
    return [
        (stretch, setting)
        for stretch in few.stretches
        for setting in stretch.settings
        if setting.zone == zone and setting.pattern is not None
    ]


def _set_on(stretches: Sequence[Stretch]) -> str:
    """Return which settings are meant, by their days."""
    days = ", ".join(day_text(stretch.begins)[4:] for stretch in stretches)
    return f"setting{'s' if len(stretches) > 1 else ''} of {days}"


def gap_faults(gaps: Sequence[LongGap]) -> list[str]:
    """Return in words which settings have runs further apart than beds last, outlet by outlet."""
    faults = []
    for zone in dict.fromkeys(gap.zone for gap in gaps):
        of_zone = [gap for gap in gaps if gap.zone == zone]
        settings = ", and ".join(
            _gap_text([gap for gap in of_zone if gap.gap == days])
            for days in sorted({gap.gap for gap in of_zone})
        )
        n_weeks, forced = sum(len(gap.weeks) for gap in of_zone), sum(gap.forced for gap in of_zone)
        weeks = "1 week" if n_weeks == 1 else f"{n_weeks} weeks"
        if forced == n_weeks:
            why = "whatever the timer is set to: its hours and restrictions allow no closer runs"
        elif forced:
            why = f"{forced} of them whatever the timer is set to, the others for want of more settings"
        else:
            why = "which more settings would avoid"
        faults.append(
            f'outlet {of_zone[0].outlet}, zone "{zone}": beds pass their readily available water between '
            f"runs: {settings}; in {weeks}, {why}"
        )
    return faults


def _gap_text(gaps: Sequence[LongGap]) -> str:
    """Return how far apart runs lie and how long beds last, of settings with the same gap."""
    lasts = min(gap.lasts for gap in gaps)
    lasted = "less than a day" if lasts == 0 else "1 day" if lasts == 1 else f"{lasts} days"
    dates = [day_text(gap.begins)[4:] for gap in gaps]
    if len(dates) > FEW_DATES:
        settings = f"{len(dates)} settings from {dates[0]} to {dates[-1]}"
    else:
        settings = f"setting{'s' if len(dates) > 1 else ''} of {', '.join(dates)}"
    return f"{gaps[0].gap} days between runs ({settings}) where they last {lasted} in the thirstiest week"


def daily_lines(few: FewSettings) -> list[str]:
    """Return which outlets' beds do not last from run to run though they are watered daily."""
    lines = []
    for zone in dict.fromkeys(setting.zone for stretch in few.stretches for setting in stretch.settings):
        passed = [
            stretch
            for stretch, setting in _held(few, zone)
            if setting.pattern is not None and setting.lasts < setting.pattern.gap == 1
        ]
        if passed:
            lines.append(
                f"{zone}: even daily runs let a bed pass its readily available water in the thirstiest weeks "
                f"({_set_on(passed)})."
            )
    return lines


def run_length_lines(garden: Garden, few: FewSettings, system: System) -> list[str]:
    """Return for every bed whose soil takes only short runs at once how settings keep to it, or do not."""
    limits = pulse_limits(garden)
    lines = []
    for number, bed in enumerate(garden.beds):
        longest = float(limits.longest[number])
        held = [
            (stretch, setting)
            for stretch, setting in _held(few, bed.zone)
            if len(setting.begins) * setting.minutes > longest
        ]
        beyond = [(stretch, setting) for stretch, setting in held if number in setting.too_long_for]
        within = [(stretch, setting) for stretch, setting in held if setting.minutes <= longest]
        if beyond:
            lines.append(_too_long_line(garden, limits, number, held=beyond, system=system))
        elif within:
            lines.append(_split_line(garden, limits, number, held=within, system=system))
    return lines


def _too_long_line(garden: Garden, limits: PulseLimits, number: int, *, held: Held, system: System) -> str:
    """Return which runs are longer than a bed's soil takes at once, and for want of what."""
    bed, longest = garden.beds[number], float(limits.longest[number])
    harm = "run off" if limits.reasons[number] == "ponds" else "run through and be lost"
    most = max(setting.minutes for _, setting in held)
    runs = f"runs of {'' if len(held) == 1 else 'up to '}{most} min"
    starts = garden.timer.starts_per_day
    if run_lengths(garden.timer)[0] > longest:
        cause = "the timer holds no shorter run"
    elif any(len(setting.begins) * setting.minutes > starts * longest for _, setting in held):
        cause = (
            f"{'1 start a day is' if starts == 1 else f'{starts} starts a day are'} all that the timer has"
        )
    else:
        cause = "shorter runs with pauses find no place in its hours"
    return (
        f"{bed.name}: {runs} ({_set_on([stretch for stretch, _ in held])}) are longer than its soil takes at "
        f"once, {whole_minutes(longest)} min, since {limit_reason(garden, limits, number, system)}; some "
        f"water may {harm}, for {cause}. Watch it, and dig after a run."
    )


def _split_line(garden: Garden, limits: PulseLimits, number: int, *, held: Held, system: System) -> str:
    """Return why a bed's day comes in several runs, and which pauses are shorter than it asks for."""
    bed = garden.beds[number]
    needed = math.ceil(float(limits.soak[number]))
    pauses = [shortest_pause(setting.begins, setting.minutes) for _, setting in held]
    hurried = any(pause is not None and pause < needed for pause in pauses)
    short = f"; pauses of {needed} min would be better and found no place" if hurried else ""
    return (
        f"{bed.name}: a day's minutes come in several runs ({_set_on([stretch for stretch, _ in held])}), "
        f"since {limit_reason(garden, limits, number, system)}{short}."
    )
