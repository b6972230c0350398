"""What each dimension of a quantity means to people: words, examples, labels and decimals; no factors."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["KIND_WORDS", "MEANINGS", "SIDES", "Dimension", "Meaning", "System"]

Dimension = Literal[
    "length",
    "bore",
    "water_depth",
    "area",
    "volume",
    "flow",
    "application_rate",
    "pressure",
    "temperature",
    "temperature_difference",
    "degree_days",
    "speed",
    "flow_speed",
    "radiation",
    "salinity",
    "concentration",
    "count",
    "duration",
    "hours",
    "days",
    "ratio",
    "percent",
    "latitude",
    "longitude",
]
System = Literal["metric", "us"]


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a dimension means: kind, words and examples, and (label, decimals) of both systems."""

    kind: str
    words: str
    examples: str
    metric: tuple[str, int]
    us: tuple[str, int]

    @property
    def wanted(self) -> str:
        """Return what to write, with examples."""
        return f"write {self.words}, e.g. {self.examples}"


_M = Meaning
MEANINGS: dict[Dimension, Meaning] = {
    "length": _M("length", "a length", '"10 in" or "25 cm"', ("m", 2), ("ft", 1)),
    "bore": _M("length", "an inside diameter", '"0.60 in" or "15 mm"', ("mm", 1), ("in", 3)),
    "water_depth": _M("length", "a depth of water", '"8 mm" or "0.3 in"', ("mm", 1), ("in", 2)),
    "area": _M("area", "an area", '"32 ft2" or "3 m2"', ("m²", 2), ("ft²", 1)),
    "volume": _M("volume", "a volume", '"5 gal" or "20 L"', ("L", 0), ("gal", 0)),
    "flow": _M("flow", "a flow", '"0.5 gal/h" or "2 L/h"', ("L/h", 1), ("gal/h", 1)),
    "application_rate": _M(
        "application_rate", "a depth of water per hour", '"1.2 in/h" or "30 mm/h"', ("mm/h", 1), ("in/h", 2)
    ),
    "pressure": _M("pressure", "a pressure", '"20 psi" or "140 kPa"', ("kPa", 0), ("psi", 0)),
    "temperature": _M("temperature", "a temperature", '"68 degF" or "20 degC"', ("°C", 1), ("°F", 1)),
    "temperature_difference": _M(
        "temperature", "a temperature difference", '"4 degF" or "2 degC"', ("°C", 1), ("°F", 1)
    ),
    "degree_days": _M(
        "degree-days", "a sum of degree-days", '"150 degC d" or "270 degF d"', ("°C d", 0), ("°F d", 0)
    ),
    "speed": _M("speed", "a speed", '"5 mph" or "2 m/s"', ("m/s", 1), ("mph", 1)),
    "flow_speed": _M("speed", "a speed of water", '"1 ft/s" or "0.3 m/s"', ("m/s", 2), ("ft/s", 1)),
    "radiation": _M("radiation", "a day's radiation", '"20 MJ/m2" or "230 W/m2"', ("MJ/m²", 1), ("MJ/m²", 1)),
    "salinity": _M(
        "salinity", "an electrical conductivity", '"0.5 dS/m" or "500 uS/cm"', ("dS/m", 2), ("dS/m", 2)
    ),
    "concentration": _M(
        "concentration", "a concentration", '"30 mg/L" or "0.2 ppm"', ("mg/L", 2), ("mg/L", 2)
    ),
    "count": _M(
        "count", "a number in a volume", '"12000 per mL" or "500 CFU/100 mL"', ("per mL", 0), ("per mL", 0)
    ),
    "duration": _M("time", "a time", '"30 min" or "1 h 15 min"', ("min", 0), ("min", 0)),
    "hours": _M("time", "a time", '"9.5 h" or "570 min"', ("h", 1), ("h", 1)),
    "days": _M("time", "a number of days", '"7 days"', ("days", 0), ("days", 0)),
    "ratio": _M("share", "a share", '"85 %" or 0.85', ("%", 0), ("%", 0)),
    "percent": _M("share", "a percentage", '"85 %"', ("%", 0), ("%", 0)),
    "latitude": _M("angle", "a latitude", '"44.6 N" or "22 deg 54 min S"', ("deg", 2), ("deg", 2)),
    "longitude": _M("angle", "a longitude", '"12.1 W" or "8 deg 30 min E"', ("deg", 2), ("deg", 2)),
}
#: Letters of both sides, the positive one first, and the largest angle [deg].
SIDES: dict[Dimension, tuple[str, int]] = {"latitude": ("NS", 90), "longitude": ("EW", 180)}
#: Kind of quantity -> words, such as "a volume".
KIND_WORDS = {meaning.kind: meaning.words for meaning in reversed(MEANINGS.values())}
