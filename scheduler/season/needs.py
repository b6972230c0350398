"""What a bed needs in a week, by its area and by its thirstiest plant. Pure."""

from __future__ import annotations

from typing import NamedTuple

from scheduler.garden.plan import Garden
from scheduler.season.results import WeekResult
from scheduler.timetable.patterns import DAYS_PER_WEEK

__all__ = ["WeeklyNeed", "weekly_need"]


class WeeklyNeed(NamedTuple):
    """Net need of a bed in seven days by either rule [mm]: use less the rain that counts, at least 0."""

    by_area: float
    by_thirstiest: float


def weekly_need(garden: Garden, result: WeekResult, number: int) -> WeeklyNeed:
    """Return a bed's net need in the week of the table.

    The evaporation of the table's own runs is part of it; what differs between the rules is what plants use.
    """
    week = slice(0, DAYS_PER_WEEK)
    growth, days = result.growth, result.outlook.conditions
    dual = garden.planning.coefficient == "dual"
    mean, top = (
        (growth.basal_area, growth.basal_thirstiest) if dual else (growth.kc_area, growth.kc_thirstiest)
    )
    chosen = growth.basal if dual else growth.kc
    use = float(result.plan.use[week, number].sum())
    rain = float(days.rain[week, number].sum())
    reference_et = result.weather.reference_et[week] * result.reached[week, number]

    def need(coefficient: float) -> float:
        return max(0.0, use + coefficient - rain)

    return WeeklyNeed(
        *(need(float(((by_rule - chosen)[week, number] * reference_et).sum())) for by_rule in (mean, top))
    )
