"""The command for many hand valves behind one outlet: on which runs each is open, by the trips it takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.answering import (
    FORMAT,
    GARDEN,
    ON,
    UNITS,
    NotFeasibleError,
    answer,
    check_form,
    first_day,
    load,
    options,
    recorded,
    words,
)
from scheduler.cli.naming import named
from scheduler.errors import RillbookError, UnitError

if TYPE_CHECKING:
    from scheduler.garden.dimensions import System
    from scheduler.garden.plan import Garden

__all__ = ["valves"]

#: Two valves shut and opened again: a walk that most weeks have room for. Judgement.
USUAL_TRIPS = 4


@click.command()
@GARDEN
@options(
    click.option(
        "--trips",
        type=click.IntRange(0, 1000),
        help=f"Trips to a valve that you will make in the week; {USUAL_TRIPS} if not given.",
    ),
    click.option("--zone", help="Answer for this zone alone; else for each with more than one bed."),
    click.option(
        "--may-go-short",
        multiple=True,
        metavar="BED[=DEPTH]",
        help='A bed that may go short, as far as it likes or by so much past its limit: "low bed=8 mm". '
        "May be repeated.",
    ),
    ON,
    UNITS,
    FORMAT,
)
def valves(
    garden: Path,
    trips: int | None,
    zone: str | None,
    may_go_short: tuple[str, ...],
    on: date | None,
    units: System,
    **form: Any,
) -> None:
    """Find on which runs each hand valve of an outlet is best open, and what every trip to a valve saves."""
    from scheduler.season.run import run_week
    from scheduler.season.valves import zone_valves
    from scheduler.show.valves_view import valves_report

    check_form(form)
    plan, daily = load(garden)
    zones = _zones(plan, zone)
    may_pass = _may_pass(plan, may_go_short, zones)
    day = first_day(on, plan)
    result = run_week(plan, daily, on=day, notes=recorded(garden, plan, until=day))
    allowed = USUAL_TRIPS if trips is None else trips
    found = zone_valves(plan, daily, result, zones=zones, trips=allowed, may_pass=may_pass)
    report = valves_report(
        plan,
        daily,
        result=result,
        zones=found,
        trips=allowed,
        asked=trips is not None,
        stand_shut=_stand_shut(garden, plan, day),
        system=words(units, form),
    )
    answer(report, units=units, **form)
    if result.plan.conflicts:
        raise NotFeasibleError("; ".join(result.plan.conflicts))


def _zones(plan: Garden, zone: str | None) -> list[str]:
    """Return the zones to answer for; refuse what has no valves to choose between."""
    many = [one.name for one in plan.zones if len(plan.beds_of(one.name)) > 1]
    if zone is None:
        if not many:
            raise RillbookError(
                f"{plan.name}: no zone has more than one bed, so there is no valve to turn between runs; "
                "rillbook week gives each its setting"
            )
        return many
    if named("zone", zone, [one.name for one in plan.zones]) not in many:
        raise RillbookError(
            f'zone "{zone}": it has one bed alone, whose valve can stay open; rillbook week gives its setting'
        )
    return [zone]


def _stand_shut(path: Path, plan: Garden, day: date) -> list[str]:
    """Return the beds whose valve stands shut when a day begins, as the ledger has it."""
    from datetime import datetime, time
    from zoneinfo import ZoneInfo

    from scheduler.ledger.place import ledger_path
    from scheduler.ledger.reading import open_reader

    place = ledger_path(path, plan)
    if not place.is_file():
        return []
    with open_reader(place) as reader:
        changes = reader.valves(datetime.combine(day, time(), tzinfo=ZoneInfo(plan.site.timezone)))
    stands = {kept.entry.bed: kept.entry.state for kept in changes}
    return [bed for bed, state in stands.items() if state == "shut"]


def _may_pass(plan: Garden, given: Sequence[str], zones: Sequence[str]) -> dict[str, float]:
    """Return the beds that may go short, each with the depth by which it may pass its limit [mm]."""
    from scheduler.garden.units import parse_quantity

    names = [one.name for zone in zones for one in plan.beds_of(zone)]
    depths = {}
    for text in given:
        bed, told, depth = (text, "", "") if text in names else text.rpartition("=")
        bed = named("bed", bed.strip() if told else text, names)
        try:
            depths[bed] = parse_quantity(depth.strip(), "water_depth") if told else math.inf
        except UnitError as fault:
            raise RillbookError(f'--may-go-short "{text}": {fault}') from None
    return depths
