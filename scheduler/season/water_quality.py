"""What the plan's water test says of clogging, as lines for people. Pure."""

from __future__ import annotations

from dataclasses import fields

from scheduler.drip.clogging import CloggingHazard, clogging_hazards
from scheduler.garden.plan import Assumption, Garden
from scheduler.garden.units import format_quantity

__all__ = ["clogging_notes", "water_hazards"]

CAUTION = Assumption(
    "water_source",
    "the classes are of clogging alone: whether the water is fit to drink or for food is for a laboratory "
    "and your health authority to say",
)


def water_hazards(garden: Garden) -> tuple[CloggingHazard, ...]:
    """Return the clogging hazard of every item that the plan's water test gives."""
    test = garden.water_source.test
    given = {item.name: getattr(test, item.name) for item in fields(test)}
    return clogging_hazards({name: value for name, value in given.items() if value is not None})


def clogging_notes(garden: Garden) -> tuple[Assumption, ...]:
    """Return a line for each item of the water test, and the caution that goes with them; empty untested."""
    hazards = water_hazards(garden)
    return (*map(_note, hazards), *([CAUTION] if hazards else []))


def _note(hazard: CloggingHazard) -> Assumption:
    limit = hazard.limit
    low, high = (_shown(hazard.item, value) for value in (limit.moderate, limit.severe))
    words = f"{_shown(hazard.item, hazard.value)} is a {hazard.grade} clogging hazard"
    if hazard.elsewhere:
        words += f", {hazard.elsewhere}"
    words += f" (moderate from {low} to {high}: {limit.source})"
    if hazard.grade != "slight" or hazard.elsewhere:
        words += f"; {limit.advice}"
    return Assumption(f"water_source > {hazard.item}", words)


def _shown(item: str, value: float) -> str:
    if item == "ph":
        return f"pH {value:g}"
    return format_quantity(value, "count" if item == "bacteria" else "concentration", "metric")
