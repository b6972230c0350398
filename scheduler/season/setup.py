"""What a run needs before its first day: beds, zones, limits, normals, and where the weather stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, WeatherError
from scheduler.garden.plan import Garden
from scheduler.season.clock_changes import clock_changes
from scheduler.season.field import FieldNotes
from scheduler.season.pulses import pulse_limits
from scheduler.season.supply import supply_arrays
from scheduler.timetable.choices import ZoneBeds
from scheduler.timetable.limits import LONGEST_OUTLOOK, Limits
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.weather.normals import Normals, day_of_year_normals
from scheduler.weather.record import DailyWeather, DateArray

__all__ = ["Setup", "dates_from", "set_up", "timer_limits", "weather_rows_of", "week_before"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Setup:
    """What does not change from day to day."""

    garden: Garden
    daily: DailyWeather
    notes: FieldNotes
    normals: Normals
    limits: Limits
    zones: tuple[ZoneBeds, ...]
    flow: FloatArray
    rate: FloatArray
    efficiency: FloatArray
    shut_early: bool


def set_up(garden: Garden, daily: DailyWeather, notes: FieldNotes, *, shut_early: bool = False) -> Setup:
    """Return the fixed part of a run."""
    area, flow, rate, efficiency = supply_arrays(garden)
    pulses = pulse_limits(garden)
    zones = []
    for zone in garden.zones:
        index = np.array([i for i, bed in enumerate(garden.beds) if bed.zone == zone.name], dtype=np.int64)
        zones.append(ZoneBeds(zone, index, area[index], flow[index], *pulses.of_beds(index)))
    return Setup(
        garden=garden,
        daily=daily,
        notes=notes,
        normals=day_of_year_normals(daily),
        limits=timer_limits(garden, daily.dates[0].item(), daily.dates[-1].item()),
        zones=tuple(zones),
        flow=flow,
        rate=rate,
        efficiency=efficiency,
        shut_early=shut_early,
    )


def timer_limits(garden: Garden, first: date, last: date) -> Limits:
    """Return what timer, hours and tap allow in weeks that begin from `first` to the day after `last`."""
    source = garden.water_source
    return Limits(
        garden.timer,
        garden.windows,
        garden.restrictions,
        source.flow * source.usable_share,
        clock_changes(first, last + timedelta(days=1 + LONGEST_OUTLOOK), garden.site.timezone),
    )


def dates_from(begins: date, n_days: int) -> DateArray:
    """Return `n_days` dates from `begins` on."""
    return np.datetime64(begins, "D") + np.arange(n_days)


def weather_rows_of(daily: DailyWeather, dates: DateArray) -> NDArray[np.int64]:
    """Return the weather rows of the dates; raise WeatherError if the record does not reach them."""
    first, last = daily.dates[0], daily.dates[-1]
    if dates.shape[0] and (dates[0] < first or dates[-1] > last):
        early, late = dates[0] < first, dates[-1] > last
        wanted = f"a table for {last + 1} is the last that this record allows" if late else ""
        if early:
            wanted = f"the first day it can serve is {first}" + (f", and {wanted}" if wanted else "")
        raise WeatherError(
            daily.source or "weather record",
            [
                Fault(
                    "dates",
                    f"the record runs from {first} to {last}",
                    f"every day from {dates[0]} to {dates[-1]} is needed; add the days that are missing, "
                    f"or ask for another date or year: {wanted}",
                )
            ],
        )
    return (dates - first).astype(np.int64)


def week_before(daily: DailyWeather, first: date) -> FloatArray:
    """Return the reference ET of the seven days before a date, of those that the record has [mm]."""
    begins = dates_from(first, 1)[0]
    recent = (daily.dates < begins) & (daily.dates >= begins - DAYS_PER_WEEK)
    return daily.reference_et[recent]
