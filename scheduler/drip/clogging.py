"""How readily water clogs emitters, from a water test, by published classes. Pure."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from scheduler.errors import RillbookError

__all__ = ["CLOGGING_LIMITS", "CloggingHazard", "CloggingLimit", "clogging_hazards"]

Item = Literal[
    "suspended_solids",
    "ph",
    "dissolved_solids",
    "manganese",
    "iron",
    "hydrogen_sulfide",
    "bacteria",
    "hardness",
]
Grade = Literal["slight", "moderate", "severe"]

FAO_29 = "FAO-29 (1985) Table 21 after Nakayama, as an advisory page prints it"
FLORIDA = "University of Florida, Table 1 (Pitts 1990)"
HANDBOOK = "handbook for irrigation of wine grapes, Table 4.6 (after Haman 2017)"


@dataclass(frozen=True, slots=True)
class CloggingLimit:
    """Where the hazard of one item turns moderate, and above what it is severe; mg/L, pH, or 1/mL."""

    item: Item
    moderate: float
    severe: float
    source: str
    advice: str


@dataclass(frozen=True, slots=True)
class CloggingHazard:
    """One item of a water test graded.

    Attributes
    ----------
    item : str
    value : float
        mg/L, pH, or bacteria in a millilitre.
    grade : str
        ``slight``, ``moderate`` or ``severe``.
    limit : CloggingLimit
        What it was graded by, with source and advice.
    elsewhere : str
        What another source makes of it, if that is worse; else empty.
    """

    item: Item
    value: float
    grade: Grade
    limit: CloggingLimit
    elsewhere: str


_FILTER = "filter or settle the water before the line, clean the filter often and flush the line ends"
_OXIDE = "let the water stand in the air and settle before the filter, and flush the line ends often"
_SLIME = "flush the line ends often and keep light out of tank and tube; ask the laboratory about treatment"
_SCALE = "look for white crusts, flush often, take emitters with wide passages; acid is for trained people"

#: In the order in which they are told.
CLOGGING_LIMITS: tuple[CloggingLimit, ...] = (
    CloggingLimit("suspended_solids", 50.0, 100.0, FAO_29, _FILTER),
    CloggingLimit("ph", 7.0, 8.0, FAO_29, _SCALE),
    CloggingLimit("dissolved_solids", 500.0, 2000.0, FAO_29, _SCALE),
    CloggingLimit("hardness", 150.0, 300.0, HANDBOOK, _SCALE),
    CloggingLimit("manganese", 0.1, 1.5, FAO_29, _OXIDE),
    CloggingLimit("iron", 0.1, 1.5, FAO_29, _OXIDE),
    CloggingLimit("hydrogen_sulfide", 0.5, 2.0, FAO_29, _OXIDE),
    CloggingLimit("bacteria", 10_000.0, 50_000.0, FAO_29, _SLIME),
)
#: Where another source prints other borders; its printed hardness of 40 and 80 mg/L repeats its calcium and
#: is left out as doubtful. The handbook's iron, 0.2 to 1.5 mg/L, is milder and changes nothing.
STRICTER: dict[Item, tuple[float, float, str]] = {
    "ph": (7.0, 7.5, FLORIDA),
    "hydrogen_sulfide": (0.2, 2.0, FLORIDA),
}
_ORDER: tuple[Grade, ...] = ("slight", "moderate", "severe")


def clogging_hazards(tested: Mapping[str, float]) -> tuple[CloggingHazard, ...]:
    """Return the hazard of each item of a water test, in the order of `CLOGGING_LIMITS`.

    Parameters
    ----------
    tested : mapping of str to float
        What the test gives: mg/L (hardness as CaCO3), pH, bacteria in a millilitre.

    Notes
    -----
    A border is moderate on both sides, as printed: below it is slight, above it severe.

    Raises
    ------
    RillbookError
        If an item is unknown, or a value is below 0 or no number.
    """
    known = [limit.item for limit in CLOGGING_LIMITS]
    for item, value in tested.items():
        if item not in known:
            raise RillbookError(f"water test: {item} has no published limit; known are {', '.join(known)}")
        if not 0.0 <= value < math.inf:
            raise RillbookError(f"water test: {item} is {value}; write what the laboratory found")
    return tuple(_hazard(limit, tested[limit.item]) for limit in CLOGGING_LIMITS if limit.item in tested)


def _hazard(limit: CloggingLimit, value: float) -> CloggingHazard:
    grade = _grade(value, limit.moderate, limit.severe)
    elsewhere = ""
    if limit.item in STRICTER:
        moderate, severe, source = STRICTER[limit.item]
        other = _grade(value, moderate, severe)
        if _ORDER.index(other) > _ORDER.index(grade):
            elsewhere = f"{other} by {source}"
    return CloggingHazard(limit.item, value, grade, limit, elsewhere)


def _grade(value: float, moderate: float, severe: float) -> Grade:
    if value < moderate:
        return "slight"
    return "moderate" if value <= severe else "severe"
