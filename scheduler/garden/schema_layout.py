"""Tables of the plan file on the layout: head assembly, main line, segments, and what to buy beyond it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from scheduler.garden.fields import ElevationText, Quantity, Whole, Words
from scheduler.garden.layout_plan import BackflowKind, HeadKind
from scheduler.garden.schema_base import Table

__all__ = [
    "HeadPartTable",
    "MainLineTable",
    "SegmentFittingsTable",
    "SegmentTable",
    "SketchPoint",
    "TakeoffTable",
]

#: A point of the sketch grid: how far to the right, and how far up.
SketchPoint = Annotated[
    list[Annotated[float, Quantity("length", "6 ft", zero=True)]], Field(min_length=2, max_length=2)
]
_Bore = Annotated[float, Quantity("bore", "0.60 in", "15 mm")]
_Pressure = Annotated[float, Quantity("pressure", "2 psi", "14 kPa", zero=True)]
_Flow = Annotated[float, Quantity("flow", "4 gal/min", "15 L/min")]
_Count = Annotated[int, Whole(1, 100, example="2")]


class HeadPartTable(Table):
    """One part between the tap and the main line, in the order of the water.

    What stands before the timer stands once, what stands after it on each outlet in use.
    """

    part: HeadKind = Field(description="What it is.", examples=["filter"])
    kind: BackflowKind | None = Field(
        default=None, description="Which backflow preventer.", examples=["vacuum breaker"]
    )
    name: Annotated[str, Words("hose with washer")] | None = Field(
        default=None, description="What you call it."
    )
    loss: _Pressure | None = Field(default=None, description="Pressure that it takes at the flow at_flow.")
    at_flow: _Flow | None = Field(default=None, description="Flow at which it takes that pressure.")
    height: Annotated[float, ElevationText("4 in", "-10 in")] | None = Field(
        default=None, description="Height above the tap outlet; a minus sign means below it."
    )
    mesh: Annotated[int, Whole(10, 600, example="150")] | None = Field(
        default=None, description="Mesh of a filter's screen: threads per inch."
    )
    opening: Annotated[float, Quantity("bore", "0.1 mm")] | None = Field(
        default=None, description="Opening of a filter's screen, in place of its mesh."
    )
    set_pressure: Annotated[float, Quantity("pressure", "25 psi", "1.7 bar")] | None = Field(
        default=None, description="Pressure that a regulator holds behind it."
    )
    lowest_flow: Annotated[float, Quantity("flow", "6 gal/h", "0.1 gal/min")] | None = Field(
        default=None, description="Least flow at which a regulator holds its pressure."
    )
    highest_flow: Annotated[float, Quantity("flow", "8 gal/min", "30 L/min")] | None = Field(
        default=None, description="Most flow at which a regulator holds its pressure."
    )


class MainLineTable(Table):
    """The tube from the head assembly past the beds, laid along the sketch grid."""

    start: SketchPoint = Field(
        description="Where the head assembly stands on the sketch grid: right, up.",
        examples=[["0 ft", "0 ft"]],
    )
    order: Annotated[list[Annotated[str, Words("tall bed")]], Field(min_length=1, max_length=500)] | None = (
        Field(
            default=None,
            description="Beds in the order in which the main reaches them; that of the plan if left out.",
            examples=[["tall bed", "low bed"]],
        )
    )
    inside_diameter: _Bore = Field(description="Its inside diameter, not its nominal size.")
    material: Annotated[str, Words("polyethylene")] = Field(
        default="polyethylene", description="What it is made of."
    )
    height: Annotated[float, ElevationText("-18 in", "0 ft")] | None = Field(
        default=None, description="Height of the tube above the tap outlet; a minus sign means below it."
    )


class SegmentFittingsTable(Table):
    """Fittings along one segment, each with how many."""

    elbow: _Count | None = Field(default=None, description="Elbows.")
    tee: _Count | None = Field(default=None, description="Tees that the water goes straight through.")
    coupling: _Count | None = Field(default=None, description="Couplings of two pieces of tube.")
    reducer: _Count | None = Field(default=None, description="Reducers from a wider tube.")


class SegmentTable(Table):
    """One named piece of main line; the segments of a zone stand in place of its part of the main line."""

    name: Annotated[str, Words("along the fence")] = Field(description="Name of the segment.")
    start: Annotated[str, Words("outlet 1", "corner tee")] = Field(
        alias="from", description="Where the water comes from: an outlet, a junction of any name, or a bed."
    )
    end: Annotated[str, Words("corner tee", "tall bed")] = Field(
        alias="to", description="Where it goes: a junction, or the bed whose riser it is."
    )
    length: Annotated[float, Quantity("length", "12 ft", "3.6 m")] = Field(description="Length of the tube.")
    inside_diameter: _Bore = Field(description="Its inside diameter, not its nominal size.")
    rise: Annotated[float, ElevationText("30 in", "0 ft", "-10 in")] = Field(
        default=0.0, description="How far its end lies above its beginning; a minus sign means below it."
    )
    fittings: SegmentFittingsTable | None = Field(
        default=None, description="Fittings along it.", examples=[{"elbow": 2}]
    )
    at: SketchPoint | None = Field(
        default=None,
        description="Where its end lies on the sketch grid: right, up.",
        examples=[["6 ft", "3 ft"]],
    )


class TakeoffTable(Table):
    """What to buy beyond the drawing."""

    spare: Annotated[float, Quantity("ratio", "10 %", zero=True)] | None = Field(
        default=None, description="Share of tube and small parts to spare."
    )
    stake_spacing: Annotated[float, Quantity("length", "3 ft", "1 m")] | None = Field(
        default=None, description="Most tube between two stakes."
    )
