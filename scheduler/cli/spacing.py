"""The command that advises on spacing: which beds to lay otherwise so that one run time suits all."""

from __future__ import annotations

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
    first_day,
    load,
    options,
    recorded,
    words,
)

if TYPE_CHECKING:
    from scheduler.garden.dimensions import System

__all__ = ["spacing"]


@click.command()
@GARDEN
@options(
    click.option(
        "--on",
        type=DAY,
        callback=as_date,
        help="First day of the week to go by, best one at the peak; today at the garden if not given.",
    ),
    UNITS,
    FORMAT,
)
def spacing(garden: Path, on: date | None, units: System, **form: Any) -> None:
    """Advise how to space drip line so that one run time suits all beds of an outlet."""
    from scheduler.season.run import run_week
    from scheduler.show.advice_beds import advised_zones
    from scheduler.show.advice_view import advice_report

    check_form(form)
    plan, daily = load(garden)
    day = first_day(on, plan)
    result = run_week(plan, daily, on=day, notes=recorded(garden, plan, until=day))
    zones = advised_zones(plan, result)
    report = advice_report(plan, daily, result=result, zones=zones, system=words(units, form))
    answer(report, units=units, **form)
    if result.plan.conflicts:
        raise NotFeasibleError("; ".join(result.plan.conflicts))
