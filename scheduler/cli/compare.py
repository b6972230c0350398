"""The command that holds the weekly table against timetables that stay as they were set."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.answering import (
    FORMAT,
    GARDEN,
    UNITS,
    answer,
    check_form,
    load,
    options,
    recorded,
    words,
)
from scheduler.errors import RillbookError

if TYPE_CHECKING:
    from scheduler.garden.dimensions import System
    from scheduler.garden.plan import Garden
    from scheduler.season.compare import Comparison, Timetable
    from scheduler.show.report import Report
    from scheduler.weather.record import DailyWeather

__all__ = ["compare"]

#: What people do who have no table; common practice, without a source.
USUAL_FIXED, USUAL_DEPTH = ("every day 20 min",), ("1 in a week in 2 runs",)


@click.command()
@GARDEN
@click.option(
    "--fixed",
    multiple=True,
    metavar="TEXT",
    help='A timetable that stays: "every day 20 min", "every 3 days 40 min", "Mon Wed Fri 2 x 15 min", or by '
    'zone "fruit: every day 20 min; vines: Mon Thu 30 min". May be given again.',
)
@click.option(
    "--depth",
    multiple=True,
    metavar="TEXT",
    help='A depth on every bed: "1 in a week", "25 mm a week in 3 runs", "1 in a week in 2 runs less rain".',
)
@click.option(
    "--year",
    type=click.IntRange(1900, 2200),
    help="Replay this year of the record instead of the plan's own.",
)
@click.option("--every-year", is_flag=True, help="Replay every year of the record: means and extremes.")
@options(UNITS, FORMAT)
def compare(
    garden: Path,
    fixed: tuple[str, ...],
    depth: tuple[str, ...],
    year: int | None,
    every_year: bool,
    units: System,
    **form: Any,
) -> None:
    """Compare the weekly table with timetables that stay as set: water, cost, drainage, days too dry."""
    from scheduler.season.compare import compare_season
    from scheduler.season.other_year import covered_years, in_year
    from scheduler.season.run import season_span
    from scheduler.show.compare_view import compare_report

    check_form(form)
    if every_year and year is not None:
        raise click.UsageError("--every-year does not go with --year")
    plan, daily = load(garden)
    begins, ends = season_span(plan)
    usual = not fixed and not depth
    timetables = _timetables(
        USUAL_FIXED if usual else fixed, USUAL_DEPTH if usual else depth, plan, begins=begins
    )
    years = covered_years(plan, daily)
    if every_year:
        comparisons = _every_year(plan, daily, years, timetables)
        answer(_years_report(plan, daily, comparisons, usual, words(units, form)), units=units, **form)
        return
    own = begins.year
    chosen = year if year is not None else own if own in years or not years else years[-1]
    replayed = plan if chosen == own else in_year(plan, chosen)
    notes = recorded(garden, plan, until=ends) if chosen == own else None
    report = compare_report(
        replayed,
        daily,
        comparison=compare_season(replayed, daily, timetables=timetables, notes=notes),
        usual=usual,
        moved=_moved(own, chosen, asked=year is not None),
        system=words(units, form),
    )
    answer(report, units=units, **form)


def _timetables(
    fixed: tuple[str, ...], depth: tuple[str, ...], plan: Garden, *, begins: date
) -> list[Timetable]:
    """Return what was asked for; raise UsageError with everything that is wrong in it."""
    from scheduler.errors import Fault
    from scheduler.season.timetable_text import read_depth, read_fixed

    faults: list[Fault] = []
    zones = [zone.name for zone in plan.zones]
    beds = {bed.name: bed.zone for bed in plan.beds}
    read = [
        *(read_fixed(text, zones, begins=begins, faults=faults, beds=beds) for text in fixed),
        *(read_depth(text, faults=faults) for text in depth),
    ]
    timetables = [one for one in read if one is not None]
    labels = [one.label for one in timetables]
    for label in sorted({label for label in labels if labels.count(label) > 1}):
        faults.append(Fault(f'"{label}"', "it is given more than once", "give each timetable once"))
    if faults:
        raise click.UsageError("\n  ".join(["timetables that cannot be read", *map(str, faults)]))
    return timetables


def _moved(own: int, chosen: int, *, asked: bool) -> str:
    """Return that the plan's dates were moved, if they were."""
    if chosen == own:
        return ""
    why = "." if asked else ", the last year that the record covers whole."
    return f"The plan's dates of {own} are moved to {chosen}{why}"


def _every_year(
    plan: Garden, daily: DailyWeather, years: list[int], timetables: list[Timetable]
) -> list[Comparison]:
    """Return the comparison of every year, with a progress bar on stderr."""
    from scheduler.season.compare import compare_season
    from scheduler.season.other_year import in_year

    if not years:
        raise RillbookError("the record covers no whole season of this plan; --every-year needs at least one")
    hidden = not sys.stderr.isatty()
    with click.progressbar(years, label="Replaying", file=sys.stderr, hidden=hidden) as bar:
        return [compare_season(in_year(plan, year), daily, timetables=timetables) for year in bar]


def _years_report(
    plan: Garden, daily: DailyWeather, comparisons: list[Comparison], usual: bool, units: System
) -> Report:
    """Return the report over every year."""
    from scheduler.show.compare_view import compare_years_report

    return compare_years_report(plan, daily, comparisons=comparisons, usual=usual, system=units)
