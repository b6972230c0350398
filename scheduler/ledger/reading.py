"""Reading a ledger with the standard library alone, so that a quick command stays quick."""

from __future__ import annotations

import datetime
import sqlite3
from pathlib import Path
from types import TracebackType
from typing import Literal, Self, TypeVar, cast

from scheduler.ledger.columns import TABLES, Table, find_table
from scheduler.ledger.connection import connect, explained
from scheduler.ledger.entries import (
    Bill,
    Dig,
    Entry,
    Gauge,
    Kept,
    Moisture,
    PlanVersion,
    Reading,
    ReferenceEt,
    Relaid,
    Run,
    Timetable,
    TimetableRun,
    Valve,
    WeatherDay,
)
from scheduler.ledger.rows import Value, from_row, instant_text, read_instant

__all__ = ["LedgerReader", "open_reader"]

EntryT = TypeVar("EntryT", bound=Entry)

_BETWEEN_DATES = "date BETWEEN ? AND ? ORDER BY date, id"

# Of several rows for a day, the one issued last counts, and of those issued together the one entered last.
_NEWEST_WEATHER = """id IN (
    SELECT id FROM (
        SELECT id, row_number() OVER (
            PARTITION BY date, origin, source ORDER BY coalesce(issued_at, recorded_at) DESC, id DESC
        ) AS place
        FROM current_weather_day WHERE date BETWEEN ? AND ?
    ) WHERE place = 1
) ORDER BY date, origin, source"""
_NEWEST_ET = """id IN (
    SELECT max(id) FROM current_reference_et WHERE date BETWEEN ? AND ? GROUP BY date
) ORDER BY date"""


class LedgerReader:
    """What a ledger answers. Withdrawn rows are left out; spans of days include both ends.

    Every method may raise `LedgerError` if the file cannot be read.
    """

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self._connection = connection
        self._path = path

    def __enter__(self) -> Self:
        """Return the reader itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close the file."""
        self.close()

    def close(self) -> None:
        """Close the file; what was not committed is gone."""
        self._connection.close()

    def runs_between(self, begins: datetime.date, ends: datetime.date) -> tuple[Kept[Run], ...]:
        """Return what ran or was skipped, by day, in the order it was entered."""
        return self._current(Run, _BETWEEN_DATES, begins.isoformat(), ends.isoformat())

    def gauges_between(self, begins: datetime.date, ends: datetime.date) -> tuple[Kept[Gauge], ...]:
        """Return gauge readings, by day; several of one day and place stay apart."""
        return self._current(Gauge, _BETWEEN_DATES, begins.isoformat(), ends.isoformat())

    def digs_between(self, begins: datetime.date, ends: datetime.date) -> tuple[Kept[Dig], ...]:
        """Return dig checks, by day."""
        return self._current(Dig, _BETWEEN_DATES, begins.isoformat(), ends.isoformat())

    def moistures_between(self, begins: datetime.date, ends: datetime.date) -> tuple[Kept[Moisture], ...]:
        """Return soil moisture that was measured, by day."""
        return self._current(Moisture, _BETWEEN_DATES, begins.isoformat(), ends.isoformat())

    def relaid(self) -> tuple[Kept[Relaid], ...]:
        """Return every relaying of a bed's drip line, in order of their instants."""
        return self._current(Relaid, "1 ORDER BY at, id")

    def readings(self, kind: Literal["meter", "bucket"] | None = None) -> tuple[Kept[Reading], ...]:
        """Return meter and bucket readings, or one kind of them, in order of their instants."""
        if kind is None:
            return self._current(Reading, "1 ORDER BY at, id")
        return self._current(Reading, "kind = ? ORDER BY at, id", kind)

    def valves(self, until: datetime.datetime | None = None) -> tuple[Kept[Valve], ...]:
        """Return every change of a hand valve up to an instant (None: all), in order of their instants."""
        if until is None:
            return self._current(Valve, "1 ORDER BY at, id")
        return self._current(Valve, "at <= ? ORDER BY at, id", instant_text(until))

    def bills(self) -> tuple[Kept[Bill], ...]:
        """Return bills in order of their first days."""
        return self._current(Bill, "1 ORDER BY first_day, id")

    def plan_versions(self) -> tuple[Kept[PlanVersion], ...]:
        """Return every plan text that was used, oldest first."""
        return self._current(PlanVersion, "1 ORDER BY id")

    def timetables(self) -> tuple[Kept[Timetable], ...]:
        """Return every timetable advised, by first day, later advice after earlier."""
        return self._current(Timetable, "1 ORDER BY first_day, id")

    def latest_timetable(self, on: datetime.date) -> Kept[Timetable] | None:
        """Return the last advice of the latest week that had begun on a day, None if there is none."""
        where = "first_day <= ? ORDER BY first_day DESC, id DESC LIMIT 1"
        found = self._current(Timetable, where, on.isoformat())
        return found[0] if found else None

    def timetable_runs(self, timetable_id: int) -> tuple[Kept[TimetableRun], ...]:
        """Return the runs of one timetable in order of their starts."""
        return self._current(TimetableRun, "timetable_id = ? ORDER BY date, start_min, id", timetable_id)

    def weather_between(self, begins: datetime.date, ends: datetime.date) -> tuple[Kept[WeatherDay], ...]:
        """Return weather by day, the newest row of each origin and source."""
        return self._current(WeatherDay, _NEWEST_WEATHER, begins.isoformat(), ends.isoformat())

    def reference_et_between(
        self, begins: datetime.date, ends: datetime.date
    ) -> tuple[Kept[ReferenceEt], ...]:
        """Return the complete days, the row entered last for each."""
        return self._current(ReferenceEt, _NEWEST_ET, begins.isoformat(), ends.isoformat())

    def last_entries(self, n: int) -> tuple[Kept[Entry], ...]:
        """Return up to `n` entries by hand that stand, the one made last first, whatever the clock said."""
        with explained(self._path):
            places = self._connection.execute(
                "SELECT table_name, row_id FROM logbook AS l WHERE NOT EXISTS (SELECT 1 FROM withdrawal AS w"
                " WHERE w.table_name = l.table_name AND w.row_id = l.row_id) ORDER BY id DESC LIMIT ?",
                (max(n, 0),),
            ).fetchall()
        return tuple(self.row(TABLES[table], row_id) for table, row_id in places)

    def logbook(self) -> tuple[tuple[str, int], ...]:
        """Return table and row number of everything a person ever entered, in the order it came."""
        with explained(self._path):
            rows = self._connection.execute("SELECT table_name, row_id FROM logbook ORDER BY id")
            return tuple((str(table), int(row_id)) for table, row_id in rows)

    def row(self, table: Table, row_id: int) -> Kept[Entry]:
        """Return one row of a table, withdrawn or not.

        Raises
        ------
        KeyError
            If there is none.
        """
        found = self._select(table, table.name, "id = ?", row_id)
        if not found:
            raise KeyError(row_id)
        return found[0]

    def rows(self, table: Table, *, withdrawn: bool = False) -> tuple[Kept[Entry], ...]:
        """Return all rows of a table in the order they were entered, withdrawn ones too if asked."""
        return self._select(table, table.name if withdrawn else f"current_{table.name}", "1 ORDER BY id")

    def _current(self, kind: type[EntryT], where: str, *values: Value) -> tuple[Kept[EntryT], ...]:
        """Return the rows of one type of entry that stand."""
        table = find_table(kind)
        return cast(tuple[Kept[EntryT], ...], self._select(table, f"current_{table.name}", where, *values))

    def _select(self, table: Table, origin: str, where: str, *values: Value) -> tuple[Kept[Entry], ...]:
        """Return rows of a table or view."""
        names = ", ".join(("id", "recorded_at", *(column.name for column in table.columns)))
        with explained(self._path):
            # Only names of this package's own tables and conditions go into the text; values are bound.
            rows = self._connection.execute(f"SELECT {names} FROM {origin} WHERE {where}", values)  # noqa: S608
            return tuple(
                Kept(row_id, read_instant(recorded_at), from_row(table, cells))
                for row_id, recorded_at, *cells in rows
            )


def open_reader(path: Path) -> LedgerReader:
    """Open an existing ledger for reading; one of an earlier version is first brought up to date.

    Raises
    ------
    LedgerError
        If there is no such file, or if it is no ledger that can be read.
    """
    connection = connect(path, create=False)
    connection.execute("PRAGMA query_only = ON")
    return LedgerReader(connection, path)
