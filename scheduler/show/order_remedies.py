"""Remedies against a watering restriction, as a table and as the least that cures each bed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.season.changed import MULCH_COVER
from scheduler.season.findings import Finding, Remedy
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
    Column("soil_m", ""),
    Column("longer_run_min", ""),
    Column("days", ""),
    Column("volumes_l", ""),
    Column("volume_l", ""),
    Column("reason", ""),
)


def _by_hand_text(finding: Finding, system: System) -> str:
    """Return the water by hand on each day; of many days their number and the sum."""
    if len(finding.days) > DAYS_LISTED and finding.amount is not None:
        first = date.fromisoformat(finding.days[0])
        total = format_quantity(finding.amount, "volume", system)
        return f"{total} in {len(finding.days)} refills from {first:%a} {first.day}"
    return ", ".join(
        f"{format_quantity(volume, 'volume', system)} {day:%a} {day.day}"
        for day, volume in zip(map(date.fromisoformat, finding.days), finding.volumes, strict=True)
    )


def _what(finding: Finding, system: System) -> str:
    """Return what of a remedy was tried, in words; empty where nothing was."""
    if finding.left is None:
        return ""
    if finding.remedy == "by hand":
        return _by_hand_text(finding, system)
    if finding.remedy == "another day":
        return " or ".join(finding.days)
    parts = []
    if finding.remedy.startswith("deeper soil") and finding.amount is not None:
        parts.append(f"{short_length(finding.amount, system)} more")
    if "mulch" in finding.remedy:
        parts.append(f"organic, on {percent(MULCH_COVER)}")
    if finding.remedy == "longer runs" and finding.amount is not None:
        parts.append(f"{format_quantity(finding.amount, 'duration', system)} longer")
    return ", ".join(parts)


def _told(finding: Finding, system: System) -> str | None:
    """Return what was tried and what goes with it, for the table."""
    return "; ".join(part for part in (_what(finding, system), finding.reason) if part) or None


def _row(garden: Garden, finding: Finding, system: System) -> Row:
    """Return the row of one finding."""
    remedy = finding.remedy
    return {
        "bed": garden.beds[finding.bed].name,
        "remedy": remedy,
        "verdict": finding.verdict,
        "what": _told(finding, system),
        "gain_mm": None if finding.left is None else finding.gain,
        "left_mm": finding.left,
        "soil_m": finding.amount if remedy.startswith("deeper soil") else None,
        "longer_run_min": finding.amount if remedy == "longer runs" else None,
        "days": list(finding.days),
        "volumes_l": list(finding.volumes),
        "volume_l": finding.amount if remedy == "by hand" else None,
        "reason": finding.reason,
    }


def remedy_part(garden: Garden, findings: Sequence[Finding], system: System) -> Part:
    """Return every remedy tried, bed by bed."""
    told = sorted(findings, key=lambda one: (one.bed, REMEDY_ORDER.index(one.remedy)))
    return Part(
        "remedies",
        "Remedies, each alone, for beds past their limit",
        REMEDY_COLUMNS,
        tuple(_row(garden, finding, system) for finding in told),
        group="bed",
    )


def cure_line(findings: Sequence[Finding], system: System) -> str:
    """Return what cures a bed at the least, or what helps most; `findings` are of that bed."""
    told = sorted(findings, key=lambda one: REMEDY_ORDER.index(one.remedy))
    cures = [one for one in told if one.verdict == "cures"]
    if cures:
        return f"What cures it, each alone: {'; '.join(_short(one, system) for one in cures)}."
    helps = max((one for one in told if one.verdict == "helps"), key=lambda one: one.gain, default=None)
    if helps is None:
        return "Nothing that was tried helps it."
    gain = format_quantity(helps.gain, "water_depth", system)
    return f"Nothing that was tried cures it; most helps {_short(helps, system)}, by {gain}."


def _short(finding: Finding, system: System) -> str:
    """Return a remedy in a few words with its least amount and what goes with it."""
    told = _told(finding, system)
    return f"{finding.remedy} ({told})" if told else finding.remedy
