"""The clock that the zones of a week share, and settings put on it. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Timer
from scheduler.timetable.options import Score, ZoneOptions
from scheduler.timetable.placing import WeekClock

__all__ = ["Arranged", "Arrangement", "Board", "arrangement_of"]

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Board:
    """The clock that zones share: hours of each day, timer, usable flow of the tap [L/h], day patterns."""

    spans: Sequence[Sequence[tuple[int, int]]]
    timer: Timer
    usable_flow: float
    masks: BoolArray

    def clock(self) -> WeekClock:
        """Return an empty clock."""
        return WeekClock(self.spans, capacity=self.usable_flow, one_at_a_time=self.timer.one_zone_at_a_time)

    def weight(self, flow: float) -> float:
        """Return the share of timer or tap that a zone of `flow` [L/h] takes while it runs."""
        return 1.0 if self.timer.one_zone_at_a_time else min(flow / self.usable_flow, 1.0)


class Arranged(NamedTuple):
    """The setting of one zone: pattern number, starts, minutes a run, pause between runs, and start times."""

    pattern: int
    starts: int
    minutes: int
    pause: int
    begins: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Arrangement:
    """Settings of all zones, in their order.

    `score` is that of the settings together, `bound` what no timetable can be better than; the two are the
    same if the settings are proven to be best.
    """

    zones: tuple[Arranged, ...]
    score: Score
    bound: Score

    @property
    def proven(self) -> bool:
        """True if no other timetable is better."""
        return self.score == self.bound


def arrangement_of(
    zones: Sequence[ZoneOptions],
    options: Sequence[int],
    begins: Sequence[tuple[int, ...]],
    score: Score,
    bound: Score,
) -> Arrangement:
    """Return the options as an arrangement."""
    arranged = (
        Arranged(int(zone.pattern[n]), int(zone.starts[n]), int(zone.minutes[n]), int(zone.pause[n]), times)
        for zone, n, times in zip(zones, options, begins, strict=True)
    )
    return Arrangement(tuple(arranged), score, bound)
