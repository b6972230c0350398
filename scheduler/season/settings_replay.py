"""Timetables replayed through every covered year of the record: water, money, drainage, stress. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Garden
from scheduler.season.fixed_run import OpenSeason, valve_minutes
from scheduler.season.other_year import moved
from scheduler.season.results import SeasonResult
from scheduler.season.side_by_side import live_under, side_by_side
from scheduler.season.tariff import season_bill
from scheduler.timetable.fixed import FixedSetting, fixed_minutes
from scheduler.timetable.patterns import DAYS_PER_WEEK

__all__ = [
    "ReplayedSeason",
    "ReplayedYears",
    "WorstWeek",
    "mean_of_years",
    "replay_settings",
    "replayed_season",
]

FloatArray = NDArray[np.float64]

CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class WorstWeek:
    """The week of a bed in which crops missed the greatest share of the water that they would have used."""

    begins: date
    bed: str
    share: float


@dataclass(frozen=True, slots=True)
class ReplayedSeason:
    """A timetable in one year.

    Attributes
    ----------
    litres, drained : float
        Water at the emitters, and water that left the beds below [L].
    cost : Decimal or None
        What the garden adds to the bills; None without a tariff.
    short_days : float
        Bed-days on which crops were short of water.
    worst : WorstWeek
        Of the weeks on all of whose days a bed is planted: one set out on a Sunday is watered in by hand.
    """

    litres: float
    drained: float
    cost: Decimal | None
    short_days: float
    worst: WorstWeek


#: The same as means over years, the worst week being that of all.
ReplayedYears = ReplayedSeason


def mean_of_years(years: Sequence[ReplayedSeason]) -> ReplayedYears:
    """Return the means over years, and the worst week of all."""
    costs = [year.cost for year in years if year.cost is not None]
    return ReplayedYears(
        litres=sum(year.litres for year in years) / len(years),
        drained=sum(year.drained for year in years) / len(years),
        cost=(sum(costs, Decimal(0)) / len(years)).quantize(CENT) if len(costs) == len(years) else None,
        short_days=sum(year.short_days for year in years) / len(years),
        worst=max((year.worst for year in years), key=lambda week: week.share),
    )


def replay_settings(
    seasons: Sequence[OpenSeason], timetables: Sequence[Sequence[FixedSetting]], *, own_year: int
) -> tuple[ReplayedYears, ...]:
    """Return how each of some timetables fares in the seasons, never touched between its dates.

    `own_year` is the year that the dates of the settings are of; in others they have the same days of the
    calendar. All timetables and seasons are columns of one balance.
    """
    minutes = [
        _valve_minutes(season, settings, own_year=own_year) for settings in timetables for season in seasons
    ]
    joined = side_by_side([*seasons] * len(timetables))
    n_days = joined.limit.shape[0]
    lived = live_under(joined, np.concatenate([part[:n_days] for part in minutes], axis=1))
    sums = [
        _season_sums(
            season,
            part,
            deep_percolation=lived.deep_percolation[:, column],
            stress=lived.stress_coefficient[:, column],
        )
        for column, (season, part) in enumerate(zip([*seasons] * len(timetables), minutes, strict=True))
    ]
    n_years = len(seasons)
    return tuple(mean_of_years(sums[at : at + n_years]) for at in range(0, len(sums), n_years))


def _valve_minutes(season: OpenSeason, settings: Sequence[FixedSetting], *, own_year: int) -> FloatArray:
    """Return the minutes of each day and bed under settings whose dates are moved to the season's year."""
    years = season.first.year - own_year
    dated = [replace(setting, begins=moved(setting.begins, years)) for setting in settings]
    names = [zone.zone.name for zone in season.setup.zones]
    by_zone = fixed_minutes(dated, names, first=season.first, n_days=season.n_days)
    return valve_minutes(season, by_zone)


def _season_sums(
    season: OpenSeason, minutes: FloatArray, *, deep_percolation: FloatArray, stress: FloatArray
) -> ReplayedSeason:
    """Return the sums of a season that was lived through beside others."""
    n_days = stress.shape[0]
    return _sums(
        season.setup.garden,
        season.first,
        litres=minutes / 60.0 * season.setup.flow,
        deep_percolation=deep_percolation,
        stress=stress,
        wanted=np.where(season.in_use, season.span.days.conditions.basal, 0.0)[:n_days],
        in_use=season.in_use[:n_days],
    )


def replayed_season(garden: Garden, result: SeasonResult) -> ReplayedSeason:
    """Return the sums of a season that was replayed by itself."""
    return _sums(
        garden,
        result.dates[0].item(),
        litres=result.litres,
        deep_percolation=result.deep_percolation,
        stress=result.stress_coefficient,
        wanted=np.where(result.growth.in_use, result.conditions.basal, 0.0),
        in_use=result.growth.in_use,
    )


def _sums(
    garden: Garden,
    first: date,
    *,
    litres: FloatArray,
    deep_percolation: FloatArray,
    stress: FloatArray,
    wanted: FloatArray,
    in_use: NDArray[np.bool_],
) -> ReplayedSeason:
    """Return the sums of days; arrays of shape (n_days, n_beds), `wanted` is use without stress [mm]."""
    area = np.array([bed.area for bed in garden.beds])
    lacking = np.where(in_use, 1.0 - stress, 0.0)
    return ReplayedSeason(
        litres=float(litres.sum()),
        drained=float(deep_percolation.sum(axis=0) @ area),
        cost=_cost(garden, first, litres.sum(axis=1)),
        short_days=float((lacking > 1e-9).sum()),
        worst=_worst_week(garden, first, wanted=wanted, lacking=lacking, in_use=in_use),
    )


def _cost(garden: Garden, first: date, litres: FloatArray) -> Decimal | None:
    """Return what a season's water adds to the bills, `litres` by day; None without a tariff."""
    if garden.tariff is None or garden.household is None:
        return None
    by_day = {first + timedelta(days=day): volume for day, volume in enumerate(litres.tolist())}
    bill = season_bill(
        by_day, garden.tariff, household=garden.household, begins=min(by_day), ends=max(by_day)
    )
    return bill.garden_cost


def _worst_week(
    garden: Garden, first: date, *, wanted: FloatArray, lacking: FloatArray, in_use: NDArray[np.bool_]
) -> WorstWeek:
    """Return the worst week of a season, from Monday on."""
    week = (np.arange(wanted.shape[0]) + first.weekday()) // DAYS_PER_WEEK
    of_week = (week == np.arange(week[-1] + 1)[:, None]).astype(float)
    asked, missed = of_week @ wanted, of_week @ (wanted * lacking)
    whole = (of_week @ in_use > DAYS_PER_WEEK - 0.5) & (asked > 0.0)
    share = np.divide(missed, asked, out=np.zeros_like(asked), where=whole)
    number, bed = np.unravel_index(int(np.argmax(share)), share.shape)
    monday = first + timedelta(days=DAYS_PER_WEEK * int(number) - first.weekday())
    return WorstWeek(monday, garden.beds[int(bed)].name, float(share[number, bed]))
