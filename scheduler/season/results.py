"""What a replayed season and a planned week give back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.season.growth import Growth
from scheduler.timetable.choices import ZoneBeds
from scheduler.timetable.limits import Limits
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.week import WeekPlan
from scheduler.water.balance import Conditions, SoilState
from scheduler.weather.normals import Normals, Outlook
from scheduler.weather.record import DateArray

__all__ = ["SeasonResult", "WeekResult"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class SeasonResult:
    """What a span of days did to every bed; arrays of shape (n_days, n_beds) unless said otherwise.

    Depths in mm over the whole bed, `litres` at the emitters. For every day and bed `depletion + below` ends
    at what it was, plus ``correction + evaporation + transpiration + deep_percolation - rain - applied``.

    Attributes
    ----------
    dates : array of datetime64[D], shape (n_days,)
    depletion, below : arrays
        End-of-day depletion of the root zone, and of the bed's soil below it.
    evaporation, transpiration, deep_percolation, stress_coefficient : arrays
        Water lost by the surface and by plants (all of it counts as transpiration with the single
        coefficient), drainage out of the bed, Ks.
    limit : array
        Depletion that the planner keeps a bed from passing; infinite where nothing grows.
    applied, litres, minutes : arrays
        Net irrigation [mm], gross volume [L], minutes that the bed's valve was open with water on.
    correction : array
        What a soil state of the plan, a finding or a new depth of soil put right on the morning [mm].
    use_factor : array
        Factor on the use of each bed that repeated findings have brought, 1 without them.
    known : array of bool
        True where a run, or a skipped one, is recorded.
    mornings : SoilState
        The soil that each day started from, every array of shape (n_days, n_beds).
    put_right : array of bool
        True where the soil of the morning was stated, found by a dig, or corrected otherwise.
    evening : array of bool, shape (n_days,)
        True where the timer's water came after the day's use.
    gauged : array of bool, shape (n_days,)
        True where the rain is that of the person's own gauge.
    conditions : Conditions
        What crop, soil and weather made of each day.
    net_rate : array
        Depth stored for each minute that a bed's valve was open [mm/min].
    plans : tuple of WeekPlan
        The timer's settings, week by week.
    growth : Growth
    normals : Normals
    weather_rows : array of int, shape (n_days,)
        Rows of the daily weather that the days used.
    """

    dates: DateArray
    depletion: FloatArray
    below: FloatArray
    evaporation: FloatArray
    transpiration: FloatArray
    deep_percolation: FloatArray
    stress_coefficient: FloatArray
    limit: FloatArray
    applied: FloatArray
    litres: FloatArray
    minutes: FloatArray
    correction: FloatArray
    use_factor: FloatArray
    known: NDArray[np.bool_]
    mornings: SoilState
    put_right: NDArray[np.bool_]
    evening: NDArray[np.bool_]
    gauged: NDArray[np.bool_]
    conditions: Conditions
    net_rate: FloatArray
    plans: tuple[WeekPlan, ...]
    growth: Growth
    normals: Normals
    weather_rows: NDArray[np.int64]

    @property
    def rain(self) -> FloatArray:
        """Effective rain [mm], (n_days, n_beds)."""
        return self.conditions.rain

    @property
    def raw(self) -> FloatArray:
        """Readily available water [mm], (n_days, n_beds)."""
        return self.conditions.raw

    @property
    def et_actual(self) -> FloatArray:
        """Water use as the soil allowed [mm], (n_days, n_beds)."""
        return self.evaporation + self.transpiration


@dataclass(frozen=True, slots=True, eq=False)
class WeekResult:
    """The table of one week and what it rests on.

    Attributes
    ----------
    on : date
        First day of the table.
    plan : WeekPlan
    outlook : BedOutlook
        The days ahead as the planner saw them.
    weather : Outlook
        The same days' weather with its origin; `counted_rain` is what of its rain was counted [mm].
    growth : Growth
        What grows on those days.
    before : SeasonResult or None
        The replay from the stated soil state up to the day before; None if the state is stated for `on`.
    state_from : date
        Day of the soil state that the reckoning starts from.
    limit : array, shape (n_days, n_beds)
        The beds' own limits; those of `outlook` are eased for a bed that starts past its own.
    reached : array, shape (n_days, n_beds)
        Share of the open site's reference ET that reaches each bed.
    use_factor : array, shape (n_beds,)
        Factor on the use of each bed that repeated findings have brought.
    normals : Normals
    put_right : array of bool, shape (n_beds,)
        True where the soil of the first morning was stated, found by a dig, or corrected otherwise.
    zones : tuple of ZoneBeds
    limits : Limits
        What was planned for, and within.
    """

    on: date
    plan: WeekPlan
    outlook: BedOutlook
    weather: Outlook
    counted_rain: FloatArray
    growth: Growth
    before: SeasonResult | None
    state_from: date
    limit: FloatArray
    reached: FloatArray
    use_factor: FloatArray
    normals: Normals
    put_right: NDArray[np.bool_]
    zones: tuple[ZoneBeds, ...]
    limits: Limits
