"""What a bed loses when a wall, fence or tree hides the sun for some hours. Pure: arrays in, arrays out.

Only the beam is hidden. The light of the sky goes on, which errs to the side of water: a wall hides a part of
the sky as well. Time is solar time.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError
from scheduler.water.air import radiation_weight
from scheduler.water.sun import daylight_hours, extraterrestrial_radiation, radiation_between

__all__ = [
    "LEAST_SHADED_SHARE",
    "When",
    "beam_share",
    "shaded_radiation",
    "shaded_reference_et",
    "sun_lost_share",
]

FloatArray = NDArray[np.float64]

When = Literal["morning", "midday", "evening"]

#: Shade is never counted for more than half of the reference ET: the bed keeps the sky's light and the wind
#: of the garden around it. Judgement, no source.
LEAST_SHADED_SHARE = 0.5

#: Depth of water that 1 MJ m-2 evaporates [mm]. FAO-56 (1998), eq. 20.
MM_PER_MJ = 0.408

#: Share of the sun's radiation that grass sends back. FAO-56 (1998), eq. 38.
ALBEDO = 0.23

#: Days shorter than this are winter to the daily correlation [h]: from noon to sunset the sun turns 81.4 deg.
WINTER_DAY = 2.0 * 81.4 / 360.0 * 24.0


def sun_lost_share(
    latitude: ArrayLike, day_of_year: ArrayLike, *, hours: ArrayLike, when: When
) -> FloatArray:
    """Return the share of a day's radiation that belongs to the hours in which the sun is hidden, 0..1.

    Parameters
    ----------
    latitude : array_like
        [degrees], north positive.
    day_of_year : array_like
        1..366.
    hours : array_like
        Hours of sun lost [h], at least 0; more than the day has counts as all of it.
    when : {"morning", "midday", "evening"}
        From sunrise on, around noon, or up to sunset.

    Returns
    -------
    array
        By radiation above the atmosphere on a horizontal surface; 0 in the polar night.

    Raises
    ------
    RillbookError
        If an input is out of its range or `when` is none of the three.

    References
    ----------
    FAO-56 (1998), eq. 21 and 28.
    """
    lost = np.asarray(hours, dtype=float)
    if not np.all(lost >= 0.0):
        raise RillbookError(f"hours of sun lost {lost} h are below 0")
    sunset = daylight_hours(latitude, day_of_year) / 2.0
    spans = {
        "morning": (-sunset, lost - sunset),
        "midday": (-lost / 2.0, lost / 2.0),
        "evening": (sunset - lost, sunset),
    }
    if when not in spans:
        raise RillbookError(f"time of shade {when!r} is none of {', '.join(map(repr, spans))}")
    start, end = spans[when]
    hidden = radiation_between(start, end, latitude=latitude, day_of_year=day_of_year)
    whole = extraterrestrial_radiation(latitude, day_of_year)
    return np.clip(_ratio(hidden, whole), 0.0, 1.0)


def beam_share(clearness: ArrayLike, *, daylight: ArrayLike) -> FloatArray:
    """Return the share of a day's solar radiation that comes straight from the sun, 0..0.858.

    Parameters
    ----------
    clearness : array_like
        Solar radiation over radiation above the atmosphere Rs / Ra, held within 0..1.
    daylight : array_like
        Hours from sunrise to sunset [h]; the correlation has one curve for winter and one for the other
        seasons.

    References
    ----------
    1 - the daily diffuse fraction of Erbs, Klein and Duffie (1982), Solar Energy 28(4), 293-302. The paper
    could not be read; coefficients, limits and the sunset angle of 81.4 degrees (1.4208) were confirmed in
    the code of Perpinan Lamigueiro (2012), solaR, Journal of Statistical Software 50(9). The curve outside
    winter passes 1 by less than 0.01 on the dullest days and is held there.
    """
    kt = np.clip(np.asarray(clearness, dtype=float), 0.0, 1.0)
    dull = np.minimum(kt, 0.715)
    winter = 1.0 + dull * (-0.2727 + dull * (2.4495 + dull * (-11.9514 + dull * 9.3879)))
    winter = np.where(kt < 0.715, winter, 0.143)
    soft = np.minimum(kt, 0.722)
    other = 1.0 + soft * (0.2832 + soft * (-2.5557 + soft * 0.8448))
    other = np.where(kt < 0.722, other, 0.175)
    length = np.asarray(daylight, dtype=float)
    diffuse = np.clip(np.where(length < WINTER_DAY, winter, other), 0.0, 1.0)
    # A comparison with NaN is False, so the constants above would hide a missing value.
    return np.where(np.isnan(kt + length), np.nan, 1.0 - diffuse)


def shaded_radiation(
    solar: ArrayLike, *, extraterrestrial: ArrayLike, lost_share: ArrayLike, daylight: ArrayLike
) -> FloatArray:
    """Return the solar radiation that a bed gets when a share of the day's beam is hidden [MJ m-2 d-1].

    Parameters
    ----------
    solar, extraterrestrial : array_like
        Rs of the open site and Ra [MJ m-2 d-1].
    lost_share : array_like
        Of `sun_lost_share`, or the sum of several; 0..1.
    daylight : array_like
        Hours from sunrise to sunset [h].

    Raises
    ------
    RillbookError
        If a lost share is not in 0..1.

    References
    ----------
    The beam is taken as spread over the day like radiation above the atmosphere, so shade at midday is a
    little underrated and shade early or late overrated; see `beam_share`.
    """
    lost = np.asarray(lost_share, dtype=float)
    if not (np.all(lost >= 0.0) and np.all(lost <= 1.0)):
        raise RillbookError(f"share of sun lost {lost} is outside 0..1; write 0.30 or 30 %")
    arriving = np.asarray(solar, dtype=float)
    clearness = _ratio(arriving, np.asarray(extraterrestrial, dtype=float))
    return np.asarray(arriving * (1.0 - lost * beam_share(clearness, daylight=daylight)))


def shaded_reference_et(
    reference_et: ArrayLike,
    *,
    solar: ArrayLike,
    extraterrestrial: ArrayLike,
    lost_share: ArrayLike,
    daylight: ArrayLike,
    tmean: ArrayLike,
    wind_2m: ArrayLike,
    elevation: ArrayLike,
) -> FloatArray:
    """Return the reference ET of a bed from which a share of the day's beam is hidden [mm/d].

    Net longwave is held as without shade: eq. 39 reads Rs / Rso as a measure of cloud, and a wall is no
    cloud; taking it from the shaded radiation would warm the bed by a sky that is not there.

    Parameters
    ----------
    reference_et : array_like
        Of the open site [mm/d].
    solar, extraterrestrial : array_like
        Rs of the open site and Ra [MJ m-2 d-1].
    lost_share : array_like
        Of `sun_lost_share`, or the sum of several; 0..1.
    daylight : array_like
        Hours from sunrise to sunset [h].
    tmean : array_like
        Mean temperature of the day [degC].
    wind_2m : array_like
        Mean wind at 2 m [m/s]; shelter by the same wall is not counted.
    elevation : array_like
        [m]

    Returns
    -------
    array
        At least half of `reference_et`, which is a judgement without a source.

    Raises
    ------
    RillbookError
        If a lost share is not in 0..1.

    References
    ----------
    FAO-56 (1998), eq. 6 and 38: the change of the radiation term, -0.408 Delta (1 - 0.23) dRs over
    Delta + gamma (1 + 0.34 u2).
    """
    open_site = np.asarray(reference_et, dtype=float)
    shaded = shaded_radiation(
        solar, extraterrestrial=extraterrestrial, lost_share=lost_share, daylight=daylight
    )
    hidden = np.asarray(solar, dtype=float) - shaded
    less = MM_PER_MJ * (1.0 - ALBEDO) * hidden * radiation_weight(tmean, wind_2m, elevation=elevation)
    return np.maximum(open_site - less, LEAST_SHADED_SHARE * open_site)


def _ratio(part: FloatArray, whole: FloatArray) -> FloatArray:
    """Return part over whole, 0 where the whole is 0 as in the polar night."""
    parts = np.broadcast_arrays(part, whole)
    nothing = np.asarray(0.0 * parts[0] * parts[1])
    return np.asarray(np.divide(parts[0], parts[1], out=nothing, where=parts[1] > 0.0))
