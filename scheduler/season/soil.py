"""What is known of the soil from elsewhere than the balance: stated in the plan, found by a dig. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Garden
from scheduler.season.feedback import Feedback, after_finding, no_feedback
from scheduler.season.field import CONTENT_SPREAD, FieldArrays
from scheduler.water.balance import Conditions, SoilState, follow_roots
from scheduler.water.evaporation import NEXT_TO_NOTHING

__all__ = ["Lived", "StatedSoil", "full_soil", "morning", "put_right", "resized_beds", "stated_soil"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

#: Corrections up to this are rounding [mm].
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class StatedSoil:
    """What the plan states for the morning of each day; arrays of shape (n_days, n_beds), NaN where nothing.

    `depletion` of the root zone [mm]; `below` the share of the available water that is missing beneath it.
    """

    depletion: FloatArray
    below: FloatArray

    def on(self, day: int) -> StatedSoil:
        """Return one day."""
        return StatedSoil(self.depletion[day], self.below[day])


class Lived(NamedTuple):
    """What beds carry from day to day: their soil, and what findings have told of their use."""

    soil: SoilState
    feedback: Feedback


def full_soil(n_beds: int) -> Lived:
    """Return soil that lacks nothing, from which a first stated soil state is a correction."""
    nothing = np.zeros(n_beds)
    return Lived(SoilState(nothing, nothing, nothing, nothing, nothing), no_feedback(n_beds))


def resized_beds(garden: Garden, dates: NDArray[np.datetime64]) -> BoolArray:
    """Return where the depth of a bed's soil was measured anew on a date, (n_days, n_beds)."""
    columns = [
        np.isin(dates, np.array([measured.on for measured in bed.settled], dtype="datetime64[D]"))
        for bed in garden.beds
    ]
    return np.stack(columns, axis=1)


def morning(
    lived: Lived,
    day: Conditions,
    *,
    stated: StatedSoil,
    field: FieldArrays,
    tew: FloatArray,
    resized: BoolArray,
) -> Lived:
    """Return what a day starts from: soil as stated if it is, and inside what findings allow.

    `day`, `stated` and `field` are those of the one day, arrays of shape (n_beds,); `resized` is true for a
    bed whose soil was measured anew that day.
    """
    known = _set_right(lived.soil, day, stated, tew=tew, resized=resized)
    soil = _as_found(known, day, field)
    feedback = after_finding(
        lived.feedback,
        soil.depletion - known.depletion,
        found=field.found,
        stated=~np.isnan(stated.depletion),
    )
    return Lived(soil, feedback)


def stated_soil(garden: Garden, dates: NDArray[np.datetime64], raw: FloatArray) -> StatedSoil:
    """Return what the plan states of the soil; a line for one bed goes before a line for all on one day."""
    depletion, below = np.full(raw.shape, np.nan), np.full(raw.shape, np.nan)
    for for_all in (True, False):
        for state in garden.soil_states:
            if (state.bed is None) is not for_all:
                continue
            for day in np.flatnonzero(dates == np.datetime64(state.on)):
                for number, bed in enumerate(garden.beds):
                    if state.bed in (None, bed.name):
                        depletion[day, number] = _depletion(state.depletion, raw[day, number])
                        below[day, number] = state.below
    return StatedSoil(depletion, below)


def _depletion(stated: float | Literal["full", "at limit"], raw: float) -> float:
    """Return a stated depletion in mm."""
    if stated == "full":
        return 0.0
    return float(raw) if stated == "at limit" else float(stated)


def _set_right(
    state: SoilState, day: Conditions, stated: StatedSoil, *, tew: FloatArray, resized: BoolArray
) -> SoilState:
    """Return the soil as stated on the morning of a day; NaN leaves what the balance has.

    The surface of a bed whose depletion is stated is taken to be as far towards its own end as the root zone
    is towards its limit (judgement, no source). A bed that was re-measured loses the water that its lost
    soil would have lacked.
    """
    reckoned, reckoned_below = follow_roots(state, day.taw, storage=day.storage)
    known = ~np.isnan(stated.depletion)
    outside = np.maximum(day.storage - day.taw, 0.0)
    # Soil that sank or was topped up keeps its dryness: what is gone no longer lacks its water.
    kept = np.minimum(day.taw, state.reach) / np.maximum(state.reach, NEXT_TO_NOTHING)
    reckoned = np.where(resized, state.depletion * kept, reckoned)
    left = np.where(resized, np.minimum(state.below, outside), reckoned_below)
    lacking = np.where(known, stated.depletion, reckoned)
    dry = np.where(known, np.minimum(lacking / day.raw, 1.0), 0.0) * tew
    return SoilState(
        depletion=lacking,
        below=np.where(known, np.nan_to_num(stated.below) * outside, left),
        strip=np.where(known, dry, state.strip),
        rest=np.where(known, dry, state.rest),
        reach=day.taw,
    )


def _as_found(state: SoilState, day: Conditions, field: FieldArrays) -> SoilState:
    """Return the soil with its depletion moved into the band that digs and measurements allow.

    A depletion inside the band stays as it was reckoned.
    """
    ceiling = np.where(np.isinf(field.most), np.inf, field.most * day.raw)
    depletion = np.clip(state.depletion, field.least * day.raw, ceiling)
    low = np.maximum(field.missing - CONTENT_SPREAD, 0.0) * day.taw
    high = np.minimum(field.missing + CONTENT_SPREAD, 1.0) * day.taw
    measured = np.clip(depletion, low, high)
    return state._replace(depletion=np.where(np.isnan(field.missing), depletion, measured))


def put_right(correction: FloatArray, stated: FloatArray, *, found: BoolArray) -> BoolArray:
    """Return where the soil of a morning was stated, found, or corrected otherwise.

    A statement or a finding that agrees with the balance corrects nothing, and is knowledge all the same.
    """
    return np.asarray(~np.isnan(stated) | found | (np.abs(correction) > ROUNDING))
