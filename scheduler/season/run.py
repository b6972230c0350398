"""The chain over a span of days: replay what was, plan the week that comes.

A replay goes week by week as a person does: on each planning day the timer is set for seven days on what
was then expected (forecast rows, else the normals of the record), and the beds then live through the
weather that came. Of weather still to come a plan knows nothing but the normals, which are means over the
whole record.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, PlanError
from scheduler.garden.plan import Garden
from scheduler.season.days import (
    bed_days,
    depletion_limit,
    net_rates,
    outlook_from,
    slice_growth,
    stated_depletion,
)
from scheduler.season.field import FieldNotes, field_arrays
from scheduler.season.growth import Growth, garden_growth
from scheduler.season.setup import Setup, dates_from, set_up, week_before
from scheduler.season.span import DAY_FIELDS, allowed_by_dig, live_through, morning_depletion, open_span
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.week import (
    LONGEST_OUTLOOK,
    WeekPlan,
    days_ahead,
    hours_ahead,
    weekly_timetable,
)
from scheduler.water.need import effective_rainfall
from scheduler.weather.normals import Normals, Outlook, outlook
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
        What a soil state of the plan, or a dig, put right on the morning of the day [mm].
    known : array of bool
        True where a run, or a skipped one, is recorded.
    gauged : array of bool, shape (n_days,)
        True where the rain is that of the person's own gauge.
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
    known: NDArray[np.bool_]
    gauged: NDArray[np.bool_]
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
    limit : array, shape (n_days, n_beds)
        The beds' own limits; those of `outlook` are eased for a bed that starts past its own.
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
    limit: FloatArray
    normals: Normals


def _ahead(
    setup: Setup, growth: Growth, *, first: date, depletion: FloatArray
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
        et_before=week_before(setup.daily, first),
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
    setup: Setup, growth: Growth, *, first: date, depletion: FloatArray
) -> tuple[WeekPlan, BedOutlook, Outlook, FloatArray]:
    """Return the plan of the week from `first` on and what it was made from."""
    n_days = days_ahead(first, setup.limits)
    seen, weather, counted = _ahead(setup, slice_growth(growth, 0, n_days), first=first, depletion=depletion)
    plan = weekly_timetable(first, seen, zones=setup.zones, limits=setup.limits)
    return plan, seen, weather, counted


def _minutes(setup: Setup, plan: WeekPlan, growth: Growth) -> FloatArray:
    """Return minutes of water for every bed on each day of a planned week, (7, n_beds)."""
    minutes = np.zeros((DAYS_PER_WEEK, setup.flow.shape[0]))
    for setting, zone in zip(plan.settings, setup.zones, strict=True):
        open_for = np.full(zone.index.shape, float(setting.minutes_per_day))
        if setup.shut_early:
            open_for = np.minimum(open_for, plan.bed_minutes[zone.index])
        minutes[:, zone.index] = np.array(setting.mask, dtype=float)[:, None] * open_for
    return minutes * growth.in_use[:DAYS_PER_WEEK]


def _replay(
    setup: Setup,
    *,
    begins: date,
    n_days: int,
) -> SeasonResult:
    """Return what `n_days` from `begins` did, the timer set on the first day and on every Monday.

    Fixed weekdays keep the past the same, whatever day a table is asked for.
    """
    span = open_span(setup, begins, n_days)
    log = {name: np.zeros(span.days.raw.shape) for name in DAY_FIELDS}
    depletion = np.zeros(span.days.raw.shape[1])
    plans: list[WeekPlan] = []
    start = 0
    while start < n_days:
        first = begins + timedelta(days=start)
        end = min(n_days, start + DAYS_PER_WEEK - first.weekday())
        planned_from = morning_depletion(span, start, depletion)
        ahead = slice_growth(span.growth, start, start + LONGEST_OUTLOOK)
        plan, seen, *_ = _plan(setup, ahead, first=first, depletion=planned_from)
        plans.append(plan)
        advised = _minutes(setup, plan, ahead)[: end - start]
        recorded = span.field.minutes[start:end]
        log["minutes"][start:end] = np.where(np.isnan(recorded), advised, recorded)
        for day in range(start, end):
            depletion = live_through(span, day, depletion, log, evening=seen.evening)
        start = end
    growth_then = slice_growth(span.growth, 0, n_days)
    return SeasonResult(
        dates=span.dates,
        **log,
        rain=np.array(span.days.rain),
        raw=span.days.raw,
        limit=depletion_limit(growth_then, span.days, reserve=setup.garden.planning.reserve),
        litres=log["minutes"] / 60.0 * setup.flow,
        known=span.field.known,
        gauged=~np.isnan(span.field.rain),
        plans=tuple(plans),
        growth=growth_then,
        normals=setup.normals,
        weather_rows=span.rows,
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


def run_week(garden: Garden, daily: DailyWeather, *, on: date, notes: FieldNotes | None = None) -> WeekResult:
    """Return the table of the seven days from `on`, replayed from the newest stated soil state.

    Recorded runs, gauge rain and digs take the place of what would else be assumed.

    Raises
    ------
    PlanError
        If no soil state is stated on or before `on`.
    WeatherError
        If the record lacks days between the soil state and `on`.
    """
    setup = set_up(garden, daily, notes or FieldNotes())
    state_from = _state_before(garden, on)
    n_before = (on - state_from).days
    before = None
    depletion = np.zeros(len(garden.beds))
    if n_before:
        before = _replay(setup, begins=state_from, n_days=n_before)
        depletion = before.depletion[-1]
    growth = garden_growth(garden, dates_from(on, LONGEST_OUTLOOK), normals=setup.normals)
    seen, *_ = _ahead(setup, growth, first=on, depletion=depletion)
    stated = stated_depletion(garden, dates_from(on, 1), seen.raw[:1])[0]
    noted = field_arrays(setup.notes, garden, dates_from(on, 1))
    depletion = np.where(np.isnan(stated), depletion, stated)
    depletion = allowed_by_dig(depletion, seen.raw[0], least=noted.least[0], most=noted.most[0])
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
        limit=_own_limit(setup, growth, weather, counted),
        normals=setup.normals,
    )


def _own_limit(setup: Setup, growth: Growth, weather: Outlook, counted: FloatArray) -> FloatArray:
    """Return the limits that beds have of their own on the days ahead [mm], (n_days, n_beds)."""
    seen = slice_growth(growth, 0, weather.dates.shape[0])
    before = week_before(setup.daily, weather.dates[0].item())
    days = bed_days(seen, weather.reference_et, effective_rain=counted, et_before=before)
    return depletion_limit(seen, days, reserve=setup.garden.planning.reserve)


def season_span(garden: Garden) -> tuple[date, date]:
    """Return the first day of a garden's season (its first soil state) and the day after its last crop."""
    begins = min(state.on for state in garden.soil_states if state.bed is None)
    ends = max(planting.removed for bed in garden.beds for planting in bed.plantings)
    return begins, ends


def run_season(
    garden: Garden,
    daily: DailyWeather,
    *,
    notes: FieldNotes | None = None,
    shut_early: bool = False,
) -> SeasonResult:
    """Return the garden's whole season, replayed week by week on the record.

    With `shut_early` each hand valve is shut after the minutes that its own bed needs; else all valves of a
    zone stay open for the whole run.

    Raises
    ------
    WeatherError
        If the record does not cover the season.
    """
    begins, ends = season_span(garden)
    setup = set_up(garden, daily, notes or FieldNotes(), shut_early=shut_early)
    return _replay(
        setup,
        begins=begins,
        n_days=(ends - begins).days,
    )
