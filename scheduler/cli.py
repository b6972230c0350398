"""The command line: arguments, exit codes, one function a command.

Only click is imported here; every command imports what it needs, so that ``--help`` and ``check`` stay
quick. stdout is the answer, stderr is talk. Exit codes: 0 answered, 1 input refused, 2 usage,
3 answered but the runs do not fit.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler import __version__
from scheduler.errors import RillbookError

if TYPE_CHECKING:
    from scheduler.garden.dimensions import System
    from scheduler.garden.plan import Garden
    from scheduler.season.tariff import SeasonBill
    from scheduler.show.report import Report
    from scheduler.weather.record import DailyWeather

__all__ = ["main"]

NOT_FEASIBLE = 3

_File = click.Path(dir_okay=False, path_type=Path)
_DAY = click.DateTime(["%Y-%m-%d"])


def _as_date(_context: click.Context, _option: click.Parameter, moment: datetime | None) -> date | None:
    """Return the date of an option that was read as midnight of a day."""
    return None if moment is None else moment.date()


class _NotFeasibleError(RillbookError):
    """The answer is printed, but it is not one that can be kept; carries the exit code only."""

    exit_code = NOT_FEASIBLE


def _options(*options: Callable[..., Any]) -> Callable[..., Any]:
    """Return one decorator out of several."""

    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        for option in reversed(options):
            function = option(function)
        return function

    return decorate


_UNITS = click.option(
    "--units",
    type=click.Choice(["metric", "us"]),
    default="metric",
    show_default=True,
    help="Units that are shown; the plan may use any.",
)
_FORMAT = _options(
    click.option("--json", "as_json", is_flag=True, help="Print JSON, canonical units, full precision."),
    click.option("--csv", "as_csv", is_flag=True, help="Print one table as CSV, canonical units."),
    click.option("--part", help="Which table --csv prints; the first if not given."),
    click.option("--out", type=_File, help="Write to this file instead of the terminal."),
)
_ON = click.option(
    "--on", type=_DAY, callback=_as_date, help="First day of the table; today at the garden if not given."
)
_PLOT = click.option("--plot", type=_File, help="Draw the answer too, as .svg or .png.")
_GARDEN = click.argument("garden", type=_File)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="rillbook")
def rillbook() -> None:
    """Watering minutes, days and cost for raised beds on drip, from a garden plan and a weather record."""


def _write(text: str, out: Path | None) -> None:
    """Print the answer, or put it into a file."""
    from scheduler.show.wholefile import write_whole

    if out is None:
        click.echo(text, nl=False)
    else:
        write_whole(out, lambda file: file.write(text.encode()))


def _answer(
    report: Report, *, units: System, as_json: bool, as_csv: bool, part: str | None, out: Path | None
) -> None:
    """Print a report in the form asked for."""
    from scheduler.show.report import render_csv, render_json, render_text

    if part is not None and part not in {p.key for p in report.parts}:
        known = ", ".join(p.key for p in report.parts)
        raise click.UsageError(f'--part "{part}": there is no such table; one of {known}')
    if as_json:
        _write(render_json(report), out)
    elif as_csv:
        _write(render_csv(report, part=part), out)
    else:
        terminal = out is None and sys.stdout.isatty()
        width = max(80, shutil.get_terminal_size().columns) if terminal else None
        _write(render_text(report, system=units, width=width, colour=terminal), out)


def _check_form(form: dict[str, Any], plot: Path | None = None) -> None:
    """Refuse options that exclude each other, before any work is done."""
    if form["as_json"] and form["as_csv"]:
        raise click.UsageError("--json and --csv exclude each other")
    if form["part"] is not None and not form["as_csv"]:
        raise click.UsageError("--part goes with --csv")
    if plot is not None and plot.suffix.lower() not in {".svg", ".png"}:
        raise click.UsageError(f'--plot "{plot}": name the file .svg or .png')


def _words(units: System, form: dict[str, Any]) -> System:
    """Return the units that sentences use; machine output does not change with --units."""
    return "metric" if form["as_json"] or form["as_csv"] else units


def _load(path: Path) -> tuple[Garden, DailyWeather]:
    """Return the plan and its weather, checked, filled as declared and turned into reference ET."""
    from scheduler.garden.planfile import load_plan
    from scheduler.weather.daily import prepare_weather
    from scheduler.weather.readers import read_weather

    garden = load_plan(path)
    record = read_weather(path.parent / garden.weather.file, garden.weather)
    return garden, prepare_weather(record, garden.site, garden.weather)


def _first_day(on: date | None, garden: Garden) -> date:
    """Return the day asked for, or today at the garden."""
    from scheduler.clock import today

    return on if on is not None else today(garden.site.timezone)


@rillbook.command()
@_GARDEN
@_options(_ON, _UNITS, _FORMAT, _PLOT)
def week(garden: Path, on: date | None, units: System, plot: Path | None, **form: Any) -> None:
    """Make the run-time table of seven days: timer settings, bed valve minutes, and why."""
    from scheduler.season.run import run_week
    from scheduler.show.week_view import week_report

    _check_form(form, plot)
    plan, daily = _load(garden)
    result = run_week(plan, daily, on=_first_day(on, plan))
    report = week_report(plan, daily, result=result, system=_words(units, form))
    if plot is not None:
        from scheduler.show.plot import deficit_figure, save_figure
        from scheduler.show.traces import week_traces

        save_figure(deficit_figure(week_traces(plan, result), title=report.title, system=units), plot)
    _answer(report, units=units, **form)
    if result.plan.conflicts:
        raise _NotFeasibleError("; ".join(result.plan.conflicts))


@rillbook.command()
@_GARDEN
@click.argument("bed")
@_options(_ON, _UNITS, _FORMAT, _PLOT)
def bed(garden: Path, bed: str, on: date | None, units: System, plot: Path | None, **form: Any) -> None:
    """Show how long to run one bed's valve, each step with its number and source."""
    from difflib import get_close_matches

    from scheduler.season.run import run_week
    from scheduler.show.bed_view import bed_report

    _check_form(form, plot)
    plan, daily = _load(garden)
    names = [one.name for one in plan.beds]
    if bed not in names:
        near = get_close_matches(bed, names, n=1, cutoff=0.0)[0]
        raise RillbookError(f'bed "{bed}": not in {garden.name}; did you mean "{near}"?')
    result = run_week(plan, daily, on=_first_day(on, plan))
    report = bed_report(plan, daily, result=result, name=bed, system=_words(units, form))
    if plot is not None:
        from scheduler.show.plot import deficit_figure, save_figure
        from scheduler.show.traces import week_traces

        traces = [trace for trace in week_traces(plan, result) if trace.name == bed]
        save_figure(deficit_figure(traces, title=report.title, system=units), plot)
    _answer(report, units=units, **form)
    if result.plan.conflicts:
        raise _NotFeasibleError("; ".join(result.plan.conflicts))


def _bill(plan: Garden, litres: dict[date, float]) -> SeasonBill | None:
    """Return the season's bill; None without a tariff."""
    from scheduler.season.tariff import season_bill

    if plan.tariff is None or plan.household is None:
        return None
    return season_bill(litres, plan.tariff, household=plan.household, begins=min(litres), ends=max(litres))


def _covered_years(plan: Garden, daily: DailyWeather) -> list[int]:
    """Return the years whose whole season lies in the observed record."""
    from scheduler.season.other_year import in_year
    from scheduler.season.run import season_span

    observed = daily.dates[~daily.forecast]
    first, last = observed[0].item(), observed[-1].item()
    spans = {year: season_span(in_year(plan, year)) for year in range(first.year, last.year + 1)}
    return [year for year, (begins, ends) in spans.items() if first <= begins and ends <= last]


@rillbook.command()
@_GARDEN
@click.option(
    "--year",
    type=click.IntRange(1900, 2200),
    help="Replay this year of the record instead of the plan's own.",
)
@click.option("--every-year", is_flag=True, help="Replay every year of the record: water and cost of each.")
@_options(_UNITS, _FORMAT, _PLOT)
def season(
    garden: Path, year: int | None, every_year: bool, units: System, plot: Path | None, **form: Any
) -> None:
    """Replay the season: water by month and bed, the peak week, and the bill."""
    from scheduler.season.other_year import in_year
    from scheduler.season.run import run_season, season_span
    from scheduler.season.sums import litres_by_day, litres_by_month
    from scheduler.show.season_view import season_report

    _check_form(form, plot)
    if every_year and (year is not None or plot is not None):
        raise click.UsageError("--every-year goes with neither --year nor --plot")
    plan, daily = _load(garden)
    years = _covered_years(plan, daily)
    if every_year:
        _answer(_every_year(plan, daily, years, _words(units, form)), units=units, **form)
        return
    own = season_span(plan)[0].year
    chosen = year if year is not None else own if own in years or not years else years[-1]
    moved = plan if chosen == own else in_year(plan, chosen)
    result = run_season(moved, daily)
    bill = _bill(moved, litres_by_day(result))
    note = (
        ""
        if chosen == own
        else f"The plan's dates of {own} are moved to {chosen}"
        + ("." if year is not None else ", the last year that the record covers whole.")
    )
    report = season_report(moved, daily, result=result, bill=bill, system=_words(units, form), moved=note)
    if plot is not None:
        from scheduler.show.plot import save_figure, season_figure
        from scheduler.show.traces import season_traces

        months, litres = litres_by_month(result)
        names = [one.name for one in moved.beds]
        figure = season_figure(
            months, litres, beds=names, traces=season_traces(moved, result), title=report.title, system=units
        )
        save_figure(figure, plot)
    _answer(report, units=units, **form)
    if any(planned.conflicts for planned in result.plans):
        raise _NotFeasibleError("in some weeks the runs do not fit; see the lines marked DOES NOT FIT")


def _every_year(plan: Garden, daily: DailyWeather, years: list[int], units: System) -> Report:
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
            result = run_season(moved, daily)
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


@rillbook.command()
@_GARDEN
@_FORMAT
def check(garden: Path, **form: Any) -> None:
    """Check a garden plan: every fault at once, or every quantity back in both unit systems."""
    from scheduler.garden.planfile import load_plan
    from scheduler.show.check_view import check_report

    _check_form(form)
    plan = load_plan(garden)
    _answer(
        check_report(plan, weather_found=(garden.parent / plan.weather.file).is_file()),
        units="metric",
        **form,
    )


@rillbook.command()
@_GARDEN
@click.option("--from", "begin", type=_DAY, callback=_as_date, help="First day to list.")
@click.option("--to", "end", type=_DAY, callback=_as_date, help="Last day to list.")
@_options(_UNITS, _FORMAT)
def weather(garden: Path, begin: date | None, end: date | None, units: System, **form: Any) -> None:
    """Check the weather record of a plan and list its days with reference ET and what was estimated."""
    from scheduler.show.weather_view import weather_report

    _check_form(form)
    if begin is not None and end is not None and end < begin:
        raise click.UsageError(f"--from {begin} lies after --to {end}")
    plan, daily = _load(garden)
    _answer(weather_report(plan, daily, begin=begin, end=end), units=units, **form)


@rillbook.command()
@_options(_UNITS, _FORMAT)
def crops(units: System, **form: Any) -> None:
    """List the crops of the built-in table with their coefficients and sources."""
    from scheduler.show.crops_view import crops_report

    _check_form(form)
    _answer(crops_report(), units=units, **form)


@rillbook.command()
@click.option("--out", type=_File, help="Write to this file instead of the terminal.")
def schema(out: Path | None) -> None:
    """Print the JSON Schema of the plan file, for editors that complete and check TOML."""
    import json

    from scheduler.garden.planfile import plan_schema

    _write(json.dumps(plan_schema(), ensure_ascii=False, indent=2) + "\n", out)


@rillbook.command()
@click.argument("directory", type=click.Path(file_okay=False, path_type=Path))
def new(directory: Path) -> None:
    """Write a commented starter plan and a weather record to begin with into DIRECTORY."""
    from importlib.resources import files

    data = files("scheduler.garden.data")
    targets = {"garden.toml": "starter.toml", "weather.csv": "starter_weather.csv"}
    there = [name for name in targets if (directory / name).exists()]
    if there:
        raise RillbookError(
            f"{directory}: {' and '.join(there)} already there; nothing is overwritten, choose another one"
        )
    try:
        directory.mkdir(parents=True, exist_ok=True)
        for name, source in targets.items():
            (directory / name).write_bytes((data / source).read_bytes())
    except OSError as fault:
        raise RillbookError(f"{directory}: cannot be written ({fault.strerror})") from fault
    click.echo(f"Wrote {directory / 'garden.toml'} and {directory / 'weather.csv'}.", err=True)
    click.echo(f"Next: edit the plan, then run: rillbook check {directory / 'garden.toml'}", err=True)


def main(argv: list[str]) -> int:
    """Run a command and return its exit code; a fault that a person can mend is told without a traceback."""
    try:
        rillbook.main(args=argv, prog_name="rillbook", standalone_mode=False)
    except _NotFeasibleError as fault:
        click.echo(f"does not fit: {fault}", err=True)
        return fault.exit_code
    except RillbookError as fault:
        click.echo(str(fault), err=True)
        return fault.exit_code
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except click.ClickException as fault:
        fault.show()
        return fault.exit_code
    except click.Abort:
        click.echo("stopped", err=True)
        return 1
    return 0
