"""The same garden in another year: every date of the plan moved by whole years. Pure."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from scheduler.garden.plan import Garden

__all__ = ["in_year", "moved"]


def moved(day: date, years: int) -> date:
    """Return a date some years on; 29 February becomes 28 February where it must."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)


def in_year(garden: Garden, year: int) -> Garden:
    """Return the garden with its season beginning in `year`: plantings, soil states and restrictions move."""
    begins = min(state.on for state in garden.soil_states if state.bed is None)
    years = year - begins.year
    beds = tuple(
        replace(
            bed,
            plantings=tuple(
                replace(p, planted=moved(p.planted, years), removed=moved(p.removed, years))
                for p in bed.plantings
            ),
        )
        for bed in garden.beds
    )
    return replace(
        garden,
        beds=beds,
        soil_states=tuple(replace(s, on=moved(s.on, years)) for s in garden.soil_states),
        restrictions=tuple(
            replace(r, begins=moved(r.begins, years), ends=moved(r.ends, years)) for r in garden.restrictions
        ),
    )
