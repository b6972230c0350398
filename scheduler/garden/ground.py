"""What a bed is filled and covered with: soil mixes, layers, mulch, and what the soil held on a day.

Units as in `plan`: lengths and depths of soil m, depths of water mm, shares 0..1.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

__all__ = ["Mulch", "Settled", "SoilLayer", "SoilMix", "SoilState"]


@dataclass(frozen=True, slots=True)
class SoilMix:
    """Water held by a soil mix, and how fast it takes water.

    Attributes
    ----------
    field_capacity, wilting_point : float
        Shares of volume.
    intake_rate : float or None
        How fast it takes in water [mm/h].
    readily_evaporable, total_evaporable : float or None
        REW and TEW: what its bare top 0.10 m loses at full speed, and in all [mm] (FAO-56 Table 19,
        eq. 73); None where neither plan nor table gives it.
    salinity : float or None
        Electrical conductivity of its saturated extract ECe from a soil test [dS/m].
    texture : str or None
        Its texture class, if the plan names one.
    """

    name: str
    field_capacity: float
    wilting_point: float
    source: str
    intake_rate: float | None = None
    readily_evaporable: float | None = None
    total_evaporable: float | None = None
    salinity: float | None = None
    texture: str | None = None


@dataclass(frozen=True, slots=True)
class SoilLayer:
    """One layer of a bed.

    Attributes
    ----------
    soil : SoilMix or None
        None for a fill such as wood.
    depth : float
        Thickness [m].
    available_water : float
        Water that plants can draw, as a share of volume: field capacity less wilting point of a mix; of a
        fill what the plan gives, else 0.
    name : str
        Name of the mix or kind of the fill.
    """

    soil: SoilMix | None
    depth: float
    available_water: float
    name: str


@dataclass(frozen=True, slots=True)
class Settled:
    """Depth of soil [m] from a day on: less after settling, more after topping up."""

    on: date
    soil_depth: float


@dataclass(frozen=True, slots=True)
class Mulch:
    """What lies on the soil of a bed.

    Attributes
    ----------
    cover : float
        Share of the soil that it covers.
    begins, ends : date or None
        First and last day that it lies; None for as long as the plan reaches.
    holes : float
        Share of the film that is vent holes; 0 for organic mulch.
    """

    kind: Literal["organic", "plastic"]
    cover: float
    begins: date | None = None
    ends: date | None = None
    holes: float = 0.0


@dataclass(frozen=True, slots=True)
class SoilState:
    """What the soil held on a day.

    Attributes
    ----------
    depletion : float or str
        Water missing from the root zone [mm], or 'full' (0), or 'at limit' (RAW).
    bed : str or None
        The bed it holds for; None for all.
    below : float
        Share of the available water that is missing in the soil below the roots.
    """

    on: date
    depletion: float | Literal["full", "at limit"]
    bed: str | None
    below: float = 0.0
