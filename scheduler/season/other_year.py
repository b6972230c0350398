"""The same garden in another year: every date of the plan moved by whole years. Pure."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from scheduler.garden.plan import Bed, Garden
from scheduler.season.run import season_span
from scheduler.weather.record import DailyWeather

__all__ = ["covered_years", "in_year", "moved"]


def moved(day: date, years: int) -> date:
    """Return a date some years on; 29 February becomes 28 February where it must."""
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return day.replace(year=day.year + years, day=28)


def in_year(garden: Garden, year: int) -> Garden:
    """Return the garden with its season beginning in `year`.

    Plantings, mulch, later depths of soil, soil states and restrictions move; a cup test and a meter reading
    stay, since they tell what was measured and when.
    """
    begins = min(state.on for state in garden.soil_states if state.bed is None)
    years = year - begins.year
    return replace(
        garden,
        beds=tuple(_moved_bed(bed, years) for bed in garden.beds),
        soil_states=tuple(replace(s, on=moved(s.on, years)) for s in garden.soil_states),
        restrictions=tuple(
            replace(r, begins=moved(r.begins, years), ends=moved(r.ends, years)) for r in garden.restrictions
        ),
    )


def covered_years(garden: Garden, daily: DailyWeather) -> list[int]:
    """Return the years whose whole season lies in the observed record."""
    observed = daily.dates[~daily.forecast]
    first, last = observed[0].item(), observed[-1].item()
    spans = {year: season_span(in_year(garden, year)) for year in range(first.year, last.year + 1)}
    return [year for year, (begins, ends) in spans.items() if first <= begins and ends <= last]


def _moved_bed(bed: Bed, years: int) -> Bed:
    """Return a bed with all its dates some years on."""
    mulch = bed.mulch
    if mulch is not None:
        begins, ends = (None if day is None else moved(day, years) for day in (mulch.begins, mulch.ends))
        mulch = replace(mulch, begins=begins, ends=ends)
    return replace(
        bed,
        plantings=tuple(
            replace(p, planted=moved(p.planted, years), removed=moved(p.removed, years))
            for p in bed.plantings
        ),
        settled=tuple(replace(later, on=moved(later.on, years)) for later in bed.settled),
        mulch=mulch,
    )
