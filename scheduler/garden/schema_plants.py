"""Tables of the plan file on what grows: plantings, their coefficients and stages."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import Field

from scheduler.garden.fields import Day, Number, Quantity, Words
from scheduler.garden.schema_base import Table

__all__ = ["BasalTable", "CoefficientTable", "HeatTable", "PlantingTable"]

_Kc = Annotated[float, Number(0.1, 1.6, example="1.05")]
_Kcb = Annotated[float, Number(0.05, 1.5, example="1.0")]
_Heat = Annotated[float, Quantity("degree_days", "150 degC d", "270 degF d", zero=True)]


class CoefficientTable(Table):
    """Your own single crop coefficients, with their source."""

    initial: _Kc = Field(description="Coefficient of the initial stage.")
    mid: _Kc = Field(description="Coefficient of the mid-season stage.")
    late: _Kc = Field(description="Coefficient at the end of the late stage.")
    source: Annotated[str, Words("trial at the county garden, 2024")] = Field(
        description="Where the three figures come from."
    )


class BasalTable(Table):
    """Your own basal crop coefficients: use of the crop alone, over soil with a dry surface."""

    initial: _Kcb = Field(description="Coefficient of the initial stage.")
    mid: _Kcb = Field(description="Coefficient of the mid-season stage.")
    late: _Kcb = Field(description="Coefficient at the end of the late stage.")
    source: Annotated[str, Words("trial at the county garden, 2024")] = Field(
        description="Where the three figures come from."
    )


class HeatTable(Table):
    """Growth stages by degree-days, in place of days."""

    base: Annotated[float, Quantity("temperature", "10 degC", "50 degF", zero=True)] = Field(
        description="Temperature below which the crop does not grow."
    )
    upper: Annotated[float, Quantity("temperature", "30 degC", "86 degF", zero=True)] | None = Field(
        default=None, description="Temperature above which more heat does not count."
    )
    initial: _Heat = Field(description="Degree-days of the initial stage.")
    development: _Heat = Field(description="Degree-days of the development stage.")
    mid: _Heat = Field(description="Degree-days of the mid-season stage.")
    late: _Heat = Field(description="Degree-days of the late stage.")


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
    basal_coefficients: BasalTable | None = Field(
        default=None, description="Your own basal coefficients in place of the published ones."
    )
    yield_response: Annotated[float, Number(0.1, 2, example="1.05")] | None = Field(
        default=None, description="Part of yield lost per part of water use lost, over the season."
    )
    ground_cover: Annotated[float, Quantity("ratio", "60 %")] | None = Field(
        default=None, description="Part of its own area that a sparse stand shades at noon in mid-season."
    )
    heat_stages: HeatTable | None = Field(
        default=None, description="Growth stages by degree-days, in place of stages in days."
    )
    keep_surface_wet: Annotated[float, Quantity("days", "12 days")] | None = Field(
        default=None, description="Days after sowing for which the surface must stay wet."
    )
    establishing: Annotated[float, Quantity("days", "10 days")] | None = Field(
        default=None, description="Days after planting out in which the roots take hold."
    )
