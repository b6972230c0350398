"""The flow of emitters over all pressures, ordinary and compensating, with its slope. Pure."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.drip.network import Emitters

__all__ = ["emitter_curve"]

FloatArray = NDArray[np.float64]

#: Share of a pressure below which a power law goes straight to zero, so that its slope stays finite there.
_KNEE = 1e-4
#: A compensating emitter is an orifice outside its range.
_ORIFICE = 0.5


def emitter_curve(pressure: ArrayLike, emitters: Emitters) -> tuple[FloatArray, FloatArray]:
    """Return the flow of each emitter [L/h] at `pressure` [kPa], and its derivative [L/h per kPa].

    Between `min_pressure` and `max_pressure` q = q_n (p / p_n) ** x. Below, the flow falls as the square root of
    the pressure over the opening pressure, and is zero from there down: a dripper does not draw in. Above, it
    rises as the square root of the pressure. The curve has no jump and never falls.

    Reference: the discharge equation of microirrigation handbooks; the three zones of compensating emitters.
    """
    p = np.asarray(pressure, dtype=float)
    within = np.clip(p, emitters.min_pressure, emitters.max_pressure)
    flow, slope = _power(within / emitters.nominal_pressure, emitters.exponent)
    flow *= emitters.nominal_flow
    slope *= emitters.nominal_flow / emitters.nominal_pressure
    low = np.flatnonzero((p < emitters.min_pressure) & (emitters.min_pressure > 0.0))
    if low.size:
        opening = emitters.opening_pressure[low]
        span = emitters.min_pressure[low] - opening
        share, along = _power((p[low] - opening) / span, np.full(low.size, _ORIFICE))
        slope[low] = flow[low] * along / span
        flow[low] *= share
    high = np.flatnonzero(p > emitters.max_pressure)
    if high.size:
        flow[high] *= (p[high] / emitters.max_pressure[high]) ** _ORIFICE
        slope[high] = _ORIFICE * flow[high] / p[high]
    return flow, slope


def _power(share: FloatArray, exponent: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return share ** exponent and its slope; straight below the knee, zero at and below zero."""
    beyond = np.maximum(share, _KNEE)
    value = beyond**exponent
    slope = exponent * value / beyond
    low = np.flatnonzero(share < _KNEE)
    if low.size:
        straight = np.where(share[low] > 0.0, value[low] / _KNEE, 0.0)
        value[low] = straight * share[low]
        slope[low] = straight
    return value, slope
