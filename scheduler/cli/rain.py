"""The command for rain that a gauge has caught: until when no run is needed."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from shlex import quote
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
from scheduler.errors import Fault, RillbookError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scheduler.garden.dimensions import System

__all__ = ["rain"]

#: A day's rain beyond this is a slip of the pen [mm]; the ledger takes no more either.
MOST_RAIN = 500.0


@click.command()
@GARDEN
@click.argument("depth", nargs=-1, required=True)
@options(
    click.option(
        "--on", type=DAY, callback=as_date, help="Day of the rain; today at the garden if not given."
    ),
    click.option(
        "--under-leaves",
        "cans",
        multiple=True,
        metavar="BED=DEPTH",
        help='A second can below the leaves of a bed, such as "tall bed=9 mm"; again for each bed.',
    ),
    UNITS,
    FORMAT,
)
def rain(
    garden: Path, depth: tuple[str, ...], on: date | None, cans: tuple[str, ...], units: System, **form: Any
) -> None:
    """Tell until when no run is needed after rain in your gauge, such as: rain garden.toml 18 mm.

    Nothing is recorded; `rillbook log rain` does that.
    """
    from scheduler.season.rain_skip import skip_after_rain
    from scheduler.season.run import run_week
    from scheduler.season.setup import set_up
    from scheduler.show.rain_view import Caught, rain_report

    check_form(form)
    plan, daily = load(garden)
    gauge, under = _readings(" ".join(depth), cans, [bed.name for bed in plan.beds])
    day = first_day(on, plan)
    notes = recorded(garden, plan, until=day)
    result = run_week(plan, daily, on=day, notes=notes)
    setup = set_up(plan, daily, notes)
    skip = skip_after_rain(setup, result, notes, gauge=gauge, under_leaves=under)
    kept = next((note.rain for note in notes.gauges if note.on == day), None)
    caught = Caught(
        gauge=gauge, as_written=" ".join(depth), under_leaves=under, kept=kept, plan_file=quote(str(garden))
    )
    report = rain_report(setup, result, skip, caught=caught, system=words(units, form))
    answer(report, units=units, **form)


def _readings(text: str, cans: Sequence[str], beds: list[str]) -> tuple[float, dict[int, float]]:
    """Return the rain in the open [mm], and bed number -> rain below its leaves; all faults at once."""
    faults: list[Fault] = []
    gauge = _depth("gauge in the open", text, faults)
    under: dict[int, float] = {}
    for can in cans:
        name, equals, depth = (part.strip() for part in can.rpartition("="))
        where = f'--under-leaves "{can}"'
        if not equals or name not in beds:
            faults.append(
                Fault(where, "names no bed of the plan", f'write one of {", ".join(beds)} as "BED=9 mm"')
            )
            continue
        if beds.index(name) in under:
            faults.append(Fault(where, "names its bed a second time", "give one reading for each bed"))
        caught = _depth(where, depth, faults)
        if gauge is not None and caught is not None and caught > gauge:
            faults.append(
                Fault(where, f"more than the {text} in the open", "look again which can stood where")
            )
        under[beds.index(name)] = caught or 0.0
    if gauge is None or faults:
        raise RillbookError("\n".join(str(fault) for fault in faults))
    return gauge, under


def _depth(where: str, text: str, faults: list[Fault]) -> float | None:
    """Return a depth of rain [mm]; a fault and None if it is none."""
    from scheduler.errors import UnitError
    from scheduler.garden.units import parse_quantity

    try:
        depth = parse_quantity(text, "water_depth")
    except UnitError as fault:
        faults.append(Fault(where, "cannot be read", str(fault)))
        return None
    if depth > MOST_RAIN:
        faults.append(
            Fault(where, f'"{text}" is more than a day can rain', 'write it such as "18 mm" or "0.7 in"')
        )
        return None
    return depth
