"""The command for a hot spell: whether it overruns what stands on the timer, and what to set for its days."""

from __future__ import annotations

import re
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

_TEXT = re.compile(r"(?P<days>.*?)\s*(?P<minutes>\d+)\s*min", re.IGNORECASE)
_EVERY = re.compile(r"every(?: (?P<number>\d+))? days?", re.IGNORECASE)
WANTED = (
    'write it such as "OUTLET=Mon Wed Fri 25 min", "OUTLET=every 2 days 25 min" or "OUTLET=every day 25 min"'
)


@click.command()
@GARDEN
@options(
    ON,
    click.option(
        "--standing",
        "texts",
        multiple=True,
        metavar="OUTLET=SETTING",
        help='What an outlet is set to, minutes a run day, such as "fruit=Mon Wed Fri 25 min"; again for '
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
            raise RillbookError(
                f"--standing: {', '.join(plan.zones[n].name for n in lost)} finds no room in the watering "
                "hours beside the others; give the setting of every outlet"
            )
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
    names = [zone.name for zone in plan.zones]
    faults: list[Fault] = []
    given: dict[int, GivenSetting] = {}
    for text in texts:
        where = f'--standing "{text}"'
        name, equals, setting = (part.strip() for part in text.partition("="))
        if not equals or name not in names:
            faults.append(Fault(where, "names no outlet of the plan", f"one of {', '.join(names)}; {WANTED}"))
        elif names.index(name) in given:
            faults.append(Fault(where, "names its outlet a second time", "give one setting for each outlet"))
        elif (found := _setting(setting, plan.timer, on, where, faults)) is not None:
            given[names.index(name)] = found
    if faults:
        raise RillbookError("\n".join(str(fault) for fault in faults))
    return given


def _setting(text: str, timer: Timer, on: date, where: str, faults: list[Fault]) -> GivenSetting | None:
    """Return one setting; None and a fault if it is none, or none that the timer can hold."""
    from scheduler.season.standing import GivenSetting
    from scheduler.timetable.runtime import splits

    parts = _TEXT.fullmatch(text)
    mask = None if parts is None else _mask(parts["days"], timer, on)
    if parts is None or mask is None:
        faults.append(Fault(where, "is no setting that this timer can hold", WANTED))
        return None
    minutes = int(parts["minutes"])
    if minutes and not splits(minutes, timer):
        most = timer.longest_run * timer.starts_per_day
        faults.append(
            Fault(
                where,
                f"{minutes} min a day cannot be set",
                f"the timer holds up to {timer.starts_per_day} runs of {timer.shortest_run} to "
                f"{timer.longest_run} min in steps of {timer.step}, {most} min in all",
            )
        )
        return None
    return GivenSetting(mask, " ".join(parts["days"].split()), minutes)


def _mask(words: str, timer: Timer, on: date) -> tuple[bool, ...] | None:
    """Return the run days of the week from `on`; intervals begin on that day; None if it has none such."""
    from scheduler.timetable.patterns import DAYS_PER_WEEK
    from scheduler.timetable.windows import weekday

    days = range(DAYS_PER_WEEK)
    if every := _EVERY.fullmatch(words.strip()):
        interval = int(every["number"] or 1)
        # A timer with weekdays alone can run every day, which is all of them.
        known = interval == 1 or ("every n days" in timer.day_choices and interval <= timer.longest_interval)
        return tuple(day % interval == 0 for day in days) if known and interval else None
    names = [word.strip(",").capitalize()[:3] for word in words.split()]
    week = [weekday(on + timedelta(days=day)) for day in days]
    if not names or not set(names) <= set(week) or "weekdays" not in timer.day_choices:
        return None
    return tuple(name in names for name in week)
