"""Remedies against a watering restriction, as a table and as the least that cures each bed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.season.changed import MULCH_COVER
from scheduler.season.trials import Remedy, Trial
from scheduler.show.advice_notes import short_length
from scheduler.show.notes import percent
from scheduler.show.report import Column, Part, Row

__all__ = ["REMEDY_ORDER", "cure_line", "remedy_part"]

#: As they are told: what the gardener can do once, then daily work, then what others must allow.
REMEDY_ORDER: tuple[Remedy, ...] = (
    "mulch",
    "deeper soil",
    "split runs",
    "deeper soil and mulch",
    "mulch and split runs",
    "deeper soil and split runs",
    "longer runs",
    "weekday timer",
    "more hours",
    "another day",
    "by hand",
)
#: More refills by hand than these are told as a sum.
DAYS_LISTED = 4
REMEDY_COLUMNS = (
    Column("bed", "bed"),
    Column("remedy", "remedy"),
    Column("verdict", "verdict"),
    Column("what", "least that cures / most tried"),
    Column("gain_mm", "less past\nby", "water_depth"),
    Column("left_mm", "still\npast by", "water_depth"),
    Column("least_stress_coefficient", "least\nKs", decimals=2),
    Column("soil_m", ""),
    Column("longer_run_min", ""),
    Column("days", ""),
    Column("volumes_l", ""),
    Column("volume_l", ""),
    Column("reason", ""),
)


def _by_hand_text(trial: Trial, system: System) -> str:
    """Return the water by hand on each day; of many days their number and the sum."""
    if len(trial.days) > DAYS_LISTED and trial.amount is not None:
        first = date.fromisoformat(trial.days[0])
        total = format_quantity(trial.amount, "volume", system)
        return f"{total} in {len(trial.days)} refills from {first:%a} {first.day}"
    return ", ".join(
        f"{format_quantity(volume, 'volume', system)} {day:%a} {day.day}"
        for day, volume in zip(map(date.fromisoformat, trial.days), trial.volumes, strict=True)
    )


def _what(trial: Trial, system: System) -> str:
    """Return what of a remedy was tried, in words; empty where nothing was."""
    if trial.left is None:
        return ""
    if trial.remedy == "by hand":
        return _by_hand_text(trial, system)
    if trial.remedy == "another day":
        return " or ".join(trial.days)
    parts = []
    if trial.remedy.startswith("deeper soil") and trial.amount is not None:
        parts.append(f"{short_length(trial.amount, system)} more")
    if "mulch" in trial.remedy:
        parts.append(f"organic, on {percent(MULCH_COVER)}")
    if trial.remedy == "longer runs" and trial.amount is not None:
        parts.append(f"{format_quantity(trial.amount, 'duration', system)} longer")
    return ", ".join(parts)


def _told(trial: Trial, system: System) -> str | None:
    """Return what was tried and what goes with it, for the table."""
    return (
        "; ".join(part for part in (_what(trial, system), trial.reason, _change(trial, system)) if part)
        or None
    )


def _change(trial: Trial, system: System) -> str:
    """Return what the column of depths does not tell: why a trial helps, or that it does harm."""
    worse = format_quantity(-trial.gain, "water_depth", system)
    if trial.verdict == "makes it worse":
        return f"makes it worse by {worse}"
    if trial.verdict != "helps" or trial.gain > 0.0 or trial.stress is None:
        return ""
    before = trial.stress - trial.relief
    why = f"crops use more of their need: Ks {trial.stress:.2f} instead of {before:.2f}"
    return f"{why}, yet it is {worse} further past its limit" if trial.gain else why


def _row(garden: Garden, trial: Trial, system: System) -> Row:
    """Return the row of one trial."""
    remedy = trial.remedy
    return {
        "bed": garden.beds[trial.bed].name,
        "remedy": remedy,
        "verdict": trial.verdict,
        "what": _told(trial, system),
        "gain_mm": None if trial.left is None else trial.gain,
        "left_mm": trial.left,
        "least_stress_coefficient": trial.stress,
        "soil_m": trial.amount if remedy.startswith("deeper soil") else None,
        "longer_run_min": trial.amount if remedy == "longer runs" else None,
        "days": list(trial.days),
        "volumes_l": list(trial.volumes),
        "volume_l": trial.amount if remedy == "by hand" else None,
        "reason": trial.reason,
    }


def remedy_part(garden: Garden, trials: Sequence[Trial], system: System) -> Part:
    """Return every remedy tried, bed by bed."""
    told = sorted(trials, key=lambda one: (one.bed, REMEDY_ORDER.index(one.remedy)))
    return Part(
        "remedies",
        "Remedies, each alone, for beds past their limit",
        REMEDY_COLUMNS,
        tuple(_row(garden, trial, system) for trial in told),
        group="bed",
    )


def cure_line(trials: Sequence[Trial], system: System, *, anyway: bool = False) -> str:
    """Return what cures a bed at the least, or what helps most; `trials` are of that bed.

    `anyway` tells that it passes its limit without the restriction too, and further with it.
    """
    told = sorted(trials, key=lambda one: REMEDY_ORDER.index(one.remedy))
    cures = [one for one in told if one.verdict == "cures"]
    if cures:
        what = "What undoes the order's part" if anyway else "What cures it"
        return f"{what}, each alone: {'; '.join(_short(one, system) for one in cures)}."
    helps = max(told, key=lambda one: one.worth)
    if helps.verdict != "helps":
        return "Nothing that was tried helps it."
    by = f", by {format_quantity(helps.gain, 'water_depth', system)}" if helps.gain > 0.0 else ""
    return f"Nothing that was tried cures it; most helps {_short(helps, system)}{by}."


def _short(trial: Trial, system: System) -> str:
    """Return a remedy in a few words with its least amount and what goes with it."""
    told = _told(trial, system)
    return f"{trial.remedy} ({told})" if told else trial.remedy
