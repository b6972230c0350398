"""A season under a timer that is set once and left, or under minutes given for each day and bed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Garden
from scheduler.season.field import FieldNotes
from scheduler.season.replay import ComingDays, Watering, replay
from scheduler.season.results import SeasonResult
from scheduler.season.run import season_span
from scheduler.season.setup import Setup, set_up
from scheduler.season.soil import Lived
from scheduler.season.span import Span, open_span
from scheduler.timetable.fixed import FixedSetting, fixed_minutes
from scheduler.timetable.limits import hours_ahead
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.weather.record import DailyWeather

__all__ = ["OpenSeason", "live_by", "open_season", "run_fixed", "run_minutes", "valve_minutes"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class OpenSeason:
    """A garden's season ready to be lived through, as often as there are timetables to try."""

    setup: Setup
    span: Span

    @property
    def first(self) -> date:
        """The first day of the season."""
        day: date = self.span.dates[0].item()
        return day

    @property
    def n_days(self) -> int:
        """Number of days of the season."""
        return self.span.dates.shape[0]

    @property
    def in_use(self) -> NDArray[np.bool_]:
        """Where something grows, (n_days, n_beds); hand valves are shut elsewhere."""
        return self.span.growth.in_use[: self.n_days]


def open_season(garden: Garden, daily: DailyWeather, *, notes: FieldNotes | None = None) -> OpenSeason:
    """Return the garden's season, to be replayed under timetables that are not planned on the way.

    Raises
    ------
    WeatherError
        If the record does not cover the season.
    """
    begins, ends = season_span(garden)
    setup = set_up(garden, daily, notes or FieldNotes())
    return OpenSeason(setup, open_span(setup, begins, (ends - begins).days, until=ends))


def valve_minutes(season: OpenSeason, zone_minutes: FloatArray) -> FloatArray:
    """Return the minutes of each bed's valve, (n_days, n_beds), of minutes of each zone (n_days, n_zones).

    All valves of a zone are open for its whole runs, but for beds where nothing grows on the day.
    """
    minutes = np.zeros(season.in_use.shape)
    for column, zone in enumerate(season.setup.zones):
        minutes[:, zone.index] = zone_minutes[:, column, None]
    return minutes * season.in_use


def live_by(season: OpenSeason, minutes: FloatArray) -> SeasonResult:
    """Return the season under the given minutes of each day and bed, (n_days, n_beds); `plans` is empty.

    The minutes are taken as they are, on days on which nothing grows too.

    Raises
    ------
    ValueError
        If there are not minutes for every day and bed, or some are negative or not finite.
    """
    wanted = season.in_use.shape
    if minutes.shape != wanted or not (np.isfinite(minutes) & (minutes >= 0.0)).all():
        raise ValueError(f"minutes of shape {wanted} are needed, all finite and none negative")
    return replay(season.setup, season.span, _as_given(season.setup, minutes))[0]


def _as_given(setup: Setup, minutes: FloatArray) -> Watering:
    """Return who says the minutes where they were settled beforehand, in the watering hours of the plan."""

    def read_off(span: Span, day: int, _lived: Lived) -> ComingDays:
        evening = hours_ahead(span.dates[day].item(), setup.limits).evening
        return ComingDays(minutes[day : day + DAYS_PER_WEEK], evening)

    return read_off


def run_fixed(
    garden: Garden,
    daily: DailyWeather,
    *,
    settings: Sequence[FixedSetting],
    notes: FieldNotes | None = None,
) -> SeasonResult:
    """Return the garden's whole season under fixed settings: every bed gets the whole runs of its zone.

    `plans` of the result is empty. Whether the timer could hold the settings is not asked here.

    Raises
    ------
    ValueError
        If a setting names no zone of the garden, or two of a zone begin on the same day.
    WeatherError
        If the record does not cover the season.
    """
    season = open_season(garden, daily, notes=notes)
    names = [zone.name for zone in garden.zones]
    by_zone = fixed_minutes(settings, names, first=season.first, n_days=season.n_days)
    return live_by(season, valve_minutes(season, by_zone))


def run_minutes(
    garden: Garden, daily: DailyWeather, *, minutes: FloatArray, notes: FieldNotes | None = None
) -> SeasonResult:
    """Return the garden's whole season under minutes given for each of its days and beds.

    Parameters
    ----------
    garden : Garden
    daily : DailyWeather
    minutes : array, shape (n_days, n_beds)
        Minutes that each bed's valve is open with water on; days as `season_span` has them.
    notes : FieldNotes, optional

    Raises
    ------
    ValueError
        If there are not minutes for every day and bed, or some are negative or not finite.
    WeatherError
        If the record does not cover the season.
    """
    return live_by(open_season(garden, daily, notes=notes), minutes)
