"""Tables of the plan file on the place: head, site, weather, soil, planning and uncertainty."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from scheduler.garden.fields import Day, DepletionText, ElevationText, Quantity, Whole, Words
from scheduler.garden.fields_links import Contact, FileName
from scheduler.garden.plan import Coefficient
from scheduler.garden.schema_base import ColumnTable, Table
from scheduler.garden.schema_links import SourceTable

__all__ = [
    "FillTable",
    "HeadTable",
    "PlanningTable",
    "SiteTable",
    "SoilStateTable",
    "SoilTable",
    "UncertaintyTable",
    "WeatherTable",
]

_Share = Annotated[float, Quantity("ratio", "50 %", zero=True)]
_Spread = Annotated[float, Quantity("ratio", "10 %", zero=True)]


class HeadTable(Table):
    """Keys that stand before the first table."""

    format: Annotated[int, Whole(1, 1, example="1")] = Field(description="Version of this file format: 1.")
    name: Annotated[str, Words("Kitchen garden")] = Field(description="Name of the garden.")
    note: Annotated[str, Words("Second year of the new beds")] = Field(
        default="", description="Anything worth remembering."
    )
    ledger: Annotated[str, FileName("garden.ledger.sqlite")] | None = Field(
        default=None, description="File that keeps what happened, seen from the folder of this plan."
    )


class SiteTable(Table):
    """Where the garden lies."""

    latitude: Annotated[float, Quantity("latitude", "44.6 N", "22 deg 54 min S", zero=True)] = Field(
        description="Degrees with N or S; sets how much sun reaches the garden."
    )
    longitude: Annotated[float, Quantity("longitude", "12.1 W", zero=True)] | None = Field(
        default=None, description="Degrees with E or W; weather services ask for it."
    )
    elevation: Annotated[float, ElevationText("230 ft", "70 m")] = Field(
        description="Height above sea level; a minus sign means below it."
    )
    timezone: Annotated[str, Words("Etc/GMT+8")] = Field(
        description="Name of the time zone in the IANA list, for the dates of runs."
    )


class FillTable(Table):
    """Which gaps of the weather record may be filled; whatever is filled is marked in every answer."""

    gaps: Literal["refuse", "mean of neighbours", "long-term mean"] = Field(
        default="refuse", description="What to do about days without temperatures."
    )
    humidity: Literal["refuse", "dew point from tmin"] = Field(
        default="refuse", description="What to do without a measured humidity."
    )
    dew_point_below_tmin: (
        Annotated[float, Quantity("temperature_difference", "2 degC", "3 degF", zero=True)] | None
    ) = Field(default=None, description="How far the dew point lies below the night's lowest temperature.")
    radiation: Literal["refuse", "from temperature"] = Field(
        default="refuse", description="What to do without measured sunshine or radiation."
    )
    radiation_site: Literal["inland", "coast"] | None = Field(
        default=None, description="Whether the garden lies inland or on a coast."
    )
    wind: Annotated[float, Quantity("speed", "2 m/s", "4.5 mph")] | None = Field(
        default=None, description="Wind to take at 2 m height on days without a measured one."
    )
    rain: Literal["refuse", "count as none"] = Field(
        default="refuse", description="What to do without a measured rain."
    )
    method: Literal["penman-monteith", "temperature only"] = Field(
        default="penman-monteith", description="Which equation gives the reference evapotranspiration."
    )


class WeatherTable(Table):
    """Which weather record the plan reads."""

    file: Annotated[str, Words("weather.csv")] | None = Field(
        default=None, description="The record, seen from the folder of this plan; needed without a source."
    )
    wind_height: Annotated[float, Quantity("length", "10 ft", "3 m")] | None = Field(
        default=None, description="Height of the wind sensor above the ground."
    )
    columns: dict[str, ColumnTable] = Field(
        default_factory=dict, description="Columns whose header does not say what they hold."
    )
    fill: FillTable = Field(default_factory=FillTable, description="Which gaps may be filled.")
    contact: Annotated[str, Contact("name@example.org")] | None = Field(
        default=None, description="Your address: services over the network ask who is calling."
    )
    source: list[SourceTable] = Field(
        default_factory=list, description="Sources to fetch weather from, the most trusted first."
    )


class SoilTable(Table):
    """One soil mix: a texture of the published table, or your own two figures."""

    texture: Annotated[str, Words("sandy loam")] | None = Field(
        default=None, description="A soil texture; the middle of the published range is taken."
    )
    field_capacity: Annotated[float, Quantity("ratio", "32 %")] | None = Field(
        default=None, description="Water by volume that the mix still holds a day after a soaking."
    )
    wilting_point: Annotated[float, Quantity("ratio", "13 %")] | None = Field(
        default=None, description="Water by volume that plants can no longer take up."
    )
    intake_rate: Annotated[float, Quantity("application_rate", "1.2 in/h", "30 mm/h")] | None = Field(
        default=None, description="How fast the mix takes in water; a line that is faster is told."
    )
    readily_evaporable_water: Annotated[float, Quantity("water_depth", "8 mm", "0.3 in")] | None = Field(
        default=None, description="Water that the bare top 10 cm loses at full speed after a wetting."
    )
    total_evaporable_water: Annotated[float, Quantity("water_depth", "18 mm", "0.7 in")] | None = Field(
        default=None, description="Water that the bare top 10 cm can lose in all."
    )
    salinity: Annotated[float, Quantity("salinity", "1.5 dS/m", zero=True)] | None = Field(
        default=None,
        description="Conductivity of the soil's saturated extract from a soil test; salt then slows crops.",
    )
    source: Annotated[str, Words("supplier's data sheet")] | None = Field(
        default=None, description="Where the figures come from."
    )


class SoilStateTable(Table):
    """What the soil held on one day: the balance starts from here, never from a guess."""

    on: Annotated[date, Day("2026-04-01")] = Field(description="The day you looked.")
    depletion: Annotated[float | Literal["full", "at limit"], DepletionText()] = Field(
        description="Water missing from a full root zone, or full, or at limit (just short of stress)."
    )
    bed: Annotated[str, Words("tall bed")] | None = Field(
        default=None, description="The bed it holds for; all beds without it."
    )
    below_roots: Annotated[float, Quantity("ratio", "30 %", zero=True)] | None = Field(
        default=None,
        description="Part of the available water missing in the soil below the roots; none if left out.",
    )


class PlanningTable(Table):
    """How careful to be; each default is a judgement without a source and is shown as such."""

    reserve: _Share | None = Field(
        default=None, description="Part of the water that plants can draw without stress to keep in hand."
    )
    forecast_rain: _Share | None = Field(default=None, description="Part of forecast rain to count on.")
    normal_rain: _Share | None = Field(
        default=None, description="Part of the long-term mean rain to count on where there is no forecast."
    )
    bare_soil_coefficient: _Share | None = Field(
        default=None,
        description="Water use of bare moist soil as a share of the reference; used by the single "
        "coefficient alone.",
    )
    coefficient: Coefficient = Field(
        default="dual",
        alias="crop_coefficient",
        description="By which crop coefficient to reckon: dual tells the crop from the soil's surface.",
    )


class UncertaintyTable(Table):
    """How far what is reckoned with may lie off: standard uncertainty, in percent of each.

    A value left out is a judgement without a source and is shown as such.
    """

    reference_et: _Spread | None = Field(default=None, description="Of the reference evapotranspiration.")
    crop_coefficient: _Spread | None = Field(default=None, description="Of the crop coefficients.")
    available_water: _Spread | None = Field(default=None, description="Of the water that the soil holds.")
    efficiency: _Spread | None = Field(
        default=None, description="Of the application efficiency, if no cup test."
    )
    flow: _Spread | None = Field(default=None, description="Of the flow of an emitter, if no cup test.")
    rain: _Spread | None = Field(default=None, description="Of the rain that falls on the garden.")
