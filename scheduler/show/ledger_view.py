"""Entries of the ledger in words."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.ledger.entries import Bill, Dig, Entry, Gauge, Kept, Moisture, Reading, Relaid, Run, Valve
from scheduler.show.report import Column, Part, Report

__all__ = ["entries_report", "entry_text"]

COLUMNS = (
    Column("recorded_at", "recorded (UTC)"),
    Column("kind", "kind"),
    Column("entry", "entry"),
    Column("id", "row"),
)


def entry_text(entry: Entry) -> str:
    """Return one entry as a short sentence."""
    match entry:
        case Run():
            who = entry.bed or entry.zone or "whole garden"
            how = "as advised" if entry.minutes is None else f"{entry.minutes:g} min"
            return (
                f"{entry.date}: {who} ran, {how}" if entry.status == "ran" else f"{entry.date}: {who} skipped"
            )
        case Gauge():
            return f"{entry.date}: rain {entry.rain_mm:g} mm, {entry.place}"
        case Dig():
            return f"{entry.date}: {entry.bed} found {entry.finding}"
        case Valve():
            return f"{entry.at:%Y-%m-%d %H:%M}: valve of {entry.bed} {entry.state}"
        case Reading():
            where = f", {entry.bed}" if entry.bed else ""
            shown = entry.as_written or f"{entry.volume_l:g} L"
            return f"{entry.at:%Y-%m-%d %H:%M}: {entry.kind} {shown}{where}"
        case Relaid():
            return f"{entry.at:%Y-%m-%d %H:%M}: line of {entry.bed} relaid"
        case Moisture():
            return f"{entry.date}: {entry.bed}, soil moisture {_moisture_text(entry)}"
        case Bill():
            return f"{entry.first_day} to {entry.last_day}: bill of {entry.amount} {entry.currency}"
        case _:
            return type(entry).__name__


def _moisture_text(entry: Moisture) -> str:
    """Return a measurement as it was written, else in canonical units."""
    if entry.content_share is not None:
        return f"{entry.as_written or f'{entry.content_share:g}'} by volume"
    return f"{entry.as_written or f'{entry.tension_kpa:g} kPa'} of tension"


def entries_report(kept: Sequence[Kept[Entry]]) -> Report:
    """Return entries as a report, the newest first."""
    rows = tuple(
        {
            "recorded_at": f"{one.recorded_at:%Y-%m-%d %H:%M}",
            "kind": type(one.entry).__name__.lower(),
            "entry": entry_text(one.entry),
            "id": one.id,
        }
        for one in kept
    )
    title = f"Last {len(rows)} entries" if rows else "No entries yet"
    return Report("rillbook.ledger/1", title, None, (Part("rows", "", COLUMNS, rows),))
