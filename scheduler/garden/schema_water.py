"""Tables of the plan file on tap, timer, allowed hours and bill."""

from __future__ import annotations

from datetime import date, time
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field

from scheduler.garden.fields import Clock, Day, Number, Quantity, Whole, WholeUnits, Words
from scheduler.garden.fields_money import (
    Billed,
    BilledVolume,
    BillingUnit,
    Money,
    MonthName,
    Percent,
    PeriodLength,
    PeriodText,
    Price,
    UnitPrice,
)
from scheduler.garden.plan import Weekday
from scheduler.garden.schema_base import Table

__all__ = [
    "BlockTable",
    "HouseholdTable",
    "RestrictionTable",
    "SewerTable",
    "TariffTable",
    "TimerTable",
    "WaterSourceTable",
    "WindowTable",
]

_Days = Annotated[list[Weekday], Field(min_length=1, max_length=7)]
_Minutes = Annotated[int, WholeUnits("duration", "1 min", "120 min")]
_Flow = Annotated[float, Quantity("flow", "5 gal/min", "19 L/min")]


class WaterSourceTable(Table):
    """The tap, as measured with a bucket and a watch."""

    flow: _Flow = Field(description="Bucket test while the house draws no water.")
    flow_house_busy: _Flow | None = Field(
        default=None, description="The same while a shower or a washing machine runs."
    )
    usable: Annotated[float, Quantity("ratio", "75 %")] | None = Field(
        default=None, description="Part of the flow to plan on; an open bucket overstates it."
    )
    static_pressure: Annotated[float, Quantity("pressure", "48 psi", "3.3 bar")] | None = Field(
        default=None, description="Pressure at the tap with no flow."
    )
    salinity: Annotated[float, Quantity("salinity", "0.5 dS/m", zero=True)] | None = Field(
        default=None, description="Electrical conductivity from a water test."
    )
    leaching_fraction: Annotated[float, Quantity("ratio", "15 %")] | None = Field(
        default=None,
        description="Part of all water that has drained below the roots over years; with the salinity of the "
        "water it tells that of the soil.",
    )
    suspended_solids: Annotated[float, Quantity("concentration", "30 mg/L", zero=True)] | None = Field(
        default=None, description="Water test: sand, silt and other solids that a filter would hold."
    )
    dissolved_solids: Annotated[float, Quantity("concentration", "350 mg/L", zero=True)] | None = Field(
        default=None, description="Water test: all that is dissolved."
    )
    hardness: Annotated[float, Quantity("concentration", "120 mg/L", "7 gpg", zero=True)] | None = Field(
        default=None, description="Water test: hardness as CaCO3."
    )
    iron: Annotated[float, Quantity("concentration", "0.1 mg/L", zero=True)] | None = Field(
        default=None, description="Water test: iron."
    )
    manganese: Annotated[float, Quantity("concentration", "0.05 mg/L", zero=True)] | None = Field(
        default=None, description="Water test: manganese."
    )
    hydrogen_sulfide: Annotated[float, Quantity("concentration", "0.1 mg/L", zero=True)] | None = Field(
        default=None, description="Water test: hydrogen sulfide, which smells of rotten eggs."
    )
    ph: Annotated[float, Number(0, 14, example="7.2")] | None = Field(
        default=None, description="Water test: pH."
    )
    bacteria: Annotated[float, Quantity("count", "2000 per mL", "500 CFU/100 mL", zero=True)] | None = Field(
        default=None, description="Water test: bacteria in a volume."
    )
    temperature: Annotated[float, Quantity("temperature", "60 degF", "15 degC", zero=True)] | None = Field(
        default=None, description="Temperature of the water: cold water flows less easily in thin line."
    )


class TimerTable(Table):
    """What the timer can hold."""

    outlets: Annotated[int, Whole(1, 64, example="4")] = Field(description="Number of outlets.")
    starts_per_day: Annotated[int, Whole(1, 96, example="3")] = Field(
        description="How many starts a day each outlet can hold."
    )
    step: _Minutes = Field(description="Smallest step of a run time.")
    shortest_run: _Minutes | None = Field(default=None, description="Shortest run; the step if left out.")
    longest_run: _Minutes = Field(description="Longest run.")
    day_choices: (
        Annotated[list[Literal["weekdays", "every n days"]], Field(min_length=1, max_length=2)] | None
    ) = Field(default=None, description="How the timer lets you choose days; both if left out.")
    longest_interval: Annotated[int, WholeUnits("days", "7 days")] | None = Field(
        default=None, description="Most days from one watering day to the next."
    )
    one_zone_at_a_time: bool = Field(default=True, description="Whether zones may never run together.")


class WindowTable(Table):
    """Hours in which water may run; an end at or before the start lies on the next day."""

    days: _Days | None = Field(default=None, description="Days on which it opens; all if left out.")
    begin: Annotated[time, Clock("05:00:00")] = Field(alias="from", description="When it opens.")
    until: Annotated[time, Clock("09:00:00")] = Field(alias="to", description="When it closes.")


class RestrictionTable(Table):
    """A limit on watering as you know it; whether it applies to you is your entry too."""

    reason: Annotated[str, Words("summer order")] = Field(default="", description="Who asks for it, and why.")
    begins: Annotated[date, Day("2026-07-01")] = Field(description="First day it holds.")
    ends: Annotated[date, Day("2026-09-15")] = Field(description="Last day it holds.")
    days: Annotated[list[Weekday], Field(max_length=7)] | None = Field(
        default=None, description="Days on which you may water; all if left out, none if empty."
    )
    begin: Annotated[time, Clock("20:00:00")] | None = Field(
        default=None, alias="from", description="Hour from which you may water."
    )
    until: Annotated[time, Clock("06:00:00")] | None = Field(
        default=None, alias="to", description="Hour until which you may water."
    )
    exempt: Literal["yes", "no", "unknown"] | None = Field(
        default=None, description="Whether drip or food beds are exempt, as far as you know."
    )
    asked_on: Annotated[date, Day("2026-06-20")] | None = Field(
        default=None, description="Day on which you asked about it or read it."
    )


class BlockTable(Table):
    """One price block."""

    up_to: Annotated[Billed, BilledVolume("7 CCF", "3000 gal")] | None = Field(
        default=None, description="Upper end of the block a period; left out on the last one."
    )
    price: Annotated[UnitPrice, Price("2.10 per CCF", "4.20 per 1000 gal")] = Field(
        description="Price of water in the block."
    )


class SewerTable(Table):
    """How sewer is charged on water."""

    rule: Literal["none", "all water", "winter average", "cap"] = Field(
        description="Which water pays for sewer.", examples=["winter average"]
    )
    price: Annotated[UnitPrice, Price("3.40 per CCF")] | None = Field(
        default=None, description="Sewer price of water."
    )
    fixed_charge: Annotated[Decimal, Money("12.00")] | None = Field(
        default=None, description="Sewer charge a period whatever the use."
    )
    winter_average: Annotated[Billed, BilledVolume("6 CCF")] | None = Field(
        default=None, description="Your winter average a period, as the bill states it."
    )
    cap: Annotated[Decimal, Percent("150 %", highest=1000)] | None = Field(
        default=None, description="Highest sewer use, in percent of the winter average."
    )
    averaging_months: (
        Annotated[list[Annotated[int, MonthName("Dec", "Jan", "Feb")]], Field(min_length=1, max_length=12)]
        | None
    ) = Field(
        default=None, description="Months that make the winter average.", examples=[["Dec", "Jan", "Feb"]]
    )


class TariffTable(Table):
    """Water prices, as the bill prints them."""

    currency: Annotated[str, Words("USD")] = Field(description="Currency of the bill.")
    unit: Annotated[str, BillingUnit("CCF", "kgal", "gal", "m3", "L")] = Field(
        description="Unit in which the bill counts water."
    )
    whole_units: bool = Field(
        description="True if meter readings are cut down to whole units.", examples=[True]
    )
    period: Annotated[PeriodLength, PeriodText("1 month", "2 months", "33 days")] = Field(
        description="Time from bill to bill."
    )
    first_reading: Annotated[date, Day("2026-01-15")] = Field(
        description="A day on which the meter was read."
    )
    fixed_charge: Annotated[Decimal, Money("9.40")] = Field(description="Charge whatever the use.")
    fixed_per_days: Annotated[int, Whole(1, 366, example="30")] | None = Field(
        default=None, description="Days the fixed charge holds for, if it grows with the period."
    )
    blocks_per_days: Annotated[int, Whole(1, 366, example="30")] | None = Field(
        default=None, description="Days the block widths hold for, if they grow with the period."
    )
    block: list[BlockTable] = Field(default_factory=list, description="Price blocks, from the first upward.")
    sewer: SewerTable | None = Field(default=None, description="Sewer charge on water.")
    tax: Annotated[Decimal, Percent("5 %", highest=100)] | None = Field(
        default=None, description="Tax on the whole bill."
    )


class HouseholdTable(Table):
    """The rest of the house on the same meter."""

    use_per_day: Annotated[float, Quantity("volume", "180 gal", "680 L", zero=True)] = Field(
        description="What the house uses a day without the garden."
    )
    meter_reading: Annotated[float, Quantity("volume", "412.37 CCF", zero=True)] | None = Field(
        default=None, description="What the meter showed on the day of the first reading."
    )
