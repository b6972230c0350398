"""What a watering restriction costs: the same week planned with it and without it. Pure.

Whether a restriction applies is the person's entry, and nothing here rules on it. Both weeks start from the
soil that a replay under the same condition leaves: with the restriction counted in, or taken away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, PlanError
from scheduler.garden.plan import Garden, Restriction
from scheduler.season.field import FieldNotes
from scheduler.season.results import WeekResult
from scheduler.season.run import run_week
from scheduler.season.setup import Setup, set_up
from scheduler.timetable.limits import LONGEST_OUTLOOK, Limits, hours_ahead
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.week import WeekPlan
from scheduler.water.balance import step
from scheduler.weather.normals import Normals, day_index, day_of_year_normals
from scheduler.weather.record import DailyWeather

__all__ = [
    "NOTABLE_EXCESS",
    "Fare",
    "OrderCase",
    "OrderDay",
    "fare_of",
    "longest_gap",
    "order_case",
    "order_day",
    "under_order",
]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

#: Less than this past a limit is not shown, and counts as within it [mm].
NOTABLE_EXCESS = 0.05


@dataclass(frozen=True, slots=True)
class OrderDay:
    """The first day of the week that is asked about, and the restrictions in force on it.

    `hardest` is True if the day was not asked for but found: that of the week with the greatest normal
    reference ET, `reference_et` [mm] in seven days.
    """

    on: date
    orders: tuple[Restriction, ...]
    hardest: bool
    reference_et: float


@dataclass(frozen=True, slots=True, eq=False)
class Fare:
    """How beds fare under a week's plan.

    Attributes
    ----------
    plan : WeekPlan
    outlook : BedOutlook
    excess : array, shape (n_days, n_beds)
        By how much each bed passes its own limit [mm], 0 within it and where nothing grows.
    least_stress : array, shape (n_beds,)
        Least Ks of the days seen.
    litres : array, shape (n_beds,)
        At the emitters, in the seven days [L].
    applied : array, shape (n_days, n_beds)
        Net irrigation of each day [mm].
    left : array, shape (n_days, n_beds)
        Root-zone depletion that each day leaves [mm], after any evening run.
    """

    plan: WeekPlan
    outlook: BedOutlook
    excess: FloatArray
    least_stress: FloatArray
    litres: FloatArray
    applied: FloatArray
    left: FloatArray

    @property
    def worst(self) -> FloatArray:
        """By how much each bed passes its limit at most [mm], (n_beds,)."""
        return np.asarray(self.excess.max(axis=0))

    def first_past(self, bed: int) -> int | None:
        """Return the first day on which a bed is notably past its limit, None if none is."""
        past = np.flatnonzero(self.excess[:, bed] > NOTABLE_EXCESS)
        return int(past[0]) if past.size else None


@dataclass(frozen=True, slots=True, eq=False)
class OrderCase:
    """A week with a restriction and without it.

    Attributes
    ----------
    day : OrderDay
    setup : Setup
        Of the garden with the restrictions of the day counted in.
    result : WeekResult
        The week planned on it.
    kept, lifted : Fare
        How beds fare with the restrictions of the day, and without them.
    failing : array of bool, shape (n_beds,)
        True for beds that the week with the restriction leaves past their limit. A bed that shares an
        outlet by area mean counts only if the restriction takes it further past.
    """

    day: OrderDay
    setup: Setup
    result: WeekResult
    kept: Fare
    lifted: Fare
    failing: BoolArray

    @property
    def orders(self) -> tuple[Restriction, ...]:
        """The restrictions of the day as `setup.garden` has them, counted in."""
        return _entered_as(self.day.orders, counted=True)

    @property
    def beds(self) -> tuple[int, ...]:
        """The numbers of the failing beds."""
        return tuple(int(bed) for bed in np.flatnonzero(self.failing))

    @property
    def further(self) -> BoolArray:
        """True for beds that the restriction takes further past their limit than they go without it."""
        return np.asarray(self.kept.worst > self.lifted.worst + NOTABLE_EXCESS)

    @property
    def goal(self) -> FloatArray:
        """Excess that a remedy must bring each bed down to [mm]: what it has without the restriction.

        None for a bed that the restriction takes no further: it can only be cured of what it has anyway.
        """
        return np.where(self.further, self.lifted.worst, 0.0) + NOTABLE_EXCESS


def under_order(garden: Garden, orders: Sequence[Restriction], *, counted: bool) -> Garden:
    """Return the garden with these restrictions counted in, or taken away, whatever their entry says."""
    entered = dict(zip(orders, _entered_as(orders, counted=counted), strict=True))
    return replace(garden, restrictions=tuple(entered.get(r, r) for r in garden.restrictions))


def _entered_as(orders: Sequence[Restriction], *, counted: bool) -> tuple[Restriction, ...]:
    """Return restrictions as not exempt, or as exempt."""
    return tuple(replace(order, exempt="no" if counted else "yes") for order in orders)


def order_day(garden: Garden, daily: DailyWeather, *, on: date | None) -> OrderDay:
    """Return the day asked for with the restrictions in force on it, or else the first day of the hard week.

    The hard week lies within the restrictions' dates, begins no later than the day after the record's last,
    and has the greatest normal reference ET of such weeks.

    Raises
    ------
    PlanError
        If the plan has no restriction, or none that is in force then.
    """
    if not garden.restrictions:
        raise PlanError(
            garden.name,
            [
                Fault(
                    "restriction",
                    "the plan has none",
                    "enter the order as [[restriction]] with begins, ends and days, for example "
                    'days = ["Tue", "Sat"]',
                )
            ],
        )
    days = [on] if on is not None else _possible_days(garden, daily)
    normals = day_of_year_normals(daily)
    weeks = [OrderDay(day, _in_force(garden, day), on is None, _usual_week(normals, day)) for day in days]
    weeks = [week for week in weeks if week.orders]
    if not weeks:
        spans = ", ".join(f"{r.begins} to {r.ends}" for r in garden.restrictions)
        asked = f"none is in force on {on}" if on is not None else "none has a week that can be reckoned"
        last = daily.dates[-1].item() + timedelta(days=1)
        raise PlanError(
            garden.name,
            [Fault("restriction", asked, f"ask for a day of {spans}; the record allows days up to {last}")],
        )
    return max(weeks, key=lambda week: (round(week.reference_et, 9), -week.on.toordinal()))


def _in_force(garden: Garden, day: date) -> tuple[Restriction, ...]:
    """Return the restrictions in force on a day, whatever their entry of an exemption."""
    return tuple(r for r in garden.restrictions if r.begins <= day <= r.ends)


def _possible_days(garden: Garden, daily: DailyWeather) -> list[date]:
    """Return the days on which a week within some restriction can begin and be reckoned."""
    stated = min(state.on for state in garden.soil_states if state.bed is None)
    cleared = max((p.removed for bed in garden.beds for p in bed.plantings), default=date.max)
    latest = min(daily.dates[-1].item() + timedelta(days=1), cleared - timedelta(days=1))
    days: set[date] = set()
    for order in garden.restrictions:
        first = max(order.begins, stated)
        # An order of less than a week has its first day, any other whole weeks only.
        last = min(max(order.ends - timedelta(days=DAYS_PER_WEEK - 1), order.begins), latest)
        days |= {first + timedelta(days=n) for n in range((last - first).days + 1)}
    return sorted(days)


def _usual_week(normals: Normals, first: date) -> float:
    """Return the normal reference ET of the seven days from a date [mm]."""
    dates = np.datetime64(first, "D") + np.arange(DAYS_PER_WEEK)
    return float(normals.reference_et[day_index(dates)].sum())


def _minutes_by_day(setup: Setup, plan: WeekPlan, outlook: BedOutlook) -> FloatArray:
    """Return the minutes that each bed's valve is open on each day seen, (n_days, n_beds)."""
    minutes = np.zeros((outlook.n_days, outlook.n_beds))
    for setting, zone in zip(plan.settings, setup.zones, strict=True):
        runs = np.array(setting.mask, dtype=float) * setting.minutes_per_day
        minutes[:DAYS_PER_WEEK, zone.index] = runs[:, None]
    return minutes * outlook.in_use


def fare_of(setup: Setup, plan: WeekPlan, outlook: BedOutlook, *, limit: FloatArray) -> Fare:
    """Return how beds fare under a plan; `limit` are their own limits, shape (n_days, n_beds).

    `outlook` holds the beds' true net rates: a run that is split counts with both its halves.
    """
    minutes = _minutes_by_day(setup, plan, outlook)
    applied = minutes * outlook.net_rate
    driest, left, stress = (np.empty(minutes.shape) for _ in range(3))
    state = outlook.state
    for day in range(outlook.n_days):
        balance = step(
            state,
            outlook.conditions.on(day),
            applied=applied[day] * (1.0 - outlook.evening),
            applied_late=applied[day] * outlook.evening,
        )
        state = balance.state
        driest[day], left[day], stress[day] = balance.driest, state.depletion, balance.stress_coefficient
    return Fare(
        plan=plan,
        outlook=outlook,
        excess=np.maximum(driest - limit, 0.0),
        least_stress=np.where(outlook.in_use, stress, 1.0).min(axis=0),
        litres=minutes.sum(axis=0) / 60.0 * setup.flow,
        applied=applied,
        left=left,
    )


def order_case(
    garden: Garden, daily: DailyWeather, day: OrderDay, *, notes: FieldNotes | None = None
) -> OrderCase:
    """Return the week from the day asked about with its restrictions and without them."""
    notes = notes or FieldNotes()
    counted, without = (under_order(garden, day.orders, counted=counted) for counted in (True, False))
    result = run_week(counted, daily, on=day.on, notes=notes)
    other = run_week(without, daily, on=day.on, notes=notes)
    setup = set_up(counted, daily, notes)
    kept = fare_of(setup, result.plan, result.outlook, limit=result.limit)
    lifted = fare_of(setup, other.plan, other.outlook, limit=other.limit)
    by_mean = {zone.name for zone in garden.zones if zone.rule == "area mean"}
    shares = np.array([bed.zone in by_mean and len(garden.beds_of(bed.zone)) > 1 for bed in garden.beds])
    further = kept.worst > lifted.worst + NOTABLE_EXCESS
    failing = (kept.worst > NOTABLE_EXCESS) & (further | ~shares)
    return OrderCase(day, setup, result, kept, lifted, failing)


def longest_gap(limits: Limits, on: date) -> int | None:
    """Return the most days from one day that allows a run to the next, from `on` on; None if none follows.

    With Tuesdays and Saturdays it is 4: what a Saturday's run fills must last through Monday, a Tuesday's
    through Friday.
    """
    hours = hours_ahead(on, limits)
    allowed = [day for day in range(LONGEST_OUTLOOK) if hours.spans[day]]
    return max((b - a for a, b in zip(allowed, allowed[1:], strict=False)), default=None)
