"""Checks across keys of what was measured at the beds: cup tests and flow tests."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from scheduler.errors import Fault
from scheduler.garden.faultwords import nearest_hint
from scheduler.garden.fields import shown
from scheduler.garden.plantables import PlanTables
from scheduler.garden.schema_links import MeterTable
from scheduler.garden.schema_measured import CupTestTable, FlowTestTable
from scheduler.garden.tableread import Read

__all__ = ["check_measured"]

#: A day is longer than any bed is run to measure its flow.
_LONGEST = 24 * 60


def check_measured(tables: PlanTables) -> Iterator[Fault]:
    """Yield faults of cup tests and flow tests."""
    # Name of each bed -> name of its zone, as far as both could be read.
    beds = {
        entry.bed.table.name: entry.bed.table.zone if entry.bed.has("zone") else None
        for entry in tables.beds
        if entry.bed.has("name")
    }
    seen: set[tuple[str, date]] = set()
    for cups in tables.cup_tests:
        yield from _check_cups(cups)
        if cups.has("bed"):
            yield from _unknown(cups.place("bed"), cups.table.bed, beds)
        if cups.has("bed", "on"):
            yield from _second(cups.where, cups.table.bed, cups.table.on, seen, "put all cups in one test")
    seen = set()
    for test in tables.flow_tests:
        yield from _check_beds(test, beds)
        yield from _check_water(test, tables.meter)
        if test.has("bed", "beds", "on"):
            for name in _names(test):
                yield from _second(test.where, name, test.table.on, seen, "keep the better one")


def _check_cups(test: Read[CupTestTable]) -> Iterator[Fault]:
    if test.has("volumes") and not any(test.table.volumes):
        yield Fault(test.place("volumes"), "all cups are empty", "open the valve and test again")


def _unknown(place: str, name: str, beds: dict[str, str | None]) -> Iterator[Fault]:
    if beds and name not in beds:
        yield Fault(place, f'there is no bed "{name}"', nearest_hint(name, list(beds), kind="beds"))


def _second(where: str, name: str, on: date, seen: set[tuple[str, date]], wanted: str) -> Iterator[Fault]:
    if (name, on) in seen:
        yield Fault(where, f'a second test of bed "{name}" on {on}', wanted)
    seen.add((name, on))


def _names(test: Read[FlowTestTable]) -> list[str]:
    """Return the beds that a test names, each once."""
    table = test.table
    return list(dict.fromkeys([*([] if table.bed is None else [table.bed]), *(table.beds or [])]))


def _check_beds(test: Read[FlowTestTable], beds: dict[str, str | None]) -> Iterator[Fault]:
    """Yield faults of which beds were open: named once, one way, and all behind one outlet."""
    if not test.has("bed", "beds"):
        return
    table = test.table
    if (table.bed is None) == (table.beds is None):
        found = "names no bed" if table.bed is None else "gives bed and beds"
        yield Fault(test.where, found, 'write bed = "tall bed", or beds = [...] if several were open')
    for name in _names(test):
        yield from _unknown(test.place("bed" if name == table.bed else "beds"), name, beds)
    listed = table.beds or []
    twice = sorted({name for name in listed if listed.count(name) > 1})
    if twice:
        yield Fault(test.place("beds"), f"{', '.join(map(shown, twice))} stands twice", "name each bed once")
    zones = {zone for name in listed if (zone := beds.get(name)) is not None}
    if len(zones) > 1:
        yield Fault(
            test.place("beds"),
            f"they are in zones {', '.join(map(shown, sorted(zones)))}",
            "measure each zone alone, so that the water of one is not told as that of another",
        )


def _check_water(test: Read[FlowTestTable], meter: Read[MeterTable] | None) -> Iterator[Fault]:
    """Yield faults of the water: a volume or two readings, and a time that can be."""
    table = test.table
    if test.has("minutes") and table.minutes > _LONGEST:
        yield Fault(
            test.place("minutes"), f"{shown(test.raw['minutes'])} is longer than a day", 'write e.g. "10 min"'
        )
    if not test.has("volume", "meter_from", "meter_to"):
        return
    readings = (table.meter_from, table.meter_to)
    if table.volume is not None and any(one is not None for one in readings):
        yield Fault(test.where, "gives a volume and readings of the meter", "say one of them")
    elif table.volume is None and None in readings:
        one_alone = "meter_to" if table.meter_from is not None else "meter_from"
        if any(one is not None for one in readings):
            yield Fault(test.place(one_alone), "missing", "write the reading before and the one after")
        else:
            yield Fault(
                test.where,
                "says not how much water came",
                'write volume = "12 L" for a bucket, or meter_from and meter_to',
            )
    elif table.meter_from is not None and table.meter_to is not None:
        yield from _check_readings(test, table.meter_from, table.meter_to, meter)


def _check_readings(
    test: Read[FlowTestTable], before: float, after: float, meter: Read[MeterTable] | None
) -> Iterator[Fault]:
    if meter is None:
        yield Fault(
            test.place("meter_to"),
            "the plan does not describe the meter",
            "add [meter] with capacity and smallest_digit: they tell how sure the reading is",
        )
        return
    if before == after:
        yield Fault(
            test.place("meter_to"), "both readings are alike", "let the bed run until the meter has moved"
        )
    if not meter.has("capacity"):
        return
    for name, value in (("meter_from", before), ("meter_to", after)):
        if value >= meter.table.capacity:
            yield Fault(
                test.place(name),
                f"{shown(test.raw[name])} is more than the meter can show, {shown(meter.raw['capacity'])}",
                "write what the register shows, with its unit",
            )
