"""What the ledger says of a span of days, as the notes that the balance follows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from scheduler.garden.plan import Garden
from scheduler.ledger.entries import Kept, Moisture, Run
from scheduler.ledger.reading import LedgerReader
from scheduler.season.field import DigNote, FieldNotes, GaugeNote, MoistureNote, RunNote

__all__ = ["field_notes"]

RUNS_BEGIN = time(3)


def field_notes(reader: LedgerReader, garden: Garden, *, begins: date, ends: date) -> FieldNotes:
    """Return the runs, gauge readings, digs and soil moistures recorded from `begins` to `ends`.

    A run recorded without minutes takes those of the timetable that was advised for its day, if one is
    kept. A bed whose hand valve stood shut at three in the morning, when runs begin, got no water that
    day, unless a run of it is recorded. A day of which nothing is recorded takes the table that was advised
    for it, if one is kept. Several gauge readings in the open on one day are summed. Later
    entries of one thing replace earlier ones.
    """
    runs = sorted(reader.runs_between(begins, ends), key=lambda kept: kept.id)
    rain: dict[date, float] = defaultdict(float)
    for gauge in reader.gauges_between(begins, ends):
        if gauge.entry.place == "open":
            rain[gauge.entry.date] += gauge.entry.rain_mm
    digs = sorted(reader.digs_between(begins, ends), key=lambda kept: kept.id)
    moistures = sorted(reader.moistures_between(begins, ends), key=lambda kept: kept.id)
    return FieldNotes(
        runs=(
            *_advised_days(reader, garden, begins, ends),
            *_shut_days(reader, garden, begins, ends),
            *(note for kept in runs for note in _run_notes(reader, garden, kept)),
        ),
        gauges=tuple(GaugeNote(day, depth) for day, depth in sorted(rain.items())),
        digs=tuple(DigNote(kept.entry.date, kept.entry.bed, kept.entry.finding) for kept in digs),
        moistures=tuple(_moisture_note(kept.entry) for kept in moistures),
    )


def _moisture_note(entry: Moisture) -> MoistureNote:
    return MoistureNote(entry.date, entry.bed, content=entry.content_share, tension=entry.tension_kpa)


def _advised_days(reader: LedgerReader, garden: Garden, begins: date, ends: date) -> Iterator[RunNote]:
    """Yield what kept timetables advised for each zone on the days before `ends`."""
    tables = [kept for kept in reader.timetables() if kept.entry.first_day <= ends]
    if not tables:
        return
    day = max(begins, tables[0].entry.first_day)
    while day < ends:
        advised = _advised_minutes(reader, day)
        if advised is not None:
            for zone in garden.zones:
                minutes = advised.get(zone.name, 0.0)
                yield RunNote(day, ran=minutes > 0.0, zone=zone.name, minutes=minutes, recorded=False)
        day += timedelta(days=1)


def _shut_days(reader: LedgerReader, garden: Garden, begins: date, ends: date) -> Iterator[RunNote]:
    """Yield a day without water for each day on which a bed's valve stood shut."""
    zone = ZoneInfo(garden.site.timezone)
    changes = [(kept.entry.at.astimezone(zone), kept.entry) for kept in reader.valves()]
    for bed in garden.beds:
        own = [(at, entry.state) for at, entry in changes if entry.bed == bed.name]
        day = begins
        while own and day <= ends:
            morning = datetime.combine(day, RUNS_BEGIN, tzinfo=zone)
            state = next((state for at, state in reversed(own) if at <= morning), "open")
            if state == "shut":
                yield RunNote(day, ran=False, bed=bed.name)
            day += timedelta(days=1)


def _run_notes(reader: LedgerReader, garden: Garden, kept: Kept[Run]) -> Iterator[RunNote]:
    """Yield the notes of one entry, one a zone where the advice has to tell the minutes."""
    run = kept.entry
    ran = run.status == "ran"
    if not ran or run.minutes is not None:
        yield RunNote(run.date, ran, zone=run.zone, bed=run.bed, minutes=run.minutes)
        return
    advised = _advised_minutes(reader, run.date)
    if advised is None:
        yield RunNote(run.date, ran, zone=run.zone, bed=run.bed)
        return
    own = next((bed.zone for bed in garden.beds if bed.name == run.bed), None)
    for zone in garden.zones:
        if run.zone in (None, zone.name) and own in (None, zone.name):
            yield RunNote(run.date, ran, zone=zone.name, bed=run.bed, minutes=advised.get(zone.name, 0.0))


def _advised_minutes(reader: LedgerReader, day: date) -> dict[str, float] | None:
    """Return the minutes of each zone that the newest timetable advised for a day; None if none covers it."""
    timetable = reader.latest_timetable(day)
    if timetable is None or (day - timetable.entry.first_day).days >= 7:
        return None
    minutes: dict[str, float] = defaultdict(float)
    for kept in reader.timetable_runs(timetable.id):
        minutes[kept.entry.zone] += kept.entry.minutes if kept.entry.date == day else 0.0
    return dict(minutes)
