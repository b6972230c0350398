"""What each number of settings a season costs in water, money and stress. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from scheduler.errors import RillbookError
from scheduler.garden.plan import Garden
from scheduler.season.between_runs import LongGap
from scheduler.season.few_settings import SeasonWeeks, ShortWeek
from scheduler.season.field import FieldNotes
from scheduler.season.other_year import covered_years
from scheduler.season.outlet_settings import FewSettings, fixed_settings
from scheduler.season.run import season_span
from scheduler.season.settings_replay import ReplayedYears, replay_settings
from scheduler.season.setup import set_up
from scheduler.season.side_by_side import seasons_of, usual_season
from scheduler.season.week_needs import NeedYears, week_needs
from scheduler.weather.record import DailyWeather

__all__ = ["Reckoned", "SettingsTable", "paying", "settings_table"]

#: More settings pay as long as they save more than this share of the water of the best number looked at.
WORTH_A_TRIP = 0.05


@dataclass(frozen=True, slots=True)
class Reckoned:
    """The best settings with at most so many changes, how they fare in the years, where they fall short.

    Short are weeks that get too little water, and gaps between runs that beds do not last.
    """

    few: FewSettings
    replayed: ReplayedYears
    short_weeks: tuple[ShortWeek, ...]
    long_gaps: tuple[LongGap, ...]

    @property
    def fits(self) -> bool:
        """True if no week is short by more than the share and beds last from run to run."""
        return not self.short_weeks and not self.long_gaps


@dataclass(frozen=True, slots=True)
class SettingsTable:
    """Numbers of settings beside each other.

    Attributes
    ----------
    share : float
        By which a week may be short.
    basis : {"normals", "p80", "worst"}
        Which need of a week has to be met.
    years : tuple of int
        Years replayed.
    need : float
        Mean need of a season [L].
    rows : tuple of Reckoned
        For 1, 2 ... settings.
    each_week : Reckoned
        With a setting for every week, settled before the season.
    off_on : date
        The day on which the last crop is out and the timer can be switched off.
    bare : tuple of (date, date)
        First day and day after the last of weeks between crops in which nothing grows.
    """

    share: float
    basis: NeedYears
    years: tuple[int, ...]
    need: float
    rows: tuple[Reckoned, ...]
    each_week: Reckoned
    off_on: date
    bare: tuple[tuple[date, date], ...]


def settings_table(
    garden: Garden, daily: DailyWeather, *, share: float, basis: NeedYears, up_to: int
) -> SettingsTable:
    """Return the best settings for 1 to `up_to` changes, the first setting being one, and what each costs.

    Raises
    ------
    RillbookError
        If the record covers no whole season of the plan.
    """
    years = covered_years(garden, daily)
    if not years:
        raise RillbookError(
            "the record covers no whole season of this plan; settings are weighed over at least one"
        )
    setup = set_up(garden, daily, FieldNotes())
    seasons = seasons_of(setup, years)
    needs = week_needs(usual_season(setup), seasons)
    weeks = SeasonWeeks(setup, needs, share=share, years=basis)
    counts = range(1, up_to + 1)
    found = weeks.divide([*counts, weeks.n_weeks])
    own_year, off_on = season_span(garden)[0].year, season_span(garden)[1]
    replayed = replay_settings(seasons, [fixed_settings(few) for few in found], own_year=own_year)
    reckoned = [
        Reckoned(few, years_of, weeks.short_weeks(few), weeks.long_gaps(few))
        for few, years_of in zip(found, replayed, strict=True)
    ]
    return SettingsTable(
        share=share,
        basis=basis,
        years=tuple(years),
        need=float((needs.minutes.mean(axis=0) @ needs.flow).sum()),
        rows=tuple(reckoned[:-1]),
        each_week=reckoned[-1],
        off_on=off_on,
        bare=_bare(needs.begins, (needs.days.sum(axis=1) > 0.0).tolist()),
    )


def _bare(begins: Sequence[date], grown: Sequence[bool]) -> tuple[tuple[date, date], ...]:
    """Return the spans of weeks in which nothing grows; the first and the last week have crops."""
    edges = np.flatnonzero(np.diff(np.array(grown, dtype=int))) + 1
    days = [begins[edge] for edge in edges.tolist()]
    return tuple(zip(days[::2], days[1::2], strict=True))


def paying(table: SettingsTable) -> Reckoned:
    """Return the fewest settings whose water lies within a twentieth of the least of all numbers looked at.

    Those that leave weeks short by more than the share, or beds dry between runs, count only if all do.
    """
    kept = [row for row in table.rows if row.fits] or list(table.rows)
    least = min(row.replayed.litres for row in kept)
    return next(row for row in kept if row.replayed.litres <= (1.0 + WORTH_A_TRIP) * least)
