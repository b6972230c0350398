"""The project's own parsers, each without one of its safeguards: the fuzzer must find what that does."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from unittest.mock import patch

from scheduler.weather.record import WeatherRecord
from scheduler.weather.sources import ghcn_layouts, nws, open_meteo
from tests.fuzz.formats import FORMATS, Format

__all__ = ["BROKEN"]


def _with(name: str, module: object, safeguard: str, instead: Callable[..., Any]) -> Format:
    """Return a format whose parser has something else in place of a safeguard."""
    sound = FORMATS[name]

    def parse(data: bytes) -> WeatherRecord:
        with patch.object(module, safeguard, instead):
            return sound.parse(data)

    return Format(parse, sound.seeds)


def _any_number(text: str, **_: object) -> int:
    return int(text)


def _all_is_well(*_: object, **_more: object) -> None:
    pass


#: Format without a safeguard.
BROKEN: dict[str, Format] = {
    "ghcn-by-year, numbers unchecked": _with("ghcn-by-year", ghcn_layouts, "_whole", _any_number),
    "open-meteo-forecast, out of bounds": _with(
        "open-meteo-forecast", open_meteo, "refuse_impossible", _all_is_well
    ),
    "nws-gridpoint, out of bounds": _with("nws-gridpoint", nws, "refuse_impossible", _all_is_well),
}
