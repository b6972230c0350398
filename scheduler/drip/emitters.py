"""Emitter flow, uniformity and application rate of a bed. Pure: arrays in, arrays out."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError

__all__ = [
    "application_rate",
    "caught_volumes",
    "emission_uniformity",
    "emitter_flow",
    "low_quarter_uniformity",
]

FloatArray = NDArray[np.float64]

#: The mean of the lowest quarter of a normal population lies this many standard deviations below the mean.
LOW_QUARTER_DEVIATION = 1.27


def emitter_flow(
    nominal_flow: ArrayLike, pressure: ArrayLike, *, nominal_pressure: ArrayLike, exponent: ArrayLike
) -> FloatArray:
    """Return the flow of an emitter [L/h] at `pressure` [kPa]: q = q_n (p / p_n) ** x.

    Reference: the discharge equation of microirrigation handbooks; x is 0 for an ideal compensating
    emitter, 0.5 for a fully turbulent and 1 for a laminar one.
    """
    share = np.asarray(pressure, dtype=float) / np.asarray(nominal_pressure, dtype=float)
    flow = np.asarray(nominal_flow, dtype=float) * share ** np.asarray(exponent, dtype=float)
    # Without this a compensating emitter (x = 0) would flow at no pressure.
    return np.where(share > 0.0, flow, 0.0)


def application_rate(flow: ArrayLike, area: ArrayLike) -> FloatArray:
    """Return the application rate [mm/h] of a flow [L/h] over a bed's whole area [m2]."""
    return np.asarray(flow, dtype=float) / np.asarray(area, dtype=float)


def emission_uniformity(
    variation: float, *, emitters_per_plant: float = 1.0, least_flow_share: float = 1.0
) -> float:
    """Return design emission uniformity EU, 0..1.

    Parameters
    ----------
    variation : float
        Manufacturing coefficient of variation of new emitters, as a share (0.05, not 5).
    emitters_per_plant : float
        Np; 1 for a line that waters a strip.
    least_flow_share : float
        Flow at the least pressure as a share of the mean flow.

    Reference: EU = (1 - 1.27 Cv / sqrt(Np)) q_min / q_mean, Keller and Karmeli.

    Raises
    ------
    RillbookError
        If the variation is not a share below 0.5 (above, the equation's normal population is no guide),
        the emitters per plant are fewer than 1, or the least flow is not a share above 0 and at most 1.
    """
    if not 0.0 <= variation < 0.5:
        raise RillbookError(f"manufacturing variation {variation} is outside 0..0.5; write 5 % as 0.05")
    if not emitters_per_plant >= 1.0:
        raise RillbookError(f"emitters per plant {emitters_per_plant} is below 1; 1 is for a watered strip")
    if not 0.0 < least_flow_share <= 1.0:
        raise RillbookError(f"least flow {least_flow_share} is outside 0..1 of the mean; write 95 % as 0.95")
    return (1.0 - LOW_QUARTER_DEVIATION * variation / math.sqrt(emitters_per_plant)) * least_flow_share


def low_quarter_uniformity(volumes: ArrayLike) -> float:
    """Return the distribution uniformity of the low quarter, 0..1, from cups filled in equal times.

    The mean of the lowest quarter over the mean of all. A count that does not divide by four takes the
    next whole number of cups: 15 cups give the lowest four.

    Raises
    ------
    RillbookError
        With fewer than four cups, when a volume is negative or missing, or when nothing was caught.
    """
    caught = np.sort(caught_volumes(volumes))
    quarter = math.ceil(caught.size / 4)
    return float(caught[:quarter].mean() / caught.mean())


def caught_volumes(volumes: ArrayLike) -> FloatArray:
    """Return the volumes of a cup test as an array, in their order.

    Raises
    ------
    RillbookError
        With fewer than four cups, when a volume is negative or missing, or when nothing was caught.
    """
    caught = np.asarray(volumes, dtype=float)
    if caught.size < 4:
        raise RillbookError(f"a cup test needs at least 4 cups; found {caught.size}")
    if not np.all(caught >= 0.0):
        raise RillbookError("a cup of a cup test is negative or missing; write 0 for a cup that stayed dry")
    if not caught.mean() > 0.0:
        raise RillbookError("the cups of a cup test are all empty; check that the bed's valve was open")
    return caught
