"""A week's answer as other programs can take it: runs at instants, and what each bed gets. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

__all__ = ["TableBed", "TableRun", "TableZone", "WeekTable", "minute_of", "read_table"]


@dataclass(frozen=True, slots=True)
class TableBed:
    """Minutes of a bed's valve on each run day: what it needs, and what the zone's run gives."""

    bed: str
    needs_min: int
    gets_min: int


@dataclass(frozen=True, slots=True)
class TableRun:
    """One run, at instants in the garden's time zone; `number` counts the zone's runs of the day."""

    date: date
    number: int
    begins: datetime
    ends: datetime
    run_time_min: int
    volume_l: float


@dataclass(frozen=True, slots=True)
class TableZone:
    """What one outlet of the timer is set to, and the runs that follow from it."""

    zone: str
    outlet: int
    days: str
    starts: tuple[str, ...]
    run_time_min: int
    volume_l: float
    runs: tuple[TableRun, ...]
    beds: tuple[TableBed, ...]


@dataclass(frozen=True, slots=True)
class WeekTable:
    """The timetable of the seven days from `first_day`; `computed_at` is when it was made."""

    garden: str
    timezone: str
    first_day: date
    computed_at: datetime
    zones: tuple[TableZone, ...]
    conflicts: tuple[str, ...] = ()

    @property
    def last_day(self) -> date:
        """Last of the seven days."""
        return self.first_day + timedelta(days=6)


def minute_of(clock: str) -> int:
    """Return the minutes after midnight of a start time such as ``05:40``."""
    hours, minutes = clock.split(":")
    return 60 * int(hours) + int(minutes)


def read_table(
    document: Mapping[str, Any], *, garden: str, timezone: str, computed_at: datetime
) -> WeekTable:
    """Return the timetable in a week's answer (``rillbook.week/1``).

    Parameters
    ----------
    document : mapping
        The answer as JSON gives it back.
    garden : str
        Name of the garden.
    timezone : str
        IANA name; start times are on its clock.
    computed_at : datetime
        Aware.

    Notes
    -----
    A start that a clock change leaves out is taken as long after midnight as its clock time says, as
    RFC 5545, section 3.3.5, has it; one that comes twice is the first of the two.
    """
    zone = ZoneInfo(timezone)
    return WeekTable(
        garden=garden,
        timezone=timezone,
        first_day=date.fromisoformat(document["as_of"]),
        computed_at=computed_at.astimezone(zone),
        zones=tuple(_zone(row, document, zone) for row in document["rows"]),
        conflicts=tuple(document["conflicts"]),
    )


def _zone(row: Mapping[str, Any], document: Mapping[str, Any], clock: ZoneInfo) -> TableZone:
    """Return one zone with its runs and beds."""
    name = row["zone"]
    runs: list[TableRun] = []
    for run in document["runs"]:
        if run["zone"] == name:
            day = date.fromisoformat(run["date"])
            number = 1 + sum(1 for earlier in runs if earlier.date == day)
            runs.append(_run(run, day, clock, number=number))
    return TableZone(
        zone=name,
        outlet=row["outlet"],
        days=row["days"],
        starts=tuple(row["starts"] or ()),
        run_time_min=row["run_time_min"] or 0,
        volume_l=row["volume_l"],
        runs=tuple(runs),
        beds=tuple(
            TableBed(bed["bed"], bed["needs_min"], bed["gets_min"])
            for bed in document["beds"]
            if bed["zone"] == name
        ),
    )


def _run(run: Mapping[str, Any], day: date, clock: ZoneInfo, *, number: int) -> TableRun:
    """Return one run; its length is time that passes, whatever clocks do meanwhile."""
    days, minute = divmod(minute_of(run["start"]), 24 * 60)
    at = time(minute // 60, minute % 60)
    begins = datetime.combine(day + timedelta(days=days), at, tzinfo=clock).astimezone(UTC)
    ends = begins + timedelta(minutes=run["run_time_min"])
    return TableRun(
        date=day,
        number=number,
        begins=begins.astimezone(clock),
        ends=ends.astimezone(clock),
        run_time_min=run["run_time_min"],
        volume_l=run["volume_l"],
    )
