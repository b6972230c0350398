"""The command that tells what a watering restriction costs, and which remedy cures it."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.answering import (
    DAY,
    FORMAT,
    GARDEN,
    UNITS,
    NotFeasibleError,
    answer,
    as_date,
    check_form,
    load,
    options,
    recorded,
    words,
)

if TYPE_CHECKING:
    from scheduler.garden.dimensions import System
    from scheduler.season.order import OrderCase
    from scheduler.season.trials import Trial

__all__ = ["order"]


@click.command()
@GARDEN
@options(
    click.option(
        "--on",
        type=DAY,
        callback=as_date,
        help="First day of the week to ask about; the hardest week of the order if not given.",
    ),
    UNITS,
    FORMAT,
)
def order(garden: Path, on: date | None, units: System, **form: Any) -> None:
    """Tell what a watering restriction costs the beds and what cures it; no word on whether it binds you."""
    from scheduler.season.order import order_case, order_day
    from scheduler.show.order_view import order_report

    check_form(form)
    plan, daily = load(garden)
    day = order_day(plan, daily, on=on)
    case = order_case(plan, daily, day, notes=recorded(garden, plan, until=day.on))
    report = order_report(plan, case, trials=_try_remedies(case), system=words(units, form))
    answer(report, units=units, **form)
    if case.beds:
        names = ", ".join(plan.beds[bed].name for bed in case.beds)
        raise NotFeasibleError(f"under the order these beds pass their limit: {names}")


def _try_remedies(case: OrderCase) -> list[Trial]:
    """Return what every remedy does for every bed past its limit, with a progress bar on stderr."""
    from scheduler.season.remedies import remedy_steps

    found: list[Trial] = []
    steps = remedy_steps(case)
    hidden = not sys.stderr.isatty() or not steps
    with click.progressbar(steps, label="Trying remedies", file=sys.stderr, hidden=hidden) as bar:
        for step in bar:
            found += step(found)
    return found
