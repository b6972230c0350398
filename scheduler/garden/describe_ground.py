"""Soil, layers, mulch and place of the beds, told back line by line in both unit systems."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.garden.describe_lines import Line, quantities
from scheduler.garden.fields import percent
from scheduler.garden.plan import Bed, Garden, Mulch
from scheduler.garden.units import both_systems

__all__ = ["describe_ground", "describe_soils", "describe_states"]


def describe_soils(garden: Garden) -> Iterator[Line]:
    """Yield lines on every soil mix in use."""
    mixes = {bed.soil.name: bed.soil for bed in garden.beds}
    layers = (layer.soil for bed in garden.beds for layer in bed.layers)
    mixes |= {soil.name: soil for soil in layers if soil is not None}
    for soil in mixes.values():
        place = f'soil "{soil.name}"'
        # A share in tenths of a percent: the middle of a printed range may lie between two percents.
        yield place, "field capacity, by volume", percent(soil.field_capacity, 1)
        yield place, "wilting point, by volume", percent(soil.wilting_point, 1)
        yield from quantities(
            place,
            ("intake rate", soil.intake_rate, "application_rate"),
            ("readily evaporable water", soil.readily_evaporable, "water_depth"),
            ("total evaporable water", soil.total_evaporable, "water_depth"),
            ("salinity of its extract", soil.salinity, "salinity"),
        )
        yield place, "source", soil.source


def describe_states(garden: Garden) -> Iterator[Line]:
    """Yield lines on what the soil held."""
    for state in garden.soil_states:
        place, beds = f"soil_state {state.on}", f'bed "{state.bed}"' if state.bed else "all beds"
        value = state.depletion
        text = value if isinstance(value, str) else both_systems(value, "water_depth")
        yield place, f"depletion of {beds}", text
        yield place, f"missing below the roots of {beds}", both_systems(state.below, "ratio")


def describe_ground(bed: Bed) -> Iterator[Line]:
    """Yield lines on layers, settling, mulch and place of a bed, as far as the plan tells them."""
    place = f'bed "{bed.name}"'
    for number, layer in enumerate(bed.layers, start=1):
        held = percent(layer.available_water, 1)
        yield (
            place,
            f"layer {number}, {layer.name}",
            f"{both_systems(layer.depth, 'length')}, {held} available water",
        )
    for later in bed.settled:
        yield place, f"soil depth from {later.on}", both_systems(later.soil_depth, "length")
    if bed.mulch is not None:
        yield from _mulch(place, bed.mulch)
    yield from quantities(
        place,
        ("wetted share of the surface", bed.wetted_share, "ratio"),
        ("wetted width of a line", bed.wetted_width, "length"),
        ("water runs through after", bed.runs_through_after, "duration"),
    )
    if bed.sun_lost:
        yield place, f"direct sun lost, {bed.sun_lost_when}", both_systems(bed.sun_lost, "hours")
    yield from quantities(
        place,
        ("use added by a warm wall", bed.wall_heat or None, "ratio"),
        ("rain that reaches it", bed.rain_share, "ratio"),
        ("width of its isolated stand", bed.isolated_width, "length"),
    )
    yield place, "crops share the sun by", bed.mixing
    yield place, "a sown surface is kept wet", "by hand" if bed.seedbed == "by hand" else "by its runs"


def _mulch(place: str, mulch: Mulch) -> Iterator[Line]:
    begins = "the beginning" if mulch.begins is None else mulch.begins
    ends = "the end" if mulch.ends is None else mulch.ends
    yield place, f"mulch, {mulch.kind}", f"from {begins} to {ends}"
    yield from quantities(place, ("part that the mulch covers", mulch.cover, "ratio"))
    if mulch.kind == "plastic":
        yield place, "holes in the film", percent(mulch.holes, 1)
