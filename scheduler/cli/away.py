"""The command for an absence: how long beds last, what a visit should do, what a stuck timer costs."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.answering import (
    DAY,
    FORMAT,
    GARDEN,
    UNITS,
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
    from datetime import datetime

    from scheduler.garden.dimensions import System
    from scheduler.garden.plan import Garden
    from scheduler.season.stuck_open import StuckOutlet

__all__ = ["away"]


def _dates(_context: click.Context, _option: click.Parameter, moments: tuple[datetime, ...]) -> list[date]:
    """Return the dates of an option that may be given more than once, in order, each once."""
    return sorted({moment.date() for moment in moments})


@click.command()
@GARDEN
@options(
    click.option(
        "--on", type=DAY, callback=as_date, help="Day of leaving; today at the garden if not given."
    ),
    click.option(
        "--days",
        type=click.IntRange(1, 60),
        default=7,
        show_default=True,
        help="Days away, return after them.",
    ),
    click.option(
        "--visit",
        "visits",
        type=DAY,
        callback=_dates,
        multiple=True,
        help="Day on which someone comes by; give it again for each. If not given, the best one day.",
    ),
    UNITS,
    FORMAT,
)
def away(garden: Path, on: date | None, days: int, visits: list[date], units: System, **form: Any) -> None:
    """Tell how long beds last without a run, what a visit should do, and what a stuck timer would cost."""
    from scheduler.season.away import look_at_absence
    from scheduler.season.run import run_week
    from scheduler.season.setup import set_up
    from scheduler.season.stuck_open import stuck_outlets
    from scheduler.show.away_view import Left, away_report

    check_form(form)
    plan, daily = load(garden)
    day = first_day(on, plan)
    last = day + timedelta(days=days - 1)
    if outside := [str(visit) for visit in visits if not day <= visit <= last]:
        raise click.UsageError(f"--visit {', '.join(outside)}: the absence runs from {day} to {last}")
    notes = recorded(garden, plan, until=day)
    result = run_week(plan, daily, on=day, notes=notes)
    setup = set_up(plan, daily, notes)
    absence = look_at_absence(setup, result, days_away=days)
    stuck = stuck_outlets(setup, absence.ahead[absence.expected], result.outlook.state, n_days=days)
    costs = [_cost(plan, outlet, begins=day) for outlet in stuck]
    left = Left(setup, result, absence, days=days, visits=tuple((v - day).days for v in visits))
    answer(away_report(left, stuck, costs, system=words(units, form)), units=units, **form)


def _cost(plan: Garden, outlet: StuckOutlet, *, begins: date) -> Decimal | None:
    """Return what the water of an outlet stuck open adds to the bills; None without a tariff."""
    from scheduler.season.tariff import season_bill

    if plan.tariff is None or plan.household is None:
        return None
    litres = {begins + timedelta(days=n): float(volume) for n, volume in enumerate(outlet.by_day)}
    bill = season_bill(litres, plan.tariff, household=plan.household, begins=begins, ends=max(litres))
    return bill.garden_cost
