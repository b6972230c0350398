"""What the ground of a bed holds on each day: its layers, its surface, what covers it. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import takewhile

import numpy as np
from numpy.typing import NDArray

from scheduler.drip.wetting import TEXTURE_GROUPS, line_wetted_width
from scheduler.garden.plan import Bed
from scheduler.water.mulch import open_wetted_fraction
from scheduler.water.rootzone import MM_PER_M, total_evaporable_water
from scheduler.weather.record import DateArray

__all__ = ["Ground", "available_water", "drip_wetted_share", "ground_of", "reachable_depth", "soil_depths"]

FloatArray = NDArray[np.float64]

#: Share of the evaporable water that bare soil loses before it slows; FAO-56 (1998) Table 19 prints
#: REW at 0.4 to 0.5 of TEW for most soils.
EASY_EVAPORATION_SHARE = 0.45

#: Share of a bed that drip wets where the plan says nothing: middle of FAO-56 (1998) Table 20, 0.3 to 0.4.
USUAL_WETTED_SHARE = 0.35


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """One bed's ground.

    Attributes
    ----------
    tew, rew : float
        Total and readily evaporable water of the surface layer [mm].
    wetted : float
        Share of the bed that drip wets, 0..1.
    depth : array, shape (n_days,)
        Depth that roots can reach [m].
    storage : array, shape (n_days,)
        Available water down to that depth [mm].
    organic, film : arrays, shape (n_days,)
        Share of the ground under organic mulch, and under film.
    open_share : array, shape (n_days,)
        Share of the ground from which water can evaporate past a film.
    """

    tew: float
    rew: float
    wetted: float
    depth: FloatArray
    storage: FloatArray
    organic: FloatArray
    film: FloatArray
    open_share: FloatArray


def soil_depths(bed: Bed, dates: DateArray) -> FloatArray:
    """Return the depth of soil above any fill on each of the dates [m], as last measured."""
    depth = np.full(dates.shape[0], bed.soil_depth)
    for measured in bed.settled:
        depth[dates >= np.datetime64(measured.on)] = measured.soil_depth
    return depth


def reachable_depth(bed: Bed, dates: DateArray) -> FloatArray:
    """Return the depth that roots can reach [m]: the soil, and fill below down to the first that is dry."""
    fills = (layer for layer in bed.layers if layer.soil is None)
    fill = sum(layer.depth for layer in takewhile(lambda layer: layer.available_water > 0.0, fills))
    return soil_depths(bed, dates) + fill


def available_water(bed: Bed, root_depth: FloatArray, dates: DateArray) -> FloatArray:
    """Return the available water [mm] above a depth [m] on each of the dates, layer by layer.

    A bed that settled has all its soil layers shrunk alike.

    Reference: FAO-56 (1998), eq. 82, summed over layers.
    """
    shrunk = soil_depths(bed, dates) / bed.soil_depth
    if not bed.layers:
        held = bed.soil.field_capacity - bed.soil.wilting_point
        return MM_PER_M * held * root_depth
    top, total = np.zeros(dates.shape[0]), np.zeros(dates.shape[0])
    for layer in bed.layers:
        thick = layer.depth * (shrunk if layer.soil is not None else np.ones_like(shrunk))
        total = total + layer.available_water * np.clip(root_depth - top, 0.0, thick)
        top = top + thick
    return MM_PER_M * total


def drip_wetted_share(bed: Bed) -> tuple[float, str]:
    """Return the share of a bed that drip wets and where the figure is from.

    The plan's own share comes first, then line length times wetted width over the bed's area, with the plan's
    width or that of the mix's texture, then FAO-56 (1998) Table 20.
    """
    if bed.wetted_share is not None:
        return bed.wetted_share, "stated in the plan"
    if bed.line_length is not None:
        if bed.wetted_width is not None:
            return min(
                1.0, bed.line_length * bed.wetted_width / bed.area
            ), "line length x wetted width / area"
        texture = bed.soil.texture
        if texture in TEXTURE_GROUPS:
            width, source = line_wetted_width(texture, bed.drip.emitter_spacing)
            share = min(1.0, bed.line_length * width / bed.area)
            return share, f"assumed: line length x wetted width / area; {texture}: {source}"
        lacks = "the mix has no texture to go by"
    else:
        lacks = "the plan gives no length of line"
    return USUAL_WETTED_SHARE, f"assumed: middle of FAO-56 Table 20 for drip, 0.3 to 0.4, since {lacks}"


def ground_of(bed: Bed, dates: DateArray) -> Ground:
    """Return a bed's ground on each of the dates."""
    mix = bed.soil
    tew = mix.total_evaporable
    if tew is None:
        tew = float(total_evaporable_water(mix.field_capacity, mix.wilting_point))
    rew = mix.readily_evaporable
    depth = reachable_depth(bed, dates)
    organic, film = _mulched(bed, dates, "organic"), _mulched(bed, dates, "plastic")
    holes = bed.mulch.holes if bed.mulch is not None else 0.0
    return Ground(
        tew=tew,
        rew=EASY_EVAPORATION_SHARE * tew if rew is None else rew,
        wetted=drip_wetted_share(bed)[0],
        depth=depth,
        storage=available_water(bed, depth, dates),
        organic=organic,
        film=film,
        open_share=open_wetted_fraction(1.0 - film, film * holes),
    )


def _mulched(bed: Bed, dates: DateArray, kind: str) -> FloatArray:
    """Return the share of a bed that mulch of one kind covers on each of the dates."""
    mulch = bed.mulch
    if mulch is None or mulch.kind != kind:
        return np.zeros(dates.shape[0])
    cover = np.full(dates.shape[0], mulch.cover)
    if mulch.begins is not None:
        cover[dates < np.datetime64(mulch.begins)] = 0.0
    if mulch.ends is not None:
        cover[dates > np.datetime64(mulch.ends)] = 0.0
    return cover
