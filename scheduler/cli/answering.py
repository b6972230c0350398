"""Options that commands share, and how an answer leaves the program."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.errors import RillbookError

if TYPE_CHECKING:
    from scheduler.garden.dimensions import System
    from scheduler.garden.plan import Garden
    from scheduler.season.field import FieldNotes
    from scheduler.show.report import Report
    from scheduler.timetable.effort import Effort
    from scheduler.weather.record import DailyWeather

__all__ = [
    "DAY",
    "FILE",
    "FORMAT",
    "GARDEN",
    "ON",
    "PLOT",
    "SECONDS",
    "UNITS",
    "NotFeasibleError",
    "answer",
    "as_date",
    "check_form",
    "effort_for",
    "first_day",
    "load",
    "options",
    "recorded",
    "words",
    "write",
]

NOT_FEASIBLE = 3

FILE = click.Path(dir_okay=False, path_type=Path)


class _Day(click.DateTime):
    """A date as year-month-day; others are refused in words."""

    name = "day"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the date's midnight."""
        try:
            return super().convert(value, param, ctx)
        except click.BadParameter:
            self.fail(f'"{value}" is no date: write year-month-day, such as 2026-07-13', param, ctx)


DAY = _Day(["%Y-%m-%d"])


def as_date(_context: click.Context, _option: click.Parameter, moment: datetime | None) -> date | None:
    """Return the date of an option that was read as midnight of a day."""
    return None if moment is None else moment.date()


class NotFeasibleError(RillbookError):
    """The answer is printed, but it is not one that can be kept; carries the exit code only."""

    exit_code = NOT_FEASIBLE


def options(*parts: Callable[..., Any]) -> Callable[..., Any]:
    """Return one decorator out of several."""

    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        for option in reversed(parts):
            function = option(function)
        return function

    return decorate


UNITS = click.option(
    "--units",
    type=click.Choice(["metric", "us"]),
    default="metric",
    show_default=True,
    help="Units that are shown; the plan may use any.",
)
FORMAT = options(
    click.option("--json", "as_json", is_flag=True, help="Print JSON, canonical units, full precision."),
    click.option("--csv", "as_csv", is_flag=True, help="Print one table as CSV, canonical units."),
    click.option("--part", help="Which table --csv prints; the first if not given."),
    click.option("--out", type=FILE, help="Write to this file instead of the terminal."),
)
ON = click.option(
    "--on", type=DAY, callback=as_date, help="First day of the table; today at the garden if not given."
)
PLOT = click.option("--plot", type=FILE, help="Draw the answer too, as .svg or .png.")
SECONDS = click.option(
    "--seconds",
    type=click.FloatRange(min=0.0),
    default=10.0,
    show_default=True,
    help="How long to look for a better setting where outlets crowd each other.",
)
GARDEN = click.argument("garden", type=FILE)


def write(text: str, out: Path | None) -> None:
    """Print the answer, or put it into a file."""
    from scheduler.show.wholefile import write_whole

    if out is None:
        click.echo(text, nl=False)
    else:
        write_whole(out, lambda file: file.write(text.encode()))


def answer(
    report: Report, *, units: System, as_json: bool, as_csv: bool, part: str | None, out: Path | None
) -> None:
    """Print a report in the form asked for."""
    from scheduler.show.report import render_csv, render_json, render_text

    if part is not None and part not in {p.key for p in report.parts}:
        known = ", ".join(p.key for p in report.parts)
        raise click.UsageError(f'--part "{part}": there is no such table; one of {known}')
    if as_json:
        write(render_json(report), out)
    elif as_csv:
        write(render_csv(report, part=part), out)
    else:
        terminal = out is None and sys.stdout.isatty()
        width = max(80, shutil.get_terminal_size().columns) if terminal else None
        write(render_text(report, system=units, width=width, colour=terminal), out)


def check_form(form: dict[str, Any], plot: Path | None = None) -> None:
    """Refuse options that exclude each other, before any work is done."""
    if form["as_json"] and form["as_csv"]:
        raise click.UsageError("--json and --csv exclude each other")
    if form["part"] is not None and not form["as_csv"]:
        raise click.UsageError("--part goes with --csv")
    if plot is not None and plot.suffix.lower() not in {".svg", ".png"}:
        raise click.UsageError(f'--plot "{plot}": name the file .svg or .png')


def words(units: System, form: dict[str, Any]) -> System:
    """Return the units that sentences use; machine output does not change with --units."""
    return "metric" if form["as_json"] or form["as_csv"] else units


def load(path: Path) -> tuple[Garden, DailyWeather]:
    """Return the plan and its weather, from the plan's record and what the ledger keeps, ready for use."""
    from contextlib import ExitStack

    from scheduler.clock import now
    from scheduler.garden.planfile import load_plan
    from scheduler.ledger.place import ledger_path
    from scheduler.weather.gather import gather_weather

    garden = load_plan(path)
    place = ledger_path(path, garden)
    with ExitStack() as stack:
        reader = None
        if place.is_file():
            from scheduler.ledger.reading import open_reader

            reader = stack.enter_context(open_reader(place))
        moment = now(garden.site.timezone)
        return garden, gather_weather(garden, path.parent, reader=reader, moment=moment)


def recorded(path: Path, garden: Garden, *, until: date) -> FieldNotes:
    """Return what the garden's ledger knows up to a day; nothing if there is no ledger."""
    from scheduler.ledger.place import ledger_path
    from scheduler.season.field import FieldNotes

    place = ledger_path(path, garden)
    if not place.is_file():
        return FieldNotes()
    from scheduler.ledger.fieldnotes import field_notes
    from scheduler.ledger.reading import open_reader

    begins = min(state.on for state in garden.soil_states)
    with open_reader(place) as reader:
        return field_notes(reader, garden, begins=begins, ends=until)


def effort_for(seconds: float) -> Effort:
    """Return the effort of a search that may take some seconds from now on."""
    from scheduler.clock import elapsed
    from scheduler.timetable.effort import Effort

    begun = elapsed()
    return Effort(seconds_left=lambda: seconds - (elapsed() - begun))


def first_day(on: date | None, garden: Garden) -> date:
    """Return the day asked for, or today at the garden."""
    from scheduler.clock import today

    return on if on is not None else today(garden.site.timezone)
