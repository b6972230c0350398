"""Lines on what was measured: cup tests, flow tests, and the water itself."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.garden.describe_lines import Line, quantities
from scheduler.garden.measured import WaterTest
from scheduler.garden.plan import Bed

__all__ = ["describe_tests", "describe_water_test"]


def describe_tests(bed: Bed) -> Iterator[Line]:
    """Yield lines on the newest tests of a bed's flow."""
    place = f'bed "{bed.name}"'
    if bed.cup_test is not None:
        cups = bed.cup_test
        yield place, f"cup test of {cups.on}", f"{len(cups.volumes)} cups"
        yield from quantities(
            place,
            ("time under each emitter", cups.minutes, "duration"),
            ("water caught in all", sum(cups.volumes), "volume"),
        )
    if bed.flow_test is not None:
        test = bed.flow_test
        with_others = f", {len(test.beds)} beds together" if len(test.beds) > 1 else ""
        yield place, f"flow test of {test.on}", f"by {test.method}{with_others}"
        yield from quantities(
            place,
            ("time that it ran", test.minutes, "duration"),
            ("water that it took", test.volume, "volume"),
            ("flow by its newest test", bed.measured_flow, "flow"),
        )


def describe_water_test(test: WaterTest) -> Iterator[Line]:
    """Yield lines on what was tested of the water."""
    if test.ph is not None:
        yield "water_source", "pH", f"{test.ph:g}"
    yield from quantities(
        "water_source",
        ("suspended solids", test.suspended_solids, "concentration"),
        ("dissolved solids", test.dissolved_solids, "concentration"),
        ("hardness as CaCO3", test.hardness, "concentration"),
        ("iron", test.iron, "concentration"),
        ("manganese", test.manganese, "concentration"),
        ("hydrogen sulfide", test.hydrogen_sulfide, "concentration"),
        ("bacteria", test.bacteria, "count"),
    )
