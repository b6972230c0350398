"""Units: text and arrays in any unit -> canonical numbers, and canonical numbers -> text for people.

The only module with conversion factors. Canonical: length m, water depth mm, area m2, volume L, flow L/h,
application rate mm/h, pressure kPa, temperature degC, degree-days degC d, speed m/s, radiation MJ m-2 d-1,
salinity dS/m, concentration mg/L, count 1/mL, duration min, hours h, days d, shares 0..1, angles degrees
with north and east positive.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from difflib import get_close_matches
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, overload

from scheduler.errors import UnitError
from scheduler.garden.dimensions import KIND_WORDS, MEANINGS, SIDES, Dimension, System
from scheduler.garden.quantity_text import (
    Term,
    longest_text,
    normalise_unit,
    read_angle,
    read_number,
    split_terms,
)
from scheduler.garden.rare_units import rare_factor

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import ArrayLike, NDArray

__all__ = [
    "Dimension",
    "System",
    "both_systems",
    "convert",
    "convert_volume_units",
    "format_quantity",
    "known_units",
    "parse_quantity",
    "to_display",
    "unit_label",
]

Factors = dict[str, Fraction]


def _spell(*units: tuple[Fraction | int | str, str]) -> Factors:
    """Return one entry per spelling from ``(factor, "spelling, spelling")``."""
    return {word.strip(): Fraction(factor) for factor, words in units for word in words.split(",")}


# Definitions, exact: international inch and foot [m], US gallon of 231 in3 and imperial gallon [L],
# avoirdupois pound [kg], standard gravity [m s-2].
_INCH = Fraction("0.0254")
_FOOT = 12 * _INCH
_GALLON = 231 * _INCH**3 * 1000
_IMPERIAL_GALLON = Fraction("4.54609")
_CUBIC_FOOT = _FOOT**3 * 1000
_POUND = Fraction("0.45359237")
_PSI = _POUND * Fraction("9.80665") / _INCH**2 / 1000

_LENGTHS = _spell(
    ("0.001", "mm, millimeter, millimeters, millimetre, millimetres"),
    ("0.01", "cm, centimeter, centimeters, centimetre, centimetres"),
    (1, "m, meter, meters, metre, metres"),
    (1000, "km, kilometer, kilometers, kilometre, kilometres"),
    (_INCH, "in, inch, inches"),
    (_FOOT, "ft, foot, feet"),
    (3 * _FOOT, "yd, yard, yards"),
    (5280 * _FOOT, "mi, mile, miles"),
)
_VOLUMES = _spell(
    (1, "L, l, liter, liters, litre, litres"),
    ("0.001", "mL, ml, milliliter, milliliters, millilitre, millilitres"),
    (1000, "m3, cubic meter, cubic meters, cubic metre, cubic metres"),
    (_GALLON, "gal, gals, gallon, gallons, US gal, US gallon, US gallons"),
    (_IMPERIAL_GALLON, "imp gal, imperial gal, imperial gallon, imperial gallons"),
    (_GALLON / 4, "qt, quart, quarts"),
    (_GALLON / 128, "fl oz, fluid ounce, fluid ounces"),
    (_GALLON / 16, "cup, cups"),
    (_CUBIC_FOOT, "ft3, cu ft, cubic foot, cubic feet"),
    (_INCH**3 * 1000, "in3, cu in, cubic inch, cubic inches"),
    (100 * _CUBIC_FOOT, "CCF, HCF"),
    (1000 * _GALLON, "kgal"),
)
_TIMES = _spell(
    (Fraction(1, 60), "s, sec, secs, second, seconds"),
    (1, "min, mins, minute, minutes"),
    (60, "h, hr, hrs, hour, hours"),
    (1440, "d, day, days"),
    (10080, "week, weeks"),
)
_ENERGIES = _spell(
    (1, "MJ/m2"),
    ("0.001", "kJ/m2"),
    ("3.6", "kWh/m2"),
    ("0.0036", "Wh/m2"),
    ("0.01", "J/cm2"),
    ("0.04184", "langley, langleys, ly, cal/cm2"),
)


def _per_time(amounts: Factors, words: str) -> Factors:
    """Return ``amount/time`` for the named spellings of the amount, in amounts per hour."""
    per_hour = {time: 60 / factor for time, factor in _TIMES.items()}
    chosen = [word.strip() for word in words.split(",")]
    return {f"{word}/{time}": amounts[word] * per_hour[time] for word in chosen for time in per_hour}


#: Kind of quantity -> spelling -> factor to the unit of the kind (m, m2, L, L/h, mm/h, kPa, K, m/s,
#: degC d, MJ m-2 d-1, dS/m, min, 1).
_KINDS: dict[str, Factors] = {
    "length": _LENGTHS,
    "area": _spell(
        (1, "m2, sq m, square meter, square meters, square metre, square metres"),
        ("0.0001", "cm2"),
        (_FOOT**2, "ft2, sq ft, sqft, square foot, square feet"),
        (_INCH**2, "in2, sq in, square inch, square inches"),
        (9 * _FOOT**2, "yd2, sq yd, square yard, square yards"),
        (43560 * _FOOT**2, "acre, acres"),
    ),
    "volume": _VOLUMES,
    "flow": _per_time(
        _VOLUMES,
        "L, l, liter, liters, litre, litres, mL, ml, m3, ft3, gal, gals, gallon, gallons, imp gal",
    )
    | _spell((_GALLON, "gph"), (60 * _GALLON, "gpm"), (1, "lph"), (60, "lpm")),
    "application_rate": {
        word: factor * 1000 for word, factor in _per_time(_LENGTHS, "mm, cm, in, inch, inches").items()
    },
    "pressure": _spell(
        (1, "kPa, cbar, centibar, centibars"),
        ("0.001", "Pa"),
        (100, "bar"),
        ("0.1", "hPa, mbar, mb"),
        (_PSI, "psi, lbf/in2, lb/in2"),
    ),
    "temperature": _spell(
        (1, "degC, C, celsius, degrees C, degrees Celsius"),
        (Fraction(5, 9), "degF, F, fahrenheit, degrees F, degrees Fahrenheit"),
        (1, "K, kelvin"),
    ),
    "degree-days": _spell(
        (1, "degC d, degC day, degC days, C d, C day, C days"),
        (Fraction(5, 9), "degF d, degF day, degF days, F d, F day, F days"),
    ),
    "speed": {w: f / 3600 for w, f in _per_time(_LENGTHS, "m, km, ft, mi, mile, miles").items()}
    | _spell(
        (5280 * _FOOT / 3600, "mph"),
        (Fraction(5, 18), "kph, kmh"),
        (Fraction(1852, 3600), "kn, kt, kts, knot, knots"),
    ),
    "radiation": _ENERGIES
    | {f"{word}/{day}": factor for word, factor in _ENERGIES.items() for day in ("d", "day")}
    # A daily mean flux: 86 400 s a day.
    | _spell(("0.0864", "W/m2, watt/m2, watts/m2")),
    "salinity": _spell(
        (1, "dS/m, mS/cm, mmho/cm, mmhos/cm"),
        ("0.001", "uS/cm, umho/cm, umhos/cm"),
        ("0.01", "mS/m"),
    ),
    "concentration": _spell(
        (1, "mg/L, mg/liter, mg/litre, ppm, g/m3"),
        ("0.001", "ug/L, ppb"),
        # A grain is 1/7000 of a pound [kg].
        (_POUND * 1_000_000 / 7000 / _GALLON, "gpg, gr/gal, grains/gal"),
    ),
    "count": _spell((1, "per mL, CFU/mL, /mL"), ("0.01", "/100 mL, CFU/100 mL, MPN/100 mL")),
    "time": _TIMES,
    "share": _spell((1, "fraction"), ("0.01", "%, pct, percent")),
}
# Where the other temperature scales have their zero [degC].
_ZERO_POINTS = {
    word: Fraction(-160, 9) if factor != 1 else Fraction("-273.15")
    for word, factor in _KINDS["temperature"].items()
    if factor != 1 or word in {"K", "kelvin"}
}
_COLDEST = -273.15
# Spellings in which a capital M would mean a million times as much.
_CASE_MATTERS = {"ml", "mm", "ms/cm", "ms/m", "mg/l", "mg/liter", "mg/litre"}
#: Larger than anything in a garden, in any canonical unit.
_TOO_LARGE = 1e12


# Canonical units in the unit of the kind, where they differ.
_SCALES: dict[Dimension, Fraction] = {
    "water_depth": Fraction(1000),
    "hours": 1 / _TIMES["h"],
    "days": 1 / _TIMES["d"],
    "percent": Fraction(100),
}
_SIGNED = {"temperature", "latitude", "longitude"}
_BILLING_UNITS = ("CCF", "HCF", "L", "gal", "kgal", "m3")


def parse_quantity(text: object, dimension: Dimension) -> float:
    """Return what a person wrote as a number in canonical units.

    Reads "8 ft", "4 ft 6 in", "4'6", "4 1/2 in", "10in", "44.6 N", "85 %". A share may also be a
    plain number 0..1. A percentage may pass 100; a share may not.

    Parameters
    ----------
    text : object
        The value as it stands in the file.
    dimension : Dimension
        What it must be.

    Raises
    ------
    UnitError
        Without a unit, with an unknown unit or one of another dimension, not finite, or negative
        where that has no sense; tells what was found and what would be right.
    """
    meaning = MEANINGS[dimension]
    wanted = meaning.wanted
    if isinstance(text, bool) or not isinstance(text, str | int | float | Decimal):
        raise UnitError(f"{_quote(text)} is not a quantity", wanted)
    if isinstance(text, str) and not text.strip():
        raise UnitError("the value is empty", wanted)
    if isinstance(text, str) and len(text) > longest_text:
        raise UnitError(f"{_quote(text)} is too long for a quantity", wanted)
    if dimension in SIDES:
        return _parse_angle(str(text), dimension, wanted)
    number = read_number(text) if isinstance(text, str) else text
    if number is not None:
        if dimension != "ratio":
            raise UnitError(f"{_quote(text)} has no unit", wanted)
        return _check_share(number, text)
    value = _sum_of_terms(str(text), dimension, wanted)
    if dimension == "ratio":
        return _check_share(value, text)
    return _check_size(value, text, dimension, wanted)


def _quote(text: object) -> str:
    """Return a value as it is named in a message: text in quotes, never longer than 40 characters."""
    shown = str(text) if len(str(text)) <= 40 else f"{str(text)[:37]}..."
    return f'"{shown}"' if isinstance(text, str) else shown


def _parse_angle(text: str, dimension: Dimension, wanted: str) -> float:
    sides, limit = SIDES[dimension]
    angle = read_angle(text)
    if angle is None:
        reason = "does not say which side" if read_number(text) is not None else "cannot be read as an angle"
        raise UnitError(f"{_quote(text)} {reason}", wanted)
    degrees, side = angle
    if side not in sides:
        raise UnitError(f"{_quote(text)} is not {MEANINGS[dimension].words}", wanted)
    if degrees > limit:
        raise UnitError(f"{_quote(text)} is beyond {limit} degrees", wanted)
    return float(-degrees if side in "SW" else degrees)


def _check_share(value: Fraction | Decimal | float, text: object) -> float:
    if 0 <= value <= 1:
        return float(value)
    if isinstance(text, str) and read_number(text) is None:
        raise UnitError(f"{_quote(text)} is not within 0 % to 100 %", 'write a share, e.g. "85 %" or 0.85')
    if 1 < value <= 100:
        raise UnitError(
            f"{_quote(text)} is not a share", f'write "{float(value):g} %" or {float(value) / 100:.2f}'
        )
    raise UnitError(f"{_quote(text)} is not within 0 to 1", 'write a share, e.g. "85 %" or 0.85')


def _check_size(value: Fraction, text: object, dimension: Dimension, wanted: str) -> float:
    if value < 0 and dimension not in _SIGNED:
        raise UnitError(f"{_quote(text)} is below zero", wanted)
    if dimension == "temperature" and value < _COLDEST:
        raise UnitError(f"{_quote(text)} is colder than anything can be", wanted)
    if abs(value) > _TOO_LARGE:
        raise UnitError(f"{_quote(text)} is too large", wanted)
    return float(value)


def _sum_of_terms(text: str, dimension: Dimension, wanted: str) -> Fraction:
    """Return the value of one term, or of several that go down in size: "4 ft 6 in", "1 h 15 min"."""
    terms = split_terms(text)
    if re.search(r"\d,\d", text):
        raise UnitError(
            f"{_quote(text)} has a comma in its number",
            'write decimals with a point, e.g. "0.5 m", and thousands without a comma',
        )
    if terms is None:
        raise UnitError(f"{_quote(text)} cannot be read as a quantity", wanted)
    scales = [_factor(term.unit, dimension, _quote(text)) for term in terms]
    if len(terms) > 1 and not _goes_down(terms, scales, dimension):
        raise UnitError(f"{_quote(text)} cannot be read as one quantity", wanted)
    total = sum((term.number * scale for term, scale in zip(terms, scales, strict=True)), Fraction(0))
    return total + _zero_point(terms[0].unit, dimension)


def _goes_down(terms: tuple[Term, ...], scales: list[Fraction], dimension: Dimension) -> bool:
    falling = all(small < large for large, small in zip(scales, scales[1:], strict=False))
    signs = all(term.number >= 0 for term in terms)
    return falling and signs and MEANINGS[dimension].kind in {"length", "time", "volume"}


def _zero_point(unit: str, dimension: Dimension) -> Fraction:
    return (
        _ZERO_POINTS.get(_spelling(unit, "temperature"), Fraction(0))
        if dimension == "temperature"
        else Fraction(0)
    )


def _spelling(unit: str, kind: str) -> str:
    """Return the unit as our table spells it, whatever its case; empty if the kind has no such unit."""
    table = _KINDS.get(kind, {})
    if unit in table:
        return unit
    folded = unit.casefold()
    if folded in _CASE_MATTERS and unit.startswith("M"):
        return ""
    return next((word for word in table if word.casefold() == folded), "")


def _factor(unit: str, dimension: Dimension, subject: str) -> Fraction:
    """Return canonical units per unit; raises UnitError about `subject` if it is not of the dimension."""
    meaning = MEANINGS[dimension]
    wanted = meaning.wanted
    scale = _SCALES.get(dimension, Fraction(1))
    spelling = _spelling(unit, meaning.kind)
    if spelling:
        return _KINDS[meaning.kind][spelling] * scale
    other = next((kind for kind in _KINDS if _spelling(unit, kind)), None)
    if other is not None:
        raise UnitError(f"{subject} is {KIND_WORDS[other]}, not {meaning.words}", wanted)
    try:
        return Fraction(rare_factor(unit, meaning.kind)) * scale
    except ArithmeticError:
        raise UnitError(f"{subject} is not {meaning.words}", wanted) from None
    except LookupError:
        near = get_close_matches(unit, known_units(dimension), n=1, cutoff=0.5)
        hint = f'did you mean "{near[0]}"? {wanted}' if near else wanted
        raise UnitError(f'{subject} has the unknown unit "{unit[:20]}"', hint) from None


def known_units(dimension: Dimension) -> tuple[str, ...]:
    """Return every spelling that is read without a look into the large table of rare units."""
    return tuple(_KINDS.get(MEANINGS[dimension].kind, {}))


def convert(values: ArrayLike, unit_text: str, dimension: Dimension) -> NDArray[np.float64]:
    """Return an array in the named unit as a new array in canonical units, NaN kept.

    Radiation may be a daily sum (MJ/m2, kWh/m2, langley ...) or a daily mean flux (W/m2).

    Raises
    ------
    UnitError
        If the unit is empty, unknown or of another dimension.
    """
    import numpy as np  # here, so that reading a plan does not pay for it

    unit = normalise_unit(unit_text)
    factor = _factor(unit, dimension, f'a column in "{unit_text}"')
    array = np.asarray(values, dtype=np.float64)
    return np.asarray(array * float(factor) + float(_zero_point(unit, dimension)))


def convert_volume_units(unit: str) -> Decimal:
    """Return the litres in one billing unit, exactly: m3, CCF or HCF (100 ft3), kgal, gal (US) or L.

    Raises
    ------
    UnitError
        If a water bill has no such unit.
    """
    plain = normalise_unit(unit).casefold()
    spelling = next((word for word in _BILLING_UNITS if word.casefold() == plain), None)
    if spelling is None:
        raise UnitError(f'"{unit}" is not a billing unit', f"write one of {', '.join(_BILLING_UNITS)}")
    litres = _VOLUMES[spelling]
    return Decimal(litres.numerator) / Decimal(litres.denominator)


@overload
def to_display(value: float, dimension: Dimension, system: System) -> float: ...
@overload
def to_display(value: NDArray[np.float64], dimension: Dimension, system: System) -> NDArray[np.float64]: ...
def to_display(
    value: float | NDArray[np.float64], dimension: Dimension, system: System
) -> float | NDArray[np.float64]:
    """Return a canonical number or array in the unit that `unit_label` names; a new array, not rounded."""
    label = unit_label(dimension, system)
    return (value - _zero(label, dimension)) / _size(label, dimension)


def unit_label(dimension: Dimension, system: System) -> str:
    """Return the unit that a dimension is shown in, such as ``gal/h``."""
    meaning = MEANINGS[dimension]
    return (meaning.metric if system == "metric" else meaning.us)[0]


@cache
def _size(label: str, dimension: Dimension) -> float:
    """Return canonical units per shown unit."""
    return 1.0 if dimension in SIDES else float(_factor(normalise_unit(label), dimension, label))


def _zero(label: str, dimension: Dimension) -> float:
    return float(_zero_point(normalise_unit(label), dimension))


def format_quantity(value: float, dimension: Dimension, system: System) -> str:
    """Return a canonical number as text with its unit, rounded to what people can use.

    Lengths below 1 m (3 ft) show in cm (in), volumes below 1 L (0.1 gal) in mL (fl oz).

    Raises
    ------
    ValueError
        If the number is not finite.
    """
    if not math.isfinite(value):
        raise ValueError(f"{dimension} is {value}: no number to show")
    if dimension in SIDES:
        sides = SIDES[dimension][0]
        return f"{abs(value):.2f}° {sides[value < 0]}"
    label, decimals = _label_and_decimals(abs(value), dimension, system)
    shown = (value - _zero(label, dimension)) / _size(label, dimension)
    text = f"{shown:.{decimals}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return f"{text} {'day' if (text, label) == ('1', 'days') else label}"


def _label_and_decimals(size: float, dimension: Dimension, system: System) -> tuple[str, int]:
    meaning = MEANINGS[dimension]
    if dimension == "length" and size < (1.0 if system == "metric" else float(3 * _FOOT)):
        return ("cm", 1) if system == "metric" else ("in", 1)
    if dimension == "volume" and 0 < size < (1.0 if system == "metric" else float(_GALLON / 10)):
        return ("mL", 0) if system == "metric" else ("fl oz", 1)
    if dimension == "volume" and system == "us" and size < float(10 * _GALLON):
        return "gal", 1
    return meaning.metric if system == "metric" else meaning.us


def both_systems(value: float, dimension: Dimension) -> str:
    """Return a canonical number in both systems, such as ``2.44 m (8.0 ft)``; once if they agree."""
    metric, us = (format_quantity(value, dimension, system) for system in ("metric", "us"))
    return metric if metric == us else f"{metric} ({us})"
