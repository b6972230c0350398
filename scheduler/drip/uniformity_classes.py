"""Published classes of emitters and of how evenly a line waters, as data, each with its source. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from scheduler.errors import RillbookError

__all__ = [
    "DESIGN_UNIFORMITY",
    "FIELD_CLASSES",
    "LARGEST_LABEL_ERROR",
    "LARGEST_NEW_VARIATION",
    "LINE_SOURCE_CLASSES",
    "POINT_SOURCE_CLASSES",
    "DesignUniformity",
    "FieldClass",
    "Graded",
    "VariationClass",
    "emission_class",
    "statistical_class",
    "variation_class",
]

EP405 = "ASAE EP405.1, from memory"
EP458 = "ASAE EP458, from memory"
#: ISO 9261:2004, from memory: the mean of a sample lies within this share of the printed flow ...
LARGEST_LABEL_ERROR = 0.07
#: ... and its coefficient of variation is at most this.
LARGEST_NEW_VARIATION = 0.07


@dataclass(frozen=True, slots=True)
class VariationClass:
    """New emitters below the variation `most` [share]; None for the last class."""

    name: str
    most: float | None


@dataclass(frozen=True, slots=True)
class FieldClass:
    """A class of EP458: spans of statistical and of emission uniformity [share], gaps left as printed."""

    name: str
    statistical: tuple[float, float]
    emission: tuple[float, float]


@dataclass(frozen=True, slots=True)
class DesignUniformity:
    """Emission uniformity that a design should have, as a span [share]."""

    emitters: Literal["point source, wider than 13 ft", "point source, closer than 13 ft", "line source"]
    ground: Literal["flat", "steep"]
    least: float
    most: float
    source: str = EP405


@dataclass(frozen=True, slots=True)
class Graded:
    """A value with the class it falls in.

    `between` tells that the value lies in a gap of the printed classes; then `name` is the class below.
    """

    name: str
    between: bool
    source: str


#: Manufacturing variation of emitters that stand alone, and of those of a line.
POINT_SOURCE_CLASSES = (
    VariationClass("excellent", 0.05),
    VariationClass("average", 0.07),
    VariationClass("marginal", 0.11),
    VariationClass("poor", 0.15),
    VariationClass("unacceptable", None),
)
LINE_SOURCE_CLASSES = (
    VariationClass("good", 0.10),
    VariationClass("average", 0.20),
    VariationClass("marginal to unacceptable", None),
)
#: From the best to the worst.
FIELD_CLASSES = (
    FieldClass("excellent", (0.95, 1.00), (0.94, 1.00)),
    FieldClass("good", (0.85, 0.90), (0.81, 0.87)),
    FieldClass("fair", (0.75, 0.80), (0.68, 0.75)),
    FieldClass("poor", (0.65, 0.70), (0.56, 0.62)),
    FieldClass("unacceptable", (0.00, 0.60), (0.00, 0.50)),
)
DESIGN_UNIFORMITY = (
    DesignUniformity("point source, wider than 13 ft", "flat", 0.90, 0.95),
    DesignUniformity("point source, wider than 13 ft", "steep", 0.85, 0.90),
    DesignUniformity("point source, closer than 13 ft", "flat", 0.85, 0.90),
    DesignUniformity("point source, closer than 13 ft", "steep", 0.80, 0.90),
    DesignUniformity("line source", "flat", 0.80, 0.90),
    DesignUniformity("line source", "steep", 0.70, 0.85),
)


def variation_class(variation: float, *, emitters: Literal["point", "line"]) -> Graded:
    """Return the class of new emitters by their variation Cv [share]; a border is the worse class's.

    Raises
    ------
    RillbookError
        If the variation is not a share 0..1.
    """
    if not 0.0 <= variation < 1.0:
        raise RillbookError(f"manufacturing variation {variation} is outside 0..1; write 5 % as 0.05")
    classes = POINT_SOURCE_CLASSES if emitters == "point" else LINE_SOURCE_CLASSES
    name = next(one.name for one in classes if one.most is None or variation < one.most)
    return Graded(name, between=False, source=EP405)


def statistical_class(uniformity: float) -> Graded:
    """Return the class of a statistical uniformity Us measured in the field.

    Raises
    ------
    RillbookError
        If the uniformity is above 1 or no number.
    """
    return _graded(uniformity, [(one.name, *one.statistical) for one in FIELD_CLASSES])


def emission_class(uniformity: float) -> Graded:
    """Return the class of an emission uniformity, the low quarter's, measured in the field.

    Raises
    ------
    RillbookError
        If the uniformity is above 1 or no number.
    """
    return _graded(uniformity, [(one.name, *one.emission) for one in FIELD_CLASSES])


def _graded(uniformity: float, spans: list[tuple[str, float, float]]) -> Graded:
    """Return the best class that the uniformity reaches; in a gap it has only reached the class below."""
    if not uniformity <= 1.0:
        raise RillbookError(f"uniformity {uniformity} is above 1; write 92 % as 0.92")
    # Few cups that differ very much make a uniformity below 0, which is the last class's too.
    name, _, most = next((span for span in spans if uniformity >= span[1]), spans[-1])
    return Graded(name, between=uniformity > most, source=EP458)
