"""What a bed is filled and covered with -> its types, in canonical units."""

from __future__ import annotations

from collections.abc import Mapping

from scheduler.garden.plan import Mulch, Settled, SoilLayer, SoilMix, SoilState
from scheduler.garden.plantables import BedTables
from scheduler.garden.schema_beds import LayerTable, MulchTable
from scheduler.garden.schema_place import SoilStateTable, SoilTable
from scheduler.garden.tables import soil_row

__all__ = ["build_layers", "build_mulch", "build_settled", "build_soil", "build_state"]


def build_soil(name: str, table: SoilTable) -> SoilMix:
    """Return a mix: the plan's own figures, else the middle of the published range of its texture."""
    row = None if table.texture is None else soil_row(table.texture)
    readily, total = table.readily_evaporable_water, table.total_evaporable_water
    if row is not None:
        return SoilMix(
            name,
            field_capacity=row.field_capacity,
            wilting_point=row.wilting_point,
            source=row.source,
            intake_rate=table.intake_rate,
            readily_evaporable=row.readily_evaporable if readily is None else readily,
            total_evaporable=row.total_evaporable if total is None else total,
            salinity=table.salinity,
            texture=row.name,
        )
    if table.field_capacity is None or table.wilting_point is None:
        raise ValueError(f"nothing says what water {name} holds")
    return SoilMix(
        name,
        field_capacity=table.field_capacity,
        wilting_point=table.wilting_point,
        source=table.source or "the plan",
        intake_rate=table.intake_rate,
        readily_evaporable=readily,
        total_evaporable=total,
        salinity=table.salinity,
    )


def build_layers(entry: BedTables, soils: Mapping[str, SoilMix]) -> tuple[SoilLayer, ...]:
    """Return the layers of a bed from top to bottom; none for a bed of one mix."""
    return tuple(_layer(layer.table, soils) for layer in entry.layers)


def _layer(table: LayerTable, soils: Mapping[str, SoilMix]) -> SoilLayer:
    if table.soil is None:
        return SoilLayer(None, table.depth, table.available_water or 0.0, table.fill or "")
    mix = soils[table.soil]
    return SoilLayer(mix, table.depth, mix.field_capacity - mix.wilting_point, mix.name)


def build_settled(entry: BedTables) -> tuple[Settled, ...]:
    """Return the later depths of a bed's soil, in order of their days."""
    return tuple(Settled(later.on, later.soil_depth) for later in entry.bed.table.settled)


def build_mulch(table: MulchTable) -> Mulch:
    """Return what lies on a bed."""
    return Mulch(table.kind, table.cover, table.begins, table.ends, table.holes or 0.0)


def build_state(table: SoilStateTable) -> SoilState:
    """Return what the soil held on a day; the soil below the roots counts as full if nothing is said."""
    return SoilState(table.on, table.depletion, table.bed, table.below_roots or 0.0)
