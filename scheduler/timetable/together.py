"""Several outlets on one clock: the least costly settings of a stretch that find room together. Pure.

Arrangements are tried in the order of what they cost, so the first that fits is the best. What fits is what
the clock can place, the longest first, and then whoever found no room before the others. Where none of the
arrangements tried fits, all outlets get an equal part of what they should, the greatest that fits.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.timetable.lasting import WeekSpans
from scheduler.timetable.placing import WeekClock
from scheduler.timetable.stretch import OFF, Options
from scheduler.timetable.week import Limits

__all__ = ["Arrangement", "Outlets", "arrange"]

BoolArray = NDArray[np.bool_]
FloatArray = NDArray[np.float64]

#: Arrangements that are tried before less water is given, and how many of them on the clock itself.
MOST_TRIED, MOST_PLACED = 2000, 60

#: Parts of what outlets should get that are told apart: a sixty-fourth.
EASING_STEPS = 64


@dataclass(frozen=True, slots=True)
class Outlets:
    """The clock that outlets share in a stretch.

    Attributes
    ----------
    used : array of bool, shape (n_patterns, 7)
        Weekdays of each pattern.
    spans : seven tuples of (first minute, end minute)
    flow : sequence of float
        Greatest flow of each outlet [L/h].
    limits : Limits
    """

    used: BoolArray
    spans: WeekSpans
    flow: Sequence[float]
    limits: Limits


class _Choice(NamedTuple):
    """What one outlet would be set to: weekdays, starts a day, minutes of each run."""

    outlet: int
    mask: tuple[bool, ...]
    starts: int
    minutes: int


@dataclass(frozen=True, slots=True)
class Arrangement:
    """One option of every outlet by its number, and its start times [min after midnight]; what all costs."""

    options: tuple[Options, ...]
    number: tuple[int, ...]
    begins: tuple[tuple[int, ...], ...]
    cost: float


def arrange(options_at: Callable[[float], Sequence[Options]], outlets: Outlets) -> Arrangement:
    """Return the best arrangement that finds room.

    `options_at` returns the options of every outlet when a part of what it should get is aimed at; with 0 all
    are off, which always fits.
    """
    best = _first_that_fits(options_at(1.0), outlets, by_load=False)
    low, high = 0, EASING_STEPS
    while best is None and high - low > 1:
        middle = (low + high) // 2
        if _first_that_fits(options_at(middle / EASING_STEPS), outlets, by_load=True) is None:
            high = middle
        else:
            low = middle
    found = best or _first_that_fits(options_at(low / EASING_STEPS), outlets, by_load=True)
    if found is None:
        raise ValueError("with nothing aimed at, every outlet has to be off")
    return found


def _first_that_fits(options: Sequence[Options], outlets: Outlets, *, by_load: bool) -> Arrangement | None:
    """Return the first arrangement that fits, None if none of those tried does.

    The order is that of the costs, or with `by_load` of the minutes that are taken from the clock: where room
    is scarce, options that give more than is aimed at are of no use.
    """
    loads = [option.load(outlets.used) for option in options]
    weights = [load.sum(axis=1).astype(float) for load in loads]
    if by_load:
        orders = [np.lexsort((option.cost, w)) for option, w in zip(options, weights, strict=True)]
        options = [option.in_order(order) for option, order in zip(options, orders, strict=True)]
        loads = [load[order] for load, order in zip(loads, orders, strict=True)]
        weights = [weight[order] for weight, order in zip(weights, orders, strict=True)]
    else:
        weights = [option.cost for option in options]
    hours = np.array([sum(end - begin for begin, end in spans) for spans in outlets.spans])
    alone = outlets.limits.timer.one_zone_at_a_time
    if alone and sum(int(load.sum(axis=1).min()) for load in loads) > hours.sum():
        return None
    placed = 0
    for number in islice(_in_order(weights), MOST_TRIED):
        asked = sum(load[at] for load, at in zip(loads, number, strict=True))
        if alone and bool((asked > hours).any()):
            continue
        begins = _place(options, number, outlets)
        if begins is not None:
            cost = sum(float(option.cost[at]) for option, at in zip(options, number, strict=True))
            return Arrangement(tuple(options), number, begins, cost)
        placed += 1
        if placed == MOST_PLACED:
            return None
    return None


def _in_order(weights: Sequence[FloatArray]) -> Iterator[tuple[int, ...]]:
    """Yield one number for each of the weights, which rise, so that their sums rise."""
    first = (0,) * len(weights)
    queue, seen = [(sum(float(weight[0]) for weight in weights), first)], {first}
    while queue:
        _, number = heapq.heappop(queue)
        yield number
        for outlet, at in enumerate(number):
            following = (*number[:outlet], at + 1, *number[outlet + 1 :])
            if at + 1 < weights[outlet].shape[0] and following not in seen:
                seen.add(following)
                total = sum(float(weight[n]) for weight, n in zip(weights, following, strict=True))
                heapq.heappush(queue, (total, following))


def _chosen(options: Sequence[Options], number: Sequence[int], outlets: Outlets) -> list[_Choice]:
    """Return what each outlet would be set to."""
    chosen = []
    for outlet, (option, at) in enumerate(zip(options, number, strict=True)):
        pattern = int(option.pattern[at])
        off = pattern == OFF
        mask = (False,) * outlets.used.shape[1] if off else tuple(outlets.used[pattern].tolist())
        chosen.append(_Choice(outlet, mask, int(option.starts[at]), int(option.minutes[at])))
    return chosen


def _place(
    options: Sequence[Options], number: Sequence[int], outlets: Outlets
) -> tuple[tuple[int, ...], ...] | None:
    """Return the start times of every outlet, None if the clock does not take them."""
    order = sorted(_chosen(options, number, outlets), key=lambda choice: -choice.starts * choice.minutes)
    for _ in range(len(order)):
        begins: dict[int, tuple[int, ...]] = {}
        squeezed = _place_in(order, begins, outlets)
        if squeezed is None:
            return tuple(begins[outlet] for outlet in range(len(order)))
        if squeezed == 0:
            return None
        order = [order[squeezed], *order[:squeezed], *order[squeezed + 1 :]]
    return None


def _place_in(order: Sequence[_Choice], begins: dict[int, tuple[int, ...]], outlets: Outlets) -> int | None:
    """Enter the start times of outlets placed in an order; return the place of one without room, if any."""
    limits = outlets.limits
    clock = WeekClock(
        outlets.spans, capacity=limits.usable_flow, one_at_a_time=limits.timer.one_zone_at_a_time
    )
    for place, choice in enumerate(order):
        flow = outlets.flow[choice.outlet]
        found = clock.place(choice.mask, starts=choice.starts, minutes=choice.minutes, flow=flow)
        if found is None:
            return place
        clock.take(choice.mask, found, minutes=choice.minutes, flow=flow)
        begins[choice.outlet] = found
    return None
