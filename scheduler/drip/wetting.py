"""How wide drip wets the soil beside a line, by texture and emitter spacing. Pure.

All figures are of field soil and from memory; they are diameters below the surface, where water spreads
further than on it. A loose mix rich in compost behaves as coarse soil does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from scheduler.errors import RillbookError

__all__ = [
    "LINE_SPREAD",
    "TEXTURE_GROUPS",
    "WETTED_DIAMETERS",
    "LineSpread",
    "WettedDiameter",
    "line_wetted_width",
    "texture_group",
    "wetted_width",
]

FloatArray = NDArray[np.float64]
Group = Literal["coarse", "medium", "fine"]


@dataclass(frozen=True, slots=True)
class WettedDiameter:
    """Diameter that one emitter wets [m]."""

    least: float
    most: float
    source: str


@dataclass(frozen=True, slots=True)
class LineSpread:
    """Emitter spacing that leaves no dry gaps, and the width of the strip then [m]."""

    spacing: float
    width: float


#: Texture of a soil table -> how water spreads in it; grouping of the USDA texture classes, from memory.
TEXTURE_GROUPS: dict[str, Group] = {
    "sand": "coarse",
    "loamy sand": "coarse",
    "sandy loam": "coarse",
    "loam": "medium",
    "silt loam": "medium",
    "silt": "medium",
    "sandy clay loam": "fine",
    "clay loam": "fine",
    "silty clay loam": "fine",
    "sandy clay": "fine",
    "silty clay": "fine",
    "clay": "fine",
}

#: 1 to 3, 2 to 4 and 3 to 6 ft in whole centimetres.
WETTED_DIAMETERS: dict[Group, WettedDiameter] = {
    "coarse": WettedDiameter(0.30, 0.91, "wetted diameter of one dripper in coarse soil, from memory"),
    "medium": WettedDiameter(0.61, 1.22, "wetted diameter of one dripper in medium soil, from memory"),
    "fine": WettedDiameter(0.91, 1.83, "wetted diameter of one dripper in fine soil, from memory"),
}

#: Keller and Bliesner, Table 19.1, from memory, in whole centimetres: 1 gal/h, roots 2.5 ft deep;
#: homogeneous, stratified and layered soil.
LINE_SPREAD: dict[Group, tuple[LineSpread, LineSpread, LineSpread]] = {
    "coarse": (LineSpread(0.37, 0.46), LineSpread(0.61, 0.76), LineSpread(0.85, 1.07)),
    "medium": (LineSpread(0.73, 0.91), LineSpread(0.98, 1.22), LineSpread(1.22, 1.52)),
    "fine": (LineSpread(0.85, 1.07), LineSpread(1.22, 1.52), LineSpread(1.46, 1.83)),
}


def texture_group(texture: str) -> Group:
    """Return how water spreads in a texture class.

    Raises
    ------
    RillbookError
        If the texture is none of `TEXTURE_GROUPS`.
    """
    group = TEXTURE_GROUPS.get(texture)
    if group is None:
        raise RillbookError(f'texture "{texture}" is not known; known are {", ".join(TEXTURE_GROUPS)}')
    return group


def wetted_width(diameter: ArrayLike, spacing: ArrayLike) -> FloatArray:
    """Return the mean width of the strip that a line wets [m], from circles in a row.

    Parameters
    ----------
    diameter : array_like
        Diameter that one emitter wets [m].
    spacing : array_like
        Emitter spacing along the line [m].

    Returns
    -------
    array
        Wetted area for a length of line: the diameter for emitters that lie close, less where circles only
        just meet, and pi d^2 / (4 s) where dry gaps are left between them.

    Raises
    ------
    RillbookError
        If a diameter or spacing is not above 0.
    """
    wide, apart = np.broadcast_arrays(np.asarray(diameter, dtype=float), np.asarray(spacing, dtype=float))
    if not (np.all(wide > 0.0) and np.all(apart > 0.0)):
        raise RillbookError("a wetted diameter or an emitter spacing is not above 0")
    radius = wide / 2.0
    # Half of the part of the line that one circle has to itself.
    half = np.minimum(apart / 2.0, radius)
    area = 2.0 * (half * np.sqrt(radius**2 - half**2) + radius**2 * np.arcsin(half / radius))
    return np.asarray(area / apart)


def line_wetted_width(texture: str, spacing: float) -> tuple[float, str]:
    """Return the width of surface that a line wets [m] by texture and emitter spacing [m], and its source.

    The least of the printed diameters is taken, since it is the surface that loses water and a bed is
    shallower than the field that the figures are of: a judgement.

    Raises
    ------
    RillbookError
        If the texture is unknown or the spacing is not above 0.
    """
    group = texture_group(texture)
    known = WETTED_DIAMETERS[group]
    width = float(wetted_width(known.least, spacing))
    gap = ", with dry gaps between the emitters" if spacing > known.least else ""
    return width, f"least {known.source}{gap}"
