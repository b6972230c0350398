"""The chain over a span of days: replay what was, plan the week that comes.

A replay goes week by week as a person does: on each planning day the timer is set for seven days on what
was then expected (forecast rows, else the normals of the record), and the beds then live through the
weather that came. No foresight enters.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, PlanError, WeatherError
from scheduler.garden.plan import Garden
from scheduler.season.days import (
    bed_days,
    depletion_limit,
    net_rates,
    outlook_from,
    slice_growth,
    stated_depletion,
)
from scheduler.season.growth import Growth, garden_growth
from scheduler.season.supply import supply_arrays
from scheduler.timetable.choices import ZoneBeds
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.week import (
    LONGEST_OUTLOOK,
    Limits,
    WeekPlan,
    days_ahead,
    hours_ahead,
    weekly_timetable,
)
from scheduler.water.need import effective_rainfall
from scheduler.water.rootzone import step
from scheduler.weather.normals import Normals, Outlook, day_of_year_normals, outlook
from scheduler.weather.record import DailyWeather, DateArray

__all__ = ["SeasonResult", "WeekResult", "run_season", "run_week", "season_span"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class SeasonResult:
    """What a span of days did to every bed; arrays of shape (n_days, n_beds) unless said otherwise.

    Depths in mm over the whole bed, `litres` at the emitters. For every day and bed

    ``depletion == before + correction + et_actual + deep_percolation - rain - applied``.

    Attributes
    ----------
    dates : array of datetime64[D], shape (n_days,)
    depletion, et_actual, deep_percolation, stress_coefficient, rain, raw : arrays
        End-of-day depletion, actual crop use, drainage below the roots, Ks, effective rain, RAW.
    limit : array
        Depletion that the planner keeps a bed from passing; infinite where nothing grows.
    applied, litres, minutes : arrays
        Net irrigation [mm], gross volume [L], minutes that the bed's valve was open with water on.
    correction : array
        What a soil state of the plan put right on the morning of the day [mm].
    plans : tuple of WeekPlan
        The timer's settings, week by week.
    growth : Growth
    normals : Normals
    weather_rows : array of int, shape (n_days,)
        Rows of the daily weather that the days used.
    """

    dates: DateArray
    depletion: FloatArray
    et_actual: FloatArray
    deep_percolation: FloatArray
    stress_coefficient: FloatArray
    rain: FloatArray
    raw: FloatArray
    limit: FloatArray
    applied: FloatArray
    litres: FloatArray
    minutes: FloatArray
    correction: FloatArray
    plans: tuple[WeekPlan, ...]
    growth: Growth
    normals: Normals
    weather_rows: NDArray[np.int64]


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
    normals : Normals
    """

    on: date
    plan: WeekPlan
    outlook: BedOutlook
    weather: Outlook
    counted_rain: FloatArray
    growth: Growth
    before: SeasonResult | None
    state_from: date
    normals: Normals


@dataclass(frozen=True, slots=True, eq=False)
class _Setup:
    """What does not change from day to day."""

    garden: Garden
    daily: DailyWeather
    normals: Normals
    limits: Limits
    zones: tuple[ZoneBeds, ...]
    flow: FloatArray
    rate: FloatArray
    efficiency: FloatArray


def _setup(garden: Garden, daily: DailyWeather) -> _Setup:
    """Return the fixed part of a run."""
    area, flow, rate, efficiency = supply_arrays(garden)
    zones = []
    for zone in garden.zones:
        index = np.array([i for i, bed in enumerate(garden.beds) if bed.zone == zone.name], dtype=np.int64)
        zones.append(ZoneBeds(zone, index, area[index], flow[index]))
    source = garden.water_source
    limits = Limits(garden.timer, garden.windows, garden.restrictions, source.flow * source.usable_share)
    return _Setup(garden, daily, day_of_year_normals(daily), limits, tuple(zones), flow, rate, efficiency)


def _dates(begins: date, n_days: int) -> DateArray:
    """Return `n_days` dates from `begins` on."""
    return np.datetime64(begins, "D") + np.arange(n_days)


def _rows(daily: DailyWeather, dates: DateArray) -> NDArray[np.int64]:
    """Return the weather rows of the dates; raise WeatherError if the record does not reach them."""
    first, last = daily.dates[0], daily.dates[-1]
    if dates.shape[0] and (dates[0] < first or dates[-1] > last):
        raise WeatherError(
            daily.source or "weather record",
            [
                Fault(
                    "dates",
                    f"the record runs from {first} to {last}",
                    f"every day from {dates[0]} to {dates[-1]} is needed; add the days that are missing, "
                    "state the soil later in [[soil_state]], or choose another date",
                )
            ],
        )
    return (dates - first).astype(np.int64)


def _week_before(daily: DailyWeather, first: date) -> FloatArray:
    """Return the reference ET of the seven days before a date, of those that the record has [mm]."""
    begins = _dates(first, 1)[0]
    recent = (daily.dates < begins) & (daily.dates >= begins - DAYS_PER_WEEK)
    return daily.reference_et[recent]


def _ahead(
    setup: _Setup, growth: Growth, *, first: date, depletion: FloatArray
) -> tuple[BedOutlook, Outlook, FloatArray]:
    """Return what the planner sees from `first` on; `growth` covers just those days."""
    n_days = growth.kc.shape[0]
    weather = outlook(setup.daily, setup.normals, first, n_days)
    care = setup.garden.planning
    # A forecast day rains or it does not, so small rain is dropped; a normal is a mean of both and is not.
    foretold = effective_rainfall(weather.rain, weather.reference_et) * care.forecast_rain
    counted = np.where(weather.origin == "forecast", foretold, weather.rain * care.normal_rain)
    days = bed_days(
        growth,
        weather.reference_et,
        effective_rain=counted,
        et_before=_week_before(setup.daily, first),
    )
    net_rate = net_rates(growth, setup.rate, setup.efficiency)
    seen = outlook_from(
        growth,
        days,
        depletion=depletion,
        net_rate=net_rate,
        reserve=care.reserve,
        evening=hours_ahead(first, setup.limits).evening,
    )
    return seen, weather, counted


def _plan(
    setup: _Setup, growth: Growth, *, first: date, depletion: FloatArray
) -> tuple[WeekPlan, BedOutlook, Outlook, FloatArray]:
    """Return the plan of the week from `first` on and what it was made from."""
    n_days = days_ahead(first, setup.limits)
    seen, weather, counted = _ahead(setup, slice_growth(growth, 0, n_days), first=first, depletion=depletion)
    plan = weekly_timetable(first, seen, zones=setup.zones, limits=setup.limits)
    return plan, seen, weather, counted


def _minutes(setup: _Setup, plan: WeekPlan, growth: Growth) -> FloatArray:
    """Return minutes of water for every bed on each day of a planned week, (7, n_beds)."""
    minutes = np.zeros((DAYS_PER_WEEK, setup.flow.shape[0]))
    for setting, zone in zip(plan.settings, setup.zones, strict=True):
        per_day = np.array(setting.mask, dtype=float) * setting.minutes_per_day
        minutes[:, zone.index] = per_day[:, None]
    return minutes * growth.in_use[:DAYS_PER_WEEK]


def _replay(
    setup: _Setup,
    *,
    begins: date,
    n_days: int,
    first_week: int,
    progress: Callable[[int], None] | None = None,
) -> SeasonResult:
    """Return what `n_days` from `begins` did; the first planning week is `first_week` days long."""
    dates = _dates(begins, n_days)
    rows = _rows(setup.daily, dates)
    growth = garden_growth(setup.garden, _dates(begins, n_days + LONGEST_OUTLOOK), normals=setup.normals)
    reference_et = setup.daily.reference_et[rows]
    rain = effective_rainfall(setup.daily.rain[rows], reference_et)
    growth_then = slice_growth(growth, 0, n_days)
    days = bed_days(
        growth_then,
        reference_et,
        effective_rain=rain,
        et_before=_week_before(setup.daily, begins),
    )
    stated = stated_depletion(setup.garden, dates, days.raw)
    net_rate = net_rates(growth, setup.rate, setup.efficiency)
    shape = days.raw.shape
    log = {name: np.zeros(shape) for name in ("depletion", "et", "drain", "stress", "applied", "fix", "min")}
    depletion = np.zeros(shape[1])
    plans: list[WeekPlan] = []
    start = 0
    while start < n_days:
        end = min(n_days, start + (first_week if start == 0 else DAYS_PER_WEEK))
        planned_from = np.where(np.isnan(stated[start]), depletion, stated[start])
        first = begins + timedelta(days=start)
        ahead = slice_growth(growth, start, start + LONGEST_OUTLOOK)
        plan, seen, *_ = _plan(setup, ahead, first=first, depletion=planned_from)
        plans.append(plan)
        log["min"][start:end] = _minutes(setup, plan, ahead)[: end - start]
        for day in range(start, end):
            morning = np.where(np.isnan(stated[day]), depletion, stated[day])
            applied = log["min"][day] * net_rate[day]
            balance = step(
                morning,
                et_crop=days.et_crop[day],
                rain=days.rain[day],
                applied=0.0 if seen.evening else applied,
                applied_late=applied if seen.evening else None,
                taw=growth.taw[day],
                raw=days.raw[day],
                storage=growth.storage,
            )
            log["fix"][day] = morning - depletion
            log["applied"][day] = applied
            log["depletion"][day] = depletion = balance.depletion
            log["et"][day], log["drain"][day] = balance.et_actual, balance.deep_percolation
            log["stress"][day] = balance.stress_coefficient
        start = end
        if progress is not None:
            progress(end)
    return SeasonResult(
        dates=dates,
        depletion=log["depletion"],
        et_actual=log["et"],
        deep_percolation=log["drain"],
        stress_coefficient=log["stress"],
        rain=np.array(days.rain),
        raw=days.raw,
        limit=depletion_limit(growth_then, days, reserve=setup.garden.planning.reserve),
        applied=log["applied"],
        litres=log["min"] / 60.0 * setup.flow,
        minutes=log["min"],
        correction=log["fix"],
        plans=tuple(plans),
        growth=growth_then,
        normals=setup.normals,
        weather_rows=rows,
    )


def _state_before(garden: Garden, on: date) -> date:
    """Return the day of the newest soil state for all beds that is no later than `on`."""
    known = [state.on for state in garden.soil_states if state.bed is None and state.on <= on]
    if not known:
        earliest = min(state.on for state in garden.soil_states)
        raise PlanError(
            garden.name,
            [
                Fault(
                    "soil_state",
                    f"the first stated soil state is of {earliest}, the table is for {on}",
                    "state the soil on or before that day, for example [[soil_state]] on = "
                    f'{on}, depletion = "full" after a soaking rain, or ask for a later date',
                )
            ],
        )
    return max(known)


def run_week(garden: Garden, daily: DailyWeather, *, on: date) -> WeekResult:
    """Return the table of the seven days from `on`, replayed from the newest stated soil state.

    Raises
    ------
    PlanError
        If no soil state is stated on or before `on`.
    WeatherError
        If the record lacks days between the soil state and `on`.
    """
    setup = _setup(garden, daily)
    state_from = _state_before(garden, on)
    n_before = (on - state_from).days
    before = None
    depletion = np.zeros(len(garden.beds))
    if n_before:
        first_week = n_before % DAYS_PER_WEEK or DAYS_PER_WEEK
        before = _replay(setup, begins=state_from, n_days=n_before, first_week=first_week)
        depletion = before.depletion[-1]
    growth = garden_growth(garden, _dates(on, LONGEST_OUTLOOK), normals=setup.normals)
    seen, *_ = _ahead(setup, growth, first=on, depletion=depletion)
    stated = stated_depletion(garden, _dates(on, 1), seen.raw[:1])[0]
    depletion = np.where(np.isnan(stated), depletion, stated)
    plan, seen, weather, counted = _plan(setup, growth, first=on, depletion=depletion)
    return WeekResult(
        on=on,
        plan=plan,
        outlook=seen,
        weather=weather,
        counted_rain=counted,
        growth=slice_growth(growth, 0, seen.n_days),
        before=before,
        state_from=state_from,
        normals=setup.normals,
    )


def season_span(garden: Garden) -> tuple[date, date]:
    """Return the first day of a garden's season (its first soil state) and the day after its last crop."""
    begins = min(state.on for state in garden.soil_states if state.bed is None)
    ends = max(planting.removed for bed in garden.beds for planting in bed.plantings)
    return begins, ends


def run_season(
    garden: Garden, daily: DailyWeather, *, progress: Callable[[int], None] | None = None
) -> SeasonResult:
    """Return the garden's whole season, replayed week by week on the record.

    Raises
    ------
    WeatherError
        If the record does not cover the season.
    """
    begins, ends = season_span(garden)
    setup = _setup(garden, daily)
    return _replay(
        setup,
        begins=begins,
        n_days=(ends - begins).days,
        first_week=DAYS_PER_WEEK,
        progress=progress,
    )
