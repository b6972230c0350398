"""A span of days lived through under a timer, whoever says its minutes.

The beds live through the weather that came, a week of the calendar at a time; for each week the timer's
minutes are asked for on its first day, with the soil as it then is. The planner that sets the timer anew
every Monday answers so, and a timetable that stays as it was set.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.season.days import depletion_limit
from scheduler.season.growth import slice_growth
from scheduler.season.results import SeasonResult
from scheduler.season.setup import Setup
from scheduler.season.soil import Lived, full_soil, put_right
from scheduler.season.span import DAY_FIELDS, Span, live_through
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.week import WeekPlan
from scheduler.water.balance import SoilState

__all__ = ["ComingDays", "Watering", "replay"]

FloatArray = NDArray[np.float64]


class ComingDays(NamedTuple):
    """What a timer does on the days from one of a span on.

    Attributes
    ----------
    minutes : array, shape (n, n_beds)
        Minutes that each bed's valve is open with water on, on each of the coming days, at least those up to
        the next Monday.
    evening : bool
        True if the water comes after the day's use.
    plan : WeekPlan or None
        The plan behind it, if one was made.
    """

    minutes: FloatArray
    evening: bool
    plan: WeekPlan | None = None


#: Who says the minutes: asked with the span, the number of a day in it, and what the day before left.
Watering = Callable[[Span, int, Lived], ComingDays]


def replay(setup: Setup, span: Span, watering: Watering) -> tuple[SeasonResult, Lived]:
    """Return what a span of days did under a timer that is asked for on every Monday, and the soil it left.

    Recorded runs go before what the timer was set to. Fixed weekdays keep the past the same, whatever day a
    table is asked for.
    """
    shape = span.days.conditions.raw.shape
    n_days, begins = shape[0], span.dates[0].item()
    log = {name: np.zeros(shape) for name in DAY_FIELDS}
    mornings = SoilState(*(np.zeros(shape) for _ in SoilState._fields))
    evening = np.zeros(n_days, dtype=bool)
    lived = full_soil(shape[1])
    plans: list[WeekPlan] = []
    start = 0
    while start < n_days:
        first = begins + timedelta(days=start)
        end = min(n_days, start + DAYS_PER_WEEK - first.weekday())
        coming = watering(span, start, lived)
        plans += [] if coming.plan is None else [coming.plan]
        advised = coming.minutes[: end - start]
        recorded = span.field.minutes[start:end]
        log["minutes"][start:end] = np.where(np.isnan(recorded), advised, recorded)
        evening[start:end] = coming.evening
        for day in range(start, end):
            lived = live_through(span, day, lived, log, mornings=mornings, evening=coming.evening)
        start = end
    return _result(setup, span, log, mornings=mornings, evening=evening, plans=tuple(plans)), lived


def _result(
    setup: Setup,
    span: Span,
    log: dict[str, FloatArray],
    *,
    mornings: SoilState,
    evening: NDArray[np.bool_],
    plans: tuple[WeekPlan, ...],
) -> SeasonResult:
    """Return the log of a span with all that it came from."""
    n_days = evening.shape[0]
    growth = slice_growth(span.growth, 0, n_days)
    return SeasonResult(
        dates=span.dates,
        **log,
        conditions=span.days.conditions.times(log["use_factor"]),
        net_rate=span.net_rate[:n_days],
        limit=depletion_limit(growth, span.days, reserve=setup.garden.planning.reserve),
        litres=log["minutes"] / 60.0 * setup.flow,
        known=span.field.known,
        mornings=mornings,
        put_right=put_right(log["correction"], span.stated.depletion, found=span.field.found),
        evening=evening,
        gauged=~np.isnan(span.field.rain),
        plans=plans,
        growth=growth,
        normals=setup.normals,
        weather_rows=span.rows,
    )
