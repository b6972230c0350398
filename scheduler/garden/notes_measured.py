"""What looks unusual in the tests of a bed's flow."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.garden.fields import percent
from scheduler.garden.layout import flow_at_pressure
from scheduler.garden.measured import BedFlowTest, CupTest
from scheduler.garden.plan import Assumption, Bed
from scheduler.garden.units import both_systems

__all__ = ["measured_notes"]

_FEW_CUPS = 8
# Measured and printed flow further apart than this are worth a second look, as are two tests of one bed.
_FAR_OFF, _APART = 3.0, 0.15
# A meter's volume of fewer steps than this tells the flow no better than the print does.
_FEW_STEPS = 10


def measured_notes(bed: Bed) -> Iterator[Assumption]:
    """Yield what is worth a second look in a bed's cup test and flow test."""
    if bed.cup_test is not None:
        yield from _cup_notes(bed, bed.cup_test)
    if bed.flow_test is not None:
        yield from _flow_test_notes(bed, bed.flow_test)
    if bed.cup_test is not None and bed.flow_test is not None:
        yield from _both_notes(bed, bed.cup_test.emitter_flow * bed.emitters, bed.flow_test.flow_of(bed.name))


def _cup_notes(bed: Bed, test: CupTest) -> Iterator[Assumption]:
    place = f'bed "{bed.name}"'
    if len(test.volumes) < _FEW_CUPS:
        yield Assumption(place, f"{len(test.volumes)} cups tell little of evenness, eight or more would")
    if not 1 / _FAR_OFF <= test.emitter_flow / bed.drip.emitter_flow <= _FAR_OFF:
        yield Assumption(
            place,
            f"the cups caught {both_systems(test.emitter_flow, 'flow')} an emitter, "
            f"the printed flow is {both_systems(bed.drip.emitter_flow, 'flow')}",
        )


def _flow_test_notes(bed: Bed, test: BedFlowTest) -> Iterator[Assumption]:
    place, flow = f'bed "{bed.name}"', test.flow_of(bed.name)
    printed = flow_at_pressure(bed.drip, emitters=bed.emitters, pressure=bed.pressure)
    if not 1 / _FAR_OFF <= flow / printed <= _FAR_OFF:
        yield Assumption(
            place,
            f"its flow test makes {both_systems(flow, 'flow')}, the print {both_systems(printed, 'flow')}",
        )
    if test.volume < _FEW_STEPS * test.smallest_digit:
        yield Assumption(
            place,
            f"the flow test of {test.on} moved the meter by {both_systems(test.volume, 'volume')}, few of "
            "its smallest steps: a longer run would tell more",
        )


def _both_notes(bed: Bed, by_cups: float, by_test: float) -> Iterator[Assumption]:
    apart = abs(by_cups - by_test) / max(by_cups, by_test)
    if apart > _APART:
        newest = "cups" if bed.newest_test is bed.cup_test else "flow test"
        yield Assumption(
            f'bed "{bed.name}"',
            f"its cups make {both_systems(by_cups, 'flow')}, its flow test {both_systems(by_test, 'flow')}, "
            f"{percent(apart)} apart; the {newest} counts",
        )
