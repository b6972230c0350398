"""The daily job's tools as they are outside of tests: the plan's sources, its weather, its readings."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from scheduler.errors import WeatherError
from scheduler.garden.plan import Garden
from scheduler.ledger.place import ledger_path
from scheduler.ledger.reading import LedgerReader
from scheduler.ledger.store import Ledger
from scheduler.service.notices import Doubt
from scheduler.service.tools import Tools
from scheduler.weather.record import DailyWeather

__all__ = ["USUAL_TOOLS"]


def _fetch(plan_path: Path, garden: Garden, ledger: Ledger, *, on: date, moment: datetime) -> Iterator[str]:
    """Fetch and keep what is new, with the reference ET of all days; yield what went wrong on the way."""
    from scheduler.weather.gather import keep_reference_et

    if garden.sources:
        yield from _ask(plan_path, garden, ledger, on=on, moment=moment)
    try:
        keep_reference_et(garden, plan_path.parent, ledger=ledger, recorded_at=moment)
    except WeatherError:
        # The table that is made next meets the same fault, and tells it.
        return


def _ask(plan_path: Path, garden: Garden, ledger: Ledger, *, on: date, moment: datetime) -> Iterator[str]:
    """Ask every source, and yield what went wrong with single ones."""
    from scheduler.weather.fetching import NO_CONTACT, fetch_weather, require_weather
    from scheduler.weather.sources.session import open_session

    folder = plan_path.parent
    answers = ledger_path(plan_path, garden).with_name(f"{plan_path.stem}.answers.sqlite")
    with open_session(answers, contact=garden.weather.contact or NO_CONTACT) as session:
        outcomes = fetch_weather(garden, folder, ledger=ledger, session=session, on=on, recorded_at=moment)
    for outcome in outcomes:
        if outcome.problem:
            yield f"{outcome.name}: {outcome.problem}"
        elif outcome.stale and outcome.fetched_at is not None:
            since = f"{outcome.fetched_at:%Y-%m-%d %H:%M} UTC"
            yield f"{outcome.name}: no new answer; the stored one is of {since}"
    require_weather(outcomes, str(plan_path))


def _gather(
    plan_path: Path, garden: Garden, reader: LedgerReader | None, *, moment: datetime
) -> DailyWeather:
    from scheduler.weather.gather import gather_weather

    return gather_weather(garden, plan_path.parent, reader=reader, moment=moment)


def _doubts(plan_path: Path, garden: Garden, reader: LedgerReader) -> tuple[Doubt, ...]:
    from scheduler.reconcile.from_ledger import comparison_inputs, read_records
    from scheduler.reconcile.overview import overview
    from scheduler.service.reading_doubts import doubts_of

    records = read_records(reader, garden, zone=ZoneInfo(garden.site.timezone))
    found = overview(comparison_inputs(garden, records))
    return doubts_of(found, garden=garden.name, plan=plan_path.name)


USUAL_TOOLS = Tools(fetch=_fetch, gather=_gather, doubts=_doubts)
