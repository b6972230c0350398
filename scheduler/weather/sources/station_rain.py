"""Rain as a station tells it -> amounts with the time over which each fell."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from scheduler.weather.sources.intervals import Interval
from scheduler.weather.sources.station_layout import StationLayout
from scheduler.weather.sources.station_values import Readings

__all__ = ["rain_amounts"]

# A daily total that still shows yesterday's may do so for this long after midnight [s].
_LATE = 3600.0


def rain_amounts(readings: Readings, layout: StationLayout) -> tuple[list[Interval], int]:
    """Return the amounts that fell between rows with a reading [mm], and how often a total started anew.

    A total is never summed: its growth is what fell. Where it falls, it has started anew, and what it
    shows fell since. A daily total that changes its day shows what fell since the clock's midnight;
    one that still grows or stands right after midnight, and starts anew within the hour, is yesterday's.
    """
    rain = readings.values["rain"]
    known = np.flatnonzero(np.isfinite(rain)).tolist()
    if layout.rain == "interval":
        return _given(readings, known), 0
    return _grown(readings, known, daily=layout.rain == "daily total")


def _given(readings: Readings, known: Sequence[int]) -> list[Interval]:
    """Return amounts that are given for the time since the row before, whether or not that one has any."""
    rain, moments = readings.values["rain"], readings.moments
    return [Interval(float(moments[row - 1]), float(moments[row]), float(rain[row])) for row in known if row]


def _grown(readings: Readings, known: Sequence[int], *, daily: bool) -> tuple[list[Interval], int]:
    """Return the growth of a total from row to row, and how often it started anew within a day."""
    rain, moments, midnights = readings.values["rain"], readings.moments, readings.midnights
    late = _late_rows(readings, known) if daily else frozenset()
    amounts: list[Interval] = []
    restarts = 0
    if daily and known and known[0] not in late and moments[known[0]] > midnights[known[0]]:
        row = known[0]
        amounts.append(Interval(float(midnights[row]), float(moments[row]), float(rain[row])))
    for before, row in pairwise(known):
        begins, amount = float(moments[before]), float(rain[row] - rain[before])
        if daily and row not in late and (before in late or midnights[row] != midnights[before]):
            opened = max(begins, float(midnights[row]))
            if opened > begins:
                # What fell after the last row of a day is on no row; nothing more is known of it.
                amounts.append(Interval(begins, opened, 0.0))
            begins, amount = opened, float(rain[row])
        elif amount < 0:
            restarts += 1
            amount = float(rain[row])
        if moments[row] > begins:
            amounts.append(Interval(begins, float(moments[row]), amount))
    return amounts, restarts


def _late_rows(readings: Readings, known: Sequence[int]) -> frozenset[int]:
    """Return the rows right after midnight that still show the total of the day before."""
    rain, moments, midnights = readings.values["rain"], readings.moments, readings.midnights
    late: set[int] = set()
    opening: list[int] = []
    for place, row in enumerate(known):
        before = known[place - 1] if place else None
        if before is None or midnights[row] != midnights[before]:
            opening = [row] if rain[row] > 0 and (before is None or rain[row] >= rain[before]) else []
        elif opening and rain[row] < rain[before]:
            late.update(opening)
            opening = []
        elif opening:
            opening.append(row)
        if opening and moments[row] - midnights[row] > _LATE:
            opening = []
    return frozenset(late)
