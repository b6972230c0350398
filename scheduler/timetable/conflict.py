"""Which limits keep beds from the water they need, and the least that would have to give way. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, time
from itertools import combinations

from scheduler.garden.plan import Restriction, Timer, WateringWindow
from scheduler.timetable.choices import ZoneBeds
from scheduler.timetable.effort import QUICK_EFFORT
from scheduler.timetable.limits import Limits, days_ahead, hours_ahead
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.week import WeekPlan, weekly_timetable
from scheduler.timetable.windows import WEEKDAYS

__all__ = ["Conflict", "Easing", "conflict_of_week"]

DAY = 24 * 60

#: What a limit that is not there would allow.
MOST_STARTS = 6
LONGEST_RUN = 600
BOUNDLESS_FLOW = 1e9

#: By how much hours are made longer [min], runs longer and the tap stronger (factors), step by step.
MORE_MINUTES = (15, 30, 60, 90, 120, 180, 240)
MORE_RUN = (1.25, 1.5, 2.0, 3.0, 5.0)
MORE_FLOW = (1.25, 1.5, 2.0, 3.0)


@dataclass(frozen=True, slots=True)
class Easing:
    """A change of one limit that would do, and the timetable under it."""

    limit: str
    change: str
    plan: WeekPlan


@dataclass(frozen=True, slots=True)
class Conflict:
    """What is in the way.

    Attributes
    ----------
    limits : tuple of str
        The smallest set of limits that leaves beds short even if all others were lifted.
    easings : tuple of Easing
        For each of them the least change that would do by itself, the smallest step first; if none does by
        itself, one that lifts them all. Empty if not even that would do.
    """

    limits: tuple[str, ...]
    easings: tuple[Easing, ...]


#: A limit under its name: how it would be lifted, and the smaller changes before that, in words.
_Step = tuple[str, Limits]


@dataclass(frozen=True, slots=True)
class _Limit:
    """One limit: its name, what is left without it, and smaller changes of it, the smallest first."""

    name: str
    lifted: Callable[[Limits], Limits]
    steps: Callable[[Limits], Iterator[_Step]]


def conflict_of_week(
    first: date, outlook: BedOutlook, *, zones: Sequence[ZoneBeds], limits: Limits
) -> Conflict:
    """Return what keeps a week's timetable from fitting, for a week whose plan tells of conflicts.

    Every set of limits is tried, the smallest first, all others lifted; then every limit of that set is eased
    step by step, all others as they are.
    """

    def plan_within(eased: Limits) -> WeekPlan:
        seen = _seen(first, outlook, eased)
        return weekly_timetable(first, seen, zones=zones, limits=eased, effort=QUICK_EFFORT)

    every = _limits(limits)
    smallest = _smallest(every, limits, lambda eased: not plan_within(eased).conflicts)
    found = []
    for order, limit in enumerate(smallest):
        for step, (change, eased) in enumerate(limit.steps(limits)):
            plan = plan_within(eased)
            if not plan.conflicts:
                found.append((step, order, Easing(limit.name, change, plan)))
                break
    easings = tuple(easing for _, _, easing in sorted(found, key=lambda item: item[:2]))
    if not easings and smallest:
        eased = limits
        for limit in smallest:
            eased = limit.lifted(eased)
        plan = plan_within(eased)
        if not plan.conflicts:
            names = " and ".join(limit.name for limit in smallest)
            easings = (Easing(names, f"without {names}", plan),)
    return Conflict(tuple(limit.name for limit in smallest), easings)


def _seen(first: date, outlook: BedOutlook, limits: Limits) -> BedOutlook:
    """Return the outlook of the days that a planner within other limits must see."""
    n_days = min(days_ahead(first, limits), outlook.n_days)
    return replace(
        outlook,
        conditions=outlook.conditions.between(0, n_days),
        in_use=outlook.in_use[:n_days],
        limit=outlook.limit[:n_days],
        net_rate=outlook.net_rate[:n_days],
        evening=hours_ahead(first, limits).evening,
    )


def _smallest(every: Sequence[_Limit], limits: Limits, fits: Callable[[Limits], bool]) -> tuple[_Limit, ...]:
    """Return the smallest set of limits that does not fit when all others are lifted."""
    for size in range(1, len(every) + 1):
        for kept in combinations(every, size):
            eased = limits
            for limit in every:
                if limit not in kept:
                    eased = limit.lifted(eased)
            if not fits(eased):
                return kept
    return ()


def _limits(limits: Limits) -> list[_Limit]:
    """Return every limit of a garden that could be in the way, the easiest to change first."""
    found = [_Limit("the watering hours", _any_hour, _more_hours)]
    timer = limits.timer
    if timer.day_choices == ("every n days",):
        found.append(_Limit("the days that the timer can hold", _any_days, _more_days))
    found.append(_Limit("the timer's starts a day", _any_starts, _more_starts))
    found.append(_Limit("the timer's longest run", _any_length, _longer_runs))
    if timer.step > 1 or timer.shortest_run > 1:
        found.append(_Limit("the timer's shortest run and step", _any_step, _finer_steps))
    if timer.one_zone_at_a_time:
        found.append(_Limit("one outlet at a time", _together, _at_once))
    found.append(_Limit("the flow of the tap", _any_flow, _more_flow))
    found += [_order(number, rule) for number, rule in enumerate(limits.restrictions) if rule.exempt != "yes"]
    return found


def _with_timer(limits: Limits, timer: Timer) -> Limits:
    """Return limits with another timer."""
    return replace(limits, timer=timer)


def _any_hour(limits: Limits) -> Limits:
    return replace(limits, windows=(WateringWindow(WEEKDAYS, time(), time()),))


def _shifted(window: WateringWindow, earlier: int, later: int) -> WateringWindow:
    """Return a window that opens and closes some minutes earlier and later, a whole day at most."""
    begin = window.begin.hour * 60 + window.begin.minute
    until = window.until.hour * 60 + window.until.minute
    length = (until - begin) % DAY or DAY
    if length + earlier + later >= DAY:
        return WateringWindow(window.days, time(), time())
    opens, closes = (begin - earlier) % DAY, (until + later) % DAY
    return WateringWindow(window.days, time(*divmod(opens, 60)), time(*divmod(closes, 60)))


def _more_hours(limits: Limits) -> Iterator[_Step]:
    for minutes in MORE_MINUTES:
        for earlier, later in ((0, minutes), (minutes, 0)):
            windows = tuple(_shifted(window, earlier, later) for window in limits.windows)
            way = "end later" if later else "begin earlier"
            yield f"watering hours that {way} by {minutes} min", replace(limits, windows=windows)
    every_day = tuple(replace(window, days=WEEKDAYS) for window in limits.windows)
    if every_day != limits.windows:
        yield "watering hours on every day of the week", replace(limits, windows=every_day)
    yield "water at any hour of any day", _any_hour(limits)


def _any_days(limits: Limits) -> Limits:
    return _with_timer(limits, replace(limits.timer, day_choices=("weekdays", "every n days")))


def _more_days(limits: Limits) -> Iterator[_Step]:
    yield "a timer that holds any weekdays", _any_days(limits)


def _any_starts(limits: Limits) -> Limits:
    return _with_timer(
        limits, replace(limits.timer, starts_per_day=max(MOST_STARTS, limits.timer.starts_per_day))
    )


def _more_starts(limits: Limits) -> Iterator[_Step]:
    for starts in range(limits.timer.starts_per_day + 1, MOST_STARTS + 1):
        yield f"{starts} starts a day", _with_timer(limits, replace(limits.timer, starts_per_day=starts))


def _any_length(limits: Limits) -> Limits:
    return _with_timer(limits, replace(limits.timer, longest_run=max(LONGEST_RUN, limits.timer.longest_run)))


def _longer_runs(limits: Limits) -> Iterator[_Step]:
    for factor in MORE_RUN:
        longest = int(limits.timer.longest_run * factor)
        yield f"runs of up to {longest} min", _with_timer(limits, replace(limits.timer, longest_run=longest))


def _any_step(limits: Limits) -> Limits:
    return _with_timer(limits, replace(limits.timer, step=1, shortest_run=1))


def _finer_steps(limits: Limits) -> Iterator[_Step]:
    yield "a timer set by the minute", _any_step(limits)


def _together(limits: Limits) -> Limits:
    return _with_timer(limits, replace(limits.timer, one_zone_at_a_time=False))


def _at_once(limits: Limits) -> Iterator[_Step]:
    yield "outlets that run at the same time, as far as the tap allows", _together(limits)


def _any_flow(limits: Limits) -> Limits:
    return replace(limits, usable_flow=BOUNDLESS_FLOW)


def _more_flow(limits: Limits) -> Iterator[_Step]:
    for factor in MORE_FLOW:
        yield (
            f"a tap that gives {factor:g} times as much",
            replace(limits, usable_flow=factor * limits.usable_flow),
        )


def _order(number: int, rule: Restriction) -> _Limit:
    """Return a restriction as a limit; only who made it can ease it."""

    def without(limits: Limits) -> Limits:
        return replace(limits, restrictions=tuple(r for r in limits.restrictions if r != rule))

    def changed(limits: Limits, eased: Restriction) -> Limits:
        rules = tuple(eased if n == number else r for n, r in enumerate(limits.restrictions))
        return replace(limits, restrictions=rules)

    def steps(limits: Limits) -> Iterator[_Step]:
        for day in WEEKDAYS:
            if day not in rule.days:
                days = tuple(name for name in WEEKDAYS if name in {*rule.days, day})
                yield (
                    f'leave to water on {day} under "{rule.reason}"',
                    changed(limits, replace(rule, days=days)),
                )
        if rule.begin is not None:
            yield (
                f'leave to water at any hour under "{rule.reason}"',
                changed(limits, replace(rule, begin=None, until=None)),
            )
        yield f'an exemption from "{rule.reason}"', without(limits)

    return _Limit(f'the restriction "{rule.reason}"', without, steps)
