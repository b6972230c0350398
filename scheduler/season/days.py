"""A span of days for a garden: weather met with growth, as the arrays that the balance takes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Garden
from scheduler.season.growth import Growth
from scheduler.season.surroundings import DayWeather, bed_rain, bed_reference_et
from scheduler.timetable.outlook import BedOutlook
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.water.balance import Conditions, SoilState, follow_roots
from scheduler.water.evaporation import SurfaceDay, exposed_fractions, greatest_crop_coefficient
from scheduler.water.need import stored_share
from scheduler.water.rootzone import depletion_fraction, readily_available_water

__all__ = [
    "BedDays",
    "bed_days",
    "catch_up_limit",
    "depletion_limit",
    "net_rates",
    "outlook_from",
]

FloatArray = NDArray[np.float64]

SHALLOW_BED_DAYS = 1.5
GREATEST_FRACTION = 0.8


@dataclass(frozen=True, slots=True, eq=False)
class BedDays:
    """What crop, soil and weather make of every bed on every day.

    Arrays of shape (n_days, n_beds): `usual` is crop use at the mean reference ET of the week before [mm],
    `reached` the share of the open site's reference ET that reaches the bed.
    """

    conditions: Conditions
    usual: FloatArray
    reached: FloatArray


def bed_days(growth: Growth, weather: DayWeather, *, garden: Garden) -> BedDays:
    """Return the conditions of the garden's beds on days with the given weather.

    The share p of TAW follows the crop use of the seven days before a day, not of the day alone: roots do
    not gain or lose reach overnight, a limit that jumps with each cloud is no limit to steer by, and on
    the morning of a day no more is known. That use is reckoned with the single coefficient, whose
    mean wetting is the best guess of days whose runs are not planned yet.
    """
    reference_et = bed_reference_et(garden, weather)
    reached = np.divide(
        reference_et,
        weather.reference_et[:, None],
        out=np.ones_like(reference_et),
        where=weather.reference_et[:, None] > 0.0,
    )
    usual = growth.kc * reached * _mean_before(weather.reference_et, weather.before)[:, None]
    dual = garden.planning.coefficient == "dual"
    conditions = Conditions(
        basal=(growth.basal if dual else growth.kc) * growth.salt * reference_et,
        rain=bed_rain(garden, weather),
        taw=growth.taw,
        raw=readily_available_water(depletion_fraction(growth.fraction, usual), growth.taw),
        # Air dries the surface of a thin bed below the wilting point: what it gives then counts as held.
        storage=np.maximum(growth.storage, growth.tew),
        surface=_surface(growth, weather, reference_et) if dual else None,
    )
    return BedDays(conditions, usual, reached)


def _surface(growth: Growth, weather: DayWeather, reference_et: FloatArray) -> SurfaceDay:
    """Return what the days do to the surface of each bed."""
    greatest = greatest_crop_coefficient(
        growth.basal, weather.wind_2m[:, None], rh_min=weather.rh_min[:, None], height=growth.height
    )
    exposed = exposed_fractions(growth.cover, growth.wetted)
    return SurfaceDay(
        most=greatest * reference_et,
        strip=exposed.strip * growth.open_share,
        rest=exposed.rest * growth.open_share,
        wetted=growth.wetted,
        tew=growth.tew,
        rew=growth.rew,
        kept=growth.kept,
        roots=growth.roots,
    )


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
    it to RAW would only pour water through it. The factor is a judgement without a source. A seedbed that
    the plan waters with the whole bed keeps to what leaves its surface wet.
    """
    day_and_half = np.minimum(SHALLOW_BED_DAYS * days.usual, GREATEST_FRACTION * growth.taw)
    usual = np.maximum((1.0 - reserve) * days.conditions.raw, day_and_half)
    return np.where(growth.in_use, np.minimum(usual, growth.wet_limit), np.inf)


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
    growth: Growth, days: BedDays, *, state: SoilState, net_rate: FloatArray, reserve: float, evening: float
) -> BedOutlook:
    """Return what the planner is told; `net_rate` [mm/min] of shape (n_days, n_beds)."""
    limit = depletion_limit(growth, days, reserve=reserve)
    depletion, _ = follow_roots(state, days.conditions.taw[0], storage=days.conditions.storage[0])
    return BedOutlook(
        conditions=days.conditions,
        in_use=growth.in_use,
        state=state,
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
