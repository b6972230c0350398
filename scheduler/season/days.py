"""A span of days for a garden: weather met with growth, as the arrays that the balance takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Garden
from scheduler.season.growth import Growth
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.water.need import stored_share
from scheduler.water.rootzone import depletion_fraction, readily_available_water

__all__ = [
    "BedDays",
    "bed_days",
    "catch_up_limit",
    "depletion_limit",
    "net_rates",
    "outlook_from",
    "slice_growth",
    "stated_depletion",
]

FloatArray = NDArray[np.float64]

SHALLOW_BED_DAYS = 1.5
GREATEST_FRACTION = 0.8


@dataclass(frozen=True, slots=True, eq=False)
class BedDays:
    """Demand and limits of every bed on every day; arrays of shape (n_days, n_beds), mm.

    `et_crop` is crop use without stress, `usual` the same at the mean reference ET of the week before,
    `rain` effective rain, `raw` readily available water.
    """

    et_crop: FloatArray
    usual: FloatArray
    rain: FloatArray
    raw: FloatArray


def slice_growth(growth: Growth, begin: int, end: int) -> Growth:
    """Return the growth of the days `begin`..`end` (end left out)."""
    return Growth(
        in_use=growth.in_use[begin:end],
        kc=growth.kc[begin:end],
        kc_area=growth.kc_area[begin:end],
        kc_thirstiest=growth.kc_thirstiest[begin:end],
        taw=growth.taw[begin:end],
        fraction=growth.fraction[begin:end],
        leaching=growth.leaching[begin:end],
        storage=growth.storage,
    )


def bed_days(
    growth: Growth, reference_et: FloatArray, *, effective_rain: FloatArray, et_before: FloatArray
) -> BedDays:
    """Return demand and limits on days with the given weather, each of shape (n_days,).

    The share p of TAW follows the crop use of the seven days before a day, not of the day alone: roots do
    not gain or lose reach overnight, a limit that jumps with each cloud is no limit to steer by, and on
    the morning of a day no more is known. `et_before` [mm] is the reference ET of the days just before
    the first, as far as the record has them.
    """
    et_crop = growth.kc * reference_et[:, None]
    usual = growth.kc * _mean_before(reference_et, et_before)[:, None]
    raw = readily_available_water(depletion_fraction(growth.fraction, usual), growth.taw)
    return BedDays(et_crop, usual, np.broadcast_to(effective_rain[:, None], et_crop.shape), raw)


def _mean_before(values: FloatArray, before: FloatArray) -> FloatArray:
    """Return the mean of the week before each day, of fewer days if fewer are known.

    A day with none known before it takes its own value.
    """
    known = before[-DAYS_PER_WEEK:]
    line = np.concatenate([known, values])
    sums = np.concatenate([[0.0], np.cumsum(line)])
    end = known.shape[0] + np.arange(values.shape[0])
    begin = np.maximum(end - DAYS_PER_WEEK, 0)
    end = np.maximum(end, 1)
    return (sums[end] - sums[begin]) / (end - begin)


def depletion_limit(growth: Growth, days: BedDays, *, reserve: float) -> FloatArray:
    """Return the depletion that a bed should not pass [mm], infinite where nothing grows.

    RAW less the reserve; but never tighter than one and a half days' usual use (nor looser than 0.8 TAW,
    the bound of p). A bed so shallow that a hot day alone overruns RAW is watered every day, and holding
    it to RAW would only pour water through it. The factor is a judgement without a source.
    """
    day_and_half = np.minimum(SHALLOW_BED_DAYS * days.usual, GREATEST_FRACTION * growth.taw)
    return np.where(growth.in_use, np.maximum((1.0 - reserve) * days.raw, day_and_half), np.inf)


def catch_up_limit(growth: Growth, limit: FloatArray, *, depletion: FloatArray) -> FloatArray:
    """Return the limit that the planner is told for a bed that starts past its own [mm].

    It comes down to the bed's own limit over a week, counted from the first day on which something grows.
    One run length holds for all days of a week, so a bed brought back in a day would get its catch-up again
    on every run day, and most of it would drain; a run by hand does it without. The week is a judgement
    without a source.
    """
    first = np.argmax(growth.in_use, axis=0)
    own = limit[first, np.arange(limit.shape[1])]
    excess = np.where(np.isfinite(own), np.maximum(depletion - np.minimum(own, depletion), 0.0), 0.0)
    days = np.arange(limit.shape[0])[:, None] - first + 1.0
    return limit + excess * np.clip(1.0 - days / DAYS_PER_WEEK, 0.0, 1.0)


def outlook_from(
    growth: Growth,
    days: BedDays,
    *,
    depletion: FloatArray,
    net_rate: FloatArray,
    reserve: float,
    evening: bool,
) -> BedOutlook:
    """Return what the planner is told; `net_rate` [mm/min] of shape (n_days, n_beds)."""
    limit = depletion_limit(growth, days, reserve=reserve)
    return BedOutlook(
        et_crop=days.et_crop,
        rain=days.rain,
        taw=growth.taw,
        raw=days.raw,
        in_use=growth.in_use,
        storage=growth.storage,
        depletion=depletion,
        limit=catch_up_limit(growth, limit, depletion=depletion),
        net_rate=net_rate,
        evening=evening,
    )


def net_rates(
    growth: Growth, rate: FloatArray, efficiency: FloatArray, *, only_in_use: bool = True
) -> FloatArray:
    """Return the depth stored for each minute a valve is open [mm/min].

    Where nothing grows it is 0, as for a valve kept shut, unless `only_in_use` is False.
    """
    kept = stored_share(np.broadcast_to(efficiency, growth.leaching.shape), growth.leaching)
    return np.where(growth.in_use | (not only_in_use), rate / 60.0 * kept, 0.0)


def stated_depletion(garden: Garden, dates: NDArray[np.datetime64], raw: FloatArray) -> FloatArray:
    """Return the depletion that the plan states for the morning of a day [mm], NaN where it states none.

    Shape (n_days, n_beds). A line for one bed goes before a line for all beds on the same day.
    """
    result = np.full(raw.shape, np.nan)
    for for_all in (True, False):
        for state in garden.soil_states:
            if (state.bed is None) is not for_all:
                continue
            for day in np.flatnonzero(dates == np.datetime64(state.on)):
                for number, bed in enumerate(garden.beds):
                    if state.bed in (None, bed.name):
                        result[day, number] = _depletion(state.depletion, raw[day, number])
    return result


def _depletion(stated: float | Literal["full", "at limit"], raw: float) -> float:
    """Return a stated depletion in mm."""
    if stated == "full":
        return 0.0
    return float(raw) if stated == "at limit" else float(stated)
