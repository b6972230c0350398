"""Checks that need the garden as built: soil states, measured flows, impossible rates, the layout."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from scheduler.errors import Fault
from scheduler.garden.bounds import limit
from scheduler.garden.checks_placed import check_placed
from scheduler.garden.layout import flow_at_pressure
from scheduler.garden.plan import Bed, Garden
from scheduler.garden.units import both_systems

__all__ = ["check_garden"]

#: A cup test this many times off the printed flow is a slip in minutes or volumes.
_CUPS_OFF = 5.0
#: A flow test this many times off the printed flow is a slip, or a fault to be found before one waters by it.
_FLOW_OFF = 10.0


def check_garden(garden: Garden) -> Iterator[Fault]:
    """Yield what can be wrong only once lines, shapes and cup tests have met."""
    yield from _soil_states(garden)
    for bed in garden.beds:
        yield from _cup_test(bed)
        yield from _rate(bed)
        yield from _mix(bed)
    yield from _flow_tests(garden)
    yield from _tap(garden)
    yield from check_placed(garden)


def _soil_states(garden: Garden) -> Iterator[Fault]:
    """Yield a fault for each soil state that lacks more water than a bed's soil can give."""
    for number, state in enumerate(garden.soil_states, 1):
        for bed in garden.beds:
            if state.bed not in (None, bed.name) or isinstance(state.depletion, str):
                continue
            held = _held(bed, state.on)
            if state.depletion > held:
                yield Fault(
                    f"soil_state {number} ({state.on}) > depletion",
                    f"{both_systems(state.depletion, 'water_depth')} is more than the soil of bed "
                    f'"{bed.name}" can give, {both_systems(held, "water_depth")}',
                    'write what is missing, or "at limit"; a depth of water, not of soil, is meant',
                )


def _held(bed: Bed, on: date) -> float:
    """Return the water that plants can draw from all of a bed on a day [mm], fills included."""
    depth = next((later.soil_depth for later in reversed(bed.settled) if later.on <= on), bed.soil_depth)
    soil = (bed.soil.field_capacity - bed.soil.wilting_point) * bed.soil_depth
    fill = 0.0
    if bed.layers:
        soil, fill = (
            sum(
                layer.depth * layer.available_water for layer in bed.layers if (layer.soil is None) == is_fill
            )
            for is_fill in (False, True)
        )
    # Depth in metres times the share of water, in millimetres as a depletion is.
    return (soil * depth / bed.soil_depth + fill) / limit("1 mm", "length")


def _printed(bed: Bed) -> float:
    """Return the bed's flow by the printed figures [L/h]."""
    return flow_at_pressure(bed.drip, emitters=bed.emitters, pressure=bed.pressure)


def _flow(bed: Bed) -> float:
    """Return the bed's flow [L/h], by its newest measurement if it has one."""
    return _printed(bed) if bed.measured_flow is None else bed.measured_flow


def _cup_test(bed: Bed) -> Iterator[Fault]:
    """Yield a fault for a cup test that cannot be of this drip line, or that leaves nothing to count on."""
    test = bed.cup_test
    if test is None:
        return
    where = f'cup_test of bed "{bed.name}" ({test.on})'
    one, printed = test.emitter_flow, _printed(bed) / bed.emitters
    if not 1 / _CUPS_OFF <= one / printed <= _CUPS_OFF:
        yield Fault(
            where,
            f"the cups make {both_systems(one, 'flow')} an emitter, the print says "
            f"{both_systems(printed, 'flow')}",
            "check minutes and volumes; is the time in seconds, or a volume in another unit?",
        )
    dry = [number for number, volume in enumerate(test.volumes, 1) if volume == 0]
    if 4 * len(dry) >= len(test.volumes):
        yield Fault(
            where,
            f"{len(dry)} of {len(test.volumes)} cups stayed dry: {', '.join(map(str, dry))}",
            "clear or replace those emitters and test again: no run time waters a bed that is a quarter shut",
        )


def _flow_tests(garden: Garden) -> Iterator[Fault]:
    """Yield a fault for each flow test that cannot be of these drip lines; of beds together, only one."""
    beds = {bed.name: bed for bed in garden.beds}
    for test in dict.fromkeys(bed.flow_test for bed in garden.beds):
        if test is None:
            continue
        printed = sum(_printed(beds[name]) for name in test.beds)
        flow = sum(test.flow_of(name) for name in test.beds)
        if not 1 / _FLOW_OFF < flow / printed < _FLOW_OFF:
            names = ", ".join(f'"{name}"' for name in test.beds)
            yield Fault(
                f"flow_test of {'bed' if len(test.beds) == 1 else 'beds'} {names} ({test.on})",
                f"it makes {both_systems(flow, 'flow')}, the print says {both_systems(printed, 'flow')}",
                "check minutes and volume with their units, and which valves were open; if all is so, find "
                "the leak or the blockage first",
            )


def _rate(bed: Bed) -> Iterator[Fault]:
    """Yield a fault for a bed that would be flooded."""
    rate = _flow(bed) / bed.area
    if rate > limit("250 mm/h", "application_rate"):
        yield Fault(
            f'bed "{bed.name}"',
            f"its emitters put down {both_systems(rate, 'application_rate')}",
            "check emitters, rings, line and the bed's measures; drip gives some 5 to 100 mm an hour",
        )


def _mix(bed: Bed) -> Iterator[Fault]:
    """Yield a fault for a mix that would be more water than soil."""
    if bed.soil.field_capacity > limit("75 %", "ratio"):
        yield Fault(
            f'soil "{bed.soil.name}" > field_capacity',
            f"{bed.soil.field_capacity:.0%} of volume",
            "write the water held a day after a soaking by volume, not by weight; few mixes hold over 60 %",
        )


def _tap(garden: Garden) -> Iterator[Fault]:
    """Yield a fault for a zone that by what was measured draws more than the whole tap gives."""
    for zone in garden.zones:
        beds = garden.beds_of(zone.name)
        total = sum(_flow(bed) for bed in beds)
        if any(bed.newest_test is not None for bed in beds) and total > garden.water_source.flow:
            yield Fault(
                f'zone "{zone.name}"',
                f"its beds draw {both_systems(total, 'flow')} by their tests, the tap gives "
                f"{both_systems(garden.water_source.flow, 'flow')}",
                "measure both again, or divide the beds among more zones",
            )
