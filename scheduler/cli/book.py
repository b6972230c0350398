"""The ledger of a garden as the log commands write it: where it lies, the moment, days and names."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

from scheduler.cli.answering import FILE
from scheduler.cli.naming import named

if TYPE_CHECKING:
    from scheduler.garden.plan import Garden
    from scheduler.ledger.entries import Entry
    from scheduler.ledger.store import Ledger

__all__ = ["AT", "BOOK_GARDEN", "ON", "Book", "open_book", "writing"]

BOOK_GARDEN = click.option(
    "--garden",
    type=FILE,
    default="garden.toml",
    show_default=True,
    envvar="RILLBOOK_GARDEN",
    help="Plan of the garden; RILLBOOK_GARDEN names another default.",
)
ON = click.option("--on", "day", default="today", show_default=True, help="Day: yesterday, monday, a date.")
AT = click.option("--at", type=click.DateTime(["%H:%M"]), help="Time of day; if not given, now, or noon.")


@dataclass(frozen=True, slots=True)
class Book:
    """A garden, its ledger's file, and the moment of the entry."""

    garden: Garden
    path: Path
    moment: datetime

    @property
    def zone(self) -> ZoneInfo:
        """Time zone of the garden."""
        return ZoneInfo(self.garden.site.timezone)

    def day(self, text: str) -> date:
        """Return the day that a person means."""
        from scheduler.cli.daywords import parse_day

        return parse_day(text, today=self.moment.date())

    def instant(self, text: str, at: datetime | None) -> datetime:
        """Return the instant of a reading: now if it is today and no time is given, noon on another day."""
        day = self.day(text)
        if at is None and day == self.moment.date():
            return self.moment
        return datetime.combine(day, time(12) if at is None else at.time(), tzinfo=self.zone)

    def bed(self, name: str) -> str:
        """Return a bed's name, or say which is meant."""
        return named("bed", name, [bed.name for bed in self.garden.beds])

    def enter(self, *entries: Entry, told: str) -> None:
        """Keep entries, all or none, and tell the person."""
        with writing(self.path) as book, book.writing():
            for entry in entries:
                book.record(entry, recorded_at=self.moment)
        click.echo(f"kept: {told}", err=True)


def open_book(path: Path) -> Book:
    """Return the ledger's place for a plan."""
    from scheduler.clock import now
    from scheduler.garden.planfile import load_plan
    from scheduler.ledger.place import ledger_path

    garden = load_plan(path)
    return Book(garden, ledger_path(path, garden), now(garden.site.timezone))


@contextmanager
def writing(path: Path) -> Iterator[Ledger]:
    """Open a ledger for writing."""
    from scheduler.ledger.store import Ledger

    with Ledger.open(path) as book:
        yield book
