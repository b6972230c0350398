"""Asking every source of a plan, and keeping in the ledger what is new; one that fails stops no other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from scheduler.errors import Fault, SourceError, WeatherError
from scheduler.garden.plan import Garden, GhcnSource, WeatherSource
from scheduler.ledger.entries import WeatherDay
from scheduler.weather.kept_days import day_rows, new_rows
from scheduler.weather.sources.choices import FetchedWeather
from scheduler.weather.sources.from_plan import choice_of, credit_of, kept_name, origin_of
from scheduler.weather.sources.interface import fetch_daily

if TYPE_CHECKING:
    from scheduler.ledger.store import Ledger
    from scheduler.weather.sources.session import Session

__all__ = ["NO_CONTACT", "SourceOutcome", "fetch_weather", "require_weather"]

#: Stands for a contact where no source is asked over the network.
NO_CONTACT = "nobody@localhost"

# Days to ask a source for that has none yet: three years give normals worth the name. Later, days before
# the newest kept one that are asked for again, since services correct their last days.
_FIRST_TIME = 3 * 365 + 1
_AGAIN = 14
# No forecast reaches further ahead, nor tells of more days past.
_AHEAD = 16
_BEHIND = 3
_LONG_AGO, _LONG_AHEAD = date(1900, 1, 1), date(2199, 12, 31)


@dataclass(frozen=True, slots=True, eq=False)
class SourceOutcome:
    """What asking one source gave.

    Attributes
    ----------
    name : str
        Under which its days are kept.
    origin : {"station", "forecast"}
        Whether they are measured or foretold.
    days, new_days : int
        Days that it gave, and those of them that the ledger did not know so.
    first, last : date or None
        First and last of the days that it gave.
    fetched_at : datetime or None
        When the source gave or last confirmed them, UTC.
    age : timedelta or None
        Since then.
    stale : bool
        True if they were stored, and no newer answer could be had.
    attribution, licence : str
    kept_days : int
        Days that the ledger keeps of the source, with the new ones.
    notes : tuple of str
    problem : str
        Why it gave nothing; empty if it did.
    """

    name: str
    origin: str
    days: int
    new_days: int
    first: date | None
    last: date | None
    fetched_at: datetime | None
    age: timedelta | None
    stale: bool
    attribution: str
    licence: str
    kept_days: int
    notes: tuple[str, ...]
    problem: str


def fetch_weather(
    garden: Garden,
    folder: Path,
    *,
    ledger: Ledger,
    session: Session,
    on: date,
    recorded_at: datetime,
    begins: date | None = None,
) -> tuple[SourceOutcome, ...]:
    """Ask every source of a plan and keep what is new.

    Parameters
    ----------
    garden : Garden
    folder : Path
        Of the plan, from which its files are seen.
    ledger : Ledger
    session : Session
    on : date
        Today at the garden.
    recorded_at : datetime
        Now, aware.
    begins : date or None
        First day to ask for; None for what each source needs: three years at first, later from two weeks
        before its newest kept day.

    Returns
    -------
    tuple of SourceOutcome
        In the plan's order. A source that cannot be asked, or gives what cannot be used, tells its problem.

    Raises
    ------
    LedgerError
        If the ledger cannot be read or written.
    """
    return tuple(
        _ask(source, garden, folder, ledger=ledger, session=session, on=on, at=recorded_at, begins=begins)
        for source in garden.sources
    )


def require_weather(outcomes: Sequence[SourceOutcome], source: str) -> None:
    """Raise `SourceError`, with every problem, if no source gave anything and nothing is kept either."""
    if any(not outcome.problem or outcome.kept_days for outcome in outcomes):
        return
    wanted = "try again later; until a source has answered once there is nothing to go by"
    raise SourceError(source, [Fault(outcome.name, outcome.problem, wanted) for outcome in outcomes])


def _ask(
    source: WeatherSource,
    garden: Garden,
    folder: Path,
    *,
    ledger: Ledger,
    session: Session,
    on: date,
    at: datetime,
    begins: date | None,
) -> SourceOutcome:
    """Return what one source gave, after its new days have been kept."""
    name, origin = kept_name(source, garden.site), origin_of(source)
    kept = _kept(ledger, origin, name)
    first, last = _span(origin, kept, on=on, begins=begins)
    choice = choice_of(source, folder)
    try:
        fetched = fetch_daily(choice, garden.site, begins=first, ends=last, session=session)
    except (SourceError, WeatherError) as error:
        problem = f"{error.source}: {'; '.join(map(str, error.faults))}"
        return _failed(source, name, origin, kept_days=len(kept), problem=problem)
    if fetched.wind_height is None and isinstance(source, GhcnSource):
        fetched = replace(fetched, wind_height=source.wind_height)
    rows = day_rows(
        fetched.record,
        origin=origin,
        source=name,
        issued_at=fetched.issued_at or fetched.fetched_at,
        wind_height=fetched.wind_height,
    )
    fresh = new_rows(rows, kept)
    with ledger.writing():
        for row in fresh:
            ledger.record_weather(row, recorded_at=at)
    known = len(kept.keys() | {row.date for row in rows})
    return _gave(fetched, rows, name=name, origin=origin, new_days=len(fresh), kept_days=known)


def _kept(ledger: Ledger, origin: str, name: str) -> dict[date, WeatherDay]:
    """Return the newest row of each day that the ledger keeps of a source."""
    rows = (row.entry for row in ledger.weather_between(_LONG_AGO, _LONG_AHEAD))
    return {row.date: row for row in rows if (row.origin, row.source) == (origin, name)}


def _span(origin: str, kept: dict[date, WeatherDay], *, on: date, begins: date | None) -> tuple[date, date]:
    """Return the first and last day to ask for; a day is measured once it is over."""
    if origin == "forecast":
        return on - timedelta(days=_BEHIND), on + timedelta(days=_AHEAD)
    yesterday = on - timedelta(days=1)
    if begins is None:
        back = timedelta(days=_AGAIN)
        begins = max(kept) - back if kept else on - timedelta(days=_FIRST_TIME)
    return min(begins, yesterday), yesterday


def _gave(
    fetched: FetchedWeather,
    rows: Sequence[WeatherDay],
    *,
    name: str,
    origin: str,
    new_days: int,
    kept_days: int,
) -> SourceOutcome:
    notes = list(fetched.record.notes)
    if fetched.wind_height is None and fetched.record.has("wind"):
        notes.append("its wind is left out: write wind_height, the height of its sensor, in the plan")
    return SourceOutcome(
        name=name,
        origin=origin,
        days=len(rows),
        new_days=new_days,
        first=rows[0].date if rows else None,
        last=rows[-1].date if rows else None,
        fetched_at=fetched.fetched_at,
        age=fetched.age,
        stale=fetched.stale,
        attribution=fetched.attribution,
        licence=fetched.licence,
        kept_days=kept_days,
        notes=tuple(notes),
        problem="" if rows else "its days hold no values",
    )


def _failed(source: WeatherSource, name: str, origin: str, *, kept_days: int, problem: str) -> SourceOutcome:
    attribution, licence = credit_of(source)
    return SourceOutcome(
        name=name,
        origin=origin,
        days=0,
        new_days=0,
        first=None,
        last=None,
        fetched_at=None,
        age=None,
        stale=False,
        attribution=attribution,
        licence=licence,
        kept_days=kept_days,
        notes=(),
        problem=problem,
    )
