"""A depth of water a week on every bed, less the rain if so wished, as minutes of each valve. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import RillbookError
from scheduler.garden.plan import Timer
from scheduler.season.field import FieldNotes
from scheduler.season.fixed_run import OpenSeason
from scheduler.timetable.fixed import FixedSetting
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.runtime import run_time
from scheduler.timetable.windows import WEEKDAYS
from scheduler.weather.record import DailyWeather, DateArray

__all__ = ["USUAL_RUNS", "DepthRule", "depth_minutes", "depth_settings", "run_days"]

FloatArray = NDArray[np.float64]

#: Runs that the depth of a week is spread over if nobody says otherwise. Judgement, no source.
USUAL_RUNS = 2

MINUTES_PER_DAY = 24 * 60
MONDAY = np.datetime64("1970-01-05", "D")


@dataclass(frozen=True, slots=True)
class DepthRule:
    """A depth of water a week on every bed.

    Attributes
    ----------
    label : str
        What the person wrote, inches spelled out.
    depth : float
        Water that the line puts down in a week, spread over the bed [mm].
    runs : int
        Run days in a week, 1 to 7.
    less_rain : bool
        True if the rain of the week before, as a gauge holds it, is taken off.
    """

    label: str
    depth: float
    runs: int
    less_rain: bool


def run_days(runs: int) -> tuple[int, ...]:
    """Return which days of a week have a run, Monday as 0, as evenly spread as whole days allow."""
    return tuple(DAYS_PER_WEEK * run // runs for run in range(runs))


def depth_minutes(
    season: OpenSeason, rule: DepthRule, *, daily: DailyWeather, notes: FieldNotes
) -> FloatArray:
    """Return the minutes that the rule gives each valve, (n_days, n_beds); each bed has its own.

    On Mondays the depth of the week is settled: the rule's, less the rain of the seven days before if it says
    so, of the person's own gauge where there is a reading. A valve of a bed where nothing grows stays shut.

    Raises
    ------
    RillbookError
        If a day is too short for the water of a run.
    """
    dates = season.span.dates
    since = (dates - MONDAY).astype(np.int64) % DAYS_PER_WEEK
    owed = np.full(dates.shape, rule.depth)
    if rule.less_rain:
        owed = np.maximum(owed - _rain_of_week_before(dates - since, daily, notes), 0.0)
    runs = np.isin(since, run_days(rule.runs))
    gross = np.where(runs, owed / rule.runs, 0.0)
    minutes = run_time(gross[:, None], season.setup.rate) * season.in_use
    if minutes.max() > MINUTES_PER_DAY:
        bed = season.setup.garden.beds[int(minutes.max(axis=0).argmax())].name
        raise RillbookError(
            f'--depth "{rule.label}": bed "{bed}" would have to run {minutes.max() / 60.0:.0f} h a run day; '
            "ask for less water, or for more runs"
        )
    return minutes


def _rain_of_week_before(mondays: DateArray, daily: DailyWeather, notes: FieldNotes) -> FloatArray:
    """Return the rain of the seven days before each Monday [mm], of those that the record has."""
    rain = daily.rain.copy()
    for gauge in notes.gauges:
        rain[daily.dates == np.datetime64(gauge.on)] = gauge.rain
    sums = np.concatenate([[0.0], np.cumsum(rain)])
    end = np.clip((mondays - daily.dates[0]).astype(np.int64), 0, rain.shape[0])
    return np.asarray(sums[end] - sums[np.maximum(end - DAYS_PER_WEEK, 0)])


def depth_settings(season: OpenSeason, rule: DepthRule, minutes: FloatArray) -> tuple[FixedSetting, ...]:
    """Return what each outlet must be set to so that its thirstiest valve gets its `minutes` of each day.

    The fewest starts that the timer's longest run asks for; the other valves are shut by hand before.
    """
    timer: Timer = season.setup.garden.timer
    days = frozenset(WEEKDAYS[day] for day in run_days(rule.runs))
    settings = []
    for zone in season.setup.zones:
        most = float(minutes[:, zone.index].max())
        starts = max(math.ceil(most / timer.longest_run), 1)
        length = math.ceil(most / starts / timer.step) * timer.step
        settings.append(FixedSetting(zone.zone.name, season.first, days, starts, length))
    return tuple(settings)
