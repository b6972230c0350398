"""JSON documents of weather services, read strictly: whatever is not as expected is a `SourceError`."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from typing import NoReturn

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, SourceError, UnitError
from scheduler.garden.units import Dimension, convert

__all__ = ["converted", "numbers", "part_of", "read_object", "shown", "text_of"]

FloatArray = NDArray[np.float64]

_DOCUMENT = "a whole JSON document, as the service sends it"


def shown(value: object, most: int = 60) -> str:
    """Return something found in a document as a message quotes it: in one line of at most so many signs."""
    text = value if isinstance(value, str) else repr(value)[: most + 1]
    plain = " ".join("".join(sign if sign.isprintable() else " " for sign in text[: 2 * most]).split())
    return f'"{plain[: most - 3]}..."' if len(plain) > most else f'"{plain}"'


def read_object(text: str, source: str) -> dict[str, object]:
    """Return the object that a JSON document holds.

    Raises
    ------
    SourceError
        For a page instead of JSON, a document that broke off, ``NaN`` and ``Infinity``, which JSON has
        not, a key given twice, and anything but one object.
    """
    try:
        found = json.loads(text, parse_constant=_refuse_constant, object_pairs_hook=_once)
    except (ValueError, RecursionError) as error:
        page = text.lstrip()[:1] == "<"
        what = f"a page, not JSON: {shown(text.lstrip())}" if page else f"not JSON ({shown(str(error))})"
        raise SourceError(source, [Fault("", what, _DOCUMENT)]) from error
    if not isinstance(found, dict):
        raise SourceError(source, [Fault("", f"a document with {shown(found)}", "one JSON object")])
    return found


def _refuse_constant(word: str) -> NoReturn:
    raise ValueError(f"{word} is not a number")


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) < len(pairs):
        raise ValueError("a key is given twice")
    return found


def part_of(parent: Mapping[str, object], key: str, source: str) -> dict[str, object]:
    """Return the object under a key; raises SourceError if there is none."""
    found = parent.get(key)
    if not isinstance(found, dict):
        what = "missing" if key not in parent else shown(found)
        raise SourceError(source, [Fault(key, what, "an object with the values")])
    return found


def text_of(parent: Mapping[str, object], key: str, source: str) -> str:
    """Return the text under a key; raises SourceError if there is none."""
    found = parent.get(key)
    if not isinstance(found, str):
        raise SourceError(source, [Fault(key, shown(found) if key in parent else "missing", "a text")])
    return found


def numbers(values: Sequence[object], *, where: str, faults: list[Fault]) -> FloatArray:
    """Return values as an array, NaN for null; whatever is no finite number becomes a fault."""
    array = np.full(len(values), np.nan)
    for place, value in enumerate(values):
        if value is None:
            continue
        number = _number(value)
        if number is None:
            faults.append(Fault(f"{where}, value {place + 1}", shown(value), "a number, or null for missing"))
            return array
        array[place] = number
    return array


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None


def converted(
    values: FloatArray, unit: object, dimension: Dimension, *, where: str, faults: list[Fault]
) -> FloatArray:
    """Return an array in canonical units by its declared unit; an unknown or missing unit becomes a fault."""
    if not isinstance(unit, str) or not unit.strip():
        faults.append(Fault(where, "no unit is declared", "its unit, which is never guessed"))
        return np.full(values.size, np.nan)
    try:
        return convert(values, unit, dimension)
    except UnitError as error:
        faults.append(Fault(where, error.found, error.wanted))
        return np.full(values.size, np.nan)
