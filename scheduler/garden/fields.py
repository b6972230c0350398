"""How one value of the plan file is read: what a person wrote in, a canonical value out.

Each class here is put into ``Annotated[...]`` of a table in the schema modules. It reads one value, says in
words what is wrong with it, and describes itself to editors through JSON Schema.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from datetime import date, datetime, time
from typing import Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import PydanticCustomError, core_schema

from scheduler.errors import UnitError
from scheduler.garden.units import Dimension, parse_quantity

__all__ = [
    "Clock",
    "Day",
    "DepletionText",
    "ElevationText",
    "Number",
    "Quantity",
    "Reader",
    "Whole",
    "WholeUnits",
    "Words",
    "percent",
    "shown",
]

_LONGEST_SHOWN = 60
_LONGEST_TEXT = 200


def shown(value: object) -> str:
    """Return a value as it would stand in the plan file, cut to a readable length."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        text = "[" + ", ".join(shown(item) for item in value[:8]) + "]"
    elif isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, (datetime, date, time)):
        text = value.isoformat()
    else:
        text = str(value)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[: _LONGEST_SHOWN - 3]}..."


def percent(share: float, decimals: int = 0) -> str:
    """Return a share 0..1 as a percentage."""
    return f"{share * 100:.{decimals}f} %"


class Reader(ABC):
    """One kind of value: `examples` are shown to people and to editors."""

    def __init__(self, *examples: str) -> None:
        self.examples = examples

    @abstractmethod
    def read(self, value: object) -> object:
        """Return the canonical value.

        Raises
        ------
        UnitError
            If the value cannot be read; carries what was found and what would be right.
        """

    def json_schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the value as it stands in the file."""
        return {"type": "string", "examples": list(self.examples)}

    def example(self) -> str:
        """Return one right value as it would stand in the file."""
        return f'"{self.examples[0]}"'

    def _read_or_refuse(self, value: object) -> object:
        """Turn our own error into the kind that lets all the other keys be read as well."""
        try:
            return self.read(value)
        except UnitError as error:
            words = {"found": error.found, "wanted": error.wanted}
            raise PydanticCustomError("plan_value", "{found}; {wanted}", words) from None

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> core_schema.CoreSchema:
        """Read the value with `read` alone."""
        return core_schema.no_info_plain_validator_function(self._read_or_refuse)

    def __get_pydantic_json_schema__(
        self, schema: core_schema.CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe the value as it stands in the file, not as it is held."""
        return self.json_schema()


class Quantity(Reader):
    """A number with its unit, as text; zero is refused unless `zero` is true."""

    def __init__(self, dimension: Dimension, *examples: str, zero: bool = False) -> None:
        super().__init__(*examples)
        self.dimension = dimension
        self.zero = zero

    def read(self, value: object) -> float:
        """Return the quantity in the canonical unit of its dimension."""
        number = parse_quantity(value, self.dimension)
        if number == 0 and not self.zero:
            raise UnitError(f"{shown(value)} is zero", f"write a value above zero, e.g. {self.example()}")
        return number

    def json_schema(self) -> dict[str, Any]:
        """Return text, or for a share also a number from 0 to 1."""
        text = super().json_schema()
        if self.dimension != "ratio":
            return text
        return {"anyOf": [text, {"type": "number", "minimum": 0, "maximum": 1}]}


class ElevationText(Quantity):
    """A height above sea level, which may lie below it."""

    def __init__(self, *examples: str) -> None:
        super().__init__("length", *examples, zero=True)

    def read(self, value: object) -> float:
        """Return the elevation [m]; a leading minus means below sea level."""
        if isinstance(value, str) and value.strip().startswith("-"):
            return -super().read(value.strip()[1:])
        return super().read(value)


class WholeUnits(Quantity):
    """A duration or a number of days that must come out whole in minutes or days."""

    def read(self, value: object) -> int:
        """Return the whole number of minutes or days."""
        number = super().read(value)
        if abs(number - round(number)) > 1e-9:
            unit = "minutes" if self.dimension == "duration" else "days"
            raise UnitError(
                f"{shown(value)} is not a whole number of {unit}",
                f"write whole {unit}, e.g. {self.example()}",
            )
        return round(number)


class DepletionText(Quantity):
    """What the soil lacked: a depth of water, "full" or "at limit"."""

    def __init__(self) -> None:
        super().__init__("water_depth", "8 mm", "0.3 in", "full", "at limit", zero=True)

    def read(self, value: object) -> Any:
        """Return the depletion [mm], or one of the two words."""
        if value in ("full", "at limit"):
            return value
        try:
            return super().read(value)
        except UnitError as error:
            raise UnitError(error.found, f'{error.wanted}; or "full" or "at limit"') from None


class _Bare(Reader):
    """A value that stands in the file without quotes."""

    def example(self) -> str:
        """Return one right value."""
        return self.examples[0]


class Number(_Bare):
    """A plain number between `low` and `high`."""

    def __init__(self, low: float, high: float, *, example: str) -> None:
        super().__init__(example)
        self.low = low
        self.high = high

    def _bounds(self) -> str:
        return f"from {self.low:g} to {self.high:g}" if self.low < self.high else f"equal to {self.low:g}"

    def read(self, value: object) -> float:
        """Return the number."""
        wanted = f"write a number {self._bounds()}, without quotes, e.g. {self.example()}"
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise UnitError(f"{shown(value)} is not a plain number", wanted)
        # False for nan as well.
        if not self.low <= value <= self.high:
            raise UnitError(f"{shown(value)} is out of range", wanted)
        return float(value)

    def json_schema(self) -> dict[str, Any]:
        """Return a number within its bounds."""
        return {
            "type": "number",
            "minimum": self.low,
            "maximum": self.high,
            "examples": [float(text) for text in self.examples],
        }


class Whole(Number):
    """A whole number between `low` and `high`."""

    def read(self, value: object) -> int:
        """Return the whole number."""
        if isinstance(value, bool) or not isinstance(value, int):
            raise UnitError(
                f"{shown(value)} is not a whole number",
                f"write a whole number {self._bounds()}, without quotes, e.g. {self.example()}",
            )
        super().read(value)
        return value

    def json_schema(self) -> dict[str, Any]:
        """Return a whole number within its bounds."""
        bounds = {"minimum": int(self.low), "maximum": int(self.high)}
        return {"type": "integer", **bounds, "examples": [int(text) for text in self.examples]}


class Day(_Bare):
    """A date written as TOML writes dates: year-month-day, no quotes."""

    def read(self, value: object) -> date:
        """Return the date."""
        wanted = f"write year-month-day without quotes, e.g. {self.example()}"
        if isinstance(value, datetime):
            raise UnitError(f"{shown(value)} has a time of day", wanted)
        if not isinstance(value, date):
            raise UnitError(f"{shown(value)} is not a date that reads one way only", wanted)
        return value

    def json_schema(self) -> dict[str, Any]:
        """Return text in the form of a date, which is how editors hold a TOML date."""
        return {"type": "string", "format": "date", "examples": list(self.examples)}


class Clock(_Bare):
    """A time of day written as TOML writes it: hours:minutes:seconds, no quotes."""

    def read(self, value: object) -> time:
        """Return the time of day."""
        if not isinstance(value, time):
            raise UnitError(
                f"{shown(value)} is not a time of day",
                f"write hours:minutes:seconds without quotes, e.g. {self.example()}",
            )
        return value

    def json_schema(self) -> dict[str, Any]:
        """Return text in the form of a time without a zone."""
        return {"type": "string", "format": "partial-time", "examples": list(self.examples)}


class Words(Reader):
    """A line of text that may not be empty."""

    def read(self, value: object) -> str:
        """Return the text without blanks at its ends."""
        if not isinstance(value, str):
            raise UnitError(f"{shown(value)} is not text", f"write text in quotes, e.g. {self.example()}")
        if not value.strip() or len(value) > _LONGEST_TEXT:
            found = "is empty" if not value.strip() else f"is longer than {_LONGEST_TEXT} characters"
            raise UnitError(f"the text {found}", f"write e.g. {self.example()}")
        if not value.strip().isprintable():
            # Such signs would move the cursor or change colours where the text is shown.
            raise UnitError(f"{shown(ascii(value))} holds signs that cannot be shown", "write plain text")
        return value.strip()
