"""Every day pattern that a zone could take, with the minutes it would need, best first. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Zone
from scheduler.timetable.least import area_mean_shortage, bed_shortage, least_minutes_by_mean
from scheduler.timetable.outlook import BedOutlook, depletion_under
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.water.balance import SoilState

__all__ = ["ZoneBeds", "ZoneChoices", "flow_by_day", "outlook_of", "rank_patterns", "zone_shortage"]

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class ZoneBeds:
    """A zone and where its beds stand in the arrays; area [m2] and flow [L/h] of those beds."""

    zone: Zone
    index: IntArray
    area: FloatArray
    flow: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class ZoneChoices:
    """Every pattern for one zone: minutes a run day, shortage [mm d], water [L]; best first in `order`.

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


def zone_shortage(
    beds: ZoneBeds, outlook: BedOutlook, masks: FloatArray, minutes: FloatArray | IntArray
) -> FloatArray:
    """Return how short each setting leaves a zone, by the zone's own rule [mm d], (n_settings,)."""
    part = outlook_of(outlook, beds.index)
    shape = (masks.shape[0], beds.index.shape[0])
    every_bed = np.broadcast_to(minutes[:, None], shape).astype(np.float64)
    depletion = depletion_under(part, masks, every_bed)
    if beds.zone.rule == "area mean":
        return area_mean_shortage(part, depletion, beds.area)
    return bed_shortage(part, depletion).sum(axis=1)


def flow_by_day(beds: ZoneBeds, outlook: BedOutlook) -> FloatArray:
    """Return the flow [L/h] of the open valves of a zone on each day of the week."""
    return np.asarray(outlook.in_use[:DAYS_PER_WEEK, beds.index] @ beds.flow, dtype=float)


def rank_patterns(
    beds: ZoneBeds, outlook: BedOutlook, masks: FloatArray, by_bed: IntArray, totals: IntArray
) -> ZoneChoices:
    """Return the patterns of one zone with their minutes, ranked.

    `by_bed` are the fewest minutes of each pattern and bed of the zone, `totals` the minutes a day that
    each pattern can hold; shapes (n_patterns, n_zone_beds) and (n_patterns, n_totals).
    """
    if beds.zone.rule == "area mean":
        minutes = least_minutes_by_mean(outlook_of(outlook, beds.index), masks, totals, area=beds.area)
    else:
        minutes = by_bed.max(axis=1)
    shortage = zone_shortage(beds, outlook, masks, minutes)
    water = minutes * (masks @ flow_by_day(beds, outlook)) / 60.0
    runs = masks.sum(axis=1)
    order = np.lexsort((np.arange(masks.shape[0]), runs, np.round(water, 6), np.round(shortage, 3)))
    return ZoneChoices(beds, minutes, shortage, water, order)
