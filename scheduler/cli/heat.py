"""The command for a hot spell: whether it overruns what stands on the timer, and what to set for its days."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.answering import (
    FORMAT,
    GARDEN,
    ON,
    UNITS,
    answer,
    check_form,
    first_day,
    load,
    options,
    recorded,
    words,
)
from scheduler.errors import Fault, RillbookError

if TYPE_CHECKING:
    from scheduler.garden.dimensions import System
    from scheduler.garden.plan import Garden, Timer
    from scheduler.season.standing import GivenSetting

__all__ = ["heat"]

WANTED = (
    'write it such as "ZONE=Mon Wed Fri 25 min", "ZONE=every 2 days 25 min" or "ZONE=every day 2 x 15 min"'
)


@click.command()
@GARDEN
@options(
    ON,
    click.option(
        "--standing",
        "texts",
        multiple=True,
        metavar="ZONE=SETTING",
        help='What a zone is set to, minutes a run day, such as "fruit=Mon Wed Fri 25 min"; again for '
        "each. If not given, what usual weather asks for.",
    ),
    click.option(
        "--advised",
        is_flag=True,
        help="Take the last table that the ledger keeps for what stands on the timer.",
    ),
    UNITS,
    FORMAT,
)
def heat(
    garden: Path, on: date | None, texts: tuple[str, ...], advised: bool, units: System, **form: Any
) -> None:
    """Tell whether forecast heat overruns the timer's setting, and what to set for how long."""
    from scheduler.season.heat import look_for_heat
    from scheduler.season.heat_days import heat_ahead
    from scheduler.season.no_room import why_no_room
    from scheduler.season.run import run_week
    from scheduler.season.setup import set_up
    from scheduler.season.standing import set_by_hand, standing_settings
    from scheduler.show.heat_view import heat_report

    check_form(form)
    plan, daily = load(garden)
    day = first_day(on, plan)
    by_hand = _given(plan, texts, day)
    told, given = _advised(garden, plan, day) if advised else (None, {})
    given |= by_hand
    notes = recorded(garden, plan, until=day)
    result = run_week(plan, daily, on=day, notes=notes)
    setup = set_up(plan, daily, notes)
    ahead = heat_ahead(setup, result)
    standing = standing_settings(setup, ahead.usual, result.outlook.state, on=day)
    if given:
        standing, lost = set_by_hand(setup, ahead.usual, standing, given, on=day)
        if lost:
            faults = [
                Fault(
                    f'--standing: zone "{plan.zones[n].name}"',
                    why_no_room(setup, standing[n], starts=given[n].starts if n in given else 0, on=day),
                    "look at its days and hours, and give the setting that is on the timer",
                )
                for n in lost
            ]
            raise RillbookError("\n".join(map(str, faults)))
    found = look_for_heat(setup, result, ahead, standing)
    report = heat_report(
        setup, result, found, given=frozenset(by_hand), advised=told, system=words(units, form)
    )
    answer(report, units=units, **form)


def _advised(path: Path, plan: Garden, on: date) -> tuple[date, dict[int, GivenSetting]]:
    """Return the first day of the last table advised, and its settings by number of the zone."""
    from scheduler.ledger.place import ledger_path
    from scheduler.ledger.reading import open_reader
    from scheduler.season.standing import advised_setting

    place = ledger_path(path, plan)
    table, runs = None, []
    if place.is_file():
        with open_reader(place) as reader:
            table = reader.latest_timetable(on)
            runs = [] if table is None else [kept.entry for kept in reader.timetable_runs(table.id)]
    if table is None:
        raise RillbookError(
            f"--advised: the ledger keeps no table from {on} or before; rillbook daily records one, or give "
            "the setting with --standing"
        )
    first = table.entry.first_day
    given = {}
    for number, zone in enumerate(plan.zones):
        own = [(run.date, run.start_min, run.minutes) for run in runs if run.zone == zone.name]
        given[number] = advised_setting(own, plan.timer, first=first, on=on)
    return first, given


def _given(plan: Garden, texts: Sequence[str], on: date) -> dict[int, GivenSetting]:
    """Return the settings that a person gave, by number of the zone; all faults at once."""
    from scheduler.season.timetable_text import zone_named

    names = [zone.name for zone in plan.zones]
    beds = {bed.name: bed.zone for bed in plan.beds}
    faults: list[Fault] = []
    given: dict[int, GivenSetting] = {}
    for text in texts:
        where = f'--standing "{text}"'
        name, equals, setting = (part.strip() for part in text.partition("="))
        if not equals:
            faults.append(Fault(where, "has no = after the name of a zone", WANTED))
            continue
        zone = zone_named(name, names, where, faults, beds=beds)
        found = _setting(setting, plan.timer, on, where, faults)
        if zone not in names:
            continue
        number = names.index(zone)
        if number in given:
            faults.append(Fault(where, "names its zone a second time", "give one setting for each zone"))
        elif found is not None:
            given[number] = found
    if faults:
        raise RillbookError("\n".join(str(fault) for fault in faults))
    return given


def _setting(text: str, timer: Timer, on: date, where: str, faults: list[Fault]) -> GivenSetting | None:
    """Return one setting; None and a fault if it is none, or none that the timer can hold."""
    from scheduler.season.standing import GivenSetting
    from scheduler.season.timetable_text import days_text, read_setting
    from scheduler.timetable.fixed import runs_on
    from scheduler.timetable.holding import days_beyond_timer, runs_beyond_timer
    from scheduler.timetable.patterns import DAYS_PER_WEEK
    from scheduler.timetable.runtime import splits

    setting = read_setting(text, zone="", begins=on, where=where, faults=faults)
    if setting is None:
        return None
    against = days_beyond_timer(setting, timer)
    # Minutes that no number of runs is named for may be split among the timer's starts.
    if setting.starts > 1 or (setting.minutes and not splits(setting.minutes, timer)):
        against += runs_beyond_timer(setting, timer)
    if against:
        faults.append(Fault(where, f"cannot be set: {'; '.join(against)}", _held(timer)))
        return None
    mask = tuple(runs_on(setting, on + timedelta(days=day)) for day in range(DAYS_PER_WEEK))
    starts = setting.starts if setting.starts > 1 else 0
    return GivenSetting(mask, days_text(setting), setting.minutes_per_day, starts=starts)


def _held(timer: Timer) -> str:
    """Return what the timer holds in a day, in words."""
    most = timer.longest_run * timer.starts_per_day
    return (
        f"the timer holds up to {timer.starts_per_day} runs of {timer.shortest_run} to {timer.longest_run} "
        f"min in steps of {timer.step}, {most} min a day in all"
    )
