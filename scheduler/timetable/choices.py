"""Every day pattern that a zone could take, with the minutes it would need, best first. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Zone
from scheduler.timetable.least import least_minutes_by_mean, mean_past_limit, past_limit
from scheduler.timetable.outlook import BedOutlook, depletion_under
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.water.balance import SoilState

__all__ = [
    "ZoneBeds",
    "ZoneChoices",
    "flow_by_day",
    "outlook_of",
    "rank_patterns",
    "rounded_shortage",
    "zone_shortage",
]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

#: Shortages are told apart to a thousandth of a mm2 d.
SHORTAGE_PARTS = 1000.0


@dataclass(frozen=True, slots=True, eq=False)
class ZoneBeds:
    """A zone and where its beds stand in the arrays; area [m2] and flow [L/h] of those beds.

    `longest_pulse` is the longest run that their soil takes at once, `soak` the pause it then needs [min].
    """

    zone: Zone
    index: IntArray
    area: FloatArray
    flow: FloatArray
    longest_pulse: float = np.inf
    soak: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class ZoneChoices:
    """Every pattern for one zone: minutes a run day, shortage [mm2 d], water [L]; best first in `order`.

    Least shortage goes before least water, then come fewer runs and earlier days.
    """

    beds: ZoneBeds
    minutes: IntArray
    shortage: FloatArray
    water: FloatArray
    order: IntArray


def outlook_of(outlook: BedOutlook, index: IntArray) -> BedOutlook:
    """Return the outlook of some beds only."""
    return BedOutlook(
        conditions=outlook.conditions.of_beds(index),
        in_use=outlook.in_use[:, index],
        state=SoilState(*(np.asarray(part)[index] for part in outlook.state)),
        limit=outlook.limit[:, index],
        net_rate=outlook.net_rate[:, index],
        evening=outlook.evening,
    )


def _shortage_by_rule(beds: ZoneBeds, part: BedOutlook, depletion: FloatArray) -> FloatArray:
    """Return how short a zone is by its own rule [mm2 d], (n_settings,); `part` are its beds alone.

    Squares, so that what cannot be had is spread over beds and days: one far past its limit is worse than two
    that are a little past theirs.
    """
    if beds.zone.rule == "area mean":
        return np.asarray((mean_past_limit(part, depletion, beds.area) ** 2).sum(axis=0))
    return np.asarray((past_limit(part, depletion) ** 2).sum(axis=(0, 2)))


def zone_shortage(
    beds: ZoneBeds, outlook: BedOutlook, masks: FloatArray, minutes: FloatArray | IntArray
) -> FloatArray:
    """Return how short each setting leaves a zone, by the zone's own rule [mm2 d], (n_settings,)."""
    part = outlook_of(outlook, beds.index)
    return _shortage_by_rule(beds, part, depletion_under(part, masks, minutes[:, None]))


def rounded_shortage(shortage: FloatArray) -> IntArray:
    """Return shortages [mm2 d] in the parts that they are told apart by."""
    return np.rint(np.asarray(shortage) * SHORTAGE_PARTS).astype(np.int64)


def flow_by_day(beds: ZoneBeds, outlook: BedOutlook) -> FloatArray:
    """Return the flow [L/h] of the open valves of a zone on each day of the week."""
    return np.asarray(outlook.in_use[:DAYS_PER_WEEK, beds.index] @ beds.flow, dtype=float)


def _minutes(
    beds: ZoneBeds, outlook: BedOutlook, masks: FloatArray, by_bed: IntArray, totals: IntArray
) -> IntArray:
    """Return the minutes a run day that one zone needs with each pattern, (n_patterns,)."""
    if beds.zone.rule == "area mean":
        return least_minutes_by_mean(outlook_of(outlook, beds.index), masks, totals, area=beds.area)
    return by_bed[:, beds.index].max(axis=1)


def _shortages(
    zones: Sequence[ZoneBeds], outlook: BedOutlook, masks: FloatArray, minutes: Sequence[IntArray]
) -> list[FloatArray]:
    """Return how short the minutes of each pattern leave every zone [mm2 d], each (n_patterns,)."""
    # All zones at once: a day of many beds costs little more than a day of few.
    every_bed = np.zeros((masks.shape[0], outlook.n_beds))
    for beds, needed in zip(zones, minutes, strict=True):
        every_bed[:, beds.index] = needed[:, None]
    depletion = depletion_under(outlook, masks, every_bed)
    return [
        _shortage_by_rule(beds, outlook_of(outlook, beds.index), depletion[:, :, beds.index])
        for beds in zones
    ]


def _fewest_alike(
    zones: Sequence[ZoneBeds],
    outlook: BedOutlook,
    masks: FloatArray,
    minutes: Sequence[IntArray],
    totals: IntArray,
) -> list[FloatArray]:
    """Lower the minutes of each zone's least short patterns while their shortage is told as the same.

    Returns the shortage of all patterns [mm2 d]. Minutes that keep a bed from passing its limit by a hair buy
    nothing that counts; of patterns that leave a zone shorter than others do nobody asks so closely.
    """
    short = _shortages(zones, outlook, masks, minutes)
    told = [rounded_shortage(left) for left in short]
    rows = np.flatnonzero(np.any([parts == parts.min() for parts in told], axis=0))
    while rows.size:
        fewer = [np.where(totals[rows] < n[rows, None], totals[rows], 0).max(axis=1) for n in minutes]
        left = _shortages(zones, outlook, masks[rows], fewer)
        lowered = np.zeros(rows.size, dtype=bool)
        for number, parts in enumerate(told):
            alike = rounded_shortage(left[number]) == parts.min()
            alike &= (parts[rows] == parts.min()) & (fewer[number] < minutes[number][rows])
            minutes[number][rows[alike]] = fewer[number][alike]
            short[number][rows[alike]] = left[number][alike]
            lowered |= alike
        rows = rows[lowered]
    return short


def rank_patterns(
    zones: Sequence[ZoneBeds], outlook: BedOutlook, masks: FloatArray, by_bed: IntArray, totals: IntArray
) -> list[ZoneChoices]:
    """Return the patterns of every zone with their minutes, ranked.

    `by_bed` are the fewest minutes of each pattern and bed, `totals` the minutes a day that each pattern
    can hold; shapes (n_patterns, n_beds) and (n_patterns, n_totals).
    """
    minutes = [_minutes(beds, outlook, masks, by_bed, totals) for beds in zones]
    short = _fewest_alike(zones, outlook, masks, minutes, totals)
    runs, number = masks.sum(axis=1), np.arange(masks.shape[0])
    ranked = []
    for beds, needed, shortage in zip(zones, minutes, short, strict=True):
        water = needed * (masks @ flow_by_day(beds, outlook)) / 60.0
        order = np.lexsort((number, runs, np.round(water, 6), rounded_shortage(shortage)))
        ranked.append(ZoneChoices(beds, needed, shortage, water, order))
    return ranked
