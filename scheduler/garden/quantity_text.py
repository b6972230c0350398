"""Text of a quantity -> exact numbers and unit texts; knows the grammar, not the units."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

__all__ = ["Term", "longest_text", "normalise_unit", "read_angle", "read_number", "split_terms"]

#: Longest text that is looked at [characters]; bounds the work that a hostile file can ask for.
longest_text = 80

_NUMBER = r"[+-]?(?:\d+\s+\d+/\d+|\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,2})?)"
_NUMBER_ONLY = re.compile(_NUMBER, re.ASCII)
_TERM = re.compile(rf"\s*({_NUMBER})\s*([^\d\s.+-]\S*(?:\s+[^\d\s.]\S*)*)\s*", re.ASCII)
_PART = r"(\d+(?:\.\d+)?)\s*"
# Only numbers with a mark may be followed by another, lest the digits of one number be read as two.
_ANGLE = re.compile(
    rf"{_PART}(?:(?:°|degrees?|deg\.?)\s*(?:{_PART}(?:'|minutes?|min\.?)\s*)?"
    rf"(?:{_PART}(?:\"|''|seconds?|sec\.?|s\b)\s*)?)?(N|S|E|W|north|south|east|west)",
    re.ASCII | re.IGNORECASE,
)
_PRIMES = str.maketrans({"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"'})
_FRACTIONS = str.maketrans({"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⁄": "/", "−": "-"})
_SIGNS = str.maketrans({"²": "2", "³": "3", "µ": "u", "μ": "u", "·": " ", ".": None})


@dataclass(frozen=True, slots=True)
class Term:
    """One number with the text of its unit, such as ``4`` and ``ft`` of "4 ft 6 in"."""

    number: Fraction
    unit: str


def read_number(text: str) -> Fraction | None:
    """Return the exact value of "10", "0.5", "1/2" or "4 1/2"; None if the text is not such a number."""
    plain = text.translate(_FRACTIONS).strip()
    if not _NUMBER_ONLY.fullmatch(plain):
        return None
    *whole, last = plain.split()
    if "/" in last and int(last.split("/")[1]) == 0:
        return None
    if not whole:
        return Fraction(last)
    sign = -1 if whole[0].startswith("-") else 1
    return Fraction(whole[0]) + sign * Fraction(last)


def normalise_unit(text: str) -> str:
    """Return one spelling for the many ways of writing a unit: ``MJ m-2 d-1`` becomes ``MJ/m2/d``."""
    unit = " ".join(re.sub(r"(?:\*\*|\^)(?=\d)", "", text).translate(_SIGNS).split())
    unit = re.sub(r"(?:°|\bdeg) ?(?=[A-Za-z])", "deg", unit)
    unit = re.sub(r" ([A-Za-z]+)-(\d)", lambda m: f"/{m[1]}{'' if m[2] == '1' else m[2]}", unit)
    return re.sub(r" ?/ ?| per ", "/", unit)


def split_terms(text: str) -> tuple[Term, ...] | None:
    """Split "4 ft 6 in", "4'6''" or "1.5 m" into terms with normalised units; None if it cannot be read."""
    plain = text.translate(_PRIMES).translate(_FRACTIONS).replace("''", '"')
    plain = plain.replace("'", " ft ").replace('"', " in ").rstrip()
    terms: list[Term] = []
    position = 0
    while position < len(plain):
        match = _TERM.match(plain, position)
        number = read_number(match[1]) if match else None
        if match is None or number is None:
            return None
        terms.append(Term(number, normalise_unit(match[2])))
        position = match.end()
    return tuple(terms) or None


def read_angle(text: str) -> tuple[Fraction, str] | None:
    """Return degrees (not negative) and the side, one of N, S, E, W; None if the text is no such angle.

    Reads "44.6 N", "44.6° N", "22 deg 54 min S" and "22°54'30'' S". Degrees that are followed by
    minutes must be whole, and minutes and seconds lie below 60.
    """
    match = _ANGLE.fullmatch(text.translate(_PRIMES).strip())
    if match is None:
        return None
    parts = [Fraction(part) for part in match.groups()[:3] if part is not None]
    if any(part.denominator != 1 for part in parts[:-1]) or any(part >= 60 for part in parts[1:]):
        return None
    degrees, minutes, seconds = (Fraction(part or 0) for part in match.groups()[:3])
    return degrees + minutes / 60 + seconds / 3600, match[4][0].upper()
