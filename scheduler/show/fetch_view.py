"""What fetching gave, source by source: days, age, whom to credit, and what went wrong."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from scheduler.garden.plan import Garden
from scheduler.show.report import Column, Part, Report, Row
from scheduler.weather.fetching import SourceOutcome

__all__ = ["fetch_report"]

COLUMNS = (
    Column("source", "source"),
    Column("origin", "days are"),
    Column("days", "days"),
    Column("new_days", "new"),
    Column("first_day", "first"),
    Column("last_day", "last"),
    Column("age_h", "age\n[h]", decimals=1),
    Column("state", "state"),
    Column("kept_days", "kept\nin all"),
    Column("stale", ""),
    Column("fetched_at", ""),
    Column("attribution", ""),
    Column("licence", ""),
    Column("problem", ""),
)
_ORIGINS = {"station": "measured", "forecast": "foretold"}


def fetch_report(
    garden: Garden, outcomes: Sequence[SourceOutcome], *, on: date, notes: Sequence[str] = ()
) -> Report:
    """Return what each source gave as a report.

    Parameters
    ----------
    garden : Garden
    outcomes : sequence of SourceOutcome
    on : date
        Today at the garden.
    notes : sequence of str
        What else is to be told.
    """
    problems = tuple(f"{one.name}: {one.problem}." for one in outcomes if one.problem)
    credits = tuple(
        f"{one.name}: {'; '.join(filter(None, (one.attribution, one.licence)))}."
        for one in outcomes
        if one.attribution or one.licence
    )
    own = tuple(f"{one.name}: {note}." for one in outcomes for note in one.notes)
    return Report(
        schema="rillbook.fetch/1",
        title=f"{garden.name}: weather fetched",
        as_of=on,
        parts=(Part("rows", "", COLUMNS, tuple(_row(one) for one in outcomes)),),
        lines=(*problems, *credits),
        notes=(*own, *notes),
    )


def _row(one: SourceOutcome) -> Row:
    """Return the row of one source."""
    return {
        "source": one.name,
        "origin": _ORIGINS[one.origin],
        "days": one.days,
        "new_days": one.new_days,
        "first_day": one.first,
        "last_day": one.last,
        "age_h": None if one.age is None else one.age.total_seconds() / 3600,
        "state": _state(one),
        "kept_days": one.kept_days,
        "stale": one.stale,
        "fetched_at": None if one.fetched_at is None else f"{one.fetched_at:%Y-%m-%dT%H:%M:%SZ}",
        "attribution": one.attribution,
        "licence": one.licence,
        "problem": one.problem,
    }


def _state(one: SourceOutcome) -> str:
    """Return in a word how the source did."""
    if one.problem:
        return "failed, kept days go on" if one.kept_days else "failed"
    return "stale" if one.stale else "up to date"
