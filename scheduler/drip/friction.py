"""Friction and minor losses in small smooth tube, by Darcy and Weisbach in three ranges. Pure.

Quarter-inch drip line runs laminar, where the loss follows the flow and not its 1.85th power: formulas such
as that of Hazen and Williams do not hold there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError

__all__ = [
    "GRAVITY",
    "SMOOTH_PLASTIC",
    "TubeLaw",
    "friction_factor",
    "head_of",
    "kinematic_viscosity",
    "pressure_of",
    "reynolds_number",
    "tube_law",
    "tube_loss",
    "velocity",
]

FloatArray = NDArray[np.float64]

GRAVITY = 9.80665  # m s-2
#: Roughness of smooth plastic tube [mm].
SMOOTH_PLASTIC = 0.0015

LAMINAR_TO = 2000.0
TURBULENT_FROM = 4000.0

_LN10 = math.log(10.0)
#: Canonical units to those of the laws: L/h in a flow of 1 m3/s, mm in 1 m.
_HOURLY_LITRES = 3.6e6
_MILLIMETRES = 1000.0


def head_of(pressure: ArrayLike) -> FloatArray:
    """Return the height of water [m] that weighs `pressure` [kPa].

    By the conventional density of 1000 kg m-3, under which a metre of water weighs as many kPa as gravity has
    m s-2; water of 20 degC is 0.2 % lighter.
    """
    return np.asarray(pressure, dtype=float) / GRAVITY


def pressure_of(head: ArrayLike) -> FloatArray:
    """Return the pressure [kPa] under a height of water `head` [m], by the density that `head_of` names."""
    return np.asarray(head, dtype=float) * GRAVITY


def kinematic_viscosity(temperature: float) -> float:
    """Return the kinematic viscosity of water [m2/s] at `temperature` [degC], 0..60.

    Reference: dynamic viscosity by Kestin, Sokolov and Wakeham (1978), which sets 1.002 mPa s at 20 degC;
    density by Tanaka et al. (2001).

    Raises
    ------
    RillbookError
        Outside 0..60 degC: no water that drips in a garden.
    """
    if not 0.0 <= temperature <= 60.0:
        raise RillbookError(
            f"water of {temperature:g} degC is outside 0..60 degC; write that of the tap's water"
        )
    cooler = 20.0 - temperature
    exponent = cooler / (temperature + 96.0) * (1.2364 - 1.37e-3 * cooler + 5.7e-6 * cooler**2)
    warmer = temperature - 3.983035
    density = 999.97495 * (1.0 - warmer**2 * (temperature + 301.797) / (522528.9 * (temperature + 69.34881)))
    return 1.002e-3 * 10.0**exponent / density


def velocity(flow: ArrayLike, inside_diameter: ArrayLike) -> FloatArray:
    """Return the mean velocity [m/s] of `flow` [L/h] in a tube of `inside_diameter` [mm]."""
    bore = np.asarray(inside_diameter, dtype=float) / _MILLIMETRES
    return np.asarray(flow, dtype=float) / _HOURLY_LITRES / (0.25 * math.pi * bore**2)


def reynolds_number(flow: ArrayLike, inside_diameter: ArrayLike, *, viscosity: float) -> FloatArray:
    """Return the Reynolds number of `flow` [L/h], either way, in a tube of `inside_diameter` [mm]."""
    bore = np.asarray(inside_diameter, dtype=float) / _MILLIMETRES
    return np.abs(velocity(flow, inside_diameter)) * bore / viscosity


def _turbulent(reynolds: FloatArray, roughness_term: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return Swamee and Jain's factor and its slope along the logarithm of the Reynolds number."""
    rounding = 5.74 / reynolds**0.9
    inner = roughness_term + rounding
    log = np.log(inner) / _LN10
    return 0.25 / log**2, 0.45 * rounding / (_LN10 * inner * log**3)


def _transition(roughness_term: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return coefficients of the cubic in Re / 2000 that joins value and slope of both ranges (Dunlop)."""
    f, along = _turbulent(np.full(roughness_term.shape, TURBULENT_FROM), roughness_term)
    begin = 64.0 / LAMINAR_TO  # 64/Re falls there by as much for each 2000
    slope = 0.5 * along
    a = 2.0 * begin - 2.0 * f - begin + slope
    b = 3.0 * (f - begin) + 2.0 * begin - slope
    # In s = Re / 2000 - 1: f = begin - begin s + b s2 + a s3, written out in powers of Re / 2000.
    return begin + begin + b - a, -begin - 2.0 * b + 3.0 * a, b - 3.0 * a, a


def friction_factor(reynolds: ArrayLike, relative_roughness: ArrayLike) -> FloatArray:
    """Return the Darcy friction factor of flow at `reynolds` > 0 in a tube of roughness over bore.

    64/Re to 2000; from 4000 on Swamee and Jain's f = 0.25 / log10(e / 3.7 d + 5.74 / Re**0.9)**2; a cubic
    between, after Dunlop (1991), that meets both in value and in slope.
    """
    re, relative = np.broadcast_arrays(
        np.asarray(reynolds, dtype=float), np.asarray(relative_roughness, dtype=float)
    )
    term = relative / 3.7
    turbulent, _ = _turbulent(np.maximum(re, TURBULENT_FROM), term)
    c0, c1, c2, c3 = _transition(term)
    ratio = re / LAMINAR_TO
    between = c0 + ratio * (c1 + ratio * (c2 + ratio * c3))
    return np.where(re <= LAMINAR_TO, 64.0 / re, np.where(re < TURBULENT_FROM, between, turbulent))


@dataclass(frozen=True, slots=True)
class TubeLaw:
    """What turns flow into loss for each of a row of tubes, made once by `tube_law`; all arrays (n,).

    Attributes
    ----------
    laminar : array
        Loss by flow while laminar [m per L/h].
    kinetic : array
        Loss by friction factor and flow squared [m per (L/h)2].
    minor : array
        Minor loss by flow squared [m per (L/h)2].
    reynolds : array
        Reynolds number by flow [1 per L/h].
    roughness_term : array
        e / 3.7 d.
    transition : array
        (4, n), coefficients of the cubic in Re / 2000.
    """

    laminar: FloatArray
    kinetic: FloatArray
    minor: FloatArray
    reynolds: FloatArray
    roughness_term: FloatArray
    transition: FloatArray


def tube_law(
    length: ArrayLike,
    inside_diameter: ArrayLike,
    *,
    roughness: ArrayLike = SMOOTH_PLASTIC,
    minor_loss: ArrayLike = 0.0,
    viscosity: float,
) -> TubeLaw:
    """Return the laws of tubes of `length` [m] and `inside_diameter` [mm].

    Parameters
    ----------
    roughness : array
        Absolute roughness [mm].
    minor_loss : array
        Sum of the K of fittings, on V2 / 2g in the tube.
    viscosity : float
        Kinematic viscosity [m2/s].

    Reference: h = (f L / d + K) V2 / 2g (Darcy and Weisbach).
    """
    long, wide, rough, loss = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(v, dtype=float)) for v in (length, inside_diameter, roughness, minor_loss))
    )
    per_flow = velocity(1.0, wide)
    head = per_flow**2 / (2.0 * GRAVITY)
    kinetic = long / (wide / _MILLIMETRES) * head
    reynolds = reynolds_number(1.0, wide, viscosity=viscosity)
    term = rough / wide / 3.7
    return TubeLaw(
        64.0 * kinetic / reynolds, kinetic, loss * head, reynolds, term, np.array(_transition(term))
    )


def tube_loss(flow: ArrayLike, law: TubeLaw) -> tuple[FloatArray, FloatArray]:
    """Return the loss of head [m] of `flow` [L/h] in each tube, and its derivative [m per L/h].

    Losses have the sign of the flow; the derivative is never zero, for a trickle is laminar.
    """
    q = np.asarray(flow, dtype=float)
    size = np.abs(q)
    minor = law.minor * size
    loss, slope = (law.laminar + minor) * q, law.laminar + 2.0 * minor
    re = law.reynolds * size
    fast = np.flatnonzero(re > LAMINAR_TO)
    if fast.size:
        factor, along = _beyond_laminar(re[fast], law.roughness_term[fast], law.transition[:, fast])
        kinetic = law.kinetic[fast] * size[fast]
        loss[fast] = (kinetic * factor + minor[fast]) * q[fast]
        slope[fast] = kinetic * (2.0 * factor + along) + 2.0 * minor[fast]
    return loss, slope


def _beyond_laminar(
    re: FloatArray, roughness_term: FloatArray, transition: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return friction factor and its slope along ln Re above Re 2000."""
    c0, c1, c2, c3 = transition
    ratio = re / LAMINAR_TO
    factor = c0 + ratio * (c1 + ratio * (c2 + ratio * c3))
    along = ratio * (c1 + ratio * (2.0 * c2 + ratio * 3.0 * c3))
    turbulent = np.flatnonzero(re >= TURBULENT_FROM)
    if turbulent.size:
        factor[turbulent], along[turbulent] = _turbulent(re[turbulent], roughness_term[turbulent])
    return factor, along
