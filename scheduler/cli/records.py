"""Commands that keep what happened: log (one entry each) and ledger (list, export, restore)."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.answering import FILE, FORMAT, answer, check_form, options, write
from scheduler.cli.book import AT, BOOK_GARDEN, ON, Book, open_book, writing
from scheduler.cli.naming import named
from scheduler.errors import RillbookError

if TYPE_CHECKING:
    from scheduler.ledger.reading import LedgerReader

__all__ = ["ledger", "log"]

#: From this tension on a reading says less than it seems to [kPa]: common practice, no source.
TENSIOMETER_STOPS = 80.0


def _volume(words: tuple[str, ...], book: Book) -> float:
    """Return a volume [L] from words such as ``84.512 m3``; CCF and kgal are read as on a bill."""
    from scheduler.garden.units import convert_volume_units, parse_quantity

    text = " ".join(words)
    number, _, unit = text.rpartition(" ")
    if unit in ("CCF", "HCF", "kgal") and number.replace(".", "", 1).isdigit():
        return float(number) * float(convert_volume_units(unit))
    return parse_quantity(text, "volume")


@click.group()
def log() -> None:
    """Keep what happened in the garden: readings, rain, runs, digs; the tables then follow it."""


@log.command()
@click.argument("reading", nargs=-1, required=True)
@click.option("--bed", help="Only this bed was open between two such readings: a flow test of it.")
@options(ON, AT, BOOK_GARDEN)
def meter(reading: tuple[str, ...], bed: str | None, day: str, at: datetime | None, garden: Path) -> None:
    """Keep what the water meter shows, such as: log meter 84.512 m3."""
    from scheduler.ledger.entries import Reading

    book = open_book(garden)
    name = None if bed is None else book.bed(bed)
    text = " ".join(reading)
    instant = book.instant(day, at)
    entry = Reading(instant, "meter", _volume(reading, book), bed=name, as_written=text)
    book.enter(entry, told=f"meter at {text}, {instant:%Y-%m-%d %H:%M}" + (f", {name}" if name else ""))


@log.command()
@click.argument("bed")
@click.argument("volume")
@click.argument("minutes")
@options(ON, AT, BOOK_GARDEN)
def bucket(bed: str, volume: str, minutes: str, day: str, at: datetime | None, garden: Path) -> None:
    """Keep what a bed gave in some minutes, such as: log bucket "tall bed" "3.2 L" "10 min"."""
    from scheduler.garden.units import parse_quantity
    from scheduler.ledger.entries import Reading

    book = open_book(garden)
    entry = Reading(
        book.instant(day, at),
        "bucket",
        parse_quantity(volume, "volume"),
        bed=book.bed(bed),
        minutes=parse_quantity(minutes, "duration"),
        as_written=f"{volume} in {minutes}",
    )
    book.enter(entry, told=f"{bed}: {volume} in {minutes}")


@log.command()
@click.argument("depth", nargs=-1, required=True)
@click.option("--canopy", is_flag=True, help="The gauge stands below the leaves, not in the open.")
@options(ON, BOOK_GARDEN)
def rain(depth: tuple[str, ...], canopy: bool, day: str, garden: Path) -> None:
    """Keep the rain of a day in your own gauge, such as: log rain 8 mm --on yesterday."""
    from scheduler.garden.units import parse_quantity
    from scheduler.ledger.entries import Gauge

    book = open_book(garden)
    text = " ".join(depth)
    entry = Gauge(book.day(day), parse_quantity(text, "water_depth"), "canopy" if canopy else "open")
    book.enter(entry, told=f"rain of {text} on {entry.date}")


def _which(words: tuple[str, ...], book: Book) -> tuple[str | None, str | None]:
    """Return (zone, bed) from words such as ``bed "low bed"``; no words mean the whole garden."""
    if not words:
        return None, None
    if len(words) == 2 and words[0] == "bed":
        return None, book.bed(words[1])
    if len(words) == 2 and words[0] == "zone":
        return named("zone", words[1], [zone.name for zone in book.garden.zones]), None
    raise click.UsageError('write nothing for the whole garden, or bed "NAME", or zone "NAME"')


def _log_run(words: tuple[str, ...], *, ran: bool, minutes: str | None, day: str, garden: Path) -> None:
    """Keep a run, or a skipped one."""
    from scheduler.garden.units import parse_quantity
    from scheduler.ledger.entries import Run

    book = open_book(garden)
    zone, bed = _which(words, book)
    length = None if minutes is None else parse_quantity(minutes, "duration")
    entry = Run(book.day(day), "ran" if ran else "skipped", zone=zone, bed=bed, minutes=length)
    who = bed or zone or "whole garden"
    how = "ran" if ran else "skipped"
    book.enter(entry, told=f"{who} {how} on {entry.date}, {minutes or ('as advised' if ran else 'no water')}")


@log.command()
@click.argument("which", nargs=-1)
@click.option("--minutes", help='How long, such as "25 min"; if not given, as the timetable advised.')
@options(ON, BOOK_GARDEN)
def ran(which: tuple[str, ...], minutes: str | None, day: str, garden: Path) -> None:
    """Keep that a day's runs ran: log ran, log ran bed "tall bed" --minutes "25 min"."""
    _log_run(which, ran=True, minutes=minutes, day=day, garden=garden)


@log.command()
@click.argument("which", nargs=-1)
@options(ON, BOOK_GARDEN)
def skipped(which: tuple[str, ...], day: str, garden: Path) -> None:
    """Keep that a day's runs were skipped: log skipped, log skipped bed "low bed"."""
    _log_run(which, ran=False, minutes=None, day=day, garden=garden)


@log.command()
@click.argument("bed")
@click.argument("finding", type=click.Choice(["wet", "right", "dry"]))
@options(ON, BOOK_GARDEN)
def dig(bed: str, finding: Any, day: str, garden: Path) -> None:
    """Keep what a dig at root depth found: log dig "tall bed" wet."""
    from scheduler.ledger.entries import Dig

    book = open_book(garden)
    entry = Dig(book.day(day), book.bed(bed), finding)
    book.enter(entry, told=f"{bed} found {finding} on {entry.date}")


@log.command()
@click.argument("bed")
@click.argument("state", type=click.Choice(["open", "shut"]))
@options(ON, AT, BOOK_GARDEN)
def valve(bed: str, state: Any, day: str, at: datetime | None, garden: Path) -> None:
    """Keep how a bed's hand valve stands from now on: log valve "low bed" shut."""
    from scheduler.ledger.entries import Valve

    book = open_book(garden)
    entry = Valve(book.instant(day, at), book.bed(bed), state)
    book.enter(entry, told=f"valve of {bed} {state} from {entry.at:%Y-%m-%d %H:%M}")


@log.command()
@click.argument("bed")
@options(ON, AT, BOOK_GARDEN)
def relaid(bed: str, day: str, at: datetime | None, garden: Path) -> None:
    """Keep that a bed's drip line was relaid or its layout changed: its tests of flow begin anew."""
    from scheduler.ledger.entries import Relaid

    book = open_book(garden)
    entry = Relaid(book.instant(day, at), book.bed(bed))
    book.enter(entry, told=f"line of {bed} relaid, {entry.at:%Y-%m-%d %H:%M}; earlier tests no longer count")


@log.command()
@click.argument("bed")
@click.argument("content", nargs=-1, required=True)
@options(ON, BOOK_GARDEN)
def moisture(bed: str, content: tuple[str, ...], day: str, garden: Path) -> None:
    """Keep the soil's water by volume at root depth, as a probe shows it: log moisture "tall bed" 24 %."""
    from scheduler.garden.units import parse_quantity
    from scheduler.ledger.entries import Moisture

    book = open_book(garden)
    text = " ".join(content)
    share = parse_quantity(text, "ratio")
    entry = Moisture(book.day(day), book.bed(bed), "content", content_share=share, as_written=text)
    book.enter(entry, told=f"soil moisture of {bed} {text} by volume on {entry.date}")


@log.command()
@click.argument("bed")
@click.argument("reading", nargs=-1, required=True)
@options(ON, BOOK_GARDEN)
def tension(bed: str, reading: tuple[str, ...], day: str, garden: Path) -> None:
    """Keep what a tensiometer at root depth shows: log tension "tall bed" 35 kPa, or 35 cbar."""
    from scheduler.garden.units import parse_quantity
    from scheduler.ledger.entries import Moisture

    book = open_book(garden)
    text = " ".join(reading)
    pressure = parse_quantity(text, "pressure")
    entry = Moisture(book.day(day), book.bed(bed), "tension", tension_kpa=pressure, as_written=text)
    book.enter(entry, told=f"tension in {bed} {text} on {entry.date}")
    if pressure > TENSIOMETER_STOPS:
        click.echo(
            f"caution: a tensiometer stops near {TENSIOMETER_STOPS:.0f} to 85 kPa, so the soil may be drier "
            "than it shows (common practice, no source)",
            err=True,
        )


@log.command()
@BOOK_GARDEN
def undo(garden: Path) -> None:
    """Take back the entry made last; it stays in the file, marked as taken back."""
    from scheduler.show.ledger_view import entry_text

    book = open_book(garden)
    with writing(book.path) as kept:
        last = kept.undo_last(book.moment)
    if last is None:
        raise RillbookError("there is no entry to take back")
    click.echo(f"taken back: {entry_text(last.entry)}", err=True)


@log.command(name="import")
@click.argument("file", type=FILE)
@click.option(
    "--as",
    "table",
    help="Kind of the rows (CSV only): run, reading, gauge, dig, valve, relaid, moisture or bill.",
)
@BOOK_GARDEN
def import_file(file: Path, table: str | None, garden: Path) -> None:
    """Keep many entries from a spreadsheet saved as CSV, or from JSON; all of them or none."""
    from scheduler.ledger.exchange import import_csv, import_json
    from scheduler.ledger.sheetrows import Known

    book = open_book(garden)
    beds = [bed.name for bed in book.garden.beds]
    zones = [zone.name for zone in book.garden.zones]
    known = Known(book.moment, beds=beds, zones=zones, timezone=book.zone)
    text = _text(file)
    with writing(book.path) as kept:
        if file.suffix.lower() == ".json":
            result = import_json(kept, text, known=known)
        elif table is None:
            raise click.UsageError("--as: say what the rows of a CSV are, such as --as gauge")
        else:
            result = import_csv(kept, table, text, known=known)
    for note in result.notes:
        click.echo(note, err=True)
    click.echo(f"kept {result.added} rows; {result.already_kept} were there already", err=True)


def _text(file: Path) -> str:
    """Return the text of a file to be imported."""
    try:
        return file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        reason = fault.strerror if isinstance(fault, OSError) else "it is not UTF-8 text"
        raise RillbookError(f'"{file}": cannot be read ({reason})') from fault


@click.group()
def ledger() -> None:
    """Read the garden's ledger: a SQLite file that any tool can open."""


def _reading(path: Path, use: Callable[[LedgerReader], Any]) -> Any:
    """Return what `use` makes of a plan's ledger."""
    from scheduler.ledger.reading import open_reader

    with open_reader(open_book(path).path) as reader:
        return use(reader)


@ledger.command(name="list")
@click.option(
    "--last", type=click.IntRange(1, 100_000), default=20, show_default=True, help="How many entries."
)
@options(BOOK_GARDEN, FORMAT)
def list_entries(last: int, garden: Path, **form: Any) -> None:
    """List the newest entries made by hand that stand."""
    from scheduler.show.ledger_view import entries_report

    check_form(form)
    report = _reading(garden, lambda reader: entries_report(reader.last_entries(last)))
    answer(report, units="metric", **form)


@ledger.command()
@click.option("--table", help="One table as CSV; without it everything as JSON.")
@click.option("--withdrawn", is_flag=True, help="With entries that were taken back.")
@click.option("--out", type=FILE, help="Write to this file instead of the terminal.")
@BOOK_GARDEN
def export(table: str | None, withdrawn: bool, out: Path | None, garden: Path) -> None:
    """Export everything as JSON, or one table as CSV."""
    from scheduler.ledger.exchange import export_csv, export_json

    def use(reader: LedgerReader) -> str:
        if table is None:
            return export_json(reader, withdrawn=withdrawn)
        return export_csv(reader, table, withdrawn=withdrawn)

    write(_reading(garden, use), out)


@ledger.command()
@click.argument("file", type=FILE)
@BOOK_GARDEN
def restore(file: Path, garden: Path) -> None:
    """Fill an empty ledger from an export of everything (ledger export --withdrawn)."""
    from scheduler.ledger.exchange import restore_json

    book = open_book(garden)
    with writing(book.path) as kept:
        count = restore_json(kept, _text(file))
    click.echo(f"restored {count} rows into {book.path.name}", err=True)
