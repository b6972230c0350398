"""One clock time and many hand valves: on which runs each is open, and what every trip to a valve saves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import compress

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.season.results import WeekResult
from scheduler.season.valves import ZoneValves
from scheduler.show.notes import garden_notes, supply_notes, weather_notes
from scheduler.show.report import Column, Part, Report, Row
from scheduler.show.valves_lines import stand_shut_line, valve_notes, zone_lines
from scheduler.show.week_beds import day_of
from scheduler.show.week_view import clock_text, weather_rows_of_week
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.recipe import ValveRecipe, recipe_within
from scheduler.timetable.trips import TRIPS_PER_BLOCK, visits
from scheduler.weather.record import DailyWeather

__all__ = ["valves_report"]

ZONE_COLUMNS = (
    Column("zone", "zone"),
    Column("outlet", "outlet"),
    Column("days", "run on"),
    Column("starts", "start at"),
    Column("run_time_min", "each run", "duration"),
    Column("runs", "runs"),
    Column("trips", "trips"),
    Column("volume_l", "water", "volume"),
    Column("table_l", "week's\ntable", "volume"),
)
BED_COLUMNS = (
    Column("bed", "bed"),
    Column("zone", "zone"),
    Column("open_on", "open on"),
    Column("open_dates", ""),
    Column("open_runs", "runs"),
    Column("runs", "of"),
    Column("trips", "trips"),
    Column("volume_l", "water", "volume"),
    Column("saved_l", "saved", "volume"),
    Column("kept_back_per_trip_l", "saved\na trip", "volume"),
    Column("deficit_before_mm", "deficit", "water_depth"),
    Column("deficit_after_mm", "after", "water_depth"),
    Column("limit_mm", "limit", "water_depth"),
    Column("past_mm", ""),
    Column("past_before_mm", ""),
    Column("past_limit_mm_days", ""),
    Column("past_limit_before_mm_days", ""),
    Column("may_go_short", ""),
)
ROUND_COLUMNS = (
    Column("date", "before the run of", day=True),
    Column("zone", "zone"),
    Column("shut", "shut"),
    Column("open", "open"),
    Column("trips", "trips"),
)
LADDER_COLUMNS = (
    Column("zone", "zone"),
    Column("trips", "trips"),
    Column("days", "run on"),
    Column("run_time_min", "a day", "duration"),
    Column("volume_l", "water", "volume"),
    Column("saved_by_last_l", "saved by\nthe last 2", "volume"),
    Column("saved_l", "saved\nin all", "volume"),
    Column("changes", "valves that change: open on so many of the runs"),
)
BED_TITLE = (
    "Hand valves, the trips that save most first: runs with the valve open; soil water missing now, after\n"
    "7 days, and its limit"
)
ROUND_TITLE = "Trips: what to turn before which run; a line for the week after opens what was left shut"
LADDER_TITLE = "Least water of the week by the number of trips"


def valves_report(
    garden: Garden,
    daily: DailyWeather,
    *,
    result: WeekResult,
    zones: Sequence[ZoneValves],
    trips: int,
    asked: bool,
    stand_shut: Sequence[str],
    system: System,
) -> Report:
    """Return the recipes of zones as a report.

    `asked` is False if the number of trips was not given; `stand_shut` are beds whose valve is recorded as
    shut.
    """
    beds = tuple(garden.beds[number] for zone in zones for number in zone.beds.index)
    many = len(zones) > 1
    return Report(
        schema="rillbook.valves/1",
        title=f"{garden.name}: hand valves, week from {result.on:%a} {result.on.day} {result.on:%b %Y}",
        as_of=result.on,
        parts=(
            Part("rows", "Set the timer", ZONE_COLUMNS, tuple(_zone_row(zone, result) for zone in zones)),
            Part(
                "beds",
                BED_TITLE,
                _columns(BED_COLUMNS, many),
                tuple(row for zone in zones for row in _bed_rows(garden, zone, result)),
            ),
            Part(
                "round",
                ROUND_TITLE,
                _columns(ROUND_COLUMNS, many),
                tuple(row for zone in zones for row in _round_rows(garden, zone, result)),
            ),
            Part(
                "ladder",
                LADDER_TITLE,
                _columns(LADDER_COLUMNS, many),
                tuple(row for zone in zones for row in _ladder_rows(garden, zone)),
                group="zone" if many else None,
            ),
        ),
        lines=(
            *(line for zone in zones for line in zone_lines(garden, zone, result, system)),
            *stand_shut_line([bed.name for bed in beds if bed.name in stand_shut]),
            *(f"DOES NOT FIT: {text}." for text in result.plan.conflicts),
        ),
        notes=(
            *valve_notes(garden, zones, trips=trips, asked=asked, system=system),
            *weather_notes(daily, weather_rows_of_week(daily, result), until=result.on),
            *supply_notes(garden, beds, system),
            *garden_notes(garden, beds),
        ),
        extra={"trips_allowed": trips, "conflicts": list(result.plan.conflicts)},
    )


def _columns(columns: tuple[Column, ...], many: bool) -> tuple[Column, ...]:
    """Return columns that name the zone to people only where there are many."""
    return columns if many else tuple(replace(c, heading="") if c.key == "zone" else c for c in columns)


def _zone_row(zone: ZoneValves, result: WeekResult) -> Row:
    setting, recipe = zone.setting, zone.recipe
    return {
        "zone": setting.zone,
        "outlet": setting.outlet,
        "days": setting.days,
        "starts": [clock_text(begin) for begin in setting.begins] or None,
        "run_time_min": setting.minutes or None,
        "runs": sum(setting.mask) * len(setting.begins),
        "trips": recipe.all_trips,
        "volume_l": recipe.volume,
        "table_l": float(zone.litres_before.sum()),
    }


def _open_text(reach: np.ndarray, open_on: np.ndarray, result: WeekResult) -> str:
    """Return on which runs a valve is open, in words."""
    if not reach.any():
        return "no run reaches it"
    if (reach == open_on).all():
        return "every run"
    names = [f"{day_of(result, day):%a}" for day in range(DAYS_PER_WEEK)]
    return " ".join(compress(names, open_on)) or "shut all week"


def _bed_rows(garden: Garden, zone: ZoneValves, result: WeekResult) -> list[Row]:
    """Return a row for each bed in which something grows, those whose trips save most first."""
    rows = [_bed_row(garden, zone, result, n) for n in range(len(zone.beds.index)) if zone.growing[n].any()]
    return sorted(rows, key=lambda row: -(row["kept_back_per_trip_l"] or 0.0))


def _gain(before: float, after: float) -> float:
    """Return what is saved [L]; a difference of rounding is none."""
    return round(before - after, 6) + 0.0


def _bed_row(garden: Garden, zone: ZoneValves, result: WeekResult, n: int) -> Row:
    number, recipe = int(zone.beds.index[n]), zone.recipe
    reach = zone.growing[n] & np.array(zone.setting.mask)
    trips = int(recipe.trips[n])
    return {
        "bed": garden.beds[number].name,
        "zone": zone.beds.zone.name,
        "open_on": _open_text(reach, recipe.open_on[n], result),
        "open_dates": [day_of(result, int(day)).isoformat() for day in np.flatnonzero(recipe.open_on[n])],
        "open_runs": int(recipe.open_on[n].sum()),
        "runs": int(reach.sum()),
        "trips": trips,
        "volume_l": float(recipe.litres[n]),
        "saved_l": _gain(float(zone.litres_before[n]), float(recipe.litres[n])),
        "kept_back_per_trip_l": float(recipe.kept_back[n]) / trips if trips else None,
        "deficit_before_mm": float(result.outlook.depletion[number]),
        "deficit_after_mm": float(zone.depletion[DAYS_PER_WEEK - 1, n]),
        "limit_mm": float(result.limit[:DAYS_PER_WEEK, number][zone.growing[n]][-1]),
        "past_mm": float(zone.excess[:, n].max()),
        "past_before_mm": float(zone.excess_before[:, n].max()),
        "past_limit_mm_days": float(zone.shortage[n]),
        "past_limit_before_mm_days": float(zone.shortage_before[n]),
        "may_go_short": bool(zone.may_pass[n]),
    }


def _round_rows(garden: Garden, zone: ZoneValves, result: WeekResult) -> Iterator[Row]:
    """Yield what to turn before the run of each day."""
    turned: dict[int, dict[str, list[str]]] = {}
    for n, number in enumerate(zone.beds.index):
        reach = zone.growing[n] & np.array(zone.setting.mask)
        for visit in visits(reach, zone.recipe.open_on[n]):
            names = turned.setdefault(visit.day, {"shut": [], "open": []})
            names[visit.turn].append(garden.beds[number].name)
    for day in sorted(turned):
        shut, opened = turned[day]["shut"], turned[day]["open"]
        yield {
            "date": day_of(result, day),
            "zone": zone.beds.zone.name,
            "shut": shut or None,
            "open": opened or None,
            "trips": len(shut) + len(opened),
        }


def _ladder_rows(garden: Garden, zone: ZoneValves) -> Iterator[Row]:
    """Yield the least water with no trip, with two, and so on, up to what still saves."""
    before = zone.ladder[0]
    for trips in range(0, zone.ladder[-1].all_trips + 1, TRIPS_PER_BLOCK):
        recipe = recipe_within(zone.ladder, trips)
        yield {
            "zone": zone.beds.zone.name,
            "trips": trips,
            "days": zone.pattern_of(recipe)[1],
            "run_time_min": recipe.minutes or None,
            "volume_l": recipe.volume,
            "saved_by_last_l": _gain(before.volume, recipe.volume) if trips else None,
            "saved_l": _gain(zone.ladder[0].volume, recipe.volume),
            "changes": _changes(garden, zone, before, recipe) or None,
        }
        before = recipe


def _changes(garden: Garden, zone: ZoneValves, before: ValveRecipe, after: ValveRecipe) -> list[str]:
    """Return the valves whose runs differ between two recipes, each with how many of its runs it is open."""
    mask = np.array(zone.pattern_of(after)[0])
    words = []
    for n, number in enumerate(zone.beds.index):
        reach = int((zone.growing[n] & mask).sum())
        runs, runs_before = int(after.open_on[n].sum()), int(before.open_on[n].sum())
        # A bed without trips that has more runs or fewer goes with the timer's days.
        if after.trips[n] != before.trips[n] or (after.trips[n] and runs != runs_before):
            words.append(f"{garden.beds[number].name} {runs} of {reach}")
    return words
