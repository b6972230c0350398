"""The week's table: settings of the timer, minutes of every bed valve, and why."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Bed, Garden
from scheduler.garden.units import format_quantity
from scheduler.season.hand import hand_water
from scheduler.season.needs import weekly_need
from scheduler.season.results import WeekResult
from scheduler.season.supply import supply_arrays
from scheduler.show.hand_view import hand_lines, hand_part
from scheduler.show.known import known_notes
from scheduler.show.notes import (
    day_text,
    garden_notes,
    percent,
    restriction_notes,
    salt_notes,
    supply_notes,
    weather_notes,
)
from scheduler.show.report import Column, Part, Report, Row
from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.runtime import applied_depth
from scheduler.timetable.week import ZoneSetting
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
BED_COLUMNS = (
    Column("bed", "bed"),
    Column("zone", "zone"),
    Column("needs_min", "needs", "duration"),
    Column("gets_min", "gets", "duration"),
    Column("surplus_percent", "over\n[%]", decimals=0),
    Column("depth_mm", "depth\na day", "water_depth"),
    Column("volume_l", "in all", "volume"),
    Column("deficit_before_mm", "deficit", "water_depth"),
    Column("deficit_after_mm", "after", "water_depth"),
    Column("limit_mm", "limit", "water_depth"),
    Column("need_area_mean_mm", ""),
    Column("need_thirstiest_mm", ""),
    Column("why", ""),
)
BED_TITLE = (
    "Bed valves: minutes a run day needed and got; soil water missing now, after 7 days, and its limit"
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


def clock_text(minute: int) -> str:
    """Return minutes after midnight as a time of day."""
    return f"{minute // 60:02d}:{minute % 60:02d}"


def _day(result: WeekResult, number: int) -> date:
    """Return the date of a day of the table."""
    return result.on + timedelta(days=number)


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
                        "date": _day(result, day),
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


def _first_past_limit(result: WeekResult, bed: int, depletion: np.ndarray) -> date | None:
    """Return the first day that ends with a bed past its limit, None if none does."""
    past = np.flatnonzero(depletion[:, bed] > result.outlook.limit[:, bed] + 1e-9)
    return _day(result, int(past[0])) if past.size else None


def _why(garden: Garden, result: WeekResult, number: int, setting: ZoneSetting, system: System) -> str:
    """Return one line on why a bed's valve gets what it gets."""
    in_use = result.growth.in_use[:DAYS_PER_WEEK, number]
    if not in_use.any():
        return "nothing grows here this week: keep its valve shut"
    use = float(result.plan.use[:DAYS_PER_WEEK, number][in_use].mean())
    words = [f"uses {format_quantity(use, 'water_depth', system)} a day"]
    if not in_use[0]:
        words.append(f"planted {day_text(_day(result, int(np.argmax(in_use))))}, valve shut until then")
    elif not in_use[-1]:
        words.append(f"cleared {day_text(_day(result, int(in_use.sum())))}, then shut its valve")
    dry = _first_past_limit(result, number, result.plan.untouched)
    still = _first_past_limit(result, number, result.plan.depletion)
    if catch_up := _catch_up(result, number):
        words.append(catch_up)
    elif dry is None:
        last = _day(result, result.outlook.n_days - 1)
        words.append(f"without a run it stays within its limit through {day_text(last)}")
    else:
        words.append(f"without a run it would pass its limit on {day_text(dry)}")
    if still is not None:
        words.append(f"passes it on {day_text(still)} all the same")
    needs, gets = int(result.plan.bed_minutes[number]), setting.minutes_per_day
    if gets > needs > 0:
        words.append(f"shut its valve after {needs} of the {gets} min")
    run_days = sum(setting.mask)
    if setting.begins and run_days > 1 and _exceeds_store(result, number, run_days):
        words.append(f"its soil cannot hold the week's water at once, so it is split over {run_days} days")
    return "; ".join(words)


def _catch_up(result: WeekResult, number: int) -> str:
    """Return what to do for a bed that is past its limit when the week, or its planting in it, begins."""
    first = int(np.argmax(result.growth.in_use[:, number]))
    short = float(result.outlook.depletion[number])
    if short <= result.limit[first, number]:
        return ""
    minutes = np.ceil(short / result.outlook.net_rate[first, number])
    if first:
        return f"its soil is dry: water it in with {minutes:.0f} min by hand when planting"
    return (
        f"is past its limit already: {minutes:.0f} min by hand refill it now (do so if just planted), else "
        "the table brings it back over the week"
    )


def _exceeds_store(result: WeekResult, number: int, run_days: int) -> bool:
    """Return True if the week's water in one run, as late as its limit allows, would drain."""
    past = np.flatnonzero(result.plan.untouched[:, number] > result.outlook.limit[:, number])
    if not past.size:
        return False
    eve = int(past[0]) - 1
    held = result.plan.untouched[eve, number] if eve >= 0 else result.outlook.depletion[number]
    rate = float(result.outlook.net_rate[:DAYS_PER_WEEK, number].max())
    return bool(run_days * result.plan.bed_minutes[number] * rate > held)


def _bed_row(garden: Garden, result: WeekResult, number: int, system: System) -> Row:
    """Return the row of one bed."""
    bed = garden.beds[number]
    setting = next(s for s in result.plan.settings if s.zone == bed.zone)
    _, flow, rate, _ = supply_arrays(garden)
    in_use = result.growth.in_use[:DAYS_PER_WEEK, number]
    open_days = int((np.array(setting.mask) & in_use).sum())
    gets = setting.minutes_per_day if open_days else 0
    needs = int(result.plan.bed_minutes[number]) if open_days else 0
    need = weekly_need(garden, result, number)
    limits = result.limit[:DAYS_PER_WEEK, number][in_use]
    return {
        "bed": bed.name,
        "zone": bed.zone,
        "needs_min": needs,
        "gets_min": gets,
        "surplus_percent": 100.0 * (gets - needs) / needs if needs else (0.0 if not gets else None),
        "depth_mm": float(applied_depth(gets, rate[number])),
        "volume_l": gets * open_days / 60.0 * float(flow[number]),
        "deficit_before_mm": float(result.outlook.depletion[number]),
        "deficit_after_mm": float(result.plan.depletion[DAYS_PER_WEEK - 1, number]),
        "limit_mm": float(limits[-1]) if limits.size else None,
        "need_area_mean_mm": need.by_area if in_use.any() else 0.0,
        "need_thirstiest_mm": need.by_thirstiest if in_use.any() else 0.0,
        "why": _why(garden, result, number, setting, system),
    }


def _day_rows(result: WeekResult) -> list[Row]:
    """Return the weather that the week is reckoned on."""
    return [
        {
            "date": _day(result, day),
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


def _evening_notes(result: WeekResult) -> list[str]:
    """Return how evening water is reckoned, if there is any."""
    if result.outlook.evening:
        return ["Runs come in the evening: each serves the day that follows; deficits are those before it."]
    late = [s.zone for s in result.plan.settings if any(begin >= NOON for begin in s.begins)]
    if late:
        return [f"Evening runs of {', '.join(late)} are reckoned as if they came that morning."]
    return []


def _mixed_lines(garden: Garden, rows: list[Row], result: WeekResult, system: System) -> list[str]:
    """Return both needs of every bed that holds more than one crop this week."""
    lines = []
    for bed, row in zip(garden.beds, rows, strict=True):
        if _crops_in_week(bed, result.on) > 1:
            both = [
                format_quantity(row[key], "water_depth", system)
                for key in ("need_area_mean_mm", "need_thirstiest_mm")
            ]
            lines.append(
                f"{bed.name} is mixed: its area needs {both[0]} this week, its thirstiest plant {both[1]}; "
                f"the plan goes by the {bed.need}."
            )
    return lines


def _crops_in_week(bed: Bed, on: date) -> int:
    """Return how many crops stand in a bed at once during the week from `on`."""
    days = [on + timedelta(days=n) for n in range(DAYS_PER_WEEK)]
    return max(sum(p.planted <= day < p.removed for p in bed.plantings) for day in days)


def week_report(garden: Garden, daily: DailyWeather, *, result: WeekResult, system: System) -> Report:
    """Return the table of one week as a report."""
    zones, runs = _zone_rows(garden, result)
    beds = [_bed_row(garden, result, number, system) for number in range(len(garden.beds))]
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
    last = _day(result, DAYS_PER_WEEK - 1)
    return Report(
        schema="rillbook.week/1",
        title=f"{garden.name}: week from {result.on:%a} {result.on.day} {result.on:%b %Y}",
        as_of=result.on,
        parts=(
            Part("rows", "Set the timer", ZONE_COLUMNS, tuple(zones)),
            Part("beds", BED_TITLE, BED_COLUMNS, tuple(beds)),
            Part("days", "Weather reckoned with", DAY_COLUMNS, tuple(_day_rows(result))),
            Part("runs", "Runs", RUN_COLUMNS, tuple(runs), machine_only=True),
            hand_part(by_hand),
        ),
        lines=(
            *(f"{row['bed']}: {row['why']}." for row in beds),
            *hand_lines(by_hand, system),
            *_mixed_lines(garden, beds, result, system),
            *(f"DOES NOT FIT: {text}." for text in result.plan.conflicts),
        ),
        notes=(
            reckoned,
            _outlook_note(result),
            f"Of rain ahead {percent(care.forecast_rain)} of a forecast and {percent(care.normal_rain)} of a "
            f"normal is counted; {percent(care.reserve)} of the readily available water is kept back.",
            *weather_notes(daily, weather_rows_of_week(daily, result), until=result.on),
            *known_notes(garden, result, system=system),
            *_evening_notes(result),
            *restriction_notes(garden, result.on, last),
            *supply_notes(in_use, system),
            *salt_notes(garden, in_use),
            *garden_notes(garden, in_use),
            "Dig and feel 12 to 24 hours after a run: the soil overrules the sum.",
        ),
        extra={"conflicts": list(result.plan.conflicts)},
    )
