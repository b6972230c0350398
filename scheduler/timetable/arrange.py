"""All zones on one clock: the best combination of their settings, and how sure it is. Pure.

Every zone by itself has a best setting; together they cannot be better than that, so if those find room the
search is over. Else combinations are tried from the best on. Where not every zone can have what it needs, all
lengths of run take part; what zones get by turns is the answer if the search ends before it has found any.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from scheduler.timetable.board import Arranged, Arrangement, Board, arrangement_of
from scheduler.timetable.choices import ZoneBeds, ZoneChoices, outlook_of, rank_patterns, rounded_shortage
from scheduler.timetable.effort import Effort
from scheduler.timetable.least import least_minutes_by_bed
from scheduler.timetable.options import (
    Score,
    ZoneOptions,
    every_option,
    least_short_options,
    score_of,
    total_score,
)
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.placing import WeekClock
from scheduler.timetable.room import totals_with_room
from scheduler.timetable.runtime import ways_to_hold
from scheduler.timetable.search import Search

__all__ = ["arrange"]

IntArray = NDArray[np.int64]

NOTHING = Score(*(0 for _ in Score._fields))


def _each_best(zones: Sequence[ZoneOptions]) -> list[int]:
    """Return each zone's best option; of equal ones that with the fewest starts and the earliest days."""
    return [
        int(
            np.lexsort(
                (zone.pattern, zone.starts, *(getattr(zone, part) for part in reversed(Score._fields)))
            )[0]
        )
        for zone in zones
    ]


def arrange(
    ranked: Sequence[ZoneChoices],
    outlook: BedOutlook,
    board: Board,
    *,
    flows: Sequence[float],
    longest: IntArray,
    effort: Effort,
) -> Arrangement:
    """Return the settings of all zones that leave them least short, with the least water, in fewest runs.

    Parameters
    ----------
    ranked : sequence of ZoneChoices
        Every pattern of every zone with the minutes it needs; patterns are the rows of `board.masks`.
    outlook : BedOutlook
    board : Board
    flows : sequence of float
        Greatest flow of each zone in the week [L/h].
    longest : array of int, shape (n_patterns, n_starts)
        Longest runs that the hours of each pattern hold, from `room.longest_alone`.
    effort : Effort
        After which the best arrangement found is returned.
    """
    masks = board.masks.astype(float)
    search = Search(board, flows, effort)
    whole = [
        least_short_options(choices, outlook, masks, timer=board.timer, longest=longest) for choices in ranked
    ]
    ideal = _each_best(whole)
    bound = total_score([zone.score(n) for zone, n in zip(whole, ideal, strict=True)])
    tried = search.placed(search.ways(whole, ideal))
    if tried.begins is not None:
        return arrangement_of(whole, ideal, tried.begins, bound, bound)
    found, least = search.best(whole)
    if found is not None and least is not None:
        return replace(found, bound=min(least, found.score))
    if least is None:
        # Not every zone can have what it needs.
        every = [
            every_option(choices, outlook, masks, timer=board.timer, longest=longest) for choices in ranked
        ]
        found, least = search.best(every)
    if found is None:
        found = _one_by_one(ranked, outlook, board, flows=flows)
    return replace(found, bound=min(least or found.score, found.score))


def _one_by_one(
    ranked: Sequence[ZoneChoices], outlook: BedOutlook, board: Board, *, flows: Sequence[float]
) -> Arrangement:
    """Return a sound arrangement: each zone in turn takes the best that the others have left.

    Those that were left short go first in the next try; the best try is returned, its bound left open.
    """
    order = sorted(range(len(ranked)), key=lambda n: -int(ranked[n].minutes[ranked[n].order[0]]))
    best: Arrangement | None = None
    for _ in range(len(order)):
        clock = board.clock()
        taken = {n: _take(ranked[n].beds, outlook, board, clock=clock, flow=flows[n]) for n in order}
        score = total_score([taken[n][1] for n in range(len(ranked))])
        if best is None or score < best.score:
            best = Arrangement(tuple(taken[n][0] for n in range(len(ranked))), score, NOTHING)
        squeezed = [
            n for n in order if taken[n][1].shortage > int(rounded_shortage(ranked[n].shortage).min())
        ]
        if not squeezed or squeezed[0] == order[0]:
            break
        order = [*squeezed, *(n for n in order if n not in squeezed)]
    if best is None:
        return Arrangement((), NOTHING, NOTHING)
    return best


def _take(
    beds: ZoneBeds, outlook: BedOutlook, board: Board, *, clock: WeekClock, flow: float
) -> tuple[Arranged, Score]:
    """Return the best setting of a zone that the clock has room for, and take it from the clock."""
    masks = board.masks.astype(float)
    totals = totals_with_room(
        board.masks.tolist(), clock, timer=board.timer, flow=flow, longest_pulse=beds.longest_pulse
    )
    part = outlook_of(outlook, beds.index)
    alone = replace(beds, index=np.arange(part.n_beds))
    (ranked,) = rank_patterns([alone], part, masks, least_minutes_by_bed(part, masks, totals), totals)
    pattern = int(ranked.order[0])
    mask, total = tuple(board.masks[pattern].tolist()), int(ranked.minutes[pattern])
    setting = Arranged(0, 0, 0, 0, ())
    held = ways_to_hold(total, board.timer, longest_pulse=beds.longest_pulse, soak=beds.soak)
    for starts, minutes, pause in held if total else ():
        begins = clock.place(mask, starts=starts, minutes=minutes, flow=flow, pause=pause)
        if begins is not None:
            setting = Arranged(pattern, starts, minutes, pause, begins)
            clock.take(mask, begins, minutes=minutes, flow=flow)
            break
    return setting, score_of(beds, outlook, masks, setting[:-1])
