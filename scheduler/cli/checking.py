"""The command that sets readings against what was expected: reconcile."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.answering import FORMAT, GARDEN, UNITS, answer, check_form, options, words
from scheduler.cli.naming import named
from scheduler.errors import RillbookError

if TYPE_CHECKING:
    from scheduler.garden.dimensions import System
    from scheduler.garden.plan import Garden
    from scheduler.reconcile.records import Records

__all__ = ["LooksWrongError", "reconcile"]


class LooksWrongError(RillbookError):
    """The answer is printed, and something in it looks wrong."""

    exit_code = 3


@click.command()
@GARDEN
@click.option("--bed", help="Only the flow of this bed; leaks and the whole garden are left out.")
@options(UNITS, FORMAT)
def reconcile(garden: Path, bed: str | None, units: System, **form: Any) -> None:
    """Set readings against what was expected: flow of each bed, drift, leaks, the whole garden's water.

    Reads the garden's ledger, where `rillbook log` keeps readings. Ends with 0 if nothing looks wrong or too
    little is recorded to tell, and with 3 if something looks wrong.
    """
    from scheduler.garden.planfile import load_plan
    from scheduler.reconcile.from_ledger import comparison_inputs
    from scheduler.reconcile.overview import only_bed, overview
    from scheduler.show.reconcile_view import reconcile_report

    check_form(form)
    plan = load_plan(garden)
    name = None if bed is None else named("bed", bed, [one.name for one in plan.beds], where=plan.name)
    found = overview(comparison_inputs(plan, _records(garden, plan)))
    if name is not None:
        found = only_bed(found, name)
    answer(reconcile_report(plan, found, plan=str(garden), system=words(units, form)), units=units, **form)
    if found.wrong:
        raise LooksWrongError(f"looks wrong: {', '.join(found.wrong)}")


def _records(path: Path, plan: Garden) -> Records:
    """Return what the plan's ledger holds; nothing if there is no ledger yet."""
    from scheduler.clock import now
    from scheduler.ledger.place import ledger_path
    from scheduler.ledger.reading import open_reader
    from scheduler.reconcile.from_ledger import NOTHING, read_records

    ledger = ledger_path(path, plan)
    zone = now(plan.site.timezone).tzinfo
    if not ledger.exists() or zone is None:
        return NOTHING
    with open_reader(ledger) as reader:
        return read_records(reader, plan, zone=zone)
