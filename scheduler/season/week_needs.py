"""What every bed needs week by week, in each year of the record and by its normals. Pure.

All years are columns of one pass over the days. In it every bed is refilled on the morning after it has
passed its limit, so that it uses water as a well-watered bed does. A week's need is the use of its days less
the rain of the same days, never below zero. Rain that the soil keeps for a later week is left out: that makes
needs err to the side of too much, and keeps a week's need a matter of that week.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.season.fixed_run import OpenSeason
from scheduler.season.side_by_side import side_by_side, well_watered_use
from scheduler.timetable.patterns import DAYS_PER_WEEK

__all__ = ["NeedYears", "WeekNeeds", "needs_to_meet", "week_needs"]

FloatArray = NDArray[np.float64]

MINUTES_PER_HOUR = 60.0

#: Which need a setting has to meet: that of the normals, what eight years in ten stay below, the greatest.
NeedYears = Literal["normals", "p80", "worst"]


@dataclass(frozen=True, slots=True, eq=False)
class WeekNeeds:
    """Weekly series of a garden from the week of its first crop to that of its last.

    Attributes
    ----------
    begins : tuple of date
        The Monday of each week, in the plan's own year; other years have the same days of the calendar.
    years : tuple of int
    minutes : array, shape (n_years, n_weeks, n_beds)
        Minutes that a bed's valve would have to be open in a week.
    usual : array, shape (n_weeks, n_beds)
        The same by the normals, of whose rain the plan's share counts.
    use : array, shape (n_years, n_weeks, n_beds)
        Mean use of the days on which something grows [mm/d]; `usual_use` by the normals.
    usual_use : array, shape (n_weeks, n_beds)
    days : array, shape (n_weeks, n_beds)
        Days of a week on which something grows.
    raw : array, shape (n_weeks, n_beds)
        Mean readily available water of those days [mm].
    kept : array, shape (n_weeks, n_beds)
        Water that the bed keeps of a minute [L].
    flow : array, shape (n_beds,)
        [L/min]
    """

    begins: tuple[date, ...]
    years: tuple[int, ...]
    minutes: FloatArray
    usual: FloatArray
    use: FloatArray
    usual_use: FloatArray
    days: FloatArray
    raw: FloatArray
    kept: FloatArray
    flow: FloatArray


def week_needs(usual: OpenSeason, seasons: Sequence[OpenSeason]) -> WeekNeeds:
    """Return the weekly series of a garden from its usual season and those of the years of the record.

    Notes
    -----
    A season with a 29 February has a day more than the others; its last day is left out.
    """
    joined = side_by_side((usual, *seasons))
    use, rain = (joined.by_season(part) for part in (well_watered_use(joined), joined.conditions.rain))
    n_days, _, n_beds = use.shape
    net_rate = usual.span.net_rate[:n_days]
    in_use = usual.in_use[:n_days]
    week = (np.arange(n_days) + usual.first.weekday()) // DAYS_PER_WEEK
    grown = np.unique(week[in_use.any(axis=1)])
    first, last = int(grown[0]), int(grown[-1])
    of_week = (week == np.arange(first, last + 1)[:, None]).astype(float)

    def by_week(values: FloatArray) -> FloatArray:
        return np.einsum("wd,d...->w...", of_week, values)

    days = by_week(in_use.astype(float))
    grows = np.maximum(days, 1.0)
    minutes = np.maximum(by_week(np.where(in_use, 1.0, 0.0)[:, None] * (use - rain) / net_rate[:, None]), 0.0)
    weekly_use = by_week(np.where(in_use[:, None], use, 0.0)) / grows[:, None]
    monday = usual.first - timedelta(days=usual.first.weekday())
    area = np.array([bed.area for bed in usual.setup.garden.beds])
    return WeekNeeds(
        begins=tuple(monday + timedelta(days=DAYS_PER_WEEK * number) for number in range(first, last + 1)),
        years=tuple(season.first.year for season in seasons),
        minutes=np.ascontiguousarray(minutes[:, 1:].swapaxes(0, 1)),
        usual=minutes[:, 0],
        use=np.ascontiguousarray(weekly_use[:, 1:].swapaxes(0, 1)),
        usual_use=weekly_use[:, 0],
        days=days,
        raw=by_week(np.where(in_use, usual.span.days.conditions.raw[:n_days], 0.0)) / grows,
        kept=by_week(np.where(in_use, net_rate, 0.0)) / grows * area,
        flow=np.broadcast_to(usual.setup.flow / MINUTES_PER_HOUR, (n_beds,)),
    )


def needs_to_meet(series: FloatArray, usual: FloatArray, *, years: NeedYears) -> FloatArray:
    """Return the weekly values that a setting has to reach, of shape `usual`.

    Parameters
    ----------
    series : array, shape (n_years, ...)
    usual : array, shape (...)
        By the normals.
    years : {"normals", "p80", "worst"}
        The normals; a value that occurred and that eight years in ten do not pass; the greatest.
    """
    if years == "normals":
        return usual
    ordered = np.sort(series, axis=0)
    n_years = ordered.shape[0]
    return np.asarray(ordered[n_years - 1 if years == "worst" else math.ceil(0.8 * n_years) - 1])
