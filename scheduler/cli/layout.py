"""The command that answers from a plan's layout: flows, checks, parts, and a drawing."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.answering import (
    DAY,
    FILE,
    FORMAT,
    GARDEN,
    UNITS,
    answer,
    as_date,
    check_form,
    load,
    options,
    recorded,
    words,
)
from scheduler.cli.checking import LooksWrongError

if TYPE_CHECKING:
    from scheduler.garden.dimensions import System

__all__ = ["layout"]


@click.command()
@GARDEN
@click.option("--draw", type=FILE, help="Draw the layout to scale, as .svg or .png.")
@click.option(
    "--on",
    type=DAY,
    callback=as_date,
    help="First day of a week whose table tells how long parts are under pressure.",
)
@options(UNITS, FORMAT)
def layout(garden: Path, draw: Path | None, on: date | None, units: System, **form: Any) -> None:
    """Reckon pressures and flows of the layout, check it, and list the parts to buy.

    Ends with 0 if nothing is wrong, though some things may deserve a look, and with 3 if something is wrong.
    """
    from scheduler.garden.planfile import load_plan
    from scheduler.layout.checks import check_layout
    from scheduler.layout.segments import layout_of
    from scheduler.layout.takeoff import takeoff_of
    from scheduler.season.water_quality import water_hazards
    from scheduler.show.layout_view import layout_report

    check_form(form)
    if draw is not None and draw.suffix.lower() not in {".svg", ".png"}:
        raise click.UsageError(f'--draw "{draw}": name the file .svg or .png')
    plan = load_plan(garden)
    laid = layout_of(plan)
    minutes = None if on is None else _minutes(garden, on)
    checked = check_layout(laid, plan, hazards=water_hazards(plan), minutes=minutes)
    report = layout_report(plan, checked, takeoff_of(laid, plan), laid=laid.notes, system=words(units, form))
    if draw is not None:
        from scheduler.show.layout_drawing import layout_figure
        from scheduler.show.plot import save_figure

        save_figure(layout_figure(laid, plan, system=units), draw)
    answer(report, units=units, **form)
    if checked.wrong:
        raise LooksWrongError(f"looks wrong: {'; '.join(checked.wrong)}")


def _minutes(path: Path, on: date) -> dict[str, float]:
    """Return zone -> minutes with water on in a run day of the week's table."""
    from scheduler.season.run import run_week

    plan, daily = load(path)
    result = run_week(plan, daily, on=on, notes=recorded(path, plan, until=on))
    return {setting.zone: float(setting.minutes_per_day) for setting in result.plan.settings}
