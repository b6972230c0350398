"""Checks across keys: tap, timer, watering windows and restrictions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import time

from scheduler.errors import Fault
from scheduler.garden.bounds import outside
from scheduler.garden.fields import shown
from scheduler.garden.plantables import PlanTables
from scheduler.garden.schema_water import RestrictionTable, TimerTable, WaterSourceTable, WindowTable
from scheduler.garden.tableread import Read
from scheduler.garden.units import Dimension

__all__ = ["check_tap_flow", "check_water", "minutes_between"]

_DAY = 24 * 60


def minutes_between(begin: time, until: time) -> float:
    """Return the minutes from one hour to another, over midnight if `until` is not later."""
    span = (until.hour - begin.hour) * 60 + until.minute - begin.minute + (until.second - begin.second) / 60
    return span if span > 0 else span + _DAY


def check_water(tables: PlanTables) -> Iterator[Fault]:
    """Yield faults of tap, timer, windows and restrictions."""
    yield from _check_source(tables.water_source)
    yield from _check_timer(tables.timer)
    for window in tables.windows:
        yield from _check_window(window, tables.timer)
    for restriction in tables.restrictions:
        yield from _check_restriction(restriction)


def _check_source(source: Read[WaterSourceTable]) -> Iterator[Fault]:
    for name in ("flow", "flow_house_busy"):
        yield from check_tap_flow(source, name)
    yield from outside(
        source, "static_pressure", "pressure", low="1 psi", high="200 psi", ask="a house tap has 30 to 80 psi"
    )
    yield from outside(
        source, "salinity", "salinity", low="0 dS/m", high="10 dS/m", ask="500 uS/cm are 0.5 dS/m"
    )
    yield from outside(
        source,
        "leaching_fraction",
        "ratio",
        low="1 %",
        high="60 %",
        ask="the part of all water that drains below the roots",
    )
    if (
        source.has("salinity", "leaching_fraction")
        and source.table.leaching_fraction is not None
        and source.table.salinity is None
    ):
        yield Fault(
            source.place("leaching_fraction"),
            "given without the salinity of the water",
            'together they tell the salt in the soil: add salinity = "0.5 dS/m" from a water test',
        )
    yield from _check_water_test(source)
    yield from outside(
        source, "usable", "ratio", low="10 %", high="100 %", ask="the part of the flow to plan on"
    )
    if not source.has("flow", "flow_house_busy") or source.table.flow_house_busy is None:
        return
    if source.table.flow_house_busy > source.table.flow:
        yield Fault(
            source.place("flow_house_busy"),
            f"{shown(source.raw['flow_house_busy'])} is above the flow of {shown(source.raw['flow'])} "
            "with the house quiet",
            "the tap gives less while the house draws water: are the two exchanged?",
        )


#: Item of a water test -> the most that water for a garden holds, and what may have been meant.
_TESTED: dict[str, tuple[Dimension, str, str]] = {
    "suspended_solids": ("concentration", "5000 mg/L", "mud has more"),
    "dissolved_solids": ("concentration", "10000 mg/L", "sea water has 35000 mg/L"),
    "hardness": ("concentration", "3000 mg/L", "1 grain in a gallon is 17 mg/L"),
    "iron": ("concentration", "100 mg/L", "were micrograms meant? 300 ug/L are 0.3 mg/L"),
    "manganese": ("concentration", "50 mg/L", "were micrograms meant? 50 ug/L are 0.05 mg/L"),
    "hydrogen_sulfide": ("concentration", "50 mg/L", "were micrograms meant? 100 ug/L are 0.1 mg/L"),
    "bacteria": ("count", "10000000 per mL", "laboratories often count in 100 mL"),
}


def _check_water_test(source: Read[WaterSourceTable]) -> Iterator[Fault]:
    for name, (dimension, high, ask) in _TESTED.items():
        low = "0 mg/L" if dimension == "concentration" else "0 per mL"
        yield from outside(source, name, dimension, low=low, high=high, ask=ask)
    if source.has("ph") and source.table.ph is not None and not 3.0 <= source.table.ph <= 11.0:
        yield Fault(
            source.place("ph"),
            f"{source.table.ph:g} is not of water for plants",
            "write the pH, 6 to 9 in most taps",
        )


def check_tap_flow(source: Read[WaterSourceTable], name: str) -> list[Fault]:
    """Return a fault if a flow of the tap is one of an emitter, or of a fire hose."""
    ask = "was gal/min meant? A house tap gives about 2 to 15 gal/min; an emitter counts in gal/h"
    return outside(source, name, "flow", low="0.5 gal/min", high="60 gal/min", ask=ask)


def _check_timer(timer: Read[TimerTable]) -> Iterator[Fault]:
    table = timer.table
    for name in ("step", "shortest_run", "longest_run"):
        value = getattr(table, name) if timer.has(name) else None
        if value is not None and value > _DAY:
            yield Fault(
                timer.place(name), f"{shown(timer.raw[name])} is longer than a day", 'write e.g. "60 min"'
            )
    if not timer.has("step", "shortest_run", "longest_run"):
        return
    shortest = table.step if table.shortest_run is None else table.shortest_run
    if shortest % table.step:
        yield Fault(
            timer.place("shortest_run"),
            f"{shown(timer.raw['shortest_run'])} is not a whole number of steps",
            f"write a multiple of {table.step} min",
        )
    if table.longest_run < shortest:
        yield Fault(
            timer.place("longest_run"),
            f"{shown(timer.raw['longest_run'])} is shorter than the shortest run of {shortest} min",
            f"write {shortest} min or more",
        )


def _check_window(window: Read[WindowTable], timer: Read[TimerTable]) -> Iterator[Fault]:
    if window.has("days") and window.table.days:
        yield from _check_days(window.place("days"), window.table.days)
    if not window.has("begin", "until"):
        return
    begin, until = window.table.begin, window.table.until
    if begin == until:
        yield Fault(
            window.where,
            f"opens and closes at {begin.isoformat()}",
            "for a whole day write from = 00:00:00, to = 23:59:59",
        )
        return
    if timer.has("step", "shortest_run"):
        shortest = timer.table.shortest_run or timer.table.step
        length = minutes_between(begin, until)
        if length < shortest:
            yield Fault(
                window.where, f"is open for {length:g} min", f"the timer's shortest run takes {shortest} min"
            )


def _check_days(place: str, days: Sequence[str]) -> Iterator[Fault]:
    twice = sorted({day for day in days if days.count(day) > 1})
    if twice:
        yield Fault(place, f"{', '.join(twice)} stands twice", "name each day once")


def _check_restriction(restriction: Read[RestrictionTable]) -> Iterator[Fault]:
    table = restriction.table
    if restriction.has("begins", "ends") and table.begins > table.ends:
        yield Fault(
            restriction.place("ends"),
            f"{table.ends} is before it begins, {table.begins}",
            "write the last day it holds; are the two exchanged?",
        )
    if restriction.has("asked_on", "ends") and table.asked_on is not None and table.asked_on > table.ends:
        yield Fault(
            restriction.place("asked_on"),
            f"{table.asked_on} is after its last day, {table.ends}",
            "write the day on which you asked or read it, or the restriction of the coming season",
        )
    if restriction.has("days") and table.days:
        yield from _check_days(restriction.place("days"), table.days)
    if not restriction.has("begin", "until"):
        return
    if (table.begin is None) != (table.until is None):
        there, gone = ("from", "to") if table.until is None else ("to", "from")
        yield Fault(restriction.where, f'gives "{there}" alone', f'write "{gone}" as well, or neither')
    elif table.begin is not None and table.begin == table.until:
        yield Fault(
            restriction.where,
            f"from and to are both {table.begin.isoformat()}",
            "leave both out for all hours",
        )
