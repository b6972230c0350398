"""The layout told back line by line in both unit systems."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.garden.describe_lines import Line, quantities
from scheduler.garden.layout_plan import HeadPart, MainLine, Segment
from scheduler.garden.plan import Bed, DripLine, Garden
from scheduler.garden.units import both_systems

__all__ = ["describe_drip_layout", "describe_layout", "describe_place"]

Point = tuple[float, float]


def describe_drip_layout(place: str, drip: DripLine) -> Iterator[Line]:
    """Yield lines on the bore of a drip line and on the pressures its emitters ask for."""
    yield from quantities(
        place,
        ("inside diameter", drip.inside_diameter, "bore"),
        ("smallest passage of an emitter", drip.passage, "bore"),
        ("opens at a pressure of", drip.opening_pressure, "pressure"),
        ("flow holds from a pressure of", drip.lowest_pressure, "pressure"),
        ("flow holds to a pressure of", drip.highest_pressure, "pressure"),
    )


def describe_place(bed: Bed) -> Iterator[Line]:
    """Yield lines on where a bed lies and how its water comes in; none in a plan without a layout."""
    place, where = bed.place, f'bed "{bed.name}"'
    if place is None:
        return
    if place.position is not None:
        what = "centre on the sketch" if bed.shape == "circle" else "corner on the sketch"
        yield where, f"{what}, right and up", _point(place.position)
        if place.rotation:
            yield where, "turned anticlockwise by", f"{place.rotation:g} degrees"
    yield where, "riser comes up at the", place.inlet
    yield from _heights(where, ("rim, from the tap outlet", place.rim_height))
    yield from quantities(
        where,
        ("inside diameter of riser and header", place.header_diameter, "bore"),
        ("loss of its hand valve", place.valve_loss, "pressure"),
        ("at a flow of", place.valve_loss_at, "flow"),
    )


def describe_layout(garden: Garden) -> Iterator[Line]:
    """Yield lines on head assembly, main line, segments and takeoff."""
    layout = garden.layout
    if layout is None:
        return
    for number, part in enumerate(layout.head, start=1):
        yield from _part(f"head {number}", part)
    if layout.main_line is not None:
        yield from _main(layout.main_line)
    for segment in layout.segments:
        yield from _segment(segment)
    yield from quantities("takeoff", ("to spare", layout.takeoff.spare, "ratio"))
    yield from quantities("takeoff", ("a stake every", layout.takeoff.stake_spacing, "length"))


def _part(where: str, part: HeadPart) -> Iterator[Line]:
    yield where, "part", part.label
    if part.mesh is not None:
        yield where, "mesh", str(part.mesh)
    yield from quantities(
        where,
        ("loss", part.loss, "pressure"),
        ("at a flow of", part.at_flow, "flow"),
        ("opening of its screen", part.opening, "bore"),
        ("pressure that it holds", part.set_pressure, "pressure"),
        ("from a flow of", part.lowest_flow, "flow"),
        ("to a flow of", part.highest_flow, "flow"),
    )
    yield from _heights(where, ("height, from the tap outlet", part.height))


def _main(main: MainLine) -> Iterator[Line]:
    yield "main_line", "start on the sketch, right and up", _point(main.start)
    yield "main_line", "order", ", ".join(main.order)
    yield from quantities(
        "main_line",
        ("inside diameter", main.inside_diameter, "bore"),
    )
    yield from _heights("main_line", ("height, from the tap outlet", main.height))
    yield "main_line", "material", main.material


def _segment(segment: Segment) -> Iterator[Line]:
    where = f'segment "{segment.name}"'
    yield where, "from and to", f"{segment.start} to {segment.end}"
    yield from quantities(
        where,
        ("length", segment.length, "length"),
        ("inside diameter", segment.inside_diameter, "bore"),
    )
    yield from _heights(where, ("its end, from its beginning", segment.rise))
    for kind, count in segment.fittings:
        yield where, kind, str(count)
    if segment.at is not None:
        yield where, "end on the sketch, right and up", _point(segment.at)


def _heights(where: str, *entries: tuple[str, float | None]) -> Iterator[Line]:
    """Yield a line for each height that the plan has, with its side in words in place of a sign."""
    for what, height in entries:
        if height is not None:
            side = "below" if height < 0 else "above"
            yield where, what, f"{both_systems(abs(height), 'length')} {side}"


def _point(point: Point) -> str:
    return ", ".join(both_systems(value, "length") for value in point)
