"""Writing a ledger: whole transactions, rows only ever added.

Loading this module loads sqlite_utils, which is slow; what only reads takes `reading` instead.
"""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Self

import sqlite_utils

from scheduler.errors import Fault, LedgerError
from scheduler.ledger.checks import faults_of, faults_of_instant
from scheduler.ledger.columns import TABLES, find_table
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
    Withdrawal,
)
from scheduler.ledger.reading import LedgerReader
from scheduler.ledger.rows import Value, instant_text, to_row

__all__ = ["Ledger"]

UNDONE = "undone"


class Ledger(LedgerReader):
    """A ledger that can be written to, by one thread; other programs may read and write it meanwhile.

    Every `record_` method checks its entry, adds one row and returns the row's number. It is a transaction
    of its own unless it stands inside ``with ledger.writing():``. When it, or that block, has returned, the
    row is on the disk. `recorded_at` is an aware instant. All of them raise `LedgerError` with every fault
    of the entry, or if the file cannot be written.
    """

    @classmethod
    def open(cls, path: Path, *, create: bool = True) -> Self:
        """Open a ledger, new or of any earlier version.

        Raises
        ------
        LedgerError
            If it is missing and `create` is False, or if the file is no ledger that can be written.
        """
        return cls(connect(path, create=create), path)

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        super().__init__(connection, path)
        # Plugins of sqlite_utils, if any are installed, have no business here.
        self._database = sqlite_utils.Database(connection, execute_plugins=False)

    @contextmanager
    def writing(self) -> Iterator[None]:
        """Keep all rows recorded in the block, or none of them if it ends in an error.

        The write lock is taken at the start, so what the block reads is what it writes upon.
        """
        connection = self._connection
        with explained(self._path):
            if connection.in_transaction:
                with self._database.atomic():
                    yield
                return
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                connection.execute("COMMIT")
            except BaseException:
                # A full disk may already have ended the transaction.
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise

    def record(self, entry: Entry, *, recorded_at: datetime.datetime) -> int:
        """Add one entry of any type and return the number of its row."""
        self._refuse(_faults_at(entry, recorded_at))
        return self._insert(find_table(type(entry)).name, {"recorded_at": instant_text(recorded_at)}, entry)

    def record_plan(self, entry: PlanVersion, *, recorded_at: datetime.datetime) -> int:
        """Add a version of the plan, or return the row that already keeps one of the same hash."""
        with self.writing():
            kept = self._current(PlanVersion, "hash = ?", entry.hash)
            if not kept:
                return self.record(entry, recorded_at=recorded_at)
            if kept[0].entry != entry:
                found = "stands for another text already"
                self._refuse([Fault("plan_version > hash", found, "needs a hash of its own")])
            return kept[0].id

    def record_weather(self, entry: WeatherDay, *, recorded_at: datetime.datetime) -> int:
        """Add one day's weather from one origin."""
        return self.record(entry, recorded_at=recorded_at)

    def record_reference_et(self, entry: ReferenceEt, *, recorded_at: datetime.datetime) -> int:
        """Add one complete day."""
        return self.record(entry, recorded_at=recorded_at)

    def record_timetable(self, entry: Timetable, *, recorded_at: datetime.datetime) -> int:
        """Add a week's advice; its plan must be recorded before."""
        return self.record(entry, recorded_at=recorded_at)

    def record_timetable_run(self, entry: TimetableRun, *, recorded_at: datetime.datetime) -> int:
        """Add one run of a timetable that is already recorded."""
        return self.record(entry, recorded_at=recorded_at)

    def record_run(self, entry: Run, *, recorded_at: datetime.datetime) -> int:
        """Add what ran or was skipped."""
        return self.record(entry, recorded_at=recorded_at)

    def record_valve(self, entry: Valve, *, recorded_at: datetime.datetime) -> int:
        """Add a change of a hand valve."""
        return self.record(entry, recorded_at=recorded_at)

    def record_reading(self, entry: Reading, *, recorded_at: datetime.datetime) -> int:
        """Add a reading of the meter or of a bucket."""
        return self.record(entry, recorded_at=recorded_at)

    def record_gauge(self, entry: Gauge, *, recorded_at: datetime.datetime) -> int:
        """Add a reading of a rain gauge."""
        return self.record(entry, recorded_at=recorded_at)

    def record_dig(self, entry: Dig, *, recorded_at: datetime.datetime) -> int:
        """Add a dig check."""
        return self.record(entry, recorded_at=recorded_at)

    def record_bill(self, entry: Bill, *, recorded_at: datetime.datetime) -> int:
        """Add a water bill."""
        return self.record(entry, recorded_at=recorded_at)

    def record_relaid(self, entry: Relaid, *, recorded_at: datetime.datetime) -> int:
        """Add that a bed's drip line was relaid."""
        return self.record(entry, recorded_at=recorded_at)

    def record_moisture(self, entry: Moisture, *, recorded_at: datetime.datetime) -> int:
        """Add a measurement of soil moisture."""
        return self.record(entry, recorded_at=recorded_at)

    def withdraw(self, table: str, row_id: int, *, reason: str, recorded_at: datetime.datetime) -> int:
        """Take a row back; it stays in the file and leaves every answer.

        Raises
        ------
        LedgerError
            If there is no such row, if it was already withdrawn, or if rows of the table never are.
        """
        with self.writing():
            if self._current(Withdrawal, "table_name = ? AND row_id = ?", table, row_id):
                found = f"row {row_id} of {table}, which was withdrawn before"
                self._refuse([Fault("withdrawal > row_id", found, "must be a row that stands")])
            return self.record(Withdrawal(table, row_id, reason), recorded_at=recorded_at)

    def correct(self, kept: Kept[Entry], entry: Entry, *, reason: str, recorded_at: datetime.datetime) -> int:
        """Withdraw a row and add what it should have said; return the number of the new row."""
        with self.writing():
            table = find_table(type(kept.entry)).name
            self.withdraw(table, kept.id, reason=reason, recorded_at=recorded_at)
            return self.record(entry, recorded_at=recorded_at)

    def undo_last(self, recorded_at: datetime.datetime) -> Kept[Entry] | None:
        """Withdraw the entry that a person made last and that still stands; return it, or None if none does.

        Undoing a correction withdraws what it said; the row that it corrected stays withdrawn.
        """
        with self.writing():
            last = self.last_entries(1)
            if not last:
                return None
            table = find_table(type(last[0].entry)).name
            self.withdraw(table, last[0].id, reason=UNDONE, recorded_at=recorded_at)
            return last[0]

    def restore(self, rows: Sequence[Kept[Entry]]) -> None:
        """Put rows into an empty ledger with the numbers and instants they had; all of them, or none.

        Rows must come in an order in which each follows those it refers to; a person's entries in the
        order in which they were made.

        Raises
        ------
        LedgerError
            If the ledger is not empty, or with every fault of every row.
        """
        self._refuse([fault for kept in rows for fault in _faults_at(kept.entry, kept.recorded_at)])
        with self.writing():
            filled = [name for name, table in TABLES.items() if self.rows(table, withdrawn=True)]
            if filled:
                self._refuse([Fault("", f"has rows in {', '.join(filled)}", "must be an empty ledger")])
            for kept in rows:
                head: dict[str, Value] = {"id": kept.id, "recorded_at": instant_text(kept.recorded_at)}
                self._insert(find_table(type(kept.entry)).name, head, kept.entry)

    def _refuse(self, faults: list[Fault]) -> None:
        """Raise an error if there are faults."""
        if faults:
            raise LedgerError(str(self._path), faults)

    def _insert(self, table: str, head: dict[str, Value], entry: Entry) -> int:
        """Add one row, checked before, and return its number."""
        with self.writing():
            added = self._database.table(table).insert({**head, **to_row(entry)})
            if added.last_rowid is None:
                raise RuntimeError(f"{table}: no row was added")
            return added.last_rowid


def _faults_at(entry: Entry, recorded_at: datetime.datetime) -> list[Fault]:
    """Return what is wrong with an entry and its instant, each place with its table."""
    faults = [*faults_of(entry), *faults_of_instant(recorded_at)]
    table = find_table(type(entry)).name
    return [Fault(f"{table} > {fault.where}", fault.found, fault.wanted) for fault in faults]
