"""Tables on the layout -> their types, in canonical units."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import cast

from scheduler.garden import defaults
from scheduler.garden.checks_segments import beds_reached
from scheduler.garden.layout import DEFAULT_END_GAP
from scheduler.garden.layout_plan import (
    BedMeasures,
    BedPlace,
    HeadPart,
    Inlet,
    LayoutPlan,
    MainLine,
    Segment,
    SegmentFitting,
    Takeoff,
)
from scheduler.garden.places import inlet_of_shape, on_sketch
from scheduler.garden.plantables import PlanTables
from scheduler.garden.schema_beds import BedTable
from scheduler.garden.schema_layout import HeadPartTable, MainLineTable, SegmentTable, TakeoffTable
from scheduler.garden.units import parse_quantity

__all__ = ["build_layout", "build_measures", "build_place", "has_layout"]

Point = tuple[float, float]
_RUN_ENDS: tuple[Inlet, ...] = ("left", "right")
_SIDES: tuple[Inlet, ...] = ("left", "right", "bottom", "top")


def has_layout(tables: PlanTables) -> bool:
    """Return True if the plan says how the beds hang on the outlets."""
    return tables.main_line is not None or bool(tables.segments)


def build_layout(tables: PlanTables) -> LayoutPlan | None:
    """Return the layout outside the beds, or None if the plan has none."""
    if not has_layout(tables):
        return None
    names = tuple(entry.bed.table.name for entry in tables.beds)
    main = tables.main_line
    return LayoutPlan(
        head=tuple(_part(part.table) for part in tables.head_parts),
        main_line=None if main is None else _main(main.table, names),
        segments=tuple(_segment(segment.table) for segment in tables.segments),
        takeoff=_takeoff(None if tables.takeoff is None else tables.takeoff.table),
    )


def build_measures(table: BedTable) -> BedMeasures:
    """Return the measures of a bed and of its line."""
    gap = parse_quantity(DEFAULT_END_GAP, "length") if table.end_gap is None else table.end_gap
    return BedMeasures(
        end_gap=gap,
        length=table.length,
        width=table.width,
        diameter=table.diameter,
        corners=tuple((x, y) for x, y in table.corners or ()),
        runs=table.runs,
        rings=tuple(table.rings or ()),
    )


def build_place(table: BedTable, tables: PlanTables) -> BedPlace | None:
    """Return where a bed lies and how its water comes in; None in a plan without a layout."""
    if not has_layout(tables):
        return None
    reached = table.name in beds_reached(tables)
    bores = [one.table.inside_diameter for one in tables.segments if one.table.end == table.name]
    if tables.main_line is not None:
        bores.append(tables.main_line.table.inside_diameter)
    place = BedPlace(
        position=_point(table.position),
        rotation=table.rotation or 0.0,
        rim_height=table.soil_depth if table.rim_height is None and not reached else table.rim_height,
        inlet=table.inlet or "left",
        header_diameter=bores[0] if table.header_diameter is None else table.header_diameter,
        valve_loss=table.valve_loss,
        valve_loss_at=table.valve_loss_at,
    )
    if table.inlet is not None or place.position is None:
        return place
    return _with_inlet(place, table, tables)


def _with_inlet(place: BedPlace, table: BedTable, tables: PlanTables) -> BedPlace:
    """Return the place with the inlet on the side that lies nearest to the head assembly along the grid."""
    main = tables.main_line
    start = (0.0, 0.0) if main is None else (main.table.start[0], main.table.start[1])
    measures = build_measures(table)
    sides = _RUN_ENDS if not table.rings else _SIDES

    def way(side: Inlet) -> float:
        x, y = on_sketch(place, inlet_of_shape(table.shape, measures, side))
        return round(math.fabs(x - start[0]) + math.fabs(y - start[1]), 9)

    return replace(place, inlet=min(sides, key=way))


def _part(table: HeadPartTable) -> HeadPart:
    return HeadPart(
        part=table.part,
        kind=table.kind,
        name=table.name or "",
        loss=table.loss,
        at_flow=table.at_flow,
        height=table.height,
        mesh=table.mesh,
        opening=table.opening,
        set_pressure=table.set_pressure,
        lowest_flow=table.lowest_flow,
        highest_flow=table.highest_flow,
    )


def _main(table: MainLineTable, beds: tuple[str, ...]) -> MainLine:
    return MainLine(
        start=(table.start[0], table.start[1]),
        order=beds if table.order is None else tuple(table.order),
        inside_diameter=table.inside_diameter,
        material=table.material,
        height=table.height or 0.0,
    )


def _segment(table: SegmentTable) -> Segment:
    given = {} if table.fittings is None else table.fittings.model_dump(exclude_none=True)
    return Segment(
        name=table.name,
        start=table.start,
        end=table.end,
        length=table.length,
        inside_diameter=table.inside_diameter,
        rise=table.rise,
        fittings=tuple((cast(SegmentFitting, kind), count) for kind, count in given.items()),
        at=_point(table.at),
    )


def _takeoff(table: TakeoffTable | None) -> Takeoff:
    spare = None if table is None else table.spare
    spacing = None if table is None else table.stake_spacing
    return Takeoff(
        spare=defaults.SPARE if spare is None else spare,
        stake_spacing=defaults.STAKE_SPACING if spacing is None else spacing,
    )


def _point(pair: list[float] | None) -> Point | None:
    return None if pair is None else (pair[0], pair[1])
