"""The flow of emitters over all pressures, ordinary and compensating, with its slope. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.drip.network import Emitters

__all__ = ["EmitterPath", "along", "emitter_curve", "emitter_path", "limited", "position"]

FloatArray = NDArray[np.float64]

#: Share of a pressure below which a power law goes straight to zero, so that its slope stays finite there.
_KNEE = 1e-4
#: A step along a path goes at most to so many times the position before it.
_FARTHEST = 2.0
#: A compensating emitter is an orifice outside its range.
_ORIFICE = 0.5


def emitter_curve(pressure: ArrayLike, emitters: Emitters) -> tuple[FloatArray, FloatArray]:
    """Return the flow of each emitter [L/h] at `pressure` [kPa], and its derivative [L/h per kPa].

    Between `min_pressure` and `max_pressure` q = q_n (p / p_n) ** x. Below, the flow falls as the square root
    of the pressure over the opening pressure, and is zero from there down: a dripper does not draw in. Above,
    it rises as the square root of the pressure. The curve has no jump and never falls.

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


@dataclass(frozen=True, slots=True)
class EmitterPath:
    """The curves of emitters as paths, both pressure and flow told by one position; made by `emitter_path`.

    By pressure alone the flow of an emitter that is nearly dry jumps, by flow alone the pressure of one that
    compensates does, and Newton's method is thrown to and fro. So the position is the flow (over its unit)
    where the curve is steep, and the pressure (over its unit) elsewhere; below zero the emitter is dry.

    Attributes
    ----------
    emitters : Emitters
        Whose curves they are.
    opening : array
        Pressure at position 0 [kPa].
    pressure_unit, flow_unit : array
        Of the steep part [kPa, L/h].
    exponent : array
        Of the steep part.
    bend_share, bend : array
        Share of the pressure unit, and position, where the path goes over from flow to pressure.
    """

    emitters: Emitters
    opening: FloatArray
    pressure_unit: FloatArray
    flow_unit: FloatArray
    exponent: FloatArray
    bend_share: FloatArray
    bend: FloatArray


def emitter_path(emitters: Emitters) -> EmitterPath:
    """Return the paths of emitters."""
    ranged = emitters.min_pressure > 0.0
    opening = np.where(ranged, emitters.opening_pressure, 0.0)
    at_least, _ = _power(emitters.min_pressure / emitters.nominal_pressure, emitters.exponent)
    x = np.where(ranged, _ORIFICE, emitters.exponent)
    # Where share ** x has the slope 1; a curve that is nowhere steeper bends at once.
    below_one = np.where(x < 1.0, x, 0.0)
    share = np.maximum(below_one ** (1.0 / (1.0 - below_one)), _KNEE)
    return EmitterPath(
        emitters,
        opening,
        np.where(ranged, emitters.min_pressure - opening, emitters.nominal_pressure),
        np.where(ranged, at_least, 1.0) * emitters.nominal_flow,
        x,
        share,
        share**x,
    )


def position(pressure: FloatArray, path: EmitterPath) -> FloatArray:
    """Return the positions on the paths at `pressure` [kPa]."""
    share = (pressure - path.opening) / path.pressure_unit
    steep, _ = _power(share, path.exponent)
    beyond = np.where(share < path.bend_share, steep, share - path.bend_share + path.bend)
    return np.where(share <= 0.0, share, beyond)


def along(at: FloatArray, path: EmitterPath) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return pressure [kPa] and flow [L/h] at positions `at`, and the derivatives of both."""
    unit = path.pressure_unit
    pressure = path.opening + unit * (path.bend_share + at - path.bend)
    flow, slope = emitter_curve(pressure, path.emitters)
    pressure_slope, flow_slope = unit.copy(), slope * unit
    steep = np.flatnonzero(at < path.bend)
    if steep.size:
        y, x = np.maximum(at[steep], 0.0), path.exponent[steep]
        knee = _KNEE**x
        # Exponents near 0 only meet the straight part below the knee.
        inverse = 1.0 / np.maximum(x, 1e-3)
        beyond = np.maximum(y, knee)
        share = np.where(y < knee, _KNEE / knee * y, beyond**inverse)
        rise = np.where(y < knee, _KNEE / knee, inverse * share / beyond)
        dry = at[steep] < 0.0
        pressure[steep] = path.opening[steep] + unit[steep] * np.where(dry, at[steep], share)
        pressure_slope[steep] = unit[steep] * np.where(dry, 1.0, rise)
        flow[steep] = path.flow_unit[steep] * y
        flow_slope[steep] = np.where(dry, 0.0, path.flow_unit[steep])
    return pressure, flow, pressure_slope, flow_slope


def limited(to: FloatArray, at: FloatArray, pressure: FloatArray, path: EmitterPath) -> FloatArray:
    """Return where a step from positions `at` toward `to` may end, with `pressure` [kPa] at its end.

    An emitter that fills stops at the opening of its path, since no slope on the dry side tells how fast its
    flow rises; one that dries follows the pressure; none goes far beyond where the slope was taken.
    """
    near = np.minimum(to, _FARTHEST * np.maximum(at, path.bend))
    share = (pressure - path.opening) / path.pressure_unit
    dried = np.where(at >= 0.0, np.minimum(share, -1e-12), to)
    return np.where(to < 0.0, dried, np.where(at < 0.0, 0.0, near))
