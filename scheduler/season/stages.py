"""How far a planting has come on each day, by the calendar or by heat. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import HeatStages, Planting
from scheduler.water.crop import stage_progress
from scheduler.water.heat import degree_days, heat_progress, heat_sum
from scheduler.weather.normals import Normals, day_index
from scheduler.weather.record import DailyWeather, DateArray

__all__ = ["Warmth", "growth_progress", "stage_ends", "stage_name"]

FloatArray = NDArray[np.float64]

STAGES = ("initial", "development", "mid-season", "late season")

#: A crop that never gets its heat is looked at for this long [d].
LONGEST_STAY = 732


@dataclass(frozen=True, slots=True, eq=False)
class Warmth:
    """Temperatures for stages by heat: the record's before `until`, its forecast's, else normals."""

    daily: DailyWeather
    normals: Normals
    until: date

    def extremes(self, dates: DateArray) -> tuple[FloatArray, FloatArray]:
        """Return greatest and least temperature of each of the dates [degC]."""
        daily = self.daily
        row = np.minimum(np.searchsorted(daily.dates, dates), daily.dates.size - 1)
        known = (daily.dates[row] == dates) & (daily.forecast[row] | (dates < np.datetime64(self.until)))
        day = day_index(dates)
        return (
            np.where(known, daily.tmax[row], self.normals.tmax[day]),
            np.where(known, daily.tmin[row], self.normals.tmin[day]),
        )


def growth_progress(planting: Planting, dates: DateArray, *, warmth: Warmth) -> tuple[FloatArray, FloatArray]:
    """Return how far development and late season have gone on each of the dates, each 0..1."""
    if planting.heat is None:
        stages = planting.stages
        day = (dates - np.datetime64(planting.planted)).astype(np.int64) + 1
        return stage_progress(
            day, stages.initial, development=stages.development, mid=stages.mid, late=stages.late
        )
    heat = planting.heat
    begin = np.datetime64(planting.planted)
    last = max(int((dates[-1] - begin).astype(np.int64)), 0)
    lived = begin + np.arange(last + 1)
    sums = heat_sum(_heat(heat, *warmth.extremes(lived)))
    place = (dates - begin).astype(np.int64)
    reached = np.where(place >= 0, sums[np.clip(place, 0, last)], 0.0)
    return heat_progress(reached, heat.initial, development=heat.development, mid=heat.mid, late=heat.late)


def _heat(heat: HeatStages, tmax: FloatArray, tmin: FloatArray) -> FloatArray:
    """Return the degree days of each day."""
    return degree_days(tmax, tmin, base=heat.base, upper=heat.upper)


def stage_ends(planting: Planting, normals: Normals) -> tuple[int, int, int, int]:
    """Return days after planting at which each stage ends; by heat those of usual years."""
    if planting.heat is None:
        stages = planting.stages
        lengths = np.array([stages.initial, stages.development, stages.mid, stages.late])
        first, second, third, last = np.cumsum(lengths).astype(np.int64).tolist()
        return first, second, third, last
    heat = planting.heat
    day = day_index(np.datetime64(planting.planted) + np.arange(LONGEST_STAY))
    sums = heat_sum(_heat(heat, normals.tmax[day], normals.tmin[day]))
    goals = np.cumsum([heat.initial, heat.development, heat.mid, heat.late])
    # The first sum is that of the day of planting, which is day 1.
    first, second, third, last = (np.searchsorted(sums, goals) + 1).tolist()
    return first, second, third, last


def stage_name(development: float, late: float) -> str:
    """Return the growth stage in words, from the progress of development and late season."""
    if late > 0.0:
        return STAGES[3]
    return STAGES[0 if development <= 0.0 else 1 if development < 1.0 else 2]
