"""Rain in the gauge: what it does for each bed, and until when no run is needed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.units import format_quantity
from scheduler.season.rain_skip import RainSkip
from scheduler.season.results import WeekResult
from scheduler.season.setup import Setup
from scheduler.show.known import known_notes
from scheduler.show.notes import (
    day_text,
    garden_notes,
    percent,
    restriction_notes,
    supply_notes,
    weather_notes,
)
from scheduler.show.report import Column, Part, Report, Row
from scheduler.show.week_view import weather_rows_of_week
from scheduler.timetable.choices import ZoneBeds

__all__ = ["Caught", "rain_report"]

ZONE_COLUMNS = (
    Column("zone", "zone"),
    Column("skip", "no run before"),
    Column("no_run_before", ""),
    Column("asked_for_by", "asked for by"),
)
BED_COLUMNS = (
    Column("bed", "bed"),
    Column("zone", "zone"),
    Column("reached_mm", "reaches\nthe soil", "water_depth"),
    Column("lacked_mm", "soil\nlacked", "water_depth"),
    Column("stored_mm", "keeps", "water_depth"),
    Column("drained_mm", "runs\nthrough", "water_depth"),
    Column("skip", "no run\nbefore"),
    Column("without", "without\nthis rain"),
    Column("no_run_before", ""),
    Column("no_run_before_without", ""),
)


@dataclass(frozen=True, slots=True)
class Caught:
    """What a person read [mm]: in the open, and below leaves by bed number.

    `kept` is what the ledger has of that day's rain in the open, None if nothing; `plan_file` names the plan
    as the person did.
    """

    gauge: float
    as_written: str
    under_leaves: dict[int, float]
    kept: float | None
    plan_file: str


@dataclass(frozen=True, slots=True, eq=False)
class _Told:
    """The parts of the answer that sentences and tables share."""

    setup: Setup
    on: date
    skip: RainSkip

    def day(self, number: int) -> date | None:
        """Return the date of a day counted from the rain's; None if none of the days looked at is meant."""
        return None if number >= self.skip.n_days else self.on + timedelta(days=int(number))

    def before(self, number: int) -> str:
        """Return until when no run is needed, for a table."""
        if number == 0:
            return "skip nothing"
        day = self.day(number)
        return f"not in {self.skip.n_days} days" if day is None else day_text(day)


def _bed_rows(told: _Told) -> list[Row]:
    """Return one row for each bed."""
    skip = told.skip
    rows: list[Row] = []
    for number, bed in enumerate(told.setup.garden.beds):
        grows = bool(skip.in_use[number])
        again, without = int(skip.run_again[number]), int(skip.run_without[number])
        useless = skip.counts == 0.0
        rows.append(
            {
                "bed": bed.name,
                "zone": bed.zone,
                "reached_mm": float(skip.reached[number]),
                "lacked_mm": float(skip.lacked[number]),
                "stored_mm": float(skip.stored[number]),
                "drained_mm": float(skip.drained[number]),
                "skip": "nothing grows" if not grows else "skip nothing" if useless else told.before(again),
                "without": told.before(without) if grows and without else "at once" if grows else None,
                "no_run_before": told.day(again) if grows and again and not useless else None,
                "no_run_before_without": told.day(without) if grows and without else None,
            }
        )
    return rows


def _first_of(told: _Told, beds: ZoneBeds) -> tuple[int, list[str]]:
    """Return the earliest day on which a bed of a zone needs a run, and the beds that do; -1 if none."""
    index = beds.index[told.skip.in_use[beds.index]]
    if not index.size:
        return -1, []
    first = int(told.skip.run_again[index].min())
    return first, [told.setup.garden.beds[n].name for n in index if told.skip.run_again[n] == first]


def _zone_rows(told: _Told) -> list[Row]:
    """Return one row for each zone: it waits for the first of its beds."""
    rows: list[Row] = []
    for beds in told.setup.zones:
        first, names = _first_of(told, beds)
        useless = told.skip.counts == 0.0
        words = "nothing grows" if first < 0 else "skip nothing" if useless else told.before(first)
        rows.append(
            {
                "zone": beds.zone.name,
                "skip": words,
                "no_run_before": told.day(first) if first > 0 and not useless else None,
                "asked_for_by": names if first >= 0 and not useless else None,
            }
        )
    return rows


def _zone_line(told: _Told, beds: ZoneBeds) -> str | None:
    """Return what to do with one zone and its hand valves; None if there is nothing to do."""
    first, _ = _first_of(told, beds)
    if first <= 0:
        return None
    day = told.day(first)
    name = beds.zone.name
    if day is None:
        return f"{name}: leave it off; no bed of it needs a run within {told.skip.n_days} days."
    line = f"{name}: off until then, its first run on {day_text(day)}"
    if first == 1 and not told.skip.evening:
        line = f"{name}: nothing to skip after the day of the rain, a run is due on {day_text(day)}"
    later: dict[int, list[str]] = {}
    for number in beds.index[told.skip.in_use[beds.index]].tolist():
        again = int(told.skip.run_again[number])
        if again > first:
            later.setdefault(again, []).append(told.setup.garden.beds[number].name)
    kept = []
    for again, names in sorted(later.items()):
        until = told.day(again)
        shut = f"past {told.skip.n_days} days" if until is None else f"until {day_text(until)}"
        kept.append(f"{', '.join(names)} {shut}")
    return line + (f"; hand valves shut longer: {'; '.join(kept)}" if kept else "") + "."


def _lines(told: _Told, caught: Caught, system: System) -> list[str]:
    """Return the answer in sentences."""
    skip = told.skip
    if skip.counts == 0.0:
        lines = [
            f"{caught.as_written} is a trifle: below a fifth of that day's reference ET "
            f"({format_quantity(skip.reference_et, 'water_depth', system)}) it wets leaves and mulch only. "
            "Skip nothing, leave the timer as it is."
        ]
    else:
        lines = [line for beds in told.setup.zones if (line := _zone_line(told, beds)) is not None]
        now = [row["bed"] for row in _bed_rows(told) if row["skip"] == "skip nothing"]
        if now:
            lines.append(f"It saves no run of {', '.join(now)}: the next one is due as set.")
    if caught.kept is not None:
        lines.append(
            f"The ledger has {format_quantity(caught.kept, 'water_depth', system)} for "
            f"{day_text(told.on)}; this answer takes {caught.as_written} in its place. Log it only after "
            "taking the old one back (rillbook log undo), for readings of one day are added up."
        )
    lines.append(
        "Nothing was recorded. To keep it, so that the tables follow: "
        f'rillbook log rain "{caught.as_written}" --on {told.on} --garden {caught.plan_file}'
    )
    return lines


def _notes(told: _Told, caught: Caught, result: WeekResult, system: System) -> tuple[str, ...]:
    """Return what the dates rest on."""
    garden, skip, daily = told.setup.garden, told.skip, told.setup.daily
    care = garden.planning
    beds = tuple(bed for bed, grows in zip(garden.beds, skip.in_use, strict=True) if grows)
    canned = [garden.beds[number].name for number in sorted(caught.under_leaves)]
    shared = [
        f"{bed.name} {percent(bed.rain_share)}"
        for number, bed in enumerate(garden.beds)
        if number not in caught.under_leaves and bed.rain_share < 1.0
    ]
    ran = [garden.beds[n].name for n in np.flatnonzero(skip.ran > 0.0)]
    forecast = (
        f"{skip.forecast_days} forecast rows, then the normals" if skip.forecast_days else "the normals"
    )
    evening = " Runs come in the evening: the day told is that of the evening." if skip.evening else ""
    last = result.on + timedelta(days=skip.n_days - 1)
    return (
        "A bed needs its next run on the day that would else end with it past its limit, or on the last "
        "allowed day before that." + evening,
        f"The days after are {forecast} of the record; of further rain only {percent(care.forecast_rain)} of "
        f"a forecast and {percent(care.normal_rain)} of a normal is counted.",
        "A soil keeps what it lacks and no more; what runs through is lost to the bed.",
        *([f"By a can below the leaves: {', '.join(canned)}."] if canned else []),
        *([f"By the plan's share of rain that leaves let through: {', '.join(shared)}."] if shared else []),
        f"Recorded runs of that day are counted: {', '.join(ran)}."
        if ran
        else "No run of that day is recorded, so none is counted; log it if one ran.",
        *weather_notes(daily, weather_rows_of_week(daily, result), until=result.on),
        *known_notes(garden, result, system=system),
        *restriction_notes(garden, result.on, last),
        *supply_notes(garden, beds, system),
        *garden_notes(garden, beds),
        "Dig and feel before you switch it on again: the soil overrules the sum.",
    )


def rain_report(
    setup: Setup, result: WeekResult, skip: RainSkip, *, caught: Caught, system: System
) -> Report:
    """Return until when no run is needed as a report."""
    told = _Told(setup, result.on, skip)
    return Report(
        schema="rillbook.rain/1",
        title=f"{setup.garden.name}: {caught.as_written} of rain on {day_text(result.on)} {result.on:%Y}",
        as_of=result.on,
        parts=(
            Part("rows", "Zones: no run before", ZONE_COLUMNS, tuple(_zone_rows(told))),
            Part("beds", "Beds, each with its hand valve", BED_COLUMNS, tuple(_bed_rows(told))),
        ),
        lines=tuple(_lines(told, caught, system)),
        notes=_notes(told, caught, result, system),
        extra={
            "gauge_mm": caught.gauge,
            "counts_mm": skip.counts,
            "ledger_mm": caught.kept,
            "recorded": False,
        },
    )
