"""The week's table: settings of the timer, minutes of every bed valve, and why."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.season.hand import hand_water
from scheduler.season.results import WeekResult
from scheduler.season.supply import supply_arrays
from scheduler.show.conflict_view import conflict_lines, conflict_part
from scheduler.show.hand_view import hand_lines, hand_part
from scheduler.show.known import known_notes
from scheduler.show.notes import (
    clock_notes,
    clock_text,
    day_text,
    garden_notes,
    percent,
    restriction_notes,
    salt_notes,
    supply_notes,
    weather_notes,
    wetted_notes,
)
from scheduler.show.pulse_view import pulse_lines
from scheduler.show.ranges import week_range_note
from scheduler.show.report import Column, Part, Report, Row
from scheduler.show.week_beds import bed_part, day_of, mixed_lines
from scheduler.show.why_view import proof_note, why_lines, why_part
from scheduler.timetable.conflict import Conflict
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.why import reasons_of_week
from scheduler.timetable.windows import NOON
from scheduler.weather.record import DailyWeather

__all__ = ["clock_text", "weather_rows_of_week", "week_report"]

ZONE_COLUMNS = (
    Column("zone", "zone"),
    Column("outlet", "outlet"),
    Column("days", "run on"),
    Column("starts", "start at"),
    Column("run_time_min", "each run", "duration"),
    Column("runs", "runs"),
    Column("volume_l", "water", "volume"),
)
RUN_COLUMNS = (
    Column("date", "date"),
    Column("zone", "zone"),
    Column("start", "start"),
    Column("run_time_min", "run", "duration"),
    Column("volume_l", "water", "volume"),
)
DAY_COLUMNS = (
    Column("date", "day", day=True),
    Column("reference_et_mm", "reference ET", "water_depth"),
    Column("rain_mm", "rain expected", "water_depth"),
    Column("rain_counted_mm", "rain counted", "water_depth"),
    Column("origin", "from"),
)


def _zone_rows(garden: Garden, result: WeekResult) -> tuple[list[Row], list[Row]]:
    """Return one row per zone, and one per run."""
    _, flow, _, _ = supply_arrays(garden)
    zones, runs = [], []
    for setting in result.plan.settings:
        index = [i for i, bed in enumerate(garden.beds) if bed.zone == setting.zone]
        by_day = result.growth.in_use[:DAYS_PER_WEEK, index] @ flow[index]
        volumes = []
        for day, on in enumerate(setting.mask):
            for begin in setting.begins if on else ():
                volume = setting.minutes / 60.0 * float(by_day[day])
                volumes.append(volume)
                runs.append(
                    {
                        "date": day_of(result, day),
                        "zone": setting.zone,
                        "start": clock_text(begin),
                        "run_time_min": setting.minutes,
                        "volume_l": volume,
                    }
                )
        zones.append(
            {
                "zone": setting.zone,
                "outlet": setting.outlet,
                "days": setting.days,
                "starts": [clock_text(begin) for begin in setting.begins] or None,
                "run_time_min": setting.minutes or None,
                "runs": len(volumes),
                "volume_l": sum(volumes),
            }
        )
    return zones, sorted(runs, key=lambda run: (run["date"], run["start"]))


def _day_rows(result: WeekResult) -> list[Row]:
    """Return the weather that the week is reckoned on."""
    return [
        {
            "date": day_of(result, day),
            "reference_et_mm": float(result.weather.reference_et[day]),
            "rain_mm": float(result.weather.rain[day]),
            "rain_counted_mm": float(result.counted_rain[day]),
            "origin": str(result.weather.origin[day]),
        }
        for day in range(DAYS_PER_WEEK)
    ]


def weather_rows_of_week(daily: DailyWeather, result: WeekResult) -> np.ndarray:
    """Return the rows of the record behind a week: the replay and the forecast days ahead."""
    behind = result.before.weather_rows if result.before is not None else np.zeros(0, dtype=np.int64)
    ahead = np.flatnonzero(np.isin(daily.dates, result.weather.dates) & daily.forecast)
    return np.concatenate([behind, ahead]).astype(np.int64)


def _years(count: int) -> str:
    """Return how many years stand behind normals; few of them are said to be few."""
    worth = "one year's worth" if count == 1 else f"{count} years' worth"
    return f"{worth}, a thin basis" if count < 5 else worth


def _outlook_note(result: WeekResult) -> str:
    """Return where the coming days' weather is from."""
    foretold = int((result.weather.origin[:DAYS_PER_WEEK] == "forecast").sum())
    first, last, years = result.normals.years
    normals = f"the day-of-year normals of the record ({first} to {last}, {_years(years)})"
    if foretold == DAYS_PER_WEEK:
        return "The coming seven days are forecast rows of the record."
    if foretold == 0:
        return f"The coming days are no forecast but {normals}."
    return f"Forecast rows for {foretold} of the coming seven days; the others are {normals}."


def _seen_note(result: WeekResult) -> list[str]:
    """Return how far the table looks beyond its week, if it does."""
    if result.outlook.n_days <= DAYS_PER_WEEK:
        return []
    last = day_of(result, result.outlook.n_days - 1)
    return [f"The table looks beyond its week, to the next day that allows a run: through {day_text(last)}."]


def _evening_notes(result: WeekResult) -> list[str]:
    """Return how evening water is reckoned, if there is any."""
    if result.outlook.evening:
        return ["Runs come in the evening: each serves the day that follows; deficits are those before it."]
    late = [s.zone for s in result.plan.settings if any(begin >= NOON for begin in s.begins)]
    if late:
        return [f"Evening runs of {', '.join(late)} are reckoned as if they came that morning."]
    return []


def _conflict_parts(garden: Garden, result: WeekResult, conflict: Conflict | None) -> list[Part]:
    """Return the changes that would make the runs fit, and the table under the least of them."""
    if conflict is None or not conflict.easings:
        return []
    least = conflict.easings[0]
    zones, _ = _zone_rows(garden, replace(result, plan=least.plan))
    eased = Part("eased", f"The timer then, with {least.change}", ZONE_COLUMNS, tuple(zones))
    return [conflict_part(conflict), eased]


def week_report(
    garden: Garden,
    daily: DailyWeather,
    *,
    result: WeekResult,
    system: System,
    conflict: Conflict | None = None,
) -> Report:
    """Return the table of one week as a report; `conflict` tells what keeps its runs from fitting."""
    zones, runs = _zone_rows(garden, result)
    reasons = reasons_of_week(result.plan, result.outlook, zones=result.zones, limits=result.limits)
    beds = bed_part(garden, result, system)
    in_use = tuple(
        bed for bed, use in zip(garden.beds, result.growth.in_use[:DAYS_PER_WEEK].T, strict=True) if use.any()
    )
    reckoned = (
        f"Soil reckoned from the state that the plan gives for {result.state_from}"
        + ("" if result.before is None else ", as if every Monday's table since then had been kept")
        + "."
    )
    by_hand = hand_water(garden, result)
    care = garden.planning
    last = day_of(result, DAYS_PER_WEEK - 1)
    return Report(
        schema="rillbook.week/1",
        title=f"{garden.name}: week from {result.on:%a} {result.on.day} {result.on:%b %Y}",
        as_of=result.on,
        parts=(
            Part("rows", "Set the timer", ZONE_COLUMNS, tuple(zones)),
            beds,
            Part("days", "Weather reckoned with", DAY_COLUMNS, tuple(_day_rows(result))),
            Part("runs", "Runs", RUN_COLUMNS, tuple(runs), machine_only=True),
            why_part(garden, result.on, reasons),
            *_conflict_parts(garden, result, conflict),
            hand_part(by_hand),
        ),
        lines=(
            *(f"{row['bed']}: {row['why']}." for row in beds.rows),
            *hand_lines(by_hand, system),
            *mixed_lines(garden, beds.rows, result, system),
            *pulse_lines(garden, result, system),
            *why_lines(garden, result.on, reasons, system=system),
            *(f"DOES NOT FIT: {text}." for text in result.plan.conflicts),
            *(conflict_lines(conflict) if conflict is not None else ()),
        ),
        notes=(
            proof_note(result.plan, system),
            reckoned,
            _outlook_note(result),
            f"Of rain ahead {percent(care.forecast_rain)} of a forecast and {percent(care.normal_rain)} of a "
            f"normal is counted; {percent(care.reserve)} of the readily available water is kept back.",
            week_range_note(garden),
            *weather_notes(daily, weather_rows_of_week(daily, result), until=result.on),
            *known_notes(garden, result, system=system),
            *_seen_note(result),
            *_evening_notes(result),
            *clock_notes(garden, result.on, last),
            *restriction_notes(garden, result.on, last),
            *supply_notes(garden, in_use, system),
            *wetted_notes(garden, in_use),
            *salt_notes(garden, in_use),
            *garden_notes(garden, in_use),
            "Dig and feel 12 to 24 hours after a run: the soil overrules the sum.",
        ),
        extra={
            "conflicts": list(result.plan.conflicts),
            "limits_in_conflict": list(conflict.limits) if conflict is not None else [],
            "proven_best": result.plan.proven,
        },
    )
