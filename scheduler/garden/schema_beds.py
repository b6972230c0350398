"""Tables of the plan file on beds: drip lines, zones, beds and their ground."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from scheduler.garden.fields import Day, ElevationText, Number, Quantity, Whole, Words
from scheduler.garden.fields_layout import Turn
from scheduler.garden.layout_plan import Inlet
from scheduler.garden.plan import Mixing, NeedRule, Seedbed, Shape, SunLost, ZoneRule
from scheduler.garden.schema_base import Table
from scheduler.garden.schema_layout import SketchPoint
from scheduler.garden.schema_plants import PlantingTable

__all__ = [
    "BedTable",
    "DripTable",
    "LayerTable",
    "MulchTable",
    "SettledTable",
    "ZoneTable",
]

_Length = Annotated[float, Quantity("length", "8 ft", "4 ft 6 in", "2.4 m")]
_Corner = Annotated[
    list[Annotated[float, Quantity("length", "6 ft", zero=True)]], Field(min_length=2, max_length=2)
]


class DripTable(Table):
    """One kind of drip line; flow follows pressure by the printed flow and the exponent."""

    emitter_flow: Annotated[float, Quantity("flow", "0.6 gal/h", "2 L/h")] = Field(
        description="Printed flow of one emitter."
    )
    at_pressure: Annotated[float, Quantity("pressure", "20 psi", "1.4 bar")] = Field(
        description="Pressure at which the printed flow holds."
    )
    exponent: Annotated[float, Number(0, 1, example="0.5")] = Field(
        description="How flow follows pressure: 0 for pressure-compensating, near 0.5 for others."
    )
    emitter_spacing: Annotated[float, Quantity("length", "6 in", "30 cm")] = Field(
        description="Distance from emitter to emitter along the line."
    )
    manufacturing_variation: Annotated[float, Quantity("ratio", "5 %", zero=True)] | None = Field(
        default=None, description="Coefficient of variation of new emitters, if the maker prints it."
    )
    efficiency: Annotated[float, Quantity("ratio", "90 %", "0.9")] | None = Field(
        default=None, description="Part of the water that reaches the roots; leave out to let it follow."
    )
    inside_diameter: Annotated[float, Quantity("bore", "0.17 in", "4.3 mm")] | None = Field(
        default=None, description="Inside diameter of the line, not its nominal size."
    )
    opening_pressure: Annotated[float, Quantity("pressure", "5 psi", "35 kPa")] | None = Field(
        default=None, description="Pressure below which a compensating emitter stays shut."
    )
    lowest_pressure: Annotated[float, Quantity("pressure", "10 psi", "70 kPa")] | None = Field(
        default=None, description="Least pressure at which its flow holds; the range of a compensating one."
    )
    highest_pressure: Annotated[float, Quantity("pressure", "50 psi", "350 kPa")] | None = Field(
        default=None, description="Most pressure at which its flow holds."
    )
    passage: Annotated[float, Quantity("bore", "0.03 in", "0.7 mm")] | None = Field(
        default=None, description="Smallest opening that the water passes in an emitter."
    )


class ZoneTable(Table):
    """One timer outlet and the beds behind it."""

    name: Annotated[str, Words("north side")] = Field(description="Name of the zone.")
    outlet: Annotated[int, Whole(1, 64, example="1")] = Field(description="Number of the timer outlet.")
    rule: ZoneRule = Field(
        description="Whose need sets the common run: the driest bed, or the mean by area.",
        examples=["driest bed"],
    )


class LayerTable(Table):
    """One layer of a bed, from top to bottom: a soil mix, or a fill below the soil."""

    soil: Annotated[str, Words("raised mix")] | None = Field(
        default=None, description="Name of its soil mix; the topmost layer's is the bed's own."
    )
    fill: Literal["wood", "rubble"] | None = Field(
        default=None, description="What lies below the soil, in place of a mix.", examples=["wood"]
    )
    depth: Annotated[float, Quantity("length", "8 in", "20 cm")] = Field(description="Its thickness.")
    available_water: Annotated[float, Quantity("ratio", "5 %", zero=True)] | None = Field(
        default=None, description="Water by volume that plants can draw from a fill; none if left out."
    )


class SettledTable(Table):
    """A later depth of the soil: it settles, and is topped up."""

    on: Annotated[date, Day("2027-04-01")] = Field(description="Day from which it holds.")
    soil_depth: Annotated[float, Quantity("length", "12 in", "30 cm")] = Field(
        description="Depth of the soil from that day on."
    )


class MulchTable(Table):
    """What lies on the soil of a bed."""

    kind: Literal["organic", "plastic"] = Field(
        description="Straw, leaves or chips, or a film.", examples=["organic"]
    )
    cover: Annotated[float, Quantity("ratio", "80 %")] = Field(description="Part of the soil that it covers.")
    begins: Annotated[date, Day("2026-06-01")] | None = Field(
        default=None, alias="from", description="First day that it lies; all along if left out."
    )
    ends: Annotated[date, Day("2026-10-15")] | None = Field(
        default=None, alias="to", description="Last day that it lies; to the end if left out."
    )
    holes: Annotated[float, Quantity("ratio", "5 %", zero=True)] | None = Field(
        default=None, description="Part of the film that is holes through which water evaporates."
    )


class BedTable(Table):
    """One raised bed with its drip line and what grows in it."""

    name: Annotated[str, Words("tall bed")] = Field(description="Name of the bed.")
    zone: Annotated[str, Words("north side")] = Field(description="Name of its zone.")
    soil: Annotated[str, Words("raised mix")] = Field(description="Name of its soil mix.")
    shape: Shape = Field(description="Shape of the inside.", examples=["rectangle"])
    length: _Length | None = Field(default=None, description="Inside length; over all for rounded ends.")
    width: _Length | None = Field(default=None, description="Inside width.")
    diameter: _Length | None = Field(default=None, description="Inside diameter of a round bed.")
    corners: Annotated[list[_Corner], Field(min_length=3, max_length=200)] | None = Field(
        default=None,
        description="Corners in order round the bed: pairs of distances from two walls at a right angle.",
        examples=[[["0 ft", "0 ft"], ["6 ft", "0 ft"], ["6 ft", "3 ft"]]],
    )
    soil_depth: Annotated[float, Quantity("length", "14 in", "35 cm")] = Field(
        description="Depth of soil above any wood or rubble fill."
    )
    drip: Annotated[str, Words("six inch line")] = Field(description="Name of its drip line.")
    runs: Annotated[int, Whole(1, 200, example="2")] | None = Field(
        default=None, description="Number of lines along the bed."
    )
    end_gap: Annotated[float, Quantity("length", "3 in", "8 cm", zero=True)] | None = Field(
        default=None, description="Gap between the end of a run and the wall; 3 in if left out."
    )
    rings: Annotated[list[_Length], Field(min_length=1, max_length=50)] | None = Field(
        default=None, description="Diameters of rings of line.", examples=[["54 in", "26 in"]]
    )
    line_length: _Length | None = Field(default=None, description="Total length of line in the bed.")
    emitters: Annotated[int, Whole(1, 100000, example="38")] | None = Field(
        default=None, description="Number of emitters, counted by you; overrides what the line would give."
    )
    emitter_spacing: Annotated[float, Quantity("length", "12 in", "30 cm")] | None = Field(
        default=None, description="Emitter spacing in this bed, if it differs from the drip line's."
    )
    pressure: Annotated[float, Quantity("pressure", "18 psi", "1.2 bar")] | None = Field(
        default=None, description="Pressure at the emitters, if measured."
    )
    need: NeedRule | None = Field(
        default=None,
        description="Whose need counts in a mixed bed: the mean by area, or the thirstiest plant.",
    )
    position: SketchPoint | None = Field(
        default=None,
        description="Where it lies on the sketch grid, right and up: the centre of a round bed, else the "
        "corner from which length goes right and width goes up.",
        examples=[["4 ft", "6 ft"]],
    )
    rotation: Annotated[float, Turn("90 deg", "30 deg")] | None = Field(
        default=None, description="By how much it is turned about that point, anticlockwise."
    )
    rim_height: Annotated[float, ElevationText("20 in", "-6 in")] | None = Field(
        default=None, description="Top of its boards above the tap outlet; a minus sign means below it."
    )
    inlet: Inlet | None = Field(
        default=None, description="Side or corner where the riser comes up, before the bed is turned."
    )
    header_diameter: Annotated[float, Quantity("bore", "0.60 in", "15 mm")] | None = Field(
        default=None, description="Inside diameter of riser and header; that of the main if left out."
    )
    valve_loss: Annotated[float, Quantity("pressure", "0.5 psi", "3 kPa", zero=True)] | None = Field(
        default=None, description="Pressure that its open hand valve takes at the flow valve_loss_at."
    )
    valve_loss_at: Annotated[float, Quantity("flow", "60 gal/h", "4 L/min")] | None = Field(
        default=None, description="Flow at which the valve takes that pressure."
    )
    long: bool = Field(default=False, description="True confirms a side longer than 60 ft.")
    settled: list[SettledTable] = Field(
        default_factory=list,
        description='Later depths of the soil, each as { on = 2027-04-01, soil_depth = "12 in" }.',
        examples=[[{"on": "2027-04-01", "soil_depth": "12 in"}]],
    )
    wetted_share: Annotated[float, Quantity("ratio", "40 %")] | None = Field(
        default=None, description="Part of the bed's surface that a run wets."
    )
    wetted_width: Annotated[float, Quantity("length", "10 in", "25 cm")] | None = Field(
        default=None, description="Width of the strip that one line wets, in place of wetted_share."
    )
    runs_through_after: Annotated[float, Quantity("duration", "12 min")] | None = Field(
        default=None,
        description="Minutes of a run after which water comes out at the bottom, as you saw it.",
    )
    direct_sun_lost: Annotated[float, Quantity("hours", "3 h", zero=True)] | None = Field(
        default=None, description="Hours of direct sun that walls and trees take on a clear day."
    )
    sun_lost_when: SunLost | None = Field(
        default=None, description="When they take it; in the evening if left out."
    )
    wall_heat: Annotated[float, Quantity("ratio", "15 %", zero=True)] | None = Field(
        default=None,
        description="By how much a warm wall raises water use: your judgement, none if left out.",
    )
    rain_reaching: Annotated[float, Quantity("ratio", "60 %", zero=True)] | None = Field(
        default=None, description="Part of the rain that reaches the bed; all of it if left out."
    )
    isolated_stand_width: Annotated[float, Quantity("length", "4 ft", "1.2 m")] | None = Field(
        default=None, description="Width of a small stand that stands alone in dry surroundings."
    )
    mixing: Mixing | None = Field(
        default=None,
        description="How crops that grow together share the sun: by area, or the taller above the lower.",
    )
    seedbed_water: Seedbed | None = Field(
        default=None, description="How a sown surface is kept wet: by hand, or by runs of the whole bed."
    )
    layer: list[LayerTable] = Field(
        default_factory=list, description="Layers from top to bottom, if the bed holds more than one mix."
    )
    mulch: MulchTable | None = Field(default=None, description="What lies on the soil.")
    planting: list[PlantingTable] = Field(default_factory=list, description="What grows in the bed.")
