"""One bed's working: every step from the tape measure to the minutes, with its number and source."""

from __future__ import annotations

import math
from datetime import timedelta

import numpy as np

from scheduler.garden.dimensions import Dimension, System
from scheduler.garden.plan import Bed, Garden, Planting
from scheduler.garden.units import to_display, unit_label
from scheduler.season.growth import PlantingCurve, planting_curve
from scheduler.season.run import WeekResult
from scheduler.season.supply import BedSupply, bed_supply
from scheduler.show.notes import day_text, garden_notes, supply_notes, weather_notes
from scheduler.show.report import Column, Part, Report, Row
from scheduler.show.week_view import weather_rows_of_week
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.runtime import run_time
from scheduler.water.crop import stage_of_day
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
KC_SOURCE = {"area mean": "weighted by area, with bare soil", "thirstiest plant": "greatest of its crops"}
STAGES = ("initial", "development", "mid-season", "late season")

#: Unit in machine output of each dimension used here.
UNITS: dict[Dimension | None, str] = {
    "area": "m2",
    "length": "m",
    "flow": "L/h",
    "application_rate": "mm/h",
    "ratio": "share",
    "water_depth": "mm",
    "duration": "min",
    "volume": "L",
    "salinity": "dS/m",
    None: "",
}


class _Steps:
    """Collects numbered steps, each with its value in canonical units and as shown to a person."""

    def __init__(self, system: System) -> None:
        self.rows: list[Row] = []
        self.system = system

    def add(self, quantity: str, value: float, *, of: Dimension | None, working: str, source: str) -> None:
        """Add a step; `of` is the dimension of its value, None for a plain number."""
        self.rows.append(
            {
                "step": len(self.rows) + 1,
                "quantity": quantity,
                "shown": self.exact(value, of),
                "value": float(value),
                "unit": UNITS[of],
                "working": working,
                "source": source,
            }
        )

    def exact(self, value: float, of: Dimension | None) -> str:
        """Return a value with enough digits to go on reckoning by hand."""
        if of is None:
            return f"{value:.4g}"
        return f"{float(to_display(value, of, self.system)):.4g} {unit_label(of, self.system)}"


def _water_side(steps: _Steps, bed: Bed, supply: BedSupply) -> None:
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


def _plant_steps(steps: _Steps, planting: Planting, curve: PlantingCurve, result: WeekResult) -> None:
    """Add the steps of one crop on the first day of the table."""
    day = (result.on - planting.planted).days + 1
    stages = planting.stages
    stage = STAGES[int(stage_of_day(day, stages.initial, development=stages.development, mid=stages.mid))]
    lengths = " / ".join(
        f"{length:.0f}" for length in (stages.initial, stages.development, stages.mid, stages.late)
    )
    borrowed = f", borrowed from {planting.borrowed_from}" if planting.borrowed_from else ""
    steps.add(
        f"Kc of {planting.crop}",
        float(curve.kc[0]),
        of=None,
        working=f"day {day}, {stage}; stages {lengths} d; Kc {planting.kc_ini:.2f} / {curve.kc_mid:.2f} / "
        f"{curve.kc_end:.2f} after climate",
        source=f"{planting.source}{borrowed}; FAO-56 eq. 62, 65, 66",
    )
    steps.add(
        f"rooting depth of {planting.crop}",
        float(curve.root[0]),
        of="length",
        working=f"grows to {steps.exact(planting.root_depth, 'length')}, no deeper than the bed's soil",
        source="FAO-56 Table 22 and Annex 8",
    )


def _soil_side(steps: _Steps, bed: Bed, result: WeekResult, number: int, *, crops: int) -> None:
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
        float(see.taw[0, number]),
        of="water_depth",
        working=f"water held x rooting depth{weighted}",
        source="FAO-56 eq. 82",
    )
    fraction = float(see.raw[0, number] / see.taw[0, number])
    steps.add(
        "share that may be used, p",
        fraction,
        of="ratio",
        working=f"table value + 0.04 (5 - Kc x mean reference ET of the week before, mm){weighted}",
        source="FAO-56 Table 22 and its footnote",
    )
    steps.add(
        "readily available water RAW",
        float(see.raw[0, number]),
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


def _use_side(steps: _Steps, bed: Bed, result: WeekResult, number: int, *, temperature_only: bool) -> None:
    """Add the steps of the week's use and the deficit on its first morning."""
    week = slice(0, DAYS_PER_WEEK)
    reference_et = float(result.weather.reference_et[week].mean())
    origins = sorted(set(result.weather.origin[week].tolist()))
    steps.add(
        "reference ET, mean of the week",
        reference_et,
        of="water_depth",
        working=" and ".join(origins) + " days",
        source="FAO-56 eq. 52" if temperature_only else "FAO-56 eq. 6",
    )
    kc = float(result.growth.kc[week, number].mean())
    steps.add("Kc of the bed, mean of the week", kc, of=None, working=bed.need, source=KC_SOURCE[bed.need])
    use = float(result.outlook.et_crop[week, number].mean())
    steps.add("crop use a day", use, of="water_depth", working="Kc x reference ET", source="FAO-56 eq. 58")
    steps.add(
        "rain counted this week",
        float(result.counted_rain[week].sum()),
        of="water_depth",
        working="the share of expected rain that the plan counts",
        source="plan, planning",
    )
    steps.add(
        f"deficit on the morning of {day_text(result.on)}",
        float(result.outlook.depletion[number]),
        of="water_depth",
        working=f"daily balance from {result.state_from}",
        source="FAO-56 eq. 85",
    )


def _minutes_side(steps: _Steps, bed: Bed, supply: BedSupply, result: WeekResult, number: int) -> float:
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
        working=f"{setting.days}; fewest whole minutes that keep it within its limit"
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
    supply = bed_supply(bed)
    steps = _Steps(system)
    _water_side(steps, bed, supply)
    dates = np.datetime64(result.on, "D") + np.arange(1)
    growing = [p for p in bed.plantings if p.planted <= result.on < p.removed]
    for planting in growing:
        curve = planting_curve(planting, bed, dates=dates, normals=result.normals)
        _plant_steps(steps, planting, curve, result)
    if growing:
        _soil_side(steps, bed, result, number, crops=len(growing))
        temperature_only = garden.weather.method == "temperature only"
        _use_side(steps, bed, result, number, temperature_only=temperature_only)
        minutes = _minutes_side(steps, bed, supply, result, number)
        lines = [f"To refill {bed.name} now, open its valve for {math.ceil(minutes - 1e-9)} min."]
        if bed.soil.intake_rate is not None and supply.rate > bed.soil.intake_rate:
            lines.append(
                "The line gives water faster than the mix takes it in over the whole bed: if it pools, run "
                "it in two halves with a rest between."
            )
    else:
        lines = [f"Nothing grows in {bed.name} on {day_text(result.on)}: keep its valve shut."]
    lines += [f"DOES NOT FIT: {text}." for text in result.plan.conflicts]
    end = result.on + timedelta(days=DAYS_PER_WEEK - 1)
    return Report(
        schema="rillbook.bed/1",
        title=f"{garden.name}: {bed.name}, working for {day_text(result.on)} to {day_text(end)} {end.year}",
        as_of=result.on,
        parts=(Part("rows", "", COLUMNS, tuple(steps.rows)),),
        lines=tuple(lines),
        notes=(
            *weather_notes(daily, weather_rows_of_week(daily, result), until=result.on),
            *supply_notes((bed,), system),
            *garden_notes(garden, (bed,)),
            *(f"{planting.crop}: {note}." for planting in growing for note in planting.notes),
        ),
        extra={"bed": bed.name},
    )
