"""Commands about the plan itself: check, new, schema, crops."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.answering import (
    FILE,
    FORMAT,
    GARDEN,
    UNITS,
    answer,
    check_form,
    options,
    write,
)
from scheduler.errors import RillbookError

if TYPE_CHECKING:
    from scheduler.garden.dimensions import System

__all__ = ["check", "crops", "new", "schema"]


@click.command()
@GARDEN
@FORMAT
def check(garden: Path, **form: Any) -> None:
    """Check a garden plan: every fault at once, or every quantity back in both unit systems."""
    from scheduler.garden.planfile import load_plan
    from scheduler.show.check_view import check_report

    check_form(form)
    plan = load_plan(garden)
    record = plan.weather.file
    found = record is None or (garden.parent / record).is_file()
    answer(check_report(plan, weather_found=found), units="metric", **form)


@click.command()
@options(UNITS, FORMAT)
def crops(units: System, **form: Any) -> None:
    """List the crops of the built-in table with their coefficients and sources."""
    from scheduler.show.crops_view import crops_report

    check_form(form)
    answer(crops_report(), units=units, **form)


@click.command()
@click.option("--out", type=FILE, help="Write to this file instead of the terminal.")
def schema(out: Path | None) -> None:
    """Print the JSON Schema of the plan file, for editors that complete and check TOML."""
    import json

    from scheduler.garden.planfile import plan_schema

    write(json.dumps(plan_schema(), ensure_ascii=False, indent=2) + "\n", out)


@click.command()
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
