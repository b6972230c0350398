"""One day's work: weather in, table out, recorded once, published, and told where a person should act."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from scheduler.errors import Fault, LedgerError, RillbookError, SourceError, WeatherError
from scheduler.garden.plan import Garden
from scheduler.garden.planfile import load_plan
from scheduler.ledger.entries import Kept, PlanVersion, Timetable
from scheduler.ledger.place import ledger_path
from scheduler.ledger.reading import LedgerReader
from scheduler.ledger.store import Ledger
from scheduler.publish.table import WeekTable
from scheduler.publish.targets import publish_table
from scheduler.service.delivery import deliver, put_in_outbox
from scheduler.service.making import (
    DayInputs,
    advice_of,
    day_inputs,
    notes_until,
    settled_week,
    table_of,
    timetable_entry,
    timetable_runs,
)
from scheduler.service.notices import Doubt, Notice, notices_of_day
from scheduler.service.outbox import outbox_path
from scheduler.service.senders import Post
from scheduler.service.settle import Settled
from scheduler.service.tools import Tools
from scheduler.weather.record import DailyWeather

__all__ = ["DayReport", "daily_job", "has_table", "missing_days"]

#: How often a table is made anew because another program recorded one meanwhile.
TRIES = 3


@dataclass(frozen=True, slots=True)
class DayReport:
    """What one day's work did.

    Attributes
    ----------
    garden : str
        Its name.
    on : date
    table : WeekTable
        The timetable of the week from `on`.
    timetable_id : int
        Its row in the ledger.
    recorded : bool
        False if the same table had been recorded before.
    missed : tuple of date
        Days since the last table that had none.
    notices : tuple of Notice
        What is new to tell.
    told, published : tuple of str
        Receivers that were told something, and places that have the table.
    problems : tuple of str
        What went wrong without stopping the work.
    """

    garden: str
    on: date
    table: WeekTable
    timetable_id: int
    recorded: bool
    missed: tuple[date, ...]
    notices: tuple[Notice, ...]
    told: tuple[str, ...]
    published: tuple[str, ...]
    problems: tuple[str, ...]


def missing_days(ledger: LedgerReader, on: date) -> tuple[date, ...]:
    """Return the days before `on` that have no table though an earlier day has one.

    Tables of days after `on`, made while the clock was ahead, do not count.
    """
    newest = ledger.latest_timetable(on)
    if newest is None:
        return ()
    first = newest.entry.first_day
    return tuple(first + timedelta(days=n) for n in range(1, (on - first).days))


def has_table(plan_path: Path, *, on: date) -> bool:
    """Return True if the ledger of a plan has the table of a day.

    Raises
    ------
    RillbookError
        If the plan or the ledger cannot be used.
    """
    path = ledger_path(plan_path, load_plan(plan_path))
    if not path.exists():
        return False
    with Ledger.open(path, create=False) as ledger:
        newest = ledger.latest_timetable(on)
        return newest is not None and newest.entry.first_day == on


def daily_job(
    plan_path: Path, *, on: date, moment: datetime, tools: Tools | None = None, post: Post | None = None
) -> DayReport:
    """Do the work of one day; done again on unchanged inputs it records nothing new.

    Weather that cannot be fetched, places that cannot be published to and receivers that cannot be told are
    problems in the report, not errors. Notices that did not get through are sent at the next run.

    Parameters
    ----------
    plan_path : Path
    on : date
        Today at the garden.
    moment : datetime
        Now, aware.
    tools : Tools or None
        None for the usual ones.
    post : Post or None
        How notices leave; None for the usual way.

    Raises
    ------
    RillbookError
        If the plan, the weather or the ledger do not allow a table.
    """
    if tools is None:
        from scheduler.service.usual import USUAL_TOOLS

        tools = USUAL_TOOLS
    garden = load_plan(plan_path)
    text = plan_path.read_text(encoding="utf-8-sig")
    path, folder = ledger_path(plan_path, garden), plan_path.parent
    with Ledger.open(path) as ledger:
        missed = missing_days(ledger, on)
        work = _Work(plan_path, garden, ledger, moment, tools)
        daily, problems = work.weather(on)
        doubts = work.doubts(problems)
        notes = notes_until(on, garden, ledger)
        inputs = day_inputs(garden, text, on=on, daily=daily, notes=notes, doubts=doubts)
        book = _Book(ledger, outbox_path(path), moment)
        kept, notices, recorded = book.enter(inputs, problems)
    table = table_of(kept.entry, garden)
    published: tuple[str, ...] = ()
    if garden.publish is not None:
        published, unpublished = publish_table(
            table, garden.publish, folder=folder, stamp=kept.entry.computed_at
        )
        problems += unpublished
    post = post or Post(garden.name, folder, moment)
    told, untold = deliver(outbox_path(path), garden.notify, post=post)
    return DayReport(
        garden=garden.name,
        on=on,
        table=table,
        timetable_id=kept.id,
        recorded=recorded,
        missed=missed,
        notices=notices,
        told=told,
        published=published,
        problems=(*problems, *untold),
    )


@dataclass(frozen=True, slots=True)
class _Work:
    """A day's work and what it asks of other parts."""

    plan_path: Path
    garden: Garden
    ledger: Ledger
    moment: datetime
    tools: Tools

    def weather(self, on: date) -> tuple[DailyWeather, list[str]]:
        """Return the weather, new days fetched, and what went wrong; what is stored is made do with."""
        problems: list[str] = []
        unreachable: SourceError | None = None
        try:
            for problem in self.tools.fetch(
                self.plan_path, self.garden, self.ledger, on=on, moment=self.moment
            ):
                problems.append(f"weather: {problem}")
        except SourceError as fault:
            unreachable = fault
            problems.append(f"weather: {fault}")
        try:
            daily = self.tools.gather(self.plan_path, self.garden, self.ledger, moment=self.moment)
        except WeatherError:
            if unreachable is not None:
                raise unreachable from None
            raise
        return daily, problems

    def doubts(self, problems: list[str]) -> tuple[Doubt, ...]:
        """Return the readings that look wrong; if they cannot be looked at, that is a problem."""
        try:
            return tuple(self.tools.doubts(self.plan_path, self.garden, self.ledger))
        except RillbookError as fault:
            problems.append(f"readings: {fault}")
            return ()


@dataclass(frozen=True, slots=True)
class _Book:
    """Where a day's work is entered."""

    ledger: Ledger
    outbox: Path
    moment: datetime

    def enter(
        self, inputs: DayInputs, problems: list[str]
    ) -> tuple[Kept[Timetable], tuple[Notice, ...], bool]:
        """Return the day's table, what is new to tell, and whether the table had to be recorded."""
        on, garden = inputs.on, inputs.garden
        for _ in range(TRIES):
            newest = self.ledger.latest_timetable(on)
            before = advice_of(newest)
            if newest is not None and before is not None and before.all_hash == inputs.all_hash:
                return newest, (), False
            settled = settled_week(inputs, before)
            told = before.told if before is not None else ()
            notices, keys = notices_of_day(garden, settled, doubts=inputs.doubts, told=told)
            with self.ledger.writing():
                # What another program recorded meanwhile is what this table must follow upon.
                if self._newest_id(on) != (None if newest is None else newest.id):
                    continue
                problems += put_in_outbox(self.outbox, notices, garden.notify)
                entry = self._record(inputs, settled, keys)
            return entry, notices, True
        found = f"other programs recorded tables for {on} again and again"
        raise LedgerError(garden.name, [Fault("timetable", found, "end them, then try again")])

    def _newest_id(self, on: date) -> int | None:
        newest = self.ledger.latest_timetable(on)
        return None if newest is None else newest.id

    def _record(self, inputs: DayInputs, settled: Settled, keys: tuple[str, ...]) -> Kept[Timetable]:
        """Record the plan, the table and its runs; the caller holds the write lock."""
        ledger, moment = self.ledger, self.moment
        plan = PlanVersion(inputs.plan_hash, inputs.plan_text)
        plan_id = ledger.record_plan(plan, recorded_at=moment)
        entry = timetable_entry(inputs, settled, told=keys, plan_id=plan_id, moment=moment)
        timetable_id = ledger.record_timetable(entry, recorded_at=moment)
        for run in timetable_runs(entry, timetable_id):
            ledger.record_timetable_run(run, recorded_at=moment)
        return Kept(timetable_id, moment, entry)
