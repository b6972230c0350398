"""Start times for settings that must share the clock, by mixed-integer programming. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.timetable.effort import Effort

__all__ = ["Runs", "StartTimes", "start_times"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

#: Answers of `scipy.optimize.milp`.
_SOLVED, _INFEASIBLE = 0, 2


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """What one zone needs on each of its run days.

    `free` is true for minutes after midnight at which a run may start when no other zone is in the way;
    `weight` is the share of the tap (or of the timer) that it takes; `rest` the minutes from one start to the
    next at least.
    """

    mask: tuple[bool, ...]
    starts: int
    minutes: int
    rest: int
    weight: float
    free: BoolArray


class StartTimes(NamedTuple):
    """Start times of each zone; None where there are none, and `settled` if that is certain."""

    begins: tuple[tuple[int, ...], ...] | None
    settled: bool


def start_times(zones: Sequence[Runs], *, costs: FloatArray, effort: Effort) -> StartTimes:
    """Return start times at which all zones have room.

    `costs` of each minute after midnight lead towards better times, but the first ones found are taken.

    Start times are looked for on a grid of the greatest common divisor of all lengths: whatever fits can be
    moved to the next line of the grid before it, all of it at once, and fits still.
    """
    running = [zone for zone in zones if zone.starts]
    if not running:
        return StartTimes(tuple(() for _ in zones), settled=True)
    if any(not zone.free.any() for zone in running):
        return StartTimes(None, settled=True)
    program = _Program(running, grid=_grid(running))
    if any(columns.size < zone.starts for columns, zone in zip(program.minutes, running, strict=True)):
        return StartTimes(None, settled=True)
    solution, settled = program.solve(costs, effort)
    if solution is None:
        return StartTimes(None, settled=settled)
    found = iter(solution)
    return StartTimes(tuple(next(found) if zone.starts else () for zone in zones), settled=True)


def _grid(zones: Sequence[Runs]) -> int:
    """Return the distance of the lines that start times can be moved to [min]."""
    grid = 0
    for zone in zones:
        opens = np.flatnonzero(zone.free[1:] & ~zone.free[:-1]) + 1
        if zone.free[0]:
            opens = np.append(opens, 0)
        grid = math.gcd(grid, zone.minutes, zone.rest, *opens.tolist())
    return max(grid, 1)


class _Program:
    """A column for each zone and minute at which it may start; every start on the grid."""

    def __init__(self, zones: Sequence[Runs], grid: int) -> None:
        self.zones = zones
        self.minutes = [np.flatnonzero(zone.free)[np.flatnonzero(zone.free) % grid == 0] for zone in zones]
        self.begins = np.concatenate([[0], np.cumsum([part.size for part in self.minutes])])
        self.at: list[tuple[int, int, float]] = []
        self.low: list[float] = []
        self.high: list[float] = []
        for number, zone in enumerate(zones):
            self._count(number, zone)
            if zone.starts > 1:
                self._rest(number, zone)
        for together in _together(zones):
            self._share(together)

    def _row(self, low: float, high: float) -> int:
        """Begin a row and return its number."""
        self.low.append(low)
        self.high.append(high)
        return len(self.low) - 1

    def _enter(self, row: int, number: int, *, first: int, last: int, value: float) -> None:
        """Enter a value for the starts of a zone from one minute to another."""
        begin, end = np.searchsorted(self.minutes[number], [first, last + 1])
        self.at += [(row, int(self.begins[number]) + n, value) for n in range(int(begin), int(end))]

    def _count(self, number: int, zone: Runs) -> None:
        """Every zone has its starts."""
        row = self._row(zone.starts, zone.starts)
        self._enter(row, number, first=0, last=zone.free.shape[0], value=1.0)

    def _rest(self, number: int, zone: Runs) -> None:
        """Between two starts of a zone lies its rest."""
        for minute in self.minutes[number].tolist():
            row = self._row(-np.inf, 1.0)
            self._enter(row, number, first=minute, last=minute + zone.rest - 1, value=1.0)

    def _share(self, together: Sequence[int]) -> None:
        """Zones that run on one day share tap and timer in every minute in which one may start."""
        for minute in np.unique(np.concatenate([self.minutes[number] for number in together])).tolist():
            row = self._row(-np.inf, 1.0 + 1e-9)
            for number in together:
                zone = self.zones[number]
                self._enter(row, number, first=minute - zone.minutes + 1, last=minute, value=zone.weight)

    def solve(self, costs: FloatArray, effort: Effort) -> tuple[list[tuple[int, ...]] | None, bool]:
        """Return the start times of each zone, None if none were found; and if that is certain."""
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import coo_array

        rows, columns, values = (np.array(part) for part in zip(*self.at, strict=True))
        matrix = coo_array((values, (rows, columns)), shape=(len(self.low), int(self.begins[-1]))).tocsr()
        result = milp(
            np.concatenate([costs[part] for part in self.minutes]),
            integrality=np.ones(matrix.shape[1]),
            bounds=Bounds(0.0, 1.0),
            constraints=LinearConstraint(matrix, np.array(self.low), np.array(self.high)),
            # Any times will do: what they cost only leads the way.
            options=effort.solver_options() | {"mip_rel_gap": 1e6},
        )
        if result.x is None:
            return None, result.status == _INFEASIBLE
        taken = result.x > 0.5
        bounds = zip(self.begins[:-1], self.begins[1:], self.minutes, strict=True)
        return [tuple(part[taken[a:b]].tolist()) for a, b, part in bounds], True


def _together(zones: Sequence[Runs]) -> list[tuple[int, ...]]:
    """Return the sets of zones that run on one day, without those that lie in another."""
    days = {
        tuple(number for number, zone in enumerate(zones) if zone.mask[day])
        for day in range(len(zones[0].mask))
    }
    sets = [frozenset(day) for day in days if len(day) > 1]
    return [tuple(sorted(one)) for one in sets if not any(one < other for other in sets)]
