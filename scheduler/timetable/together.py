"""Several outlets on one clock: the least costly settings of a stretch that find room together. Pure.

Arrangements are tried in the order of what they cost, so the first that fits is the best. What fits is what
the clock can place, the longest first, and then whoever found no room before the others.

Where none of those tried fits, all outlets run on as many days as they may, and the minutes of the clock go
where the next one makes up most of what is short. As every next minute makes up less, no other way to share
them leaves less short, but for the steps of the timer.

Runs that keep to what soil takes at once need more starts, and so more room. Where the hours are too crowded
for what is tried, arrangements that do not heed it are tried too, and the least costly is taken: a bed is
rather watered too fast than not at all. Pauses to soak in are kept where they find room.
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
from scheduler.timetable.limits import Limits
from scheduler.timetable.placing import WeekClock
from scheduler.timetable.stretch import OFF, OutletOptions

__all__ = ["OutletArrangement", "Outlets", "arrange_outlets"]

BoolArray = NDArray[np.bool_]
FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: Arrangements that are tried before the clock is shared out, and how many of them on the clock itself.
MOST_TRIED, MOST_PLACED = 1000, 60


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

    @property
    def hours(self) -> IntArray:
        """Minutes of each weekday in which water may run."""
        return np.array([sum(end - begin for begin, end in spans) for spans in self.spans], dtype=np.int64)


class _Choice(NamedTuple):
    """What one outlet would be set to: weekdays, starts a day, minutes of each run, pause asked for."""

    outlet: int
    mask: tuple[bool, ...]
    starts: int
    minutes: int
    pause: int


@dataclass(frozen=True, slots=True)
class OutletArrangement:
    """One option of every outlet by its number, and its start times [min after midnight]; what all costs."""

    options: tuple[OutletOptions, ...]
    number: tuple[int, ...]
    begins: tuple[tuple[int, ...], ...]
    cost: float

    @classmethod
    def of(
        cls, options: Sequence[OutletOptions], number: tuple[int, ...], begins: tuple[tuple[int, ...], ...]
    ) -> OutletArrangement:
        """Return an arrangement with its cost."""
        cost = sum(float(option.cost[at]) for option, at in zip(options, number, strict=True))
        return cls(tuple(options), number, begins, cost)


def arrange_outlets(
    options: Sequence[OutletOptions],
    outlets: Outlets,
    *,
    ladders: Callable[[], Sequence[Sequence[OutletOptions]]],
) -> OutletArrangement:
    """Return the best arrangement that finds room.

    Parameters
    ----------
    options : sequence of OutletOptions
        Of every outlet, best first.
    outlets : Outlets
    ladders : callable
        Returns for every outlet options that rise from off, each with more minutes than the one before, in
        one way or several of which the best is taken; asked only where the options do not fit together.
    """
    found = _first_that_fits(options, outlets, [option.cost for option in options])
    if found is not None:
        return found
    others = [_shared_out(rising, outlets) for rising in ladders()]
    if any(option.hasty.any() for option in options):
        plain = [option.taken(np.argsort(option.plain_cost, kind="stable")) for option in options]
        heedless = _first_that_fits(plain, outlets, [option.plain_cost for option in plain])
        others += [] if heedless is None else [heedless]
    return min(others, key=lambda arrangement: arrangement.cost)


def _first_that_fits(
    options: Sequence[OutletOptions], outlets: Outlets, weights: Sequence[FloatArray]
) -> OutletArrangement | None:
    """Return the arrangement of least weight that fits, None if none of those tried does."""
    loads = [option.load(outlets.used) for option in options]
    alone = outlets.limits.timer.one_zone_at_a_time
    if alone and sum(int(load.sum(axis=1).min()) for load in loads) > outlets.hours.sum():
        return None
    placed = 0
    for number in islice(_in_order(weights), MOST_TRIED):
        asked = sum(load[at] for load, at in zip(loads, number, strict=True))
        if alone and bool((asked > outlets.hours).any()):
            continue
        begins = _place(options, number, outlets)
        if begins is not None:
            return OutletArrangement.of(options, number, begins)
        placed += 1
        if placed == MOST_PLACED:
            return None
    return None


def _shared_out(ladders: Sequence[OutletOptions], outlets: Outlets) -> OutletArrangement:
    """Return the clock shared out among outlets, each by steps of its ladder.

    All steps that make up at least so much a minute are taken, as little as still fits; then one after the
    other, as long as one fits.
    """
    minutes = [ladder.starts * ladder.minutes for ladder in ladders]
    gains = [-np.diff(ladder.short) / np.diff(taken) for ladder, taken in zip(ladders, minutes, strict=True)]
    worth = np.unique(np.concatenate([np.zeros(1), *gains]))

    def levels(rank: int) -> list[int]:
        return [int((gain >= worth[rank]).sum()) for gain in gains]

    low, high = 0, worth.shape[0]
    while low < high:
        middle = (low + high) // 2
        if _place(ladders, levels(middle), outlets) is None:
            low = middle + 1
        else:
            high = middle
    taken = levels(low) if low < worth.shape[0] else [0] * len(ladders)
    taken = _raised(ladders, gains, taken, outlets)
    begins = _place(ladders, taken, outlets)
    if begins is None:
        raise ValueError("the first step of every ladder has to be off")
    return OutletArrangement.of(ladders, tuple(taken), begins)


def _raised(
    ladders: Sequence[OutletOptions], gains: Sequence[FloatArray], taken: list[int], outlets: Outlets
) -> list[int]:
    """Return the steps raised one by one, where the next gains most, until none of them fits."""
    open_for = set(range(len(taken)))
    while open_for := {outlet for outlet in open_for if taken[outlet] < gains[outlet].shape[0]}:
        outlet = max(sorted(open_for), key=lambda one: float(gains[one][taken[one]]))
        higher = [*taken[:outlet], taken[outlet] + 1, *taken[outlet + 1 :]]
        if _place(ladders, higher, outlets) is None:
            open_for.discard(outlet)
        else:
            taken = higher
    return taken


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


def _chosen(options: Sequence[OutletOptions], number: Sequence[int], outlets: Outlets) -> list[_Choice]:
    """Return what each outlet would be set to."""
    chosen = []
    for outlet, (option, at) in enumerate(zip(options, number, strict=True)):
        pattern = int(option.pattern[at])
        off = pattern == OFF
        mask = (False,) * outlets.used.shape[1] if off else tuple(outlets.used[pattern].tolist())
        chosen.append(
            _Choice(outlet, mask, int(option.starts[at]), int(option.minutes[at]), int(option.pause[at]))
        )
    return chosen


def _place(
    options: Sequence[OutletOptions], number: Sequence[int], outlets: Outlets
) -> tuple[tuple[int, ...], ...] | None:
    """Return the start times of every outlet, None if the clock does not take them."""
    longest_first = sorted(
        _chosen(options, number, outlets), key=lambda choice: -choice.starts * choice.minutes
    )
    found = None
    if any(choice.pause > choice.minutes for choice in longest_first):
        found = _ordered(longest_first, outlets)
    return found or _ordered([choice._replace(pause=0) for choice in longest_first], outlets)


def _ordered(order: Sequence[_Choice], outlets: Outlets) -> tuple[tuple[int, ...], ...] | None:
    """Return start times of outlets placed in an order; who finds no room goes first in the next try."""
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
    clock = outlets.limits.clock(outlets.spans)
    for place, choice in enumerate(order):
        found = _start_times(choice, clock, flow=outlets.flow[choice.outlet])
        if found is None:
            return place
        clock.take(choice.mask, found, minutes=choice.minutes, flow=outlets.flow[choice.outlet])
        begins[choice.outlet] = found
    return None


def _start_times(choice: _Choice, clock: WeekClock, *, flow: float) -> tuple[int, ...] | None:
    """Return start times with the pauses asked for, else with short ones; None if the clock takes neither."""
    for pause in dict.fromkeys((choice.pause, 0)):
        found = clock.place(choice.mask, starts=choice.starts, minutes=choice.minutes, flow=flow, pause=pause)
        if found is not None:
            return found
    return None
