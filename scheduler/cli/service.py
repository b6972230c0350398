"""Commands that keep a garden going: daily, serve, unit, publish."""

from __future__ import annotations

import sys
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.answering import (
    FILE,
    FORMAT,
    GARDEN,
    ON,
    UNITS,
    NotFeasibleError,
    answer,
    check_form,
    first_day,
    options,
    write,
)
from scheduler.errors import RillbookError

if TYPE_CHECKING:
    from datetime import time

    from scheduler.garden.dimensions import System

__all__ = ["daily", "publish", "serve", "unit"]

_AT = click.option(
    "--at",
    type=click.DateTime(["%H:%M"]),
    default="04:10",
    show_default=True,
    help="Hour of the daily job on the garden's clock, not between 01:00 and 03:00.",
)


def _say(line: str) -> None:
    """Tell one line beside the answer."""
    click.echo(line, err=True)


def _hour(at: datetime) -> time:
    """Return an hour for the daily job, or refuse it."""
    from scheduler.service.serve import check_hour

    check_hour(at.time())
    return at.time()


@click.command()
@GARDEN
@options(ON, UNITS, FORMAT)
def daily(garden: Path, on: date | None, units: System, **form: Any) -> None:
    """Do one day's work and end: fetch weather, make the table, record it, publish, tell what changed.

    For cron or another timer; run twice on a day it records nothing new.
    """
    from scheduler.clock import now
    from scheduler.garden.planfile import load_plan
    from scheduler.service.day import daily_job
    from scheduler.service.telling import day_report

    check_form(form)
    plan = load_plan(garden)
    moment = now(plan.site.timezone)
    report = daily_job(garden, on=on or moment.date(), moment=moment)
    answer(day_report(report), units=units, **form)
    for problem in report.problems:
        _say(f"problem: {problem}")
    if report.table.conflicts:
        raise NotFeasibleError("; ".join(report.table.conflicts))


@click.command()
@click.argument("gardens", metavar="GARDEN...", nargs=-1, required=True, type=FILE)
@_AT
def serve(gardens: tuple[Path, ...], at: datetime) -> None:
    """Stay and do each garden's daily work at its hour; a table of today that is missing is made at once.

    One line a day goes to stderr. A signal to end lets a run under way finish.
    """
    import gc
    from threading import Event

    from scheduler.service.serve import serve as serve_gardens
    from scheduler.service.serve import stopped_by_signals

    hour = _hour(at)
    stop = Event()
    # What a short command can leave behind would pile up here.
    gc.enable()
    with stopped_by_signals(stop):
        serve_gardens(gardens, at=hour, stop=stop, say=_say)


@click.command()
@GARDEN
@_AT
@click.option("--out", type=FILE, help="Write to this file instead of the terminal.")
def unit(garden: Path, at: datetime, out: Path | None) -> None:
    """Print a systemd unit that keeps `serve` running for a garden."""
    from getpass import getuser

    from scheduler.garden.planfile import load_plan
    from scheduler.service.unit import unit_text

    plan = load_plan(garden)
    hour = _hour(at)
    command = (sys.executable, "-m", "scheduler")
    text = unit_text(command, garden.absolute(), garden=plan, at=hour, user=getuser())
    write(text, out)


@click.command()
@GARDEN
@ON
def publish(garden: Path, on: date | None) -> None:
    """Put the table of a day where the plan's [publish] asks; the recorded one, or one made for it."""
    from scheduler.clock import now
    from scheduler.garden.planfile import load_plan
    from scheduler.publish.targets import publish_table
    from scheduler.service.current import current_table

    plan = load_plan(garden)
    if plan.publish is None:
        raise RillbookError(
            f'{garden}: publish: nothing to publish to; add [publish] with json = "timetable.json", '
            'calendar = "watering.ics" or mqtt'
        )
    day = first_day(on, plan)
    table, stored = current_table(garden, on=day, moment=now(plan.site.timezone))
    done, failed = publish_table(table, plan.publish, folder=garden.parent, stamp=table.computed_at)
    source = "as recorded" if stored else "not recorded"
    for place in done:
        click.echo(f"{place}: table of the week from {day}, {source}")
    if failed:
        raise RillbookError("\n".join(failed))
