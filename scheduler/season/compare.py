"""A season under the weekly table beside the same season under timetables that stay as set. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from scheduler.garden.plan import Garden
from scheduler.season.depth_rule import DepthRule, depth_minutes, depth_settings
from scheduler.season.field import FieldNotes
from scheduler.season.fixed_run import OpenSeason, live_by, open_season, valve_minutes
from scheduler.season.results import SeasonResult
from scheduler.season.run import run_season
from scheduler.season.sums import litres_by_day, stress_days
from scheduler.season.tariff import season_bill
from scheduler.season.timetable_text import FixedTimetable
from scheduler.season.yields import PlantingYield, planting_yields
from scheduler.timetable.fixed import fixed_minutes
from scheduler.timetable.holding import cannot_hold
from scheduler.weather.record import DailyWeather

__all__ = [
    "WEEKLY",
    "BedOutcome",
    "Comparison",
    "Outcome",
    "Tally",
    "Timetable",
    "compare_season",
    "mean_tally",
]

#: What the engine's own timetable is called beside those of a person.
WEEKLY = "weekly table"

Timetable = FixedTimetable | DepthRule


@dataclass(frozen=True, slots=True)
class Tally:
    """What a season under one timetable comes to, or the mean of several seasons.

    Attributes
    ----------
    label : str
        The timetable in the person's words.
    litres : float
        Water at the emitters [L].
    drained : float
        Water, also of rain, that drained out of the beds below [L].
    transpired : float
        Water that the crops used [L]; with the single coefficient the surface's too.
    short_days : float
        Bed-days with crops short of water, Ks below 1.
    used_days : float
        Bed-days on which something grew.
    cost : Decimal or None
        What the garden added to the water bills; None without a tariff.
    """

    label: str
    litres: float
    drained: float
    transpired: float
    short_days: float
    used_days: float
    cost: Decimal | None


@dataclass(frozen=True, slots=True)
class BedOutcome:
    """One bed: water at its emitters and drained below it [L], days short of water, lowest Ks."""

    bed: str
    litres: float
    drained: float
    short_days: int
    least_stress: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """One season under one timetable.

    Attributes
    ----------
    tally : Tally
    beds : tuple of BedOutcome
        In the plan's order.
    least_yield : PlantingYield or None
        The planting that may have lost most; None if none with a yield response factor stood.
    against : tuple of str
        What of it the timer, the hours or the restrictions do not allow, in words.
    """

    tally: Tally
    beds: tuple[BedOutcome, ...]
    least_yield: PlantingYield | None
    against: tuple[str, ...] = ()

    @property
    def hardest(self) -> BedOutcome | None:
        """The bed with most days short of water, then with the lowest Ks; None if none was short."""
        worst = max(self.beds, key=lambda bed: (bed.short_days, -bed.least_stress))
        return worst if worst.short_days else None


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """One season: the weekly table first of `outcomes`, then the others in the order given.

    `ours` is the season under the weekly table in full. `later_states` tells if the plan states soil after
    the season's first day, which then is the same for all; `left_out` if something recorded was left out.
    """

    year: int
    ours: SeasonResult
    outcomes: tuple[Outcome, ...]
    later_states: bool
    left_out: bool


def compare_season(
    garden: Garden,
    daily: DailyWeather,
    *,
    timetables: Sequence[Timetable],
    notes: FieldNotes | None = None,
) -> Comparison:
    """Return the garden's season under the weekly table and under each of some timetables.

    Of `notes` the gauge is used alone: runs and findings belong to the water that was really given.

    Raises
    ------
    RillbookError
        If a depth rule asks for more water than a day has time for.
    WeatherError
        If the record does not cover the season.
    """
    noted = notes or FieldNotes()
    gauges = FieldNotes(gauges=noted.gauges)
    season = open_season(garden, daily, notes=gauges)
    ours = run_season(garden, daily, notes=gauges)
    outcomes = [_outcome(garden, ours, WEEKLY)]
    outcomes += [_under(season, timetable, daily, gauges) for timetable in timetables]
    return Comparison(
        season.first.year,
        ours,
        tuple(outcomes),
        later_states=any(state.on > season.first for state in garden.soil_states),
        left_out=bool(noted.runs or noted.digs or noted.moistures),
    )


def _under(season: OpenSeason, timetable: Timetable, daily: DailyWeather, notes: FieldNotes) -> Outcome:
    """Return the season under one timetable of a person."""
    setup = season.setup
    if isinstance(timetable, DepthRule):
        minutes = depth_minutes(season, timetable, daily=daily, notes=notes)
        settings = depth_settings(season, timetable, minutes)
    else:
        settings = tuple(replace(one, begins=season.first) for one in timetable.settings)
        names = [zone.zone.name for zone in setup.zones]
        by_zone = fixed_minutes(settings, names, first=season.first, n_days=season.n_days)
        minutes = valve_minutes(season, by_zone)
    against = cannot_hold(
        settings, setup.zones, limits=setup.limits, first=season.first, in_use=season.in_use
    )
    return replace(_outcome(setup.garden, live_by(season, minutes), timetable.label), against=against)


def _outcome(garden: Garden, result: SeasonResult, label: str) -> Outcome:
    """Return what a replayed season comes to."""
    area = np.array([bed.area for bed in garden.beds])
    drained = (result.deep_percolation * area).sum(axis=0)
    short, least = stress_days(result)
    beds = tuple(
        BedOutcome(
            bed.name, float(result.litres[:, i].sum()), float(drained[i]), int(short[i]), float(least[i])
        )
        for i, bed in enumerate(garden.beds)
    )
    told = [one for one in planting_yields(garden, result) if one.low is not None]
    return Outcome(
        tally=Tally(
            label=label,
            litres=float(result.litres.sum()),
            drained=float(drained.sum()),
            transpired=float((result.transpiration * area).sum()),
            short_days=float(short.sum()),
            used_days=float(result.growth.in_use.sum()),
            cost=_cost(garden, result),
        ),
        beds=beds,
        least_yield=min(told, key=lambda one: one.low if one.low is not None else 1.0, default=None),
    )


def _cost(garden: Garden, result: SeasonResult) -> Decimal | None:
    """Return what the garden adds to the water bills of the season; None without a tariff."""
    if garden.tariff is None or garden.household is None:
        return None
    litres = litres_by_day(result)
    bill = season_bill(
        litres, garden.tariff, household=garden.household, begins=min(litres), ends=max(litres)
    )
    return bill.garden_cost


def mean_tally(tallies: Sequence[Tally]) -> Tally:
    """Return the mean of one timetable's seasons, at least one; the cost only if each has one."""
    costs = [tally.cost for tally in tallies if tally.cost is not None]
    return Tally(
        label=tallies[0].label,
        litres=float(np.mean([tally.litres for tally in tallies])),
        drained=float(np.mean([tally.drained for tally in tallies])),
        transpired=float(np.mean([tally.transpired for tally in tallies])),
        short_days=float(np.mean([tally.short_days for tally in tallies])),
        used_days=float(np.mean([tally.used_days for tally in tallies])),
        cost=sum(costs, Decimal(0)) / len(costs) if len(costs) == len(tallies) else None,
    )
