"""The command that settles a season beforehand: on which few dates to set the timer, and to what."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.answering import (
    FORMAT,
    GARDEN,
    PLOT,
    UNITS,
    NotFeasibleError,
    answer,
    check_form,
    load,
    options,
    words,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scheduler.garden.dimensions import System
    from scheduler.garden.plan import Garden
    from scheduler.season.settings_replay import ReplayedYears
    from scheduler.season.week_needs import NeedYears
    from scheduler.weather.record import DailyWeather

__all__ = ["settings"]

#: A year has no more weeks than this.
MOST_CHANGES = 53


def _as_share(_context: click.Context, _option: click.Parameter, text: str) -> float:
    """Return a share as a person writes it."""
    from scheduler.errors import UnitError
    from scheduler.garden.units import parse_quantity

    try:
        share = parse_quantity(text, "ratio")
    except UnitError as fault:
        raise click.BadParameter(str(fault)) from None
    if share >= 1.0:
        raise click.BadParameter(f'"{text}" would let a bed go without any water; less than 100 %')
    return share


@click.command()
@GARDEN
@click.option(
    "--changes",
    type=click.IntRange(1, MOST_CHANGES),
    help="Print the card for so many settings, the first one included; without it, what each number costs.",
)
@click.option(
    "--short",
    default="10 %",
    show_default=True,
    callback=_as_share,
    help="By how much of its need a week may be short.",
)
@click.option(
    "--years",
    type=click.Choice(["normals", "p80", "worst"]),
    default="p80",
    show_default=True,
    help="Need to go by: of the normals, what eight years in ten stay below, or the greatest.",
)
@click.option(
    "--up-to",
    type=click.IntRange(1, MOST_CHANGES),
    default=8,
    show_default=True,
    help="Greatest number of settings to look at.",
)
@options(UNITS, FORMAT, PLOT)
def settings(
    garden: Path,
    changes: int | None,
    short: float,
    years: NeedYears,
    up_to: int,
    units: System,
    plot: Path | None,
    **form: Any,
) -> None:
    """Find the few dates on which to set the timer in a season, and what to set it to."""
    from scheduler.season.settings_table import settings_table
    from scheduler.show.settings_view import card_report, changes_report, settings_faults

    check_form(form, plot)
    plan, daily = load(garden)
    table = settings_table(plan, daily, share=short, basis=years, up_to=max(up_to, changes or 1))
    shown = words(units, form)
    weekly = _each_monday(plan, daily, table.years) if changes is None or plot is not None else None
    if changes is None:
        report = changes_report(plan, daily, table=table, weekly=weekly, system=shown)
        faults = settings_faults(table.each_week, short)
    else:
        report = card_report(plan, daily, table=table, changes=changes, system=shown)
        faults = settings_faults(table.rows[changes - 1], short)
    if plot is not None:
        from scheduler.show.plot import changes_figure, save_figure
        from scheduler.show.traces import changes_panels

        panels = changes_panels(plan, table, weekly=weekly, system=units)
        save_figure(changes_figure(panels, title=f"{plan.name}: settings a season"), plot)
    answer(report, units=units, **form)
    if faults:
        raise NotFeasibleError("; ".join(faults))


def _each_monday(plan: Garden, daily: DailyWeather, years: Sequence[int]) -> ReplayedYears:
    """Return how the table of every week fares, with a progress bar on stderr."""
    from scheduler.season.other_year import in_year
    from scheduler.season.run import run_season
    from scheduler.season.settings_replay import mean_of_years, replayed_season

    seasons = []
    hidden = not sys.stderr.isatty()
    with click.progressbar(years, label="Replaying each week's table", file=sys.stderr, hidden=hidden) as bar:
        for year in bar:
            moved = in_year(plan, year)
            seasons.append(replayed_season(moved, run_season(moved, daily)))
    return mean_of_years(seasons)
