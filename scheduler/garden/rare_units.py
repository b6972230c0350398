"""Units beyond the table of usual ones, through pint, which is imported only when one is met."""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pint import UnitRegistry

__all__ = ["rare_factor"]

# What pint must be able to convert a unit into, by kind; the other kinds have no further units.
_TARGETS = {
    "length": ("m",),
    "area": ("m**2",),
    "volume": ("L",),
    "flow": ("L/h",),
    "application_rate": ("mm/h",),
    "pressure": ("kPa",),
    "speed": ("m/s",),
    "radiation": ("MJ/m**2/day", "MJ/m**2"),
    "salinity": ("dS/m",),
    "time": ("min",),
}
# Other prefixes, and prefixes before units such as the inch, are misspellings far more often than meant.
_PREFIXES = {"micro", "milli", "centi", "deci", "hecto", "kilo", "mega"}
_PREFIXED = {"meter", "gram", "liter", "pascal", "bar", "watt", "joule", "siemens"}
# Bounds what reaches the parser: names with at most a one-digit power, joined by signs.
_TEXT = re.compile(r"[A-Za-z_]+\d?(?:[ /*][A-Za-z_]+\d?)*", re.ASCII)


def rare_factor(unit: str, kind: str) -> float:
    """Return how many units of the kind make one of this unit.

    Parameters
    ----------
    unit : str
        Normalised text, such as ``acre in`` or ``inHg``.
    kind : str
        Kind of quantity, whose unit is m, m2, L, L/h, mm/h, kPa, m/s, MJ m-2 d-1, dS/m or min.

    Raises
    ------
    LookupError
        If the unit is unknown.
    ArithmeticError
        If it is known and of another kind.
    """
    if kind not in _TARGETS or not _TEXT.fullmatch(unit):
        raise LookupError(unit)
    registry = _registry()
    import pint

    try:
        one = registry.Quantity(1.0, re.sub(r"(?<=[a-z])(\d)", r"**\1", unit.replace(" ", "*")))
        parts = [registry.parse_unit_name(str(name))[0][:2] for name, _ in one.unit_items()]
        meant = all(
            not registry.Unit(root).dimensionless
            and (not prefix or (prefix in _PREFIXES and root in _PREFIXED))
            for prefix, root in parts
        )
    except (pint.PintError, ValueError, TypeError) as error:
        raise LookupError(unit) from error
    if not meant:
        raise LookupError(unit)
    for target in _TARGETS[kind]:
        if one.is_compatible_with(target):
            return float(one.m_as(target))
    raise ArithmeticError(unit)


@cache
def _registry() -> UnitRegistry[Any]:
    import pint

    return pint.UnitRegistry()
