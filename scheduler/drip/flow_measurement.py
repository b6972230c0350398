"""A bed's flow from water caught or metered in a measured time, with its uncertainty. Pure.

Resolution of a meter is a rectangle over one smallest digit, a volume the difference of two readings
(JCGM 100:2008, F.2.2.1); the level of a bucket is a triangle, since a level near the one read is likelier
than one at the edge (4.3.9); a watch is a rectangle (4.3.7).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError

__all__ = [
    "bucket_volume_uncertainty",
    "flow_in_time",
    "metered_volume_uncertainty",
    "shared_flow_uncertainty",
]

FloatArray = NDArray[np.float64]

#: How far off a bucket's level may be, as a share of it and at the least [L]; and the watch beside it [min].
#: Judgement, no source: half a mark of a household bucket, and a second at each end.
BUCKET_SHARE, BUCKET_LEAST, WATCH = 0.02, 0.05, 2.0 / 60.0
#: Standard deviation of a sound bed's flow from day to day, as a share: judgement, no source; 4 % of
#: pressure behind a regulator moves a turbulent emitter by 2 %.
DAY_VARIATION = 0.02


def flow_in_time(
    volume: float, minutes: float, *, volume_uncertainty: float, watch: float = WATCH
) -> tuple[float, float]:
    """Return flow and standard uncertainty [L/h] of a volume [L] in minutes; q = V / t.

    Parts are added in quadrature (JCGM 100:2008, eq. 10).

    Parameters
    ----------
    volume_uncertainty : float
        Standard uncertainty of the volume [L].
    watch : float
        Start and stop together surely lie within this much of the time [min].

    Raises
    ------
    RillbookError
        If the time is not above 0, or the volume or an uncertainty is below 0 or no number.
    """
    if not 0.0 < minutes < math.inf:
        raise RillbookError(f"a flow was measured for {minutes} minutes; write how long the water ran")
    for what, value in (("volume", volume), ("its uncertainty", volume_uncertainty), ("watch", watch)):
        if not 0.0 <= value < math.inf:
            raise RillbookError(f"measured flow: {what} is {value}; write a number of 0 or more")
    flow = volume * 60.0 / minutes
    from_volume = volume_uncertainty * 60.0 / minutes
    from_time = flow * watch / math.sqrt(3.0) / minutes
    return flow, math.hypot(from_volume, from_time)


def bucket_volume_uncertainty(volume: float) -> float:
    """Return the standard uncertainty of a volume read in a bucket [L]."""
    return max(BUCKET_LEAST, BUCKET_SHARE * volume) / math.sqrt(6.0)


def metered_volume_uncertainty(smallest_digit: float) -> float:
    """Return the standard uncertainty [L] of a volume between two readings of a meter."""
    return smallest_digit / math.sqrt(6.0)


def shared_flow_uncertainty(shares: ArrayLike, *, printed: float) -> FloatArray:
    """Return what sharing a measured flow by printed flows adds to each bed's, relative and standard.

    Parameters
    ----------
    shares : array, shape (n_beds,)
        Part of the water that each bed is given; they add up to 1.
    printed : float
        Relative standard uncertainty of a printed flow, independent from bed to bed.

    Notes
    -----
    First order: the share w_i of bed i moves by e_i - sum w_j e_j when the printed flows are off by e. One
    bed alone has nothing to share, and beds of one batch that are off alike add nothing.

    Raises
    ------
    RillbookError
        If the shares do not add up to 1.
    """
    weight = np.asarray(shares, dtype=float)
    if not math.isclose(float(weight.sum()), 1.0, rel_tol=1e-9) or np.any(weight < 0.0):
        raise RillbookError(f"the shares of a measured flow add up to {float(weight.sum())}, not to 1")
    square = float((weight**2).sum())
    return np.asarray(printed * np.sqrt(np.maximum(0.0, 1.0 - 2.0 * weight + square)))
