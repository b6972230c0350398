"""rillbook: watering schedule and water budget for raised-bed kitchen gardens on drip.

Six names are reached from here, loaded when first asked for; everything else by its module's path.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

__all__ = [
    "__version__",
    "load_plan",
    "read_weather",
    "reference_et",
    "run_season",
    "run_week",
    "water_bill",
]

__version__ = "0.1.0"

_HOMES = {
    "load_plan": "scheduler.garden.planfile",
    "read_weather": "scheduler.weather.readers",
    "reference_et": "scheduler.weather.reference_et",
    "run_season": "scheduler.season.run",
    "run_week": "scheduler.season.run",
    "water_bill": "scheduler.season.tariff",
}


def __getattr__(name: str) -> Any:
    """Return one of the six names, importing its module on first use."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)
