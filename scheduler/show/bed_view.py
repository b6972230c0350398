"""One bed's working: every step from the tape measure to the minutes, with its number and source."""

from __future__ import annotations

import math
from datetime import timedelta

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Bed, Garden
from scheduler.season.results import WeekResult
from scheduler.season.supply import BedSupply, garden_supply
from scheduler.show.bed_steps import Steps
from scheduler.show.bed_use import plant_steps, use_steps
from scheduler.show.cup_notes import cup_notes
from scheduler.show.notes import day_text, garden_notes, supply_notes, weather_notes
from scheduler.show.pulse_view import pulse_line, pulse_steps, refill_lines
from scheduler.show.ranges import NeedsRange, input_part, measure_line, needs_range, week_range_note
from scheduler.show.report import Column, Part, Report
from scheduler.show.week_beds import goes_short
from scheduler.show.week_view import weather_rows_of_week
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.runtime import run_time
from scheduler.water.need import gross_irrigation_need
from scheduler.weather.record import DailyWeather

__all__ = ["bed_report"]

COLUMNS = (
    Column("step", "step"),
    Column("quantity", "what"),
    Column("shown", "value"),
    Column("value", ""),
    Column("unit", ""),
    Column("working", "working"),
    Column("source", "source"),
)


def _water_side(steps: Steps, bed: Bed, supply: BedSupply) -> None:
    """Add the steps from bed and drip line to application rate."""
    steps.add("bed area", bed.area, of="area", working=bed.shape_text, source="plan")
    counted = "counted" if bed.emitters_counted else "line length / spacing, whole emitters"
    if bed.line_length is not None:
        steps.add(
            "drip line in the bed", bed.line_length, of="length", working="runs or rings", source="plan"
        )
    steps.add("emitters", bed.emitters, of=None, working=counted, source="plan")
    steps.add("one emitter", supply.emitter_flow, of="flow", working="", source=supply.emitter_flow_source)
    steps.add("bed flow", supply.flow, of="flow", working="emitters x one emitter", source="arithmetic")
    steps.add(
        "application rate", supply.rate, of="application_rate", working="bed flow / area", source="arithmetic"
    )
    steps.add(
        "application efficiency", supply.efficiency, of="ratio", working="", source=supply.efficiency_source
    )


def _soil_side(steps: Steps, bed: Bed, result: WeekResult, number: int, *, crops: int) -> None:
    """Add the steps of the soil's store on the first day of the table."""
    mix, see = bed.soil, result.outlook
    weighted = "" if crops < 2 else f", of {crops} crops by the {bed.need}"
    steps.add(
        "water held, field capacity less wilting point",
        mix.field_capacity - mix.wilting_point,
        of="ratio",
        working=f"{mix.field_capacity:.1%} - {mix.wilting_point:.1%} of volume".replace("%", " %"),
        source=mix.source,
    )
    steps.add("soil depth", bed.soil_depth, of="length", working="above any wood fill", source="plan")
    steps.add(
        "total available water TAW",
        float(see.conditions.taw[0, number]),
        of="water_depth",
        working=f"water held x rooting depth{weighted}",
        source="FAO-56 eq. 82",
    )
    fraction = float(see.conditions.raw[0, number] / see.conditions.taw[0, number])
    steps.add(
        "share that may be used, p",
        fraction,
        of="ratio",
        working=f"table value + 0.04 (5 - Kc x mean reference ET of the week before, mm){weighted}",
        source="FAO-56 Table 22 and its footnote",
    )
    steps.add(
        "readily available water RAW",
        float(see.conditions.raw[0, number]),
        of="water_depth",
        working="p x TAW",
        source="FAO-56 eq. 83",
    )
    steps.add(
        "limit that the table keeps",
        float(result.limit[0, number]),
        of="water_depth",
        working="RAW less the reserve, but room for a day and a half of use, at most 0.8 TAW",
        source="plan, planning; judgement",
    )


def _range_side(steps: Steps, ranges: NeedsRange, number: int) -> None:
    """Add the plausible range of the minutes a run day."""
    for which, value, sign in (("least", ranges.low, "less"), ("greatest", ranges.high, "plus")):
        steps.add(
            f"{which} minutes a run day, eight cases in ten",
            float(value[number]),
            of="duration",
            working=f"the table's, {sign} 1.28 standard uncertainties of the table below",
            source="JCGM 100, eq. 10",
        )


def _minutes_side(steps: Steps, bed: Bed, supply: BedSupply, result: WeekResult, number: int) -> float:
    """Add the steps from deficit to minutes; return the minutes that refill the bed today."""
    leaching = float(result.growth.leaching[0, number])
    deficit = float(result.outlook.depletion[number])
    if leaching > 0.0:
        steps.add(
            "leaching requirement",
            leaching,
            of="ratio",
            working="ECw / (2 max ECe), the most sensitive crop",
            source="FAO-36 form for drip, from memory; FAO-56 Table 23",
        )
    gross = float(gross_irrigation_need(deficit, supply.efficiency, leaching=leaching))
    steps.add(
        "gross depth to refill it",
        gross,
        of="water_depth",
        working="deficit / (efficiency (1 - leaching))",
        source="microirrigation handbooks",
    )
    minutes = float(run_time(gross, supply.rate))
    steps.add(
        "minutes to refill it now",
        minutes,
        of="duration",
        working="60 x gross depth / application rate",
        source="arithmetic",
    )
    setting = next(s for s in result.plan.settings if s.zone == bed.zone)
    starts = max(1, len(setting.begins))
    steps.add(
        "minutes a run day in this week's table",
        float(result.plan.bed_minutes[number]),
        of="duration",
        working=f"{setting.days}; "
        + (
            "all that these days, hours and runs can give it; it needs more"
            if goes_short(result, number, setting)
            else "fewest whole minutes that keep it within its limit"
        )
        + (f", all {starts} starts of the day together" if starts > 1 else ""),
        source="search over the timer's settings",
    )
    return minutes


def bed_report(
    garden: Garden, daily: DailyWeather, *, result: WeekResult, name: str, system: System
) -> Report:
    """Return the working of one bed for the week as a report; `name` is a bed of the garden."""
    number = next(i for i, bed in enumerate(garden.beds) if bed.name == name)
    bed = garden.beds[number]
    supply = garden_supply(garden)[number]
    steps = Steps(system)
    _water_side(steps, bed, supply)
    growing = plant_steps(steps, garden, bed, daily=daily, result=result)
    ranges, parts = needs_range(garden, result), []
    if growing:
        _soil_side(steps, bed, result, number, crops=len(growing))
        use_steps(steps, garden, result, number)
        minutes = _minutes_side(steps, bed, supply, result, number)
        pulse_steps(steps, garden, number)
        _range_side(steps, ranges, number)
        parts.append(input_part(garden, ranges, number))
        lines = [f"To refill {bed.name} now, open its valve for {math.ceil(minutes - 1e-9)} min."]
        if measure := measure_line(ranges, number):
            lines.append(measure)
        lines += refill_lines(garden, number, minutes=minutes)
        if split := pulse_line(garden, result, number, system=system):
            lines.append(split)
    else:
        lines = [f"Nothing grows in {bed.name} on {day_text(result.on)}: keep its valve shut."]
    lines += [f"DOES NOT FIT: {text}." for text in result.plan.conflicts]
    end = result.on + timedelta(days=DAYS_PER_WEEK - 1)
    return Report(
        schema="rillbook.bed/1",
        title=f"{garden.name}: {bed.name}, working for {day_text(result.on)} to {day_text(end)} {end.year}",
        as_of=result.on,
        parts=(Part("rows", "", COLUMNS, tuple(steps.rows)), *parts),
        lines=tuple(lines),
        notes=(
            *weather_notes(daily, weather_rows_of_week(daily, result), until=result.on),
            *([week_range_note(garden)] if parts else []),
            *supply_notes(garden, (bed,), system),
            *cup_notes(bed, system),
            *garden_notes(garden, (bed,)),
            *(f"{planting.crop}: {note}." for planting in growing for note in planting.notes),
        ),
        extra={"bed": bed.name},
    )
