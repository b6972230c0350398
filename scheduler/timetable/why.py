"""Why the days of a week's setting were chosen: what leaving one out, or taking others, would do. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.timetable.choices import ZoneBeds, ZoneChoices, outlook_of, rounded_shortage
from scheduler.timetable.limits import Limits
from scheduler.timetable.outlook import BedOutlook, depletion_under
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.week import WeekPlan, ZoneSetting, ways_of_week

__all__ = ["Instead", "Missed", "ZoneReasons", "reasons_of_week"]

FloatArray = NDArray[np.float64]

#: A bed that is drier than its limit by less is within it [mm].
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Missed:
    """What leaving out the run of `day` does: bed `bed` passes its limit on day `past`, days from 0.

    `bed` and `past` are None if no bed passes a limit that it keeps with the run.
    """

    day: int
    bed: int | None
    past: int | None


@dataclass(frozen=True, slots=True)
class Instead:
    """The best other days: litres a week and shortage [mm2 d] beyond the chosen days, negative for less."""

    run_days: int
    litres: float
    shortage: float


@dataclass(frozen=True, slots=True)
class ZoneReasons:
    """Why a zone runs on its days.

    `fewer` is the best with fewer run days, `others` the best with as many, on other days; None if the timer
    and the hours have no such days.
    """

    zone: str
    missed: tuple[Missed, ...]
    fewer: Instead | None
    others: Instead | None


def _missed(setting: ZoneSetting, beds: ZoneBeds, outlook: BedOutlook) -> tuple[Missed, ...]:
    """Return what leaving out each run day would do to the zone's beds."""
    days = [day for day, runs in enumerate(setting.mask) if runs]
    if not days:
        return ()
    part = outlook_of(outlook, beds.index)
    masks = np.tile(np.array(setting.mask, dtype=float), (len(days) + 1, 1))
    masks[np.arange(len(days)), days] = 0.0
    minutes = np.full((masks.shape[0], part.n_beds), float(setting.minutes_per_day))
    over = depletion_under(part, masks, minutes) - part.limit[:, None, :]
    kept = over[:, -1, :]
    found = []
    for number, day in enumerate(days):
        worse = (over[:, number, :] > ROUNDING) & (over[:, number, :] > kept + ROUNDING)
        past, bed = (int(n) for n in np.argwhere(worse)[0]) if worse.any() else (None, None)
        found.append(Missed(day, None if bed is None else int(beds.index[bed]), past))
    return tuple(found)


def _instead(
    choices: ZoneChoices, masks: FloatArray, chosen: int, *, among: NDArray[np.bool_]
) -> Instead | None:
    """Return the best of some patterns beside the one chosen."""
    able = [pattern for pattern in choices.order.tolist() if among[pattern] and pattern != chosen]
    if not able:
        return None
    best = able[0]
    return Instead(
        run_days=int(masks[best].sum()),
        litres=float(choices.water[best] - choices.water[chosen]),
        shortage=float(rounded_shortage(choices.shortage[[best]] - choices.shortage[[chosen]])[0]) / 1000.0,
    )


def reasons_of_week(
    plan: WeekPlan, outlook: BedOutlook, *, zones: Sequence[ZoneBeds], limits: Limits
) -> tuple[ZoneReasons, ...]:
    """Return why each zone that runs does so on its days, as if it had the clock to itself.

    A zone whose setting stands from before runs on its days for that alone, and is left out.
    """
    first: date = plan.first
    ways = ways_of_week(first, outlook, zones=zones, limits=limits)
    masks = ways.board.masks.astype(float)
    run_days = masks.sum(axis=1)
    reasons = []
    for setting, choices in zip(plan.settings, ways.ranked, strict=True):
        own = np.array(setting.mask[:DAYS_PER_WEEK])
        if setting.zone in plan.kept or not own.any():
            continue
        chosen = int(np.flatnonzero((ways.board.masks == own).all(axis=1))[0])
        reasons.append(
            ZoneReasons(
                zone=setting.zone,
                missed=_missed(setting, choices.beds, outlook),
                fewer=_instead(choices, masks, chosen, among=run_days < run_days[chosen]),
                others=_instead(choices, masks, chosen, among=run_days == run_days[chosen]),
            )
        )
    return tuple(reasons)
