"""Which beds of a zone to lay otherwise, so that one common run time wastes least: an exact search. Pure.

All beds behind one outlet run as long as the one that needs longest. What the others get beyond their need is
the waste. For a given common time the best way to lay a bed depends on no other bed, and the common time is
always the time that some way to lay some bed needs: trying each of those finds the least waste for certain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from scheduler.errors import RillbookError

__all__ = ["Advice", "BedOptions", "least_waste"]

_MINUTES_PER_HOUR = 60.0
# A way to lay a bed needs the common time itself; rounding must not take that from it.
_ROUNDING = 1e-9
# Waste counts in whole thousandths of a litre and tube in whole millimetres, so that ties are ties.
_STEPS = 1000


@dataclass(frozen=True, slots=True)
class BedOptions:
    """The ways to lay one bed, what is there now as the first.

    Attributes
    ----------
    need : float
        Water that the root zone must get in a week [L], above 0.
    flow : tuple of float
        Of the bed by each way [L/h].
    stored : tuple of float
        Share of that water that the root zone keeps, in (0, 1].
    tube : tuple of float
        Drip line that each takes [m].
    """

    need: float
    flow: tuple[float, ...]
    stored: tuple[float, ...]
    tube: tuple[float, ...]

    def minutes(self, option: int) -> float:
        """Return the minutes a week that the bed needs by itself [min]."""
        return _MINUTES_PER_HOUR * self.need / (self.flow[option] * self.stored[option])

    def over(self, option: int, minutes: float) -> float:
        """Return what it gets beyond its need in so many minutes [L], measured at the emitters."""
        return self.flow[option] * minutes / _MINUTES_PER_HOUR - self.need / self.stored[option]


@dataclass(frozen=True, slots=True)
class Advice:
    """The least waste by a number of changes.

    Attributes
    ----------
    chosen : tuple of int
        Option of each bed; 0 where it stays as it is.
    minutes : float
        The common time [min] a week.
    waste : float
        What all beds get beyond their need [L] a week.
    volume : float
        All water at the emitters [L] a week.
    """

    chosen: tuple[int, ...]
    minutes: float
    waste: float
    volume: float

    @property
    def changes(self) -> int:
        """How many beds are laid otherwise."""
        return sum(option != 0 for option in self.chosen)


class _Cost(NamedTuple):
    """Cost of one option at a common time, in whole steps, the first part weighing most."""

    waste: int
    tube: int
    option: int


class _Total(NamedTuple):
    """Cost of a whole zone; compared from the left."""

    waste: int
    changes: int
    tube: int
    chosen: tuple[int, ...]


def least_waste(beds: Sequence[BedOptions], *, changes: int) -> Advice:
    """Return the way to lay a zone's beds that wastes least with at most so many beds changed.

    Of ways that waste the same (to a millilitre), that with fewer changes, then with less tube is taken.

    Parameters
    ----------
    beds : sequence of BedOptions
        The beds of one zone.
    changes : int
        Beds that may be changed; the number of beds for as many as it takes.

    Raises
    ------
    RillbookError
        If there is no bed, or a figure is not above 0.
    """
    _check(beds, changes)
    times = sorted({bed.minutes(option) for bed in beds for option in range(len(bed.flow))})
    totals = [total for time in times if (total := _best_at(time, beds, changes)) is not None]
    chosen = min(totals).chosen
    return _advice(beds, chosen)


def _advice(beds: Sequence[BedOptions], chosen: tuple[int, ...]) -> Advice:
    """Return what a choice for every bed comes to at the time of the bed that needs longest."""
    pairs = list(zip(beds, chosen, strict=True))
    minutes = max(bed.minutes(option) for bed, option in pairs)
    return Advice(
        chosen=chosen,
        minutes=minutes,
        waste=sum(max(bed.over(option, minutes), 0.0) for bed, option in pairs),
        volume=sum(bed.flow[option] for bed, option in pairs) * minutes / _MINUTES_PER_HOUR,
    )


def _best_at(minutes: float, beds: Sequence[BedOptions], changes: int) -> _Total | None:
    """Return the cheapest zone whose beds all have enough in a common time; None if too many must change."""
    kept: list[_Cost | None] = []
    changed: list[_Cost | None] = []
    for bed in beds:
        costs = [_cost(bed, option, minutes) for option in range(len(bed.flow))]
        kept.append(costs[0])
        changed.append(min((cost for cost in costs[1:] if cost is not None), default=None))
    if any(stay is None and go is None for stay, go in zip(kept, changed, strict=True)):
        return None
    taken = _whom_to_change(kept, changed, changes)
    if taken is None:
        return None
    costs = [
        go if number in taken else stay for number, (stay, go) in enumerate(zip(kept, changed, strict=True))
    ]
    known = [cost for cost in costs if cost is not None]
    return _Total(
        sum(cost.waste for cost in known),
        len(taken),
        sum(cost.tube for cost in known),
        tuple(cost.option for cost in known),
    )


def _cost(bed: BedOptions, option: int, minutes: float) -> _Cost | None:
    """Return what an option costs; None if the bed would lack water."""
    if bed.minutes(option) > minutes * (1.0 + _ROUNDING):
        return None
    return _Cost(round(bed.over(option, minutes) * _STEPS), round(bed.tube[option] * _STEPS), option)


def _whom_to_change(
    kept: Sequence[_Cost | None], changed: Sequence[_Cost | None], changes: int
) -> set[int] | None:
    """Return the beds to change: those that lack water as they are, then those that save most.

    Savings of single beds add up, so the greatest of them are the best set there is.
    """
    must = {number for number, cost in enumerate(kept) if cost is None}
    if len(must) > changes:
        return None
    savings = sorted(
        (go.waste - stay.waste, go.tube - stay.tube, number)
        for number, (stay, go) in enumerate(zip(kept, changed, strict=True))
        if stay is not None and go is not None and go.waste < stay.waste
    )
    return must | {number for _, _, number in savings[: changes - len(must)]}


def _check(beds: Sequence[BedOptions], changes: int) -> None:
    """Raise RillbookError for figures that a search can make nothing of."""
    if not beds:
        raise RillbookError("a zone without a bed that needs water has no common run time")
    if changes < 0:
        raise RillbookError(f"{changes} changes: write 0 or more")
    for number, bed in enumerate(beds, start=1):
        if not len(bed.flow) == len(bed.stored) == len(bed.tube) > 0:
            raise RillbookError(f"bed {number}: flow, stored share and tube must be given for each option")
        if not (bed.need > 0.0 and all(flow > 0.0 for flow in bed.flow)):
            raise RillbookError(f"bed {number}: need and flows must be above 0")
        if not all(0.0 < share <= 1.0 for share in bed.stored) or not all(tube >= 0.0 for tube in bed.tube):
            raise RillbookError(f"bed {number}: a stored share is not in (0, 1], or a tube is below 0")
