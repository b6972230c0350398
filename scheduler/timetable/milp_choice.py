"""One way for every zone, by mixed-integer programming: least shortage, then water, then runs. Pure.

Room on the clock enters as the minutes that each day has in all, which every timetable must keep to, and as
combinations that were found to have none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.timetable.effort import Effort
from scheduler.timetable.options import Score, ZoneOptions

__all__ = ["Choice", "Clash", "DayRoom", "choose"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]


#: Answers of `scipy.optimize.milp` and `linprog`.
_SOLVED, _INFEASIBLE = 0, 2

#: Options of each zone that a first choice is made from.
NEAR_OPTIONS = 40

#: Sums of whole numbers may be this far off in the solver: its tolerances are shares of costs of many digits.
ROUNDING = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class DayRoom:
    """What a week's clock holds: open minutes of each day, (7,), and the share of it that a zone takes."""

    minutes: IntArray
    weights: FloatArray


class Clash(NamedTuple):
    """Options that cannot all be taken: for each zone concerned those that need as much room or more."""

    zones: tuple[int, ...]
    options: tuple[BoolArray, ...]


class Choice(NamedTuple):
    """An option for each zone, None if there is none; `bound` is what no choice can be better than."""

    options: tuple[int, ...] | None
    bound: Score | None


class _Program:
    """The rows of the program; a column for every option of every zone, one zone after the other.

    `kept` are the columns that may still be part of a best choice.
    """

    def __init__(
        self, zones: Sequence[ZoneOptions], masks: BoolArray, room: DayRoom, clashes: Sequence[Clash]
    ) -> None:
        self.begins = np.concatenate([[0], np.cumsum([zone.n_options for zone in zones])])
        self.zone_of = np.repeat(np.arange(len(zones)), [zone.n_options for zone in zones])
        self.kept: IntArray = np.arange(self.zone_of.size)
        starts, minutes, pattern, weight = (
            np.concatenate(parts)
            for parts in zip(
                *(
                    (zone.starts, zone.minutes, zone.pattern, np.full(zone.n_options, share))
                    for zone, share in zip(zones, room.weights, strict=True)
                ),
                strict=True,
            )
        )
        taken = (weight * starts * minutes)[:, None] * masks[pattern]
        self.rows = [*taken.T]
        self.high = [float(open_for) for open_for in room.minutes]
        for clash in clashes:
            self.add(self._clashing(clash), len(clash.zones) - 1.0)

    def _clashing(self, clash: Clash) -> FloatArray:
        """Return 1 for every option that takes part in a clash."""
        row = np.zeros(self.zone_of.size)
        for zone, part in zip(*clash, strict=True):
            row[self.begins[zone] : self.begins[zone + 1]] = part
        return row

    def add(self, row: FloatArray, most: float) -> None:
        """Add a row."""
        self.rows.append(row)
        self.high.append(most)

    def _each_zone(self, columns: IntArray) -> FloatArray:
        """Return the rows by which every zone has one option, as far as they concern some columns."""
        n_zones = self.begins.size - 1
        return (self.zone_of[columns] == np.arange(n_zones)[:, None]).astype(float)

    def relaxed(self, costs: FloatArray) -> tuple[float, FloatArray] | None:
        """Return the least cost if options could be shared, and by how much each column would raise it.

        None if even then there is no choice.
        """
        from scipy.optimize import linprog

        columns = self.kept
        each, taken = self._each_zone(columns), np.array(self.rows)[:, columns]
        result = linprog(
            costs[columns], A_ub=taken, b_ub=self.high, A_eq=each, b_eq=np.ones(each.shape[0]), method="highs"
        )
        if result.status == _INFEASIBLE:
            return None
        if result.status != _SOLVED:
            # Nothing is known, and nothing is claimed: costs are never negative.
            return 0.0, np.zeros(columns.size)
        raised = costs[columns] - each.T @ result.eqlin.marginals - taken.T @ result.ineqlin.marginals
        return float(result.fun), raised

    def solve(self, costs: FloatArray, columns: IntArray, effort: Effort) -> _Solved:
        """Return the best choice among some columns."""
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        each = self._each_zone(columns)
        ones = np.ones(each.shape[0])
        result = milp(
            costs[columns],
            integrality=np.ones(columns.size),
            bounds=Bounds(0.0, 1.0),
            constraints=[
                LinearConstraint(csr_array(each), ones, ones),
                LinearConstraint(csr_array(np.array(self.rows)[:, columns]), -np.inf, self.high),
            ],
            options=effort.solver_options(),
        )
        chosen = None if result.x is None else np.sort(columns[result.x > 0.5])
        least = -np.inf if result.mip_dual_bound is None else float(result.mip_dual_bound)
        return _Solved(chosen, least, ended=result.status in {_SOLVED, _INFEASIBLE})

    def least_with(self, costs: FloatArray) -> FloatArray:
        """Return for each column kept the cost of the best choice with it if there were room for all."""
        own, zones = costs[self.kept], self.zone_of[self.kept]
        least = np.full(self.begins.size - 1, np.inf)
        np.minimum.at(least, zones, own)
        return np.asarray(least.sum() - least[zones] + own)

    def options(self, columns: IntArray) -> tuple[int, ...]:
        """Return the option of each zone that chosen columns stand for."""
        return tuple((columns - self.begins[self.zone_of[columns]]).tolist())


class _Solved(NamedTuple):
    """Columns chosen, if any; the bound on their cost; and whether the solver came to its end."""

    columns: IntArray | None
    bound: float
    ended: bool


def _least(program: _Program, costs: FloatArray, effort: Effort) -> _Solved:
    """Return a choice of least cost, and leave in `kept` the columns that may have a part in one.

    A column with which a choice must cost more than a known one has none. If more are left than can be
    gone through, the bound is that of the first one left out.
    """
    relaxed = program.relaxed(costs)
    if relaxed is None:
        return _Solved(None, np.inf, ended=True)
    floor, raised = relaxed
    zones = program.zone_of[program.kept]
    order = np.lexsort((raised, zones))
    near = order[np.arange(order.size) - np.searchsorted(zones[order], zones[order]) < NEAR_OPTIONS]
    known = program.solve(costs, program.kept[near], effort)
    if known.columns is not None:
        most = float(costs[known.columns].sum()) + ROUNDING
        able = (raised <= most - floor) & (program.least_with(costs) <= most)
        program.kept, raised = program.kept[able], raised[able]
    most = max(effort.options, near.size)
    nearest = np.argsort(raised, kind="stable")
    within, beyond = nearest[:most], nearest[most:]
    solved = program.solve(costs, program.kept[within], effort)
    if known.columns is not None and (
        solved.columns is None or costs[known.columns].sum() < costs[solved.columns].sum()
    ):
        solved = solved._replace(columns=known.columns)
    bound = max(solved.bound, floor)
    if beyond.size:
        bound = min(bound, floor + float(raised[beyond[0]]))
    return _Solved(solved.columns, bound, ended=solved.ended and not beyond.size)


def _whole(bound: float) -> int:
    """Return the least whole number that a bound allows."""
    return max(int(np.ceil(bound - ROUNDING)), 0) if np.isfinite(bound) else 0


def choose(
    zones: Sequence[ZoneOptions],
    masks: BoolArray,
    room: DayRoom,
    *,
    clashes: Sequence[Clash],
    effort: Effort,
) -> Choice:
    """Return the best options that room and clashes allow, and a bound on all of them.

    The bound is the choice's own score if the program was solved to the end. Both are None if no choice
    exists; the options alone are None if the effort ended before one was found.
    """
    program = _Program(zones, masks, room, clashes)
    found: tuple[int, ...] | None = None
    bound: list[int] = []
    for part in Score._fields:
        costs = np.concatenate([getattr(zone, part) for zone in zones]).astype(float)
        if not costs.any() and part != Score._fields[-1]:
            bound.append(0)
            continue
        solved = _least(program, costs, effort)
        if solved.columns is None:
            if solved.ended and found is None:
                return Choice(None, None)
            if found is None:
                bound.append(_whole(solved.bound))
            break
        found = program.options(solved.columns)
        value = int(costs[solved.columns].sum())
        bound.append(value if solved.ended else min(_whole(solved.bound), value))
        if bound[-1] < value:
            break
        program.add(costs, value + 0.5)
    return Choice(found, Score(*bound, *(0,) * (len(Score._fields) - len(bound))))
