"""A day's work as a report. Pure."""

from __future__ import annotations

from scheduler.service.day import DayReport
from scheduler.show.report import Column, Part, Report

__all__ = ["day_report"]

ZONE_COLUMNS = (
    Column("zone", "zone"),
    Column("outlet", "outlet"),
    Column("days", "run on"),
    Column("starts", "start at"),
    Column("run_time_min", "each run", "duration"),
    Column("volume_l", "water", "volume"),
)
NOTICE_COLUMNS = (Column("kind", "about"), Column("text", "what to do"), Column("key", ""))


def day_report(report: DayReport) -> Report:
    """Return what a day's work did, with the timer's settings and what is new to tell."""
    on = report.on
    kept = "recorded" if report.recorded else "had been recorded before; nothing new"
    lines = [f"The table of the week from {on:%a} {on.day} {on:%b} {kept}."]
    if not report.notices:
        lines.append("Nothing to do: the timer can stay as it is set.")
    if report.missed:
        days = "1 day" if len(report.missed) == 1 else f"{len(report.missed)} days"
        lines.append(f"{days} before had no table ({report.missed[0]} to {report.missed[-1]}); made good.")
    lines += [f"Published: {place}." for place in report.published]
    lines += [f"Told: {receiver}." for receiver in report.told]
    lines += [f"DOES NOT FIT: {text}." for text in report.table.conflicts]
    zones = tuple(
        {
            "zone": zone.zone,
            "outlet": zone.outlet,
            "days": zone.days,
            "starts": list(zone.starts) or None,
            "run_time_min": zone.run_time_min or None,
            "volume_l": zone.volume_l,
        }
        for zone in report.table.zones
    )
    notices = tuple({"kind": n.kind, "text": n.text, "key": n.key} for n in report.notices)
    return Report(
        schema="rillbook.daily/1",
        title=f"{report.garden}: work of {on:%a} {on.day} {on:%b %Y}",
        as_of=on,
        parts=(
            Part("rows", "The timer", ZONE_COLUMNS, zones),
            Part("notices", "New today", NOTICE_COLUMNS, notices),
        ),
        lines=tuple(lines),
        extra={
            "recorded": report.recorded,
            "missed": list(report.missed),
            "told": list(report.told),
            "published": list(report.published),
            "problems": list(report.problems),
            "conflicts": list(report.table.conflicts),
        },
    )
