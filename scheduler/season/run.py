"""The chain over a span of days: replay what was, plan the week that comes.

A replay goes week by week as a person does: on each planning day the timer is set for seven days on what
was then expected (forecast rows, else the normals of the record), and the beds then live through the
weather that came. Of weather still to come a plan knows nothing but the normals, which are means over the
whole record.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, PlanError
from scheduler.garden.plan import Garden
from scheduler.season.days import BedDays, bed_days, depletion_limit, net_rates, outlook_from
from scheduler.season.field import FieldNotes, field_arrays
from scheduler.season.growth import Growth, garden_growth, slice_growth
from scheduler.season.replay import ComingDays, Watering, replay
from scheduler.season.results import SeasonResult, WeekResult
from scheduler.season.setup import Setup, dates_from, set_up, week_before
from scheduler.season.soil import Lived, full_soil, morning, put_right, resized_beds, stated_soil
from scheduler.season.span import Span, open_span
from scheduler.season.stages import Warmth
from scheduler.season.surroundings import DayWeather
from scheduler.timetable.effort import QUICK_EFFORT, USUAL_EFFORT, Effort
from scheduler.timetable.limits import LONGEST_OUTLOOK, days_ahead, hours_ahead
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.week import WeekPlan, weekly_timetable
from scheduler.water.need import effective_rainfall
from scheduler.weather.normals import Outlook, outlook
from scheduler.weather.record import DailyWeather

__all__ = ["run_season", "run_week", "season_span"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class _Planned:
    """The plan of one week and all that it was made from, of the days that the planner looks at."""

    plan: WeekPlan
    seen: BedOutlook
    weather: Outlook
    counted_rain: FloatArray
    growth: Growth
    days: BedDays
    use_factor: FloatArray
    put_right: NDArray[np.bool_]


def _plan(
    setup: Setup, growth: Growth, *, first: date, lived: Lived, effort: Effort = QUICK_EFFORT
) -> _Planned:
    """Return the plan of the week from `first` on; `lived` is what the day before left."""
    growth = slice_growth(growth, 0, days_ahead(first, setup.limits))
    weather = outlook(setup.daily, setup.normals, first, growth.in_use.shape[0])
    care = setup.garden.planning
    # A forecast day rains or it does not, so small rain is dropped; a normal is a mean of both and is not.
    foretold = effective_rainfall(weather.rain, weather.reference_et) * care.forecast_rain
    counted = np.where(weather.origin == "forecast", foretold, weather.rain * care.normal_rain)
    days = _days_ahead(setup, growth, weather, counted)
    begun, corrected = _this_morning(setup, growth, days, on=first, lived=lived)
    days = replace(days, conditions=days.conditions.times(begun.feedback.factor))
    seen = outlook_from(
        growth,
        days,
        state=begun.soil,
        net_rate=net_rates(growth, setup.rate, setup.efficiency),
        reserve=care.reserve,
        evening=hours_ahead(first, setup.limits).evening,
    )
    plan = weekly_timetable(first, seen, zones=setup.zones, limits=setup.limits, effort=effort)
    return _Planned(plan, seen, weather, counted, growth, days, begun.feedback.factor, corrected)


def _days_ahead(setup: Setup, growth: Growth, weather: Outlook, counted: FloatArray) -> BedDays:
    """Return the beds' days ahead under the weather expected, `counted` being what of its rain counts."""
    tmax, tmin = Warmth(setup.daily, setup.normals, weather.dates[0].item()).extremes(weather.dates)
    met = DayWeather(
        dates=weather.dates,
        reference_et=weather.reference_et,
        rain=counted,
        wind_2m=weather.wind_2m,
        rh_min=weather.rh_min,
        tmax=tmax,
        tmin=tmin,
        before=week_before(setup.daily, weather.dates[0].item()),
    )
    return bed_days(growth, met, garden=setup.garden)


def _minutes(setup: Setup, plan: WeekPlan, growth: Growth) -> FloatArray:
    """Return minutes of water for every bed on each day of a planned week, (7, n_beds)."""
    minutes = np.zeros((DAYS_PER_WEEK, setup.flow.shape[0]))
    for setting, zone in zip(plan.settings, setup.zones, strict=True):
        open_for = np.full(zone.index.shape, float(setting.minutes_per_day))
        if setup.shut_early:
            open_for = np.minimum(open_for, plan.bed_minutes[zone.index])
        minutes[:, zone.index] = np.array(setting.mask, dtype=float)[:, None] * open_for
    return minutes * growth.in_use[:DAYS_PER_WEEK]


def _monday_planner(setup: Setup) -> Watering:
    """Return who says the minutes of a garden whose timer is set for seven days on every Monday."""

    def plan_week(span: Span, day: int, lived: Lived) -> ComingDays:
        ahead = _growth_ahead(setup, span, day)
        planned = _plan(setup, ahead, first=span.dates[day].item(), lived=lived)
        return ComingDays(_minutes(setup, planned.plan, ahead), bool(planned.seen.evening), planned.plan)

    return plan_week


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


def run_week(
    garden: Garden,
    daily: DailyWeather,
    *,
    on: date,
    notes: FieldNotes | None = None,
    effort: Effort = USUAL_EFFORT,
) -> WeekResult:
    """Return the table of the seven days from `on`, replayed from the newest stated soil state.

    Recorded runs, gauge rain and digs take the place of what would else be assumed. `effort` is how hard to
    look for the best timetable of the week itself.

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
    before, lived = None, full_soil(len(garden.beds))
    if n_before:
        span = open_span(setup, state_from, n_before, until=on)
        before, lived = replay(setup, span, _monday_planner(setup))
    planned = _plan(setup, _growth_seen(setup, on), first=on, lived=lived, effort=effort)
    return WeekResult(
        on=on,
        plan=planned.plan,
        outlook=planned.seen,
        weather=planned.weather,
        counted_rain=planned.counted_rain,
        growth=planned.growth,
        before=before,
        state_from=state_from,
        limit=depletion_limit(planned.growth, planned.days, reserve=garden.planning.reserve),
        reached=planned.days.reached,
        use_factor=planned.use_factor,
        normals=setup.normals,
        put_right=planned.put_right,
        zones=setup.zones,
        limits=setup.limits,
    )


def _growth_seen(setup: Setup, on: date) -> Growth:
    """Return the growth of the days from `on` that can be foreseen then."""
    warmth = Warmth(setup.daily, setup.normals, on)
    return garden_growth(setup.garden, dates_from(on, LONGEST_OUTLOOK), normals=setup.normals, warmth=warmth)


def _growth_ahead(setup: Setup, span: Span, day: int) -> Growth:
    """Return the growth that a plan made on a day of the span foresees.

    By the calendar it is the growth that comes; of warmth that comes the plan knows nothing.
    """
    if any(planting.heat is not None for bed in setup.garden.beds for planting in bed.plantings):
        return _growth_seen(setup, span.dates[day].item())
    return slice_growth(span.growth, day, day + LONGEST_OUTLOOK)


def _this_morning(
    setup: Setup, growth: Growth, days: BedDays, *, on: date, lived: Lived
) -> tuple[Lived, NDArray[np.bool_]]:
    """Return what the morning of a table starts from: soil as stated or found, and what findings tell.

    And where that put the soil right, of shape (n_beds,).
    """
    dates = dates_from(on, 1)
    stated = stated_soil(setup.garden, dates, days.conditions.raw[:1]).on(0)
    field = field_arrays(setup.notes, setup.garden, dates).on(0)
    begun = morning(
        lived,
        days.conditions.on(0),
        stated=stated,
        field=field,
        tew=growth.tew[0],
        resized=resized_beds(setup.garden, dates)[0],
    )
    change = (begun.soil.depletion + begun.soil.below) - (lived.soil.depletion + lived.soil.below)
    return begun, put_right(change, stated.depletion, found=field.found)


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
    # A replay looks back: every temperature of its span is known by then.
    span = open_span(setup, begins, (ends - begins).days, until=ends)
    return replay(setup, span, _monday_planner(setup))[0]
