"""Filter meshes, and which of them keeps from an emitter what could lodge in it. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scheduler.errors import RillbookError

__all__ = ["FILTER_MESHES", "FilterCheck", "FilterMesh", "check_filter"]

#: The opening should be at most this part of the emitter's passage: 1/7 to 1/10, from memory.
LEAST_STRICT, MOST_STRICT = 7.0, 10.0
FILTER_SOURCE = "opening 1/7 to 1/10 of the emitter's passage, common practice from memory"


@dataclass(frozen=True, slots=True)
class FilterMesh:
    """A mesh with the width of its openings [m]; the widest where sources differ."""

    mesh: int
    opening: float
    source: str = "screen tables, from memory"


#: From the coarsest; 80 mesh is given as 180 to 200 micrometres, 120 mesh as 125 to 130.
FILTER_MESHES: tuple[FilterMesh, ...] = (
    FilterMesh(80, 200e-6),
    FilterMesh(120, 130e-6),
    FilterMesh(150, 100e-6),
    FilterMesh(200, 75e-6),
)


@dataclass(frozen=True, slots=True)
class FilterCheck:
    """A filter against the passage of an emitter.

    Attributes
    ----------
    opening, passage : float
        [m].
    ratio : float
        Passage over opening.
    fine_enough : bool
        True if the opening is at most 1/7 of the passage.
    careful : bool
        True if it is at most 1/10.
    wanted : FilterMesh or None
        The coarsest mesh that is fine enough; None if none of the table is.
    """

    opening: float
    passage: float
    ratio: float
    fine_enough: bool
    careful: bool
    wanted: FilterMesh | None
    source: str = FILTER_SOURCE


def check_filter(opening: float, *, passage: float) -> FilterCheck:
    """Return whether a filter's opening [m] guards an emitter's narrowest passage [m].

    Raises
    ------
    RillbookError
        If one of them is not above 0.
    """
    for what, value in (("filter opening", opening), ("emitter passage", passage)):
        if not 0.0 < value < math.inf:
            raise RillbookError(f"{what} is {value} m; write its width, from the data sheet")
    # A hair keeps a whole ratio whole.
    ratio = passage / opening * (1.0 + 1e-12)
    wanted = next((one for one in FILTER_MESHES if one.opening * LEAST_STRICT <= passage), None)
    return FilterCheck(
        opening=opening,
        passage=passage,
        ratio=passage / opening,
        fine_enough=ratio >= LEAST_STRICT,
        careful=ratio >= MOST_STRICT,
        wanted=wanted,
    )
