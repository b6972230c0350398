"""One clock time for a zone, and for each bed the runs through which its hand valve is open. Pure.

For every day pattern, every number of minutes and every subset of the runs for each bed the water balance
tells how short the bed is left. That depends on nothing but the days on which the valve is open and the
minutes: one table over the 128 subsets of a week serves all patterns. Beds compete for trips alone, which an
exact dynamic programme over the beds shares out. The answer is the least water for each number of trips.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.timetable.choices import ZoneBeds, outlook_of
from scheduler.timetable.least import bed_shortage
from scheduler.timetable.outlook import BedOutlook, depletion_under
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.sharing import IMPOSSIBLE, allotted, least_by_blocks, summed
from scheduler.timetable.trips import (
    MOST_BLOCKS,
    NEVER,
    TRIPS_PER_BLOCK,
    day_bits,
    days_of_bits,
    least_runs,
    shut_blocks,
)

__all__ = [
    "NO_SHORTER",
    "Room",
    "ValveRecipe",
    "recipe_within",
    "share_trips",
    "shortage_by_subset",
    "valve_ladder",
]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]

#: A bed is left no shorter if its shortage is at most this above what it is allowed [mm d].
NO_SHORTER = 1e-6

#: Water is summed in whole millionths of a litre, so that ties are ties.
_STEPS = 1_000_000
_MINUTES_PER_HOUR = 60.0

#: Settings that go through the balance at once: few enough for a processor's own memory.
_AT_ONCE = 1024


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """The settings that a zone may take.

    Attributes
    ----------
    masks : sequence of masks over the week
        Day patterns, by number of runs and earlier days; no run at all comes first.
    totals : array of int, shape (n_totals,)
        Minutes a run day that some pattern has room for, rising from 0.
    fits : array of bool, shape (n_patterns, n_totals)
        Which of them each pattern has room for; 0 minutes count for the first pattern alone.
    """

    masks: Sequence[Sequence[bool]]
    totals: IntArray
    fits: BoolArray


@dataclass(frozen=True, slots=True, eq=False)
class ValveRecipe:
    """A setting and its valves.

    Attributes
    ----------
    pattern : int
        Number of the day pattern.
    minutes : int
        Minutes a run day.
    open_on : array of bool, shape (n_beds, 7)
        Days on which water runs through each bed's valve.
    trips : array of int, shape (n_beds,)
        Trips to each valve in the week.
    litres, kept_back : arrays, shape (n_beds,)
        Water of the week at the emitters, and what runs the shut valve keeps from the bed [L].
    shortage : array, shape (n_beds,)
        By how much each bed passes the limit of its outlook, summed over the days [mm d].
    """

    pattern: int
    minutes: int
    open_on: BoolArray
    trips: IntArray
    litres: FloatArray
    kept_back: FloatArray
    shortage: FloatArray

    @property
    def all_trips(self) -> int:
        """Trips to all valves."""
        return int(self.trips.sum())

    @property
    def volume(self) -> float:
        """Water of all beds in the week [L]."""
        return float(self.litres.sum())


class _Search(NamedTuple):
    """What is known of a zone: subset tables, the runs that can reach each bed, water a minute [1e-6 L].

    `found` keeps what `_subset` has answered, for one recipe differs from the next in few beds.
    """

    outlook: BedOutlook
    shortage: FloatArray
    enough: BoolArray
    reach: IntArray
    blocks: IntArray
    per_minute: IntArray
    totals: IntArray
    found: dict[tuple[int, int, int, int], int]


class _Settings(NamedTuple):
    """Settings in the order of preference, and what each number of blocks costs each bed [1e-6 L].

    `pattern` and `total` number the pattern and the minutes, (n_settings,); `cost` is of shape
    (n_settings, MOST_BLOCKS + 1, n_beds).
    """

    pattern: IntArray
    total: IntArray
    cost: IntArray


def shortage_by_subset(outlook: BedOutlook, totals: IntArray) -> FloatArray:
    """Return how short water on the days `i`, so many minutes on each, leaves each bed [mm d].

    Shape (128, n_totals, n_beds), `i` as in `trips`.
    """
    subsets = days_of_bits().astype(float)
    n_totals = totals.shape[0]
    number, minutes = np.divmod(np.arange(subsets.shape[0] * n_totals), n_totals)
    shortage = np.empty((number.shape[0], outlook.n_beds))
    for begin in range(0, number.shape[0], _AT_ONCE):
        part = slice(begin, begin + _AT_ONCE)
        depletion = depletion_under(outlook, subsets[number[part]], totals[minutes[part], None])
        shortage[part] = bed_shortage(outlook, depletion)
    return shortage.reshape(subsets.shape[0], n_totals, outlook.n_beds)


def valve_ladder(
    beds: ZoneBeds, outlook: BedOutlook, *, room: Room, allowed: FloatArray
) -> tuple[ValveRecipe, ...]:
    """Return the recipes with the least water for each number of trips, from the fewest trips up.

    Each uses less water than the one before; between two of them the lower one is the best.
    Ties go to fewer trips, then to fewer runs, earlier days, fewer minutes. Empty if no setting will do.

    Parameters
    ----------
    beds : ZoneBeds
    outlook : BedOutlook
        Of the whole garden; the limit of a bed that may go short is raised by as much as it may.
    room : Room
    allowed : array, shape (n_beds,)
        How short each bed of the zone may be left [mm d]. With valves shut the flow of the others is taken
        to stay as it is.
    """
    part = outlook_of(outlook, beds.index)
    shortage = shortage_by_subset(part, room.totals)
    runs = np.array([day_bits(mask) for mask in room.masks])
    growing = np.array([day_bits(use) for use in part.in_use[:DAYS_PER_WEEK].T])
    search = _Search(
        outlook=part,
        shortage=shortage,
        enough=shortage <= allowed + NO_SHORTER,
        reach=runs[:, None] & growing,
        blocks=shut_blocks(),
        per_minute=np.rint(beds.flow / _MINUTES_PER_HOUR * _STEPS).astype(np.int64),
        totals=room.totals,
        found={},
    )
    settings = _settings(search, room.fits)
    shared = least_by_blocks(settings.cost)
    ladder: list[ValveRecipe] = []
    least = IMPOSSIBLE
    for blocks, row in enumerate(shared.min(axis=0) if shared.size else ()):
        if row < least:
            least = int(row)
            # Settings are in order of preference: the first of equals is the one to take.
            chosen = int(np.argmin(shared[:, blocks]))
            ladder.append(_recipe(beds, search, settings, chosen=chosen, blocks=blocks))
    return tuple(ladder)


def recipe_within(ladder: Sequence[ValveRecipe], trips: int) -> ValveRecipe:
    """Return the recipe with the least water within so many trips; the ladder begins without any."""
    return next(recipe for recipe in reversed(ladder) if recipe.all_trips <= trips)


def share_trips(ladders: Sequence[Sequence[ValveRecipe]], trips: int) -> tuple[int, ...]:
    """Return how many of so many trips each ladder gets, so that all zones together use least water.

    Each ladder begins without a trip. Ties go to fewer trips, then to the later zones.
    """
    # Trips of the zones so far -> their least water, and the trips of each.
    best: dict[int, tuple[int, tuple[int, ...]]] = {0: (0, ())}
    for ladder in ladders:
        more: dict[int, tuple[int, tuple[int, ...]]] = {}
        for made, (water, shares) in best.items():
            for recipe in ladder:
                total = made + recipe.all_trips
                tried = (water + round(recipe.volume * _STEPS), (*shares, recipe.all_trips))
                if total <= trips and tried < more.get(total, (IMPOSSIBLE, ())):
                    more[total] = tried
        best = more
    return min((water, made, shares) for made, (water, shares) in best.items())[2]


def _settings(search: _Search, fits: BoolArray) -> _Settings:
    """Return the settings that could be the best with some number of trips."""
    pattern, total = np.nonzero(fits)
    fewest = least_runs(search.enough)
    cost = np.empty((pattern.shape[0], MOST_BLOCKS + 1, search.reach.shape[1]), dtype=np.int64)
    for bed in range(search.reach.shape[1]):
        runs = fewest[search.reach[pattern, bed], :, total, bed]
        litres = runs * (search.totals[total] * search.per_minute[bed])[:, None]
        cost[:, :, bed] = np.where(runs == NEVER, IMPOSSIBLE, litres)
    # Who needs more with any number of trips than another without one is never the best.
    without_trips, at_best = (summed(cost[:, 0]), summed(cost.min(axis=1)))
    able = np.flatnonzero((at_best < IMPOSSIBLE) & (at_best <= without_trips.min(initial=IMPOSSIBLE)))
    return _Settings(pattern[able], total[able], cost[able])


def _recipe(beds: ZoneBeds, search: _Search, settings: _Settings, *, chosen: int, blocks: int) -> ValveRecipe:
    """Return one setting as a recipe, its valves shut in so many blocks in all."""
    pattern, total = int(settings.pattern[chosen]), int(settings.total[chosen])
    counts = allotted(settings.cost[chosen], blocks)
    bed = np.arange(len(counts))
    keys = [(pattern, total, int(b), counts[b]) for b in bed]
    search.found.update({key: _subset(search, *key) for key in keys if key not in search.found})
    subsets = np.array([search.found[key] for key in keys])
    reach = days_of_bits()[search.reach[pattern]]
    open_on = days_of_bits()[subsets]
    minutes = int(search.totals[total])
    a_run = minutes * beds.flow / _MINUTES_PER_HOUR
    return ValveRecipe(
        pattern=pattern,
        minutes=minutes,
        open_on=open_on,
        trips=TRIPS_PER_BLOCK * np.array(counts, dtype=np.int64),
        litres=open_on.sum(axis=1) * a_run,
        kept_back=(reach & ~open_on).sum(axis=1) * a_run,
        shortage=search.shortage[subsets, total, bed],
    )


def _subset(search: _Search, pattern: int, total: int, bed: int, count: int) -> int:
    """Return the days on which a bed's valve is open.

    Of the subsets with the fewest runs the one that leaves the bed least short is taken, then the one that
    leaves it wettest (what drains now is missing next week), then the earliest.
    """
    runs = int(search.reach[pattern, bed])
    number = np.arange(search.enough.shape[0])
    will_do = ((number & ~runs) == 0) & (search.blocks[runs] == count) & search.enough[:, total, bed]
    n_open = days_of_bits().sum(axis=1)
    able = number[will_do & (n_open == n_open[will_do].min())]
    masks, minutes = days_of_bits()[able].astype(float), search.totals[total].reshape(1, 1)
    left = depletion_under(outlook_of(search.outlook, np.array([bed])), masks, minutes)[-1, :, 0]
    order = np.lexsort((-able, np.round(left, 2), np.round(search.shortage[able, total, bed], 3)))
    return int(able[order[0]])
