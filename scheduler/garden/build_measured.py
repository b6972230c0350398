"""Cup tests, flow tests and the water test -> their types, in canonical units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace

from scheduler.garden.layout import flow_at_pressure
from scheduler.garden.measured import BedFlowTest, CupTest, WaterTest
from scheduler.garden.plan import Bed
from scheduler.garden.plantables import PlanTables
from scheduler.garden.schema_links import MeterTable
from scheduler.garden.schema_measured import FlowTestTable
from scheduler.garden.schema_water import WaterSourceTable

__all__ = ["build_water_test", "newest_cup_tests", "with_flow_tests"]


def newest_cup_tests(tables: PlanTables) -> dict[str, CupTest]:
    """Return the newest cup test of each bed that was tested."""
    in_order = sorted((test.table for test in tables.cup_tests), key=lambda test: test.on)
    return {test.bed: CupTest(test.bed, test.on, test.minutes, tuple(test.volumes)) for test in in_order}


def with_flow_tests(beds: tuple[Bed, ...], tables: PlanTables) -> tuple[Bed, ...]:
    """Return the beds, each with its newest flow test; the water of beds tested together is shared out."""
    printed = {
        bed.name: flow_at_pressure(bed.drip, emitters=bed.emitters, pressure=bed.pressure) for bed in beds
    }
    meter = None if tables.meter is None else tables.meter.table
    newest: dict[str, BedFlowTest] = {}
    for table in sorted((test.table for test in tables.flow_tests), key=lambda test: test.on):
        test = _flow_test(table, printed, meter)
        newest |= dict.fromkeys(test.beds, test)
    return tuple(replace(bed, flow_test=newest.get(bed.name)) for bed in beds)


def _flow_test(table: FlowTestTable, printed: Mapping[str, float], meter: MeterTable | None) -> BedFlowTest:
    beds = tuple(table.beds or ([] if table.bed is None else [table.bed]))
    total = sum(printed[name] for name in beds)
    shares = tuple(printed[name] / total for name in beds)
    if table.volume is not None:
        return BedFlowTest(beds, shares, table.on, table.minutes, table.volume, "bucket")
    if meter is None or table.meter_from is None or table.meter_to is None:
        raise ValueError(f"nothing says what water the flow test of {table.on} took")
    # A register that passed its end in between has gone back to zero once.
    volume = (table.meter_to - table.meter_from) % meter.capacity
    return BedFlowTest(beds, shares, table.on, table.minutes, volume, "meter", meter.smallest_digit)


def build_water_test(table: WaterSourceTable) -> WaterTest:
    """Return what was tested of the water."""
    return WaterTest(**{item.name: getattr(table, item.name) for item in fields(WaterTest)})
