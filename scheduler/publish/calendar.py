"""The timetable as an iCalendar file (RFC 5545), one event a run, for a calendar to fetch again and again."""

from __future__ import annotations

from datetime import datetime, timedelta
from hashlib import sha256

from icalendar import Calendar, Event, vDuration

from scheduler.publish.table import TableRun, TableZone, WeekTable
from scheduler.publish.timetable import ADVICE

__all__ = ["calendar_file"]

PRODUCT = "-//rillbook//watering timetable//EN"

#: How often a calendar should look again; the table is made once a day.
REFRESH = timedelta(hours=6)


def calendar_file(table: WeekTable, *, stamp: datetime) -> bytes:
    """Return the runs of a table as a calendar.

    Parameters
    ----------
    table : WeekTable
    stamp : datetime
        When the calendar is made (DTSTAMP), aware; written in UTC as RFC 5545, section 3.8.7.2, asks.

    Returns
    -------
    bytes
        UTF-8 text with its line ends. An event keeps its UID when its run starts earlier or takes longer.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    # RFC 7986, sections 5.1 and 5.7.
    calendar.add("name", f"{table.garden}: watering")
    calendar.add("refresh-interval", vDuration(REFRESH), parameters={"VALUE": "DURATION"})
    for zone in table.zones:
        for run in zone.runs:
            calendar.add_component(_event(table, zone, run, stamp=stamp))
    if calendar.events:
        # Rules of the clock are needed for the days of the table only, with a year on each side to spare.
        margin = timedelta(days=366)
        calendar.add_missing_timezones(table.first_day - margin, table.last_day + margin)
    return calendar.to_ical()


def _event(table: WeekTable, zone: TableZone, run: TableRun, *, stamp: datetime) -> Event:
    """Return the event of one run."""
    event = Event()
    event.add("uid", _uid(table, zone, run))
    event.add("dtstamp", stamp)
    event.add("dtstart", run.begins)
    event.add("duration", timedelta(minutes=run.run_time_min))
    event.add("summary", f"{zone.zone}: {run.run_time_min} min of water")
    event.add("description", _description(zone))
    # A run takes nobody's time.
    event.add("transp", "TRANSPARENT")
    return event


def _uid(table: WeekTable, zone: TableZone, run: TableRun) -> str:
    """Return what names a run through every later table: garden, zone, day, and which run of the day."""
    name = "\n".join((table.garden, zone.zone, run.date.isoformat(), str(run.number)))
    return f"{sha256(name.encode()).hexdigest()[:32]}@rillbook"


def _description(zone: TableZone) -> str:
    """Return what the beds of a zone get, and that this is advice."""
    lines = [f"Outlet {zone.outlet}. Bed valves on a run day:"]
    for bed in zone.beds:
        if not bed.gets_min:
            lines.append(f"{bed.bed}: shut")
        elif bed.needs_min < bed.gets_min:
            lines.append(f"{bed.bed}: shut after {bed.needs_min} of {bed.gets_min} min")
        else:
            lines.append(f"{bed.bed}: {bed.gets_min} min")
    return "\n".join((*lines, ADVICE))
