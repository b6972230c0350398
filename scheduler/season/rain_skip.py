"""Until when no run is needed after rain that a gauge has caught. Pure.

The rain of the day is what the gauge tells; of rain that may come later only what the plan's shares count.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.season.ahead import Ahead, course_with, expected_weather, growth_ahead, look_ahead
from scheduler.season.field import FieldNotes, field_arrays
from scheduler.season.results import WeekResult
from scheduler.season.setup import Setup, dates_from
from scheduler.season.surroundings import DayWeather
from scheduler.timetable.limits import hours_ahead
from scheduler.water.balance import SoilState, follow_roots
from scheduler.water.need import effective_rainfall

__all__ = ["LONGEST_SKIP", "RainSkip", "first_passed", "last_run_day", "skip_after_rain"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

#: Days that are looked at after the rain.
LONGEST_SKIP = 60

#: Depletions past the limit by less are rounding [mm].
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class RainSkip:
    """What a gauge reading means for every bed; arrays of shape (n_beds,), days counted from the rain's.

    Attributes
    ----------
    counts : float
        Of the reading in the open [mm]; 0 for a trifle.
    reference_et : float
        Of the day [mm]; rain below a fifth of it is a trifle.
    reached, lacked, stored, drained : arrays
        Rain that reaches the soil, what the soil lacked before it, what it keeps, what runs through [mm].
    run_again : array of int
        Day on which the bed needs its next run, moved to the last allowed day before it; `n_days` if none is
        needed in all days looked at.
    run_without : array of int
        The same without this rain.
    in_use : array of bool
        True where something grows on the day of the rain.
    ran : array
        Minutes that are recorded for the day.
    forecast_days, n_days : int
        Forecast rows, and days looked at.
    evening : bool
        True if runs come in the evening.
    """

    counts: float
    reference_et: float
    reached: FloatArray
    lacked: FloatArray
    stored: FloatArray
    drained: FloatArray
    run_again: IntArray
    run_without: IntArray
    in_use: BoolArray
    ran: FloatArray
    forecast_days: int
    n_days: int
    evening: bool


def first_passed(driest: FloatArray, limit: FloatArray) -> IntArray:
    """Return the first day that ends with a bed past its limit, the number of days if none does.

    Arrays of shape (n_days, ..., n_beds).
    """
    past = driest > limit + ROUNDING
    return np.where(past.any(axis=0), np.argmax(past, axis=0), driest.shape[0]).astype(np.int64)


def last_run_day(needed: IntArray, allowed: BoolArray, *, evening: bool) -> IntArray:
    """Return the last day on which a run still comes in time, no earlier than the day itself (0).

    `needed` are days that would end with a bed past its limit, `allowed` tells the days that allow a run. A
    morning run comes in time on the day itself, an evening run the evening before. A need past the last day
    looked at stays there.
    """
    n_days = allowed.shape[0]
    latest = np.maximum.accumulate(np.where(allowed, np.arange(n_days), 0))
    in_time = np.maximum(needed - int(evening), 0)
    return np.where(needed >= n_days, n_days, latest[np.minimum(in_time, n_days - 1)]).astype(np.int64)


def _as_observed(setup: Setup, met: DayWeather) -> DayWeather:
    """Return the weather with the record's own first day, where that was observed."""
    daily = setup.daily
    row = int(np.searchsorted(daily.dates, met.dates[0]))
    if row >= daily.dates.size or daily.dates[row] != met.dates[0] or daily.forecast[row]:
        return met

    def first(expected: FloatArray, observed: FloatArray) -> FloatArray:
        return np.concatenate([observed[row : row + 1], expected[1:]])

    return replace(
        met,
        reference_et=first(met.reference_et, daily.reference_et),
        wind_2m=first(met.wind_2m, daily.wind_2m),
        rh_min=first(met.rh_min, daily.rh_min),
        tmax=first(met.tmax, daily.tmax),
        tmin=first(met.tmin, daily.tmin),
    )


def _ran(setup: Setup, result: WeekResult, notes: FieldNotes) -> FloatArray:
    """Return the minutes that are recorded for the day of the rain; those advised where it says no more."""
    field = field_arrays(notes, setup.garden, dates_from(result.on, 1)).on(0)
    advised = np.zeros(setup.flow.shape)
    for setting, beds in zip(result.plan.settings, setup.zones, strict=True):
        advised[beds.index] = setting.minutes_per_day if setting.mask[0] else 0
    minutes = np.where(np.isnan(field.minutes), advised, field.minutes)
    return np.where(field.known, minutes, 0.0)


def _allowed(setup: Setup, result: WeekResult, n_days: int) -> BoolArray:
    """Return the days that allow a run."""
    hours = hours_ahead(result.on, setup.limits, n_days=n_days)
    return np.array([bool(spans) for spans in hours.spans])


class _Room(NamedTuple):
    """What the root zone and the soil below it lack on the first morning, after a morning's run [mm]."""

    roots: FloatArray
    below: FloatArray


def _room(ahead: Ahead, state: SoilState, run: FloatArray) -> _Room:
    first = ahead.conditions.on(0)
    depletion, below = follow_roots(state, first.taw, storage=first.storage)
    left = depletion - run
    return _Room(np.maximum(left, 0.0), np.maximum(below - np.maximum(-left, 0.0), 0.0))


def _driest(
    ahead: Ahead, state: SoilState, rain: FloatArray, *, run: FloatArray, evening: bool
) -> FloatArray:
    """Return the depletion at the end of each day's use without a further run [mm], (n_days, n_beds).

    Of the first day's `rain` the surface gets what the root zone stores, no more. The balance would let all
    of it wet ground between the lines that the depletion does not know to be dry; its evaporation would then
    dry the roots' soil, and the more it rained, the sooner a run would be due.
    """
    first = ahead.conditions.on(0)
    room = _room(ahead, state, np.zeros_like(run) if evening else run)
    depletion, below = follow_roots(state, first.taw, storage=first.storage)
    roots = np.minimum(rain, room.roots)
    wetted = SoilState(
        depletion=depletion - roots,
        below=below - np.minimum(rain - roots, room.below),
        strip=np.maximum(state.strip - roots, 0.0),
        rest=np.maximum(state.rest - roots, 0.0),
        reach=first.taw,
    )
    later = ahead.conditions.rain.copy()
    later[0] = 0.0
    water = np.zeros_like(later)
    water[0] = run
    nothing = np.zeros_like(water)
    early, late = (nothing, water) if evening else (water, nothing)
    return course_with(ahead.conditions._replace(rain=later), wetted, early, late=late).driest


def _reached(setup: Setup, counts: float, under_leaves: Mapping[int, float]) -> FloatArray:
    """Return the rain that reaches the soil of each bed [mm]: of a trifle none, not even under a can."""
    reached = counts * np.array([bed.rain_share for bed in setup.garden.beds])
    for number, depth in under_leaves.items():
        reached[number] = depth if counts else 0.0
    return reached


def skip_after_rain(
    setup: Setup,
    result: WeekResult,
    notes: FieldNotes,
    *,
    gauge: float,
    under_leaves: Mapping[int, float],
    n_days: int = LONGEST_SKIP,
) -> RainSkip:
    """Return until when no run is needed.

    Parameters
    ----------
    setup : Setup
    result : WeekResult
        The table of the day of the rain, whose morning gives the soil.
    notes : FieldNotes
        Recorded runs of that day are water of its own.
    gauge : float
        Rain in the open [mm].
    under_leaves : mapping of int to float
        Bed number -> rain that a second can caught below its leaves [mm]; other beds get the plan's share.
    n_days : int
        Days looked at.
    """
    expected = expected_weather(setup, result.on, n_days)
    met = _as_observed(setup, expected.met)
    ahead = look_ahead(setup, result, met, growth=growth_ahead(setup, result.on, n_days))
    counts = float(effective_rainfall(gauge, met.reference_et[0]))
    reached = _reached(setup, counts, under_leaves)
    ran = _ran(setup, result, notes)
    evening = bool(result.outlook.evening)
    run = ran * ahead.net_rate[0]
    room = _room(ahead, result.outlook.state, np.zeros_like(run) if evening else run)
    lacked = room.roots + room.below
    stored = np.minimum(reached, lacked)
    allowed = _allowed(setup, result, n_days)

    def next_run(rain: FloatArray) -> IntArray:
        driest = _driest(ahead, result.outlook.state, rain, run=run, evening=evening)
        return last_run_day(first_passed(driest, ahead.limit), allowed, evening=evening)

    return RainSkip(
        counts=counts,
        reference_et=float(met.reference_et[0]),
        reached=reached,
        lacked=lacked,
        stored=stored,
        drained=reached - stored,
        run_again=next_run(stored),
        run_without=next_run(np.zeros_like(stored)),
        in_use=ahead.growth.in_use[0],
        ran=ran,
        forecast_days=int((expected.origin[1:] == "forecast").sum()),
        n_days=n_days,
        evening=evening,
    )
