"""The best combination of the zones' settings that has room on the clock. Pure.

A mixed-integer program ranks the combinations; the first that finds room is the best. What is found to have
none is told to the program, together with all that would need as much room.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.timetable.board import Arrangement, Board, arrangement_of
from scheduler.timetable.effort import Effort
from scheduler.timetable.milp_choice import Clash, DayRoom, choose
from scheduler.timetable.milp_starts import Runs, StartTimes, start_times
from scheduler.timetable.options import Score, ZoneOptions, best_score, total_score
from scheduler.timetable.placing import lateness

__all__ = ["Search", "ZoneWay"]

BoolArray = NDArray[np.bool_]


class ZoneWay(NamedTuple):
    """One option taken out of its arrays."""

    mask: tuple[bool, ...]
    starts: int
    minutes: int
    pause: int
    flow: float


#: Of a combination without room, those zones are left out that others clash without, up to so many in all.
MOST_TO_THIN = 6


#: Shares of each day's open minutes that a first arrangement may use where the best combination has no room.
SHARES_USED = (0.95, 0.85, 0.7)


class Search:
    """One search: options of the zones on a board."""

    def __init__(self, board: Board, flows: Sequence[float], effort: Effort) -> None:
        self.board, self.flows, self.effort = board, flows, effort
        minutes = [sum(end - begin for begin, end in spans) for spans in board.spans]
        weights = np.array([board.weight(flow) for flow in flows])
        self.room = DayRoom(np.array(minutes, dtype=np.int64), weights)

    def ways(self, zones: Sequence[ZoneOptions], options: Sequence[int]) -> list[ZoneWay]:
        """Return the options of a combination."""
        return [
            ZoneWay(
                tuple(self.board.masks[zone.pattern[option]].tolist()),
                int(zone.starts[option]),
                int(zone.minutes[option]),
                int(zone.pause[option]),
                flow,
            )
            for zone, option, flow in zip(zones, options, self.flows, strict=True)
        ]

    def placed(self, ways: Sequence[ZoneWay]) -> StartTimes:
        """Return start times for a combination: one after the other if that works, else exactly."""
        if self.crowded(ways):
            return StartTimes(None, settled=True)
        longest = sorted(range(len(ways)), key=lambda n: (-ways[n].starts * ways[n].minutes, n))
        rarest = sorted(range(len(ways)), key=lambda n: (int(self.free(ways[n]).sum()), n))
        for order in (longest, rarest):
            begins = self.in_turn(ways, order)
            if begins is not None:
                return StartTimes(begins, settled=True)
        runs = [
            Runs(way.mask, way.starts, way.minutes, way.minutes + way.pause, weight, self.free(way))
            for way, weight in zip(ways, self.room.weights.tolist(), strict=True)
        ]
        return start_times(runs, costs=lateness(), effort=self.effort)

    def crowded(self, ways: Sequence[ZoneWay]) -> bool:
        """Return True if the runs of some day are longer than its open minutes, all taken together."""
        taken = np.array([way.starts * way.minutes for way in ways]) * self.room.weights
        masks = np.array([way.mask for way in ways], dtype=float)
        return bool(np.any(taken @ masks > self.room.minutes + 1e-6))

    def free(self, way: ZoneWay) -> BoolArray:
        """Return when a run may start if no other zone is in the way."""
        if not way.starts:
            return np.zeros(lateness().shape, dtype=bool)
        return self.board.clock().free_starts(way.mask, minutes=way.minutes, flow=way.flow)

    def in_turn(self, ways: Sequence[ZoneWay], order: Sequence[int]) -> tuple[tuple[int, ...], ...] | None:
        """Return start times of zones placed one after the other, None if one finds no room."""
        clock = self.board.clock()
        begins: list[tuple[int, ...]] = [()] * len(ways)
        for number in order:
            way = ways[number]
            found = clock.place(
                way.mask, starts=way.starts, minutes=way.minutes, flow=way.flow, pause=way.pause
            )
            if found is None:
                return None
            begins[number] = found
            clock.take(way.mask, found, minutes=way.minutes, flow=way.flow)
        return tuple(begins)

    def clash(self, zones: Sequence[ZoneOptions], options: Sequence[int]) -> Clash:
        """Return which options of a combination clash; as few zones as leave it impossible, if few run."""
        ways = self.ways(zones, options)
        kept = [number for number, way in enumerate(ways) if way.starts]
        for number in list(kept) if len(kept) <= MOST_TO_THIN else ():
            rest = [other for other in kept if other != number]
            without = [ways[n] if n in rest else ways[n]._replace(starts=0) for n in range(len(ways))]
            tried = self.placed(without)
            if tried.begins is None and tried.settled:
                kept = rest
        return Clash(tuple(kept), tuple(self.as_large(zones[n], options[n]) for n in kept))

    def trimmed(self, zones: Sequence[ZoneOptions], options: Sequence[int]) -> Arrangement | None:
        """Return a combination with runs cut to what has room, None if such ones are no options."""
        ways, clock = self.ways(zones, options), self.board.clock()
        taken = list(options)
        begins: list[tuple[int, ...]] = [()] * len(ways)
        for number in sorted(range(len(ways)), key=lambda n: (-ways[n].starts * ways[n].minutes, n)):
            zone, option, way = zones[number], options[number], ways[number]
            alike = (zone.pattern == zone.pattern[option]) & (zone.starts == zone.starts[option])
            shorter = np.flatnonzero((alike & (zone.minutes <= way.minutes)) | (zone.starts == 0))
            for cut in shorter[np.argsort(-zone.minutes[shorter])].tolist():
                starts, minutes = int(zone.starts[cut]), int(zone.minutes[cut])
                pause = int(zone.pause[cut])
                found = clock.place(way.mask, starts=starts, minutes=minutes, flow=way.flow, pause=pause)
                if found is not None:
                    taken[number], begins[number] = cut, found
                    clock.take(way.mask, found, minutes=minutes, flow=way.flow)
                    break
            else:
                return None
        score = total_score([zone.score(n) for zone, n in zip(zones, taken, strict=True)])
        return arrangement_of(zones, taken, begins, score, score)

    def as_large(self, zone: ZoneOptions, option: int) -> BoolArray:
        """Return the options of a zone that need all the room that one of them needs."""
        masks = self.board.masks
        within = ~(masks[zone.pattern[option]] & ~masks[zone.pattern]).any(axis=1)
        larger = (zone.starts >= zone.starts[option]) & (zone.minutes >= zone.minutes[option])
        larger &= zone.pause >= zone.pause[option]
        return np.asarray(within & larger)

    def roomy(self, zones: Sequence[ZoneOptions]) -> Arrangement | None:
        """Return the best combination that leaves some of every day free, and so finds room more easily."""
        for share in SHARES_USED:
            room = DayRoom(np.floor(self.room.minutes * share).astype(np.int64), self.room.weights)
            choice = choose(zones, self.board.masks, room, clashes=(), effort=self.effort)
            if choice.options is None:
                return None
            tried = self.placed(self.ways(zones, choice.options))
            if tried.begins is not None:
                score = total_score([zone.score(n) for zone, n in zip(zones, choice.options, strict=True)])
                return arrangement_of(zones, choice.options, tried.begins, score, score)
        return None

    def best(self, zones: Sequence[ZoneOptions]) -> tuple[Arrangement | None, Score | None]:
        """Return the best arrangement of these options that is found, and a bound on all of them.

        Both are None if no combination has room.
        """
        clashes: list[Clash] = []
        known: Arrangement | None = None
        bound = total_score([best_score(zone) for zone in zones])
        certain = True
        for _ in range(self.effort.combinations):
            if self.effort.spent:
                break
            choice = choose(zones, self.board.masks, self.room, clashes=clashes, effort=self.effort)
            if choice.bound is None:
                return known, None if certain and known is None else bound
            if certain:
                bound = max(bound, choice.bound)
            if choice.options is None or (known is not None and known.score <= bound):
                break
            tried = self.placed(self.ways(zones, choice.options))
            if tried.begins is not None:
                score = total_score([zone.score(n) for zone, n in zip(zones, choice.options, strict=True)])
                found = arrangement_of(zones, choice.options, tried.begins, score, min(bound, score))
                return _better(known, found), bound
            known = _better(known, self.trimmed(zones, choice.options))
            if not clashes:
                known = _better(known, self.roomy(zones))
            # A combination given up for want of time may have had room: the bound stays where it is.
            certain = certain and tried.settled
            clashes.append(self.clash(zones, choice.options))
        return known, bound


def _better(known: Arrangement | None, found: Arrangement | None) -> Arrangement | None:
    """Return the better of two arrangements, either of which may be none."""
    if known is None or (found is not None and found.score < known.score):
        return found
    return known
