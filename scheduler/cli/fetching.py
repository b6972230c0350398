"""The command that brings in weather: fetch."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.cli.answering import FORMAT, GARDEN, answer, check_form
from scheduler.errors import RillbookError

if TYPE_CHECKING:
    from datetime import datetime

    from scheduler.garden.plan import Garden
    from scheduler.ledger.store import Ledger

__all__ = ["fetch"]


@click.command()
@GARDEN
@click.option(
    "--days-back",
    type=click.IntRange(1, 73000),
    help="How many days past to ask measured sources for; at first three years, later what may be new.",
)
@click.option(
    "--offline", is_flag=True, help="Ask nobody: use the answers stored so far, whatever their age."
)
@FORMAT
def fetch(garden: Path, days_back: int | None, offline: bool, **form: Any) -> None:
    """Ask every weather source of the plan and keep in the ledger what is new.

    A source that fails does not stop the others. The exit code is 4 only if no source gave anything and
    nothing is kept from before.
    """
    from datetime import UTC, timedelta

    from scheduler.clock import now
    from scheduler.garden.planfile import load_plan
    from scheduler.ledger.place import ledger_path
    from scheduler.ledger.store import Ledger
    from scheduler.show.fetch_view import fetch_report
    from scheduler.weather.fetching import NO_CONTACT, fetch_weather, require_weather
    from scheduler.weather.sources.session import open_session

    check_form(form)
    plan = load_plan(garden)
    if not plan.sources:
        raise RillbookError(f"{garden}: names no source; add e.g. [[weather.source]] with kind and product")
    moment = now(plan.site.timezone)
    on: date = moment.date()
    path = ledger_path(garden, plan)
    answers = path.with_name(f"{garden.stem}.answers.sqlite")
    contact = plan.weather.contact or NO_CONTACT
    with Ledger.open(path) as book, open_session(answers, contact=contact, offline=offline) as session:
        outcomes = fetch_weather(
            plan,
            garden.parent,
            ledger=book,
            session=session,
            on=on,
            recorded_at=moment.astimezone(UTC),
            begins=None if days_back is None else on - timedelta(days=days_back),
        )
        notes = _kept(plan, garden.parent, book, moment) if any(one.kept_days for one in outcomes) else []
    answer(fetch_report(plan, outcomes, on=on, notes=notes), units="metric", **form)
    require_weather(outcomes, str(garden))


def _kept(plan: Garden, folder: Path, book: Ledger, moment: datetime) -> list[str]:
    """Keep the reference ET of all days, so that a table is quick; return what stands in the way."""
    from scheduler.errors import WeatherError
    from scheduler.weather.gather import keep_reference_et

    try:
        days = keep_reference_et(plan, folder, ledger=book, recorded_at=moment)
    except WeatherError as error:
        return [f"No table can be made of this weather: {'; '.join(map(str, error.faults))}."]
    return [f"Reference ET of {days} days computed and kept."] if days else []
