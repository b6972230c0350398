"""Sums over a replayed season: water by month and bed, the peak week, days past the limit. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from scheduler.season.results import SeasonResult

__all__ = ["PeakWeek", "litres_by_day", "litres_by_month", "peak_week", "stress_days"]

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PeakWeek:
    """The seven days in a row that take the most water [L]."""

    first: date
    litres: float


def litres_by_month(result: SeasonResult) -> tuple[tuple[str, ...], FloatArray]:
    """Return the months of a season (``2026-05``) and the volume of each bed in them [L], (months, beds)."""
    months = result.dates.astype("datetime64[M]")
    names = np.unique(months)
    sums = np.stack([result.litres[months == month].sum(axis=0) for month in names])
    return tuple(str(name) for name in names), sums


def litres_by_day(result: SeasonResult) -> dict[date, float]:
    """Return the garden's volume on each day [L]."""
    return dict(zip(result.dates.tolist(), result.litres.sum(axis=1).tolist(), strict=True))


def peak_week(result: SeasonResult) -> PeakWeek:
    """Return the seven days in a row with the most water; a shorter season is one week."""
    daily = result.litres.sum(axis=1)
    width = min(7, daily.shape[0])
    sums = np.convolve(daily, np.ones(width), mode="valid")
    first = int(np.argmax(sums))
    return PeakWeek(result.dates[first].item(), float(sums[first]))


def stress_days(result: SeasonResult) -> tuple[NDArray[np.int64], FloatArray]:
    """Return for each bed the days on which crops were short of water (Ks below 1), and the lowest Ks."""
    stress = np.where(result.growth.in_use, result.stress_coefficient, 1.0)
    return (stress < 1.0 - 1e-9).sum(axis=0), stress.min(axis=0)
