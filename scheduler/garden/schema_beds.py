"""Tables of the plan file on beds: drip lines, zones, beds, plantings and cup tests."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import Field

from scheduler.garden.fields import Day, Number, Quantity, Whole, Words
from scheduler.garden.plan import NeedRule, Shape, ZoneRule
from scheduler.garden.schema_base import Table

__all__ = ["BedTable", "CoefficientTable", "CupTestTable", "DripTable", "PlantingTable", "ZoneTable"]

_Length = Annotated[float, Quantity("length", "8 ft", "4 ft 6 in", "2.4 m")]
_Corner = Annotated[
    list[Annotated[float, Quantity("length", "6 ft", zero=True)]], Field(min_length=2, max_length=2)
]
_Kc = Annotated[float, Number(0.1, 1.6, example="1.05")]


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


class ZoneTable(Table):
    """One timer outlet and the beds behind it."""

    name: Annotated[str, Words("north side")] = Field(description="Name of the zone.")
    outlet: Annotated[int, Whole(1, 64, example="1")] = Field(description="Number of the timer outlet.")
    rule: ZoneRule = Field(
        description="Whose need sets the common run: the driest bed, or the mean by area.",
        examples=["driest bed"],
    )


class CoefficientTable(Table):
    """Your own single crop coefficients, with their source."""

    initial: _Kc = Field(description="Coefficient of the initial stage.")
    mid: _Kc = Field(description="Coefficient of the mid-season stage.")
    late: _Kc = Field(description="Coefficient at the end of the late stage.")
    source: Annotated[str, Words("trial at the county garden, 2024")] = Field(
        description="Where the three figures come from."
    )


class PlantingTable(Table):
    """One crop in one bed."""

    crop: Annotated[str, Words("tomato")] = Field(description="Name of the crop.")
    planted: Annotated[date, Day("2026-05-12")] = Field(description="First day in the ground.")
    removed: Annotated[date, Day("2026-10-02")] = Field(description="Day it is taken out.")
    share: Annotated[float, Quantity("ratio", "50 %")] = Field(
        default=1.0, description="Part of the bed's area that it takes up."
    )
    stages: (
        Annotated[
            list[Annotated[float, Quantity("days", "20 days", zero=True)]], Field(min_length=4, max_length=4)
        ]
        | None
    ) = Field(
        default=None,
        description="Days of the initial, development, mid-season and late stage.",
        examples=[["20 days", "30 days", "40 days", "10 days"]],
    )
    crop_coefficients: CoefficientTable | None = Field(
        default=None, description="Your own coefficients in place of the published ones."
    )
    root_depth: Annotated[float, Quantity("length", "12 in", "30 cm")] | None = Field(
        default=None, description="Greatest rooting depth, not below the bed's soil."
    )
    depletion_fraction: Annotated[float, Quantity("ratio", "40 %", "0.4")] | None = Field(
        default=None, description="Part of the held water that the crop can draw before it is short."
    )
    height: Annotated[float, Quantity("length", "3 ft", "60 cm")] | None = Field(
        default=None, description="Greatest height of the crop."
    )
    staked: bool = Field(default=False, description="True for plants on stakes or a trellis.")


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
    long: bool = Field(default=False, description="True confirms a side longer than 60 ft.")
    planting: list[PlantingTable] = Field(default_factory=list, description="What grows in the bed.")


class CupTestTable(Table):
    """Water caught in cups under some emitters of one bed."""

    bed: Annotated[str, Words("tall bed")] = Field(description="Name of the bed.")
    on: Annotated[date, Day("2026-04-20")] = Field(description="Day of the test.")
    minutes: Annotated[float, Quantity("duration", "1 min", "90 s")] = Field(
        description="How long each cup was held under its emitter."
    )
    volumes: Annotated[
        list[Annotated[float, Quantity("volume", "38 mL", zero=True)]], Field(min_length=4, max_length=1000)
    ] = Field(
        description="Water in each cup; eight cups or more from both ends of the bed.",
        examples=[["38 mL", "36 mL", "39 mL", "37 mL"]],
    )
