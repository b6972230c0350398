"""What a mulch does to crop coefficients and to evaporation. Pure: arrays in, arrays out.

FAO-56 = Allen, Pereira, Raes, Smith (1998), Crop evapotranspiration, FAO Irrigation and Drainage Paper 56;
the rules stand in its text on p. 195-198 and in Table 25, and have no equation numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError

__all__ = [
    "FILM_EFFECTS",
    "FILM_KC_INI",
    "FilmEffect",
    "film_basal_coefficient",
    "film_coefficient",
    "open_wetted_fraction",
    "organic_coefficient",
    "organic_evaporation_factor",
    "organic_initial_coefficient",
]

FloatArray = NDArray[np.float64]

#: Evaporation that an organic mulch takes from ground that it covers: 5 % for each 10 %. FAO-56, p. 195-198.
ORGANIC_EFFECT = 0.5

#: Usual initial single coefficient under film. FAO-56, p. 195-198.
FILM_KC_INI = 0.10

#: Reductions under film that FAO-56 (p. 195-198) gives, and the middle of each: single and basal coefficient.
FILM_KC_REDUCTION = 0.20
FILM_KCB_REDUCTION = 0.10

#: A hole evaporates as if it were 2 to 4 times as large: vapour comes from beside it. FAO-56, p. 195-198.
HOLE_FACTORS = (2.0, 4.0)


class FilmEffect(NamedTuple):
    """What plastic film did to a crop, as shares, each (low, high); None where the table is blank.

    A gain below 0 is a loss.
    """

    kc_reduction: tuple[float, float]
    evaporation_reduction: tuple[float, float] | None
    transpiration_gain: tuple[float, float] | None


#: FAO-56, Table 25: horticultural crops under complete plastic film with drip, against bare ground.
FILM_EFFECTS: Mapping[str, FilmEffect] = {
    "squash": FilmEffect((0.05, 0.15), (0.40, 0.70), (0.10, 0.30)),
    "cucumber": FilmEffect((0.15, 0.20), (0.40, 0.60), (0.15, 0.30)),
    "cantaloupe": FilmEffect((0.05, 0.10), (0.80, 0.80), (0.35, 0.35)),
    "watermelon": FilmEffect((0.25, 0.30), (0.90, 0.90), (-0.10, -0.10)),
    "tomato": FilmEffect((0.35, 0.35), None, None),
    "average": FilmEffect((0.10, 0.30), (0.50, 0.80), (0.10, 0.30)),
}


def organic_evaporation_factor(cover: ArrayLike) -> FloatArray:
    """Return the share of soil evaporation that goes on under an organic mulch, 0.5..1.

    `cover` is the share of ground that the mulch covers. For the dual coefficient, Ke times this; Kcb stays.

    Reference: FAO-56, p. 195-198. Raises `RillbookError` if a cover is not in 0..1.
    """
    return np.asarray(1.0 - ORGANIC_EFFECT * _share("mulch cover", cover))


def organic_initial_coefficient(kc_ini: ArrayLike, cover: ArrayLike) -> FloatArray:
    """Return the initial single coefficient, nearly all of it evaporation, under an organic mulch.

    Reference: FAO-56, p. 195-198. Raises `RillbookError` if a cover is not in 0..1.
    """
    return np.asarray(np.asarray(kc_ini, dtype=float) * organic_evaporation_factor(cover))


def organic_coefficient(kc: ArrayLike, cover: ArrayLike, *, kcb: ArrayLike) -> FloatArray:
    """Return Kc mid or Kc end under an organic mulch: the part above the basal coefficient shrinks.

    A basal coefficient above the single one leaves nothing to take away.

    Reference: FAO-56, p. 195-198. Raises `RillbookError` if a cover is not in 0..1.
    """
    single = np.asarray(kc, dtype=float)
    evaporation = np.maximum(single - np.asarray(kcb, dtype=float), 0.0)
    return np.asarray(single - ORGANIC_EFFECT * _share("mulch cover", cover) * evaporation)


def film_coefficient(
    kc: ArrayLike, covered: ArrayLike = 1.0, *, reduction: ArrayLike = FILM_KC_REDUCTION
) -> FloatArray:
    """Return Kc mid or Kc end under plastic film.

    Parameters
    ----------
    kc : array_like
        Single coefficient without a mulch.
    covered : array_like
        Share of the wetted ground that lies under film; less film, less effect.
    reduction : array_like
        Share by which whole film lowers the coefficient: 0.10-0.30, more under frequent drip; see
        `FILM_EFFECTS`. If not given, the middle.

    Raises
    ------
    RillbookError
        If a share is not in 0..1.

    References
    ----------
    FAO-56, p. 195-198 and Table 25; example 45.
    """
    lowered = _share("film's reduction", reduction) * _share("share under film", covered)
    return np.asarray(np.asarray(kc, dtype=float) * (1.0 - lowered))


def film_basal_coefficient(kcb: ArrayLike, *, reduction: ArrayLike = FILM_KCB_REDUCTION) -> FloatArray:
    """Return the basal coefficient under plastic film.

    `reduction` is the share by which it falls, 0.05-0.15; if not given, the middle.

    Reference: FAO-56, p. 195-198; example 45. Raises `RillbookError` if a reduction is not in 0..1.
    """
    return np.asarray(np.asarray(kcb, dtype=float) * (1.0 - _share("film's reduction", reduction)))


def open_wetted_fraction(
    wetted_outside: ArrayLike, holes: ArrayLike, *, hole_factor: ArrayLike = 3.0
) -> FloatArray:
    """Return the share of ground that is wetted and can evaporate past a plastic film, 0..1.

    Parameters
    ----------
    wetted_outside : array_like
        Share of the ground that is wetted and lies outside the film.
    holes : array_like
        Share of the ground that is plant and vent holes by their size.
    hole_factor : array_like
        How many times its size a hole counts, 2..4; if not given, the middle.

    Raises
    ------
    RillbookError
        If a share is not in 0..1 or the factor not in 2..4.

    References
    ----------
    FAO-56, p. 195-198: fw for the dual coefficient.
    """
    factor = np.asarray(hole_factor, dtype=float)
    least, most = HOLE_FACTORS
    if not (np.all(factor >= least) and np.all(factor <= most)):
        raise RillbookError(f"factor for holes in film {factor} is outside 2..4")
    vents = factor * _share("share of holes", holes)
    return np.minimum(_share("wetted share outside film", wetted_outside) + vents, 1.0)


def _share(what: str, value: ArrayLike) -> FloatArray:
    """Return a share as an array; refuse what is none."""
    share = np.asarray(value, dtype=float)
    if not (np.all(share >= 0.0) and np.all(share <= 1.0)):
        raise RillbookError(f"{what} {share} is outside 0..1; write 0.50 or 50 %")
    return share
