"""The season: water by month and bed, the peak week, how the beds fared, the bill."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.season.results import SeasonResult
from scheduler.season.season_range import SeasonRange
from scheduler.season.sums import litres_by_month, peak_week, stress_days
from scheduler.season.tariff import SeasonBill
from scheduler.season.yields import planting_yields
from scheduler.show.notes import day_text, garden_notes, restriction_notes, supply_notes, weather_notes
from scheduler.show.ranges import season_range_note
from scheduler.show.report import Column, Part, Report, Row
from scheduler.show.season_bill import bill_part
from scheduler.show.week_view import clock_text
from scheduler.show.yield_view import yield_notes, yield_part
from scheduler.weather.record import DailyWeather

__all__ = ["SeasonSpread", "YearSum", "season_report", "years_report"]

ALL_BEDS = "all beds"

MONTH_COLUMNS = (Column("month", "month"), Column("bed", "bed"), Column("volume_l", "water", "volume"))
BED_COLUMNS = (
    Column("bed", "bed"),
    Column("volume_l", "water", "volume"),
    Column("net_irrigation_mm", "net\nirrigation", "water_depth"),
    Column("effective_rain_mm", "rain", "water_depth"),
    Column("crop_use_mm", "crop and\nsoil use", "water_depth"),
    Column("evaporation_mm", "of it\nfrom soil", "water_depth"),
    Column("deep_percolation_mm", "drained\nbelow", "water_depth"),
    Column("short_days", "days short\nof water"),
    Column("least_stress_coefficient", "lowest\nKs", decimals=2),
)
WEEK_COLUMNS = (
    Column("week", "week from"),
    Column("zone", "zone"),
    Column("days", "run on"),
    Column("starts", "start at"),
    Column("run_time_min", "each run", "duration"),
)
YEAR_COLUMNS = (
    Column("year", "year"),
    Column("volume_l", "water", "volume"),
    Column("peak_week_l", "peak week", "volume"),
    Column("peak_week_from", "peak week from", day=True),
    Column("short_days", "bed-days short\nof water"),
    Column("cost", "garden's\ncost"),
    Column("currency", ""),
)


def _month_part(garden: Garden, result: SeasonResult) -> Part:
    """Return water by month and bed, with the sums of both."""
    months, litres = litres_by_month(result)
    rows: list[Row] = []
    for month, line in zip(months, litres, strict=True):
        rows += [
            {"month": month, "bed": bed.name, "volume_l": float(volume)}
            for bed, volume in zip(garden.beds, line, strict=True)
        ]
        rows.append({"month": month, "bed": ALL_BEDS, "volume_l": float(line.sum())})
    for bed, volume in zip(
        (*(b.name for b in garden.beds), ALL_BEDS), (*litres.sum(0), litres.sum()), strict=True
    ):
        rows.append({"month": "season", "bed": bed, "volume_l": float(volume)})
    return Part("rows", "Water by month and bed", MONTH_COLUMNS, tuple(rows), by=("month", "bed", "volume_l"))


def _bed_part(garden: Garden, result: SeasonResult) -> Part:
    """Return how each bed fared."""
    short, least = stress_days(result)
    rows = tuple(
        {
            "bed": bed.name,
            "volume_l": float(result.litres[:, i].sum()),
            "net_irrigation_mm": float(result.applied[:, i].sum()),
            "effective_rain_mm": float(result.rain[:, i].sum()),
            "crop_use_mm": float(result.et_actual[:, i].sum()),
            "evaporation_mm": float(result.evaporation[:, i].sum()),
            "deep_percolation_mm": float(result.deep_percolation[:, i].sum()),
            "short_days": int(short[i]),
            "least_stress_coefficient": float(least[i]),
        }
        for i, bed in enumerate(garden.beds)
    )
    return Part("beds", "How the beds fared", BED_COLUMNS, rows)


def _week_part(result: SeasonResult) -> Part:
    """Return the timer's settings, week by week; for machines, since a person sets one week at a time."""
    rows = tuple(
        {
            "week": plan.first,
            "zone": setting.zone,
            "days": setting.days,
            "starts": [clock_text(begin) for begin in setting.begins],
            "run_time_min": setting.minutes,
        }
        for plan in result.plans
        for setting in plan.settings
    )
    return Part("weeks", "Settings", WEEK_COLUMNS, rows, machine_only=True)


def _summary(
    result: SeasonResult, bill: SeasonBill | None, system: System, *, spread: SeasonSpread, whole_units: bool
) -> list[str]:
    """Return the season in sentences."""
    peak = peak_week(result)
    litres = float(result.litres.sum())
    total, least, most = (
        format_quantity(litres * share, "volume", system)
        for share in (1.0, spread.water.low, spread.water.high)
    )
    last = peak.first + timedelta(days=6)
    lines = [
        f"The season takes {least} to {most}, {total} as reckoned; its peak week, "
        f"{day_text(peak.first)} to {day_text(last)}, {format_quantity(peak.litres, 'volume', system)}."
    ]
    if bill is not None:
        low, high = spread.cost or (bill.garden_cost, bill.garden_cost)
        lines.append(
            f"The garden adds {_added(low, high, bill, whole_units=whole_units and least != most)}: "
            f"{bill.total_with:.2f} with it, {bill.total_without:.2f} without"
            + (
                "."
                if bill.marginal_price is None
                else f", which is {bill.marginal_price:.2f} for each {bill.unit} billed for the garden."
            )
        )
    by_text: dict[str, list[str]] = {}
    for plan in result.plans:
        for text in plan.conflicts:
            by_text.setdefault(text, []).append(day_text(plan.first)[4:])
    lines += [
        f"DOES NOT FIT in the weeks from {', '.join(weeks)}: {text}." for text, weeks in by_text.items()
    ]
    return lines


def _added(low: Decimal, high: Decimal, bill: SeasonBill, *, whole_units: bool) -> str:
    """Return what the garden adds to the bills, once if both ends of the range cost the same."""
    bills = "to the season's water bills"
    if not f"{low:.2f}" == f"{high:.2f}" == f"{bill.garden_cost:.2f}":
        return f"{low:.2f} to {high:.2f} {bill.currency} {bills}, {bill.garden_cost:.2f} as reckoned"
    why = ", at either end of that range, as whole units are billed" if whole_units else ""
    return f"{low:.2f} {bill.currency} {bills}{why}"


@dataclass(frozen=True, slots=True)
class SeasonSpread:
    """The plausible range of a season: of its water, and of what the garden adds to the bills."""

    water: SeasonRange
    cost: tuple[Decimal, Decimal] | None


def season_report(
    garden: Garden,
    daily: DailyWeather,
    *,
    result: SeasonResult,
    bill: SeasonBill | None,
    spread: SeasonSpread,
    system: System,
    moved: str = "",
    shut_early: bool = False,
) -> Report:
    """Return a replayed season as a report; `moved` says if the plan's dates were moved to another year."""
    first, last = result.dates[0].item(), result.dates[-1].item()
    yields = planting_yields(garden, result)
    parts = [
        _month_part(garden, result),
        _bed_part(garden, result),
        yield_part(yields),
        _week_part(result),
    ]
    notes = [
        "Replayed week by week: each Monday the timer set on the normals of the record (or forecast rows), "
        "the beds watered in the weather that came. Normals include the year itself.",
        "Each hand valve shut after the minutes that its bed needs."
        if shut_early
        else "No hand valve shut early: all beds of a zone get its whole run. --shut-valves shows the other.",
        "Net irrigation leaves out what unevenness and leaching take; drained is what soil could not hold.",
        season_range_note(garden, spread.water),
        *yield_notes(yields),
        *([moved] if moved else []),
        *weather_notes(daily, result.weather_rows),
        *restriction_notes(garden, first, last),
        *supply_notes(garden, garden.beds, system),
        *garden_notes(garden, garden.beds),
    ]
    if bill is None:
        notes.append("No bill: the plan has no [tariff].")
    else:
        parts.append(bill_part(bill))
        notes += bill.notes
    peak = peak_week(result)
    return Report(
        schema="rillbook.season/1",
        title=f"{garden.name}: season {first} to {last}",
        as_of=last,
        parts=tuple(parts),
        lines=tuple(
            _summary(
                result,
                bill,
                system,
                spread=spread,
                whole_units=garden.tariff is not None and garden.tariff.whole_units,
            )
        ),
        notes=tuple(notes),
        extra={
            "volume_l": float(result.litres.sum()),
            "volume_low_l": float(result.litres.sum()) * spread.water.low,
            "volume_high_l": float(result.litres.sum()) * spread.water.high,
            "peak_week_from": peak.first,
            "peak_week_l": peak.litres,
            "cost": None if bill is None else bill.garden_cost,
            "cost_low": None if spread.cost is None else spread.cost[0],
            "cost_high": None if spread.cost is None else spread.cost[1],
            "currency": None if bill is None else bill.currency,
            "weeks_with_conflict": sum(1 for plan in result.plans if plan.conflicts),
        },
    )


#: Fewer years cannot tell what eight in ten stay below.
YEARS_FOR_SHARES = 8


def _eight_in_ten(values: Sequence[float]) -> float:
    """Return the value that eight in ten do not pass; one that occurred, since bills come in steps."""
    return sorted(values)[math.ceil(0.8 * len(values)) - 1]


@dataclass(frozen=True, slots=True)
class YearSum:
    """One year's season in a few figures; volumes in L."""

    year: int
    litres: float
    peak_first: date
    peak_litres: float
    short_days: int
    cost: Decimal | None


def _cost_line(costs: Sequence[float], currency: str, *, often: bool, whole_units: bool) -> str:
    """Return what seasons cost, once if all cost the same; `often` tells of eight years in ten too.

    `whole_units` tells that seasons of different water are billed by whole units.
    """
    low, high = f"{min(costs):.2f}", f"{max(costs):.2f}"
    if low == high:
        each = f"Cost {low} {currency}{' in each' if len(costs) > 1 else ''} at today's prices"
        return f"{each}, though the water differs: whole units are billed." if whole_units else f"{each}."
    share = f"; eight years in ten at or below {_eight_in_ten(costs):.2f}" if often else ""
    return f"Cost {low} to {high} {currency} at today's prices{share}."


def years_report(
    garden: Garden, daily: DailyWeather, *, years: Sequence[YearSum], currency: str, system: System
) -> Report:
    """Return the same garden over many years of the record, and what eight years in ten stay below."""
    rows = tuple(
        {
            "year": y.year,
            "volume_l": y.litres,
            "peak_week_l": y.peak_litres,
            "peak_week_from": y.peak_first,
            "short_days": y.short_days,
            "cost": None if y.cost is None else f"{y.cost:.2f}",
            "currency": currency,
        }
        for y in years
    )
    litres = [y.litres for y in years]
    costs = [float(y.cost) for y in years if y.cost is not None]
    low, high, most = (
        format_quantity(value, "volume", system)
        for value in (min(litres), max(litres), _eight_in_ten(litres))
    )
    whole = garden.tariff is not None and garden.tariff.whole_units and low != high
    often = f"; eight years in ten at or below {most}" if len(years) >= YEARS_FOR_SHARES else ""
    count = "The one year of the record" if len(years) == 1 else f"Of {len(years)} years"
    lines = [f"{count}: {low if low == high else f'{low} to {high}'} a season{often}."]
    if costs:
        lines.append(_cost_line(costs, currency, often=bool(often), whole_units=whole))
    return Report(
        schema="rillbook.years/1",
        title=f"{garden.name}: the same season in every year of the record",
        as_of=None,
        parts=(Part("rows", "", YEAR_COLUMNS, rows),),
        lines=tuple(lines),
        notes=(
            *weather_notes(daily, np.flatnonzero(~daily.forecast)),
            *supply_notes(garden, garden.beds, system),
            *garden_notes(garden, garden.beds),
        ),
    )
