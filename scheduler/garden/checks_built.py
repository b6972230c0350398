"""Checks that need the garden as built: what a bed holds against what the plan says it lacks."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.errors import Fault
from scheduler.garden.bounds import limit
from scheduler.garden.plan import Garden
from scheduler.garden.units import both_systems

__all__ = ["check_garden"]


def check_garden(garden: Garden) -> Iterator[Fault]:
    """Yield a fault for each soil state that lacks more water than a bed's soil can give."""
    for number, state in enumerate(garden.soil_states, 1):
        for bed in garden.beds:
            if state.bed not in (None, bed.name) or isinstance(state.depletion, str):
                continue
            # Depth in metres times the share of water, in millimetres as `depletion` is.
            share = bed.soil.field_capacity - bed.soil.wilting_point
            held = share * bed.soil_depth / limit("1 mm", "length")
            if state.depletion > held:
                yield Fault(
                    f"soil_state {number} ({state.on}) > depletion",
                    f"{both_systems(state.depletion, 'water_depth')} is more than the soil of bed "
                    f'"{bed.name}" can give, {both_systems(held, "water_depth")}',
                    'write what is missing, or "at limit"; a depth of water, not of soil, is meant',
                )
