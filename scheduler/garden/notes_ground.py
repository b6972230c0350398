"""What the plan did not say of soil, layers, place and uncertainty and was taken all the same."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.garden.build_ground import build_soil
from scheduler.garden.fields import percent
from scheduler.garden.plan import Assumption, Bed, SoilMix, Uncertainty
from scheduler.garden.plantables import BedTables, PlanTables
from scheduler.garden.schema_place import SoilTable, UncertaintyTable
from scheduler.garden.units import both_systems

__all__ = ["ground_notes", "soil_notes", "state_notes", "uncertainty_notes"]

_UNCERTAINTY_WORDS = {
    "reference_et": "reference ET",
    "crop_coefficient": "crop coefficient",
    "available_water": "available water",
    "efficiency": "efficiency",
    "flow": "flow (ISO 9261, from memory)",
    "rain": "rain",
}


def soil_notes(tables: PlanTables) -> Iterator[Assumption]:
    """Yield what is taken from the table by texture, and mixes whose figures have no source."""
    for name, soil in tables.soils.items():
        if soil.table.texture is not None:
            yield Assumption(f'soil "{name}"', _texture_words(build_soil(name, soil.table), soil.table))
        elif soil.table.source is None:
            yield Assumption(f'soil "{name}"', "no source is given for its figures")


def _texture_words(mix: SoilMix, table: SoilTable) -> str:
    figures = f"{percent(mix.field_capacity, 1)} and {percent(mix.wilting_point, 1)}"
    evaporable = [
        f"{which} evaporable water of {both_systems(value, 'water_depth')}"
        for which, own, value in (
            ("readily", table.readily_evaporable_water, mix.readily_evaporable),
            ("total", table.total_evaporable_water, mix.total_evaporable),
        )
        if own is None and value is not None
    ]
    more = f"; so {'is' if len(evaporable) == 1 else 'are'} {' and '.join(evaporable)}" if evaporable else ""
    return (
        f"field capacity and wilting point ({figures}) are assumed, the middle of the published range for "
        f"{table.texture}{more}"
    )


def ground_notes(entry: BedTables, bed: Bed) -> Iterator[Assumption]:
    """Yield what is taken of layers, mulch and place of a bed, and judgements of the plan."""
    place = f'bed "{bed.name}"'
    for read, layer in zip(entry.layers, bed.layers, strict=True):
        if layer.soil is None and read.table.available_water is None:
            yield Assumption(
                place,
                f"its {both_systems(layer.depth, 'length')} of {layer.name} below the soil count as holding "
                "no water for roots",
            )
    mulch = None if entry.mulch is None else entry.mulch.table
    if mulch is not None and mulch.kind == "plastic" and mulch.holes is None:
        yield Assumption(place, "no holes are counted in its film")
    if bed.sun_lost and entry.bed.table.sun_lost_when is None:
        yield Assumption(place, f"its {both_systems(bed.sun_lost, 'hours')} of sun are lost in the evening")
    if bed.wall_heat:
        yield Assumption(
            place,
            f"{percent(bed.wall_heat)} more use beside a warm wall is the plan's own judgement; no published "
            "figure stands behind it",
        )


def state_notes(tables: PlanTables) -> Iterator[Assumption]:
    """Yield that the soil below the roots counts as full where the plan does not say."""
    if any(state.table.below_roots is None for state in tables.soil_states):
        yield Assumption(
            "soil_state", "the soil below the roots is taken as full where below_roots is left out"
        )


def uncertainty_notes(table: UncertaintyTable, taken: Uncertainty) -> Iterator[Assumption]:
    """Yield all uncertainties that the plan leaves open, in one line."""
    open_ones = [
        f"{words} {percent(getattr(taken, name))}"
        for name, words in _UNCERTAINTY_WORDS.items()
        if getattr(table, name) is None
    ]
    if open_ones:
        yield Assumption(
            "uncertainty",
            f"standard uncertainties are taken, judgements without a source: {', '.join(open_ones)}",
        )
