"""What a garden would take in a season if inputs lay off, and the plausible range of it. Pure.

Every bed is refilled on the morning after it has passed its limit, whatever the timer can hold. That is no
timetable, but it answers to the inputs as a timetable does whose keeper looks at the soil now and then. How
far its water spreads, as a share, is then the spread of the season that was replayed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Garden
from scheduler.season.results import SeasonResult
from scheduler.season.supply import supply_arrays
from scheduler.season.uncertainty import PlausibleRange, first_order, input_uncertainty
from scheduler.season.varied import multipliers_of, varied_day, varied_soil
from scheduler.water.balance import SoilState, step

__all__ = ["SeasonRange", "season_litres", "season_range"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class SeasonRange:
    """Shares of a season's water at both ends of its plausible range, and the input that matters most.

    `low` and `high` are factors on the water as replayed; `foremost` makes `share` of the variance.
    """

    low: float
    high: float
    foremost: str
    share: float


def season_range(garden: Garden, result: SeasonResult) -> SeasonRange:
    """Return how far the water of a season may lie off; an input lies off to the same side in all beds."""

    def answer(cases: FloatArray) -> FloatArray:
        return season_litres(garden, result, cases)

    by_bed = first_order(answer, input_uncertainty(garden))
    return _as_shares(
        PlausibleRange(by_bed.reckoned.sum(keepdims=True), by_bed.parts.sum(axis=1, keepdims=True))
    )


def _as_shares(litres: PlausibleRange) -> SeasonRange:
    """Return a range of volume as shares of what was reckoned."""
    foremost, share = litres.foremost(0)
    reckoned = float(litres.reckoned[0])
    if reckoned <= 0.0:
        return SeasonRange(1.0, 1.0, foremost, share)
    return SeasonRange(float(litres.low[0]) / reckoned, float(litres.high[0]) / reckoned, foremost, share)


def season_litres(garden: Garden, result: SeasonResult, cases: FloatArray) -> FloatArray:
    """Return the water that each bed would need in the season under every case [L], (n_cases, n_beds).

    Parameters
    ----------
    garden : Garden
    result : SeasonResult
    cases : array, shape (n_cases, n_beds, n_inputs)
        Factors on the inputs in the order of `INPUTS`; n_beds may be 1.

    Notes
    -----
    What a bed lacks when its last crop is taken out counts as still owed, so that the sum does not jump with
    the day of its last refill. The flow of the emitters makes no difference: less flow takes longer.
    """
    factors = multipliers_of(cases)
    _, flow, _, _ = supply_arrays(garden)
    in_use = result.growth.in_use
    last = in_use.shape[0] - 1 - np.argmax(in_use[::-1], axis=0)
    litres_per_mm = _litres_per_mm(result, flow)
    state = varied_soil(SoilState(*(part[0] for part in result.mornings)), factors)
    litres = np.zeros(np.broadcast_shapes(state.depletion.shape, flow.shape))
    for day in range(in_use.shape[0]):
        limit = result.limit[day] * factors.available_water
        water = np.where(state.depletion > limit, state.depletion, 0.0)
        today = varied_day(result.conditions.on(day), factors, gauged=bool(result.gauged[day]))
        state = step(state, today, applied=water).state
        owed = np.where(in_use[day] & (day == last), state.depletion, 0.0)
        litres = litres + (water + owed) * litres_per_mm[day] / factors.efficiency
    return litres


def _litres_per_mm(result: SeasonResult, flow: FloatArray) -> FloatArray:
    """Return the volume at the emitters for each mm stored [L/mm], (n_days, n_beds)."""
    return flow / 60.0 / result.net_rate
