"""Tables of the plan file on what was measured at the beds: cup tests and flow tests."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import Field

from scheduler.garden.fields import Day, Quantity, Words
from scheduler.garden.schema_base import Table

__all__ = ["CupTestTable", "FlowTestTable"]

_Reading = Annotated[float, Quantity("volume", "51234.5 gal", "193.942 m3", zero=True)]


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


class FlowTestTable(Table):
    """Water that a bed took in a measured time: caught in a bucket, or read from the meter."""

    bed: Annotated[str, Words("tall bed")] | None = Field(
        default=None, description="Name of the bed, whose valve alone was open."
    )
    beds: Annotated[list[Annotated[str, Words("tall bed")]], Field(min_length=2, max_length=50)] | None = (
        Field(
            default=None,
            description="In place of bed: beds of one zone that were measured together.",
            examples=[["tall bed", "bean row"]],
        )
    )
    on: Annotated[date, Day("2026-05-30")] = Field(description="Day of the test.")
    minutes: Annotated[float, Quantity("duration", "10 min", "90 s")] = Field(
        description="How long the water ran."
    )
    volume: Annotated[float, Quantity("volume", "12 L", "3 gal")] | None = Field(
        default=None, description="All water that the bed gave in that time, caught in a bucket."
    )
    meter_from: _Reading | None = Field(
        default=None, description="In place of volume: the meter before, while the house draws nothing."
    )
    meter_to: _Reading | None = Field(default=None, description="The meter after.")
