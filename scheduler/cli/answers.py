"""Commands that answer from a plan and its weather: week, bed, season, weather."""

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
    ON,
    PLOT,
    SECONDS,
    UNITS,
    NotFeasibleError,
    answer,
    as_date,
    check_form,
    effort_for,
    first_day,
    load,
    options,
    recorded,
    words,
)
from scheduler.cli.naming import named
from scheduler.errors import RillbookError

if TYPE_CHECKING:
    from scheduler.garden.dimensions import System
    from scheduler.garden.plan import Garden
    from scheduler.season.results import SeasonResult
    from scheduler.season.tariff import SeasonBill
    from scheduler.show.report import Report
    from scheduler.show.season_view import SeasonSpread
    from scheduler.weather.record import DailyWeather

__all__ = ["bed", "season", "weather", "week"]


@click.command()
@GARDEN
@options(ON, SECONDS, UNITS, FORMAT, PLOT)
def week(
    garden: Path, on: date | None, seconds: float, units: System, plot: Path | None, **form: Any
) -> None:
    """Make the run-time table of seven days: timer settings, bed valve minutes, and why."""
    from scheduler.season.run import run_week
    from scheduler.show.week_view import week_report
    from scheduler.timetable.conflict import conflict_of_week

    check_form(form, plot)
    plan, daily = load(garden)
    day = first_day(on, plan)
    result = run_week(
        plan, daily, on=day, notes=recorded(garden, plan, until=day), effort=effort_for(seconds)
    )
    conflict = None
    if result.plan.conflicts:
        conflict = conflict_of_week(day, result.outlook, zones=result.zones, limits=result.limits)
    report = week_report(plan, daily, result=result, system=words(units, form), conflict=conflict)
    if plot is not None:
        from scheduler.show.plot import deficit_figure, save_figure
        from scheduler.show.traces import week_traces

        save_figure(deficit_figure(week_traces(plan, result), title=report.title, system=units), plot)
    answer(report, units=units, **form)
    if result.plan.conflicts:
        raise NotFeasibleError("; ".join(result.plan.conflicts))


@click.command()
@GARDEN
@click.argument("bed")
@options(ON, UNITS, FORMAT, PLOT)
def bed(garden: Path, bed: str, on: date | None, units: System, plot: Path | None, **form: Any) -> None:
    """Show how long to run one bed's valve, each step with its number and source."""
    from scheduler.season.run import run_week
    from scheduler.show.bed_view import bed_report

    check_form(form, plot)
    plan, daily = load(garden)
    bed = named("bed", bed, [one.name for one in plan.beds], where=plan.name)
    day = first_day(on, plan)
    result = run_week(plan, daily, on=day, notes=recorded(garden, plan, until=day))
    report = bed_report(plan, daily, result=result, name=bed, system=words(units, form))
    if plot is not None:
        from scheduler.show.plot import deficit_figure, save_figure
        from scheduler.show.traces import week_traces

        traces = [trace for trace in week_traces(plan, result) if trace.name == bed]
        save_figure(deficit_figure(traces, title=report.title, system=units), plot)
    answer(report, units=units, **form)
    if result.plan.conflicts:
        raise NotFeasibleError("; ".join(result.plan.conflicts))


def _bill(plan: Garden, litres: dict[date, float]) -> SeasonBill | None:
    """Return the season's bill; None without a tariff."""
    from scheduler.season.tariff import season_bill

    if plan.tariff is None or plan.household is None:
        return None
    return season_bill(litres, plan.tariff, household=plan.household, begins=min(litres), ends=max(litres))


def _spread(plan: Garden, result: SeasonResult, bill: SeasonBill | None) -> SeasonSpread:
    """Return the plausible range of a season's water and of its cost.

    Whole units move from bill to bill, so that the cost as reckoned is kept inside.
    """
    from scheduler.season.season_range import season_range
    from scheduler.season.sums import litres_by_day
    from scheduler.show.season_view import SeasonSpread

    water = season_range(plan, result)
    if bill is None:
        return SeasonSpread(water, None)
    days = litres_by_day(result)
    ends = [
        _bill(plan, {day: share * litres for day, litres in days.items()})
        for share in (water.low, water.high)
    ]
    costs = [bill.garden_cost, *(end.garden_cost for end in ends if end is not None)]
    return SeasonSpread(water, (min(costs), max(costs)))


@click.command()
@GARDEN
@click.option(
    "--year",
    type=click.IntRange(1900, 2200),
    help="Replay this year of the record instead of the plan's own.",
)
@click.option("--every-year", is_flag=True, help="Replay every year of the record: water and cost of each.")
@click.option("--shut-valves", is_flag=True, help="Shut each hand valve after what its own bed needs.")
@options(UNITS, FORMAT, PLOT)
def season(
    garden: Path,
    year: int | None,
    every_year: bool,
    shut_valves: bool,
    units: System,
    plot: Path | None,
    **form: Any,
) -> None:
    """Replay the season: water by month and bed, the peak week, and the bill."""
    from scheduler.season.other_year import covered_years, in_year
    from scheduler.season.run import run_season, season_span
    from scheduler.season.sums import litres_by_day, litres_by_month
    from scheduler.show.season_view import season_report

    check_form(form, plot)
    if every_year and (year is not None or plot is not None):
        raise click.UsageError("--every-year goes with neither --year nor --plot")
    plan, daily = load(garden)
    years = covered_years(plan, daily)
    if every_year:
        answer(_every_year(plan, daily, years, shut_valves, words(units, form)), units=units, **form)
        return
    own = season_span(plan)[0].year
    chosen = year if year is not None else own if own in years or not years else years[-1]
    moved = plan if chosen == own else in_year(plan, chosen)
    notes = recorded(garden, plan, until=season_span(plan)[1]) if chosen == own else None
    result = run_season(moved, daily, notes=notes, shut_early=shut_valves)
    bill = _bill(moved, litres_by_day(result))
    note = (
        ""
        if chosen == own
        else f"The plan's dates of {own} are moved to {chosen}"
        + ("." if year is not None else ", the last year that the record covers whole.")
    )
    report = season_report(
        moved,
        daily,
        result=result,
        bill=bill,
        spread=_spread(moved, result, bill),
        system=words(units, form),
        moved=note,
        shut_early=shut_valves,
    )
    if plot is not None:
        from scheduler.show.plot import save_figure, season_figure
        from scheduler.show.traces import season_traces

        months, litres = litres_by_month(result)
        names = [one.name for one in moved.beds]
        figure = season_figure(
            months, litres, beds=names, traces=season_traces(moved, result), title=report.title, system=units
        )
        save_figure(figure, plot)
    answer(report, units=units, **form)
    if any(planned.conflicts for planned in result.plans):
        raise NotFeasibleError("in some weeks the runs do not fit; see the lines marked DOES NOT FIT")


def _every_year(
    plan: Garden, daily: DailyWeather, years: list[int], shut_valves: bool, units: System
) -> Report:
    """Return the report over every year, with a progress bar on stderr."""
    from scheduler.season.other_year import in_year
    from scheduler.season.run import run_season
    from scheduler.season.sums import litres_by_day, peak_week, stress_days
    from scheduler.show.season_view import YearSum, years_report

    if not years:
        raise RillbookError("the record covers no whole season of this plan; --every-year needs at least one")
    sums = []
    hidden = not sys.stderr.isatty()
    with click.progressbar(years, label="Replaying", file=sys.stderr, hidden=hidden) as bar:
        for year in bar:
            moved = in_year(plan, year)
            result = run_season(moved, daily, shut_early=shut_valves)
            bill = _bill(moved, litres_by_day(result))
            peak = peak_week(result)
            sums.append(
                YearSum(
                    year=year,
                    litres=float(result.litres.sum()),
                    peak_first=peak.first,
                    peak_litres=peak.litres,
                    short_days=int(stress_days(result)[0].sum()),
                    cost=None if bill is None else bill.garden_cost,
                )
            )
    currency = "" if plan.tariff is None else plan.tariff.currency
    return years_report(plan, daily, years=sums, currency=currency, system=units)


@click.command()
@GARDEN
@click.option("--from", "begin", type=DAY, callback=as_date, help="First day to list.")
@click.option("--to", "end", type=DAY, callback=as_date, help="Last day to list.")
@options(UNITS, FORMAT)
def weather(garden: Path, begin: date | None, end: date | None, units: System, **form: Any) -> None:
    """Check the weather record of a plan and list its days with reference ET and what was estimated."""
    from scheduler.show.weather_view import weather_report

    check_form(form)
    if begin is not None and end is not None and end < begin:
        raise click.UsageError(f"--from {begin} lies after --to {end}")
    plan, daily = load(garden)
    answer(weather_report(plan, daily, begin=begin, end=end), units=units, **form)
