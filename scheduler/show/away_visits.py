"""What visits do for beds whose timer has died: each day of an absence, and the minutes of the one chosen."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.season.away import WeatherName
from scheduler.season.visits import Visits
from scheduler.show.notes import day_text
from scheduler.show.report import Column, Part, Row

__all__ = ["Coming", "coming_lines", "coming_notes", "coming_parts"]

DAY_COLUMNS = (
    Column("visit", "visit on"),
    Column("date", ""),
    Column("short_bed_days", "bed-days\nshort"),
    Column("least_stress_coefficient", "lowest\nKs", decimals=2),
    Column("shortage_mm_d", "depth short,\nover beds\nand days", "water_depth"),
    Column("volume_l", "water", "volume"),
    Column("hottest_short_bed_days", "hottest spell:\nbed-days short"),
    Column("hottest_least_stress_coefficient", "\nlowest Ks", decimals=2),
)
BED_COLUMNS = (
    Column("date", "visit on", day=True),
    Column("bed", "bed"),
    Column("run_time_min", "by hand", "duration"),
    Column("volume_l", "water", "volume"),
    Column("hottest_run_time_min", "in a hot\nspell", "duration"),
    Column("short_before_days", "days short\nbefore"),
    Column("short_after_days", "and\nafter"),
    Column("least_stress_coefficient", "lowest\nKs", decimals=2),
    Column("remark", ""),
)


@dataclass(frozen=True, slots=True, eq=False)
class Coming:
    """An absence of `n_days` from `on` with a dead timer: nobody comes, each single day, and those chosen.

    The visits under each weather; `best` is the best single day, `given` is True if the days were named.
    """

    garden: Garden
    on: date
    n_days: int
    flow: NDArray[np.float64]
    rate: NDArray[np.float64]
    nobody: dict[WeatherName, Visits]
    singles: dict[WeatherName, Visits]
    chosen: dict[WeatherName, Visits]
    expected: WeatherName
    best: int
    given: bool
    in_use: NDArray[np.bool_]

    def day(self, number: int) -> date:
        """Return the date of a day counted from 0."""
        return self.on + timedelta(days=int(number))

    @property
    def needed(self) -> bool:
        """True if some bed would be short with nobody there."""
        return bool(self.nobody[self.expected].bed_days[0])


def _day_row(coming: Coming, by_weather: dict[WeatherName, Visits], choice: int, name: str) -> Row:
    """Return one line: what a choice of days comes to."""
    fared, hot = by_weather[coming.expected], by_weather["hottest"]
    return {
        "visit": name,
        "date": coming.day(fared.days[choice, 0]) if fared.days.shape[1] else None,
        "short_bed_days": int(fared.bed_days[choice]),
        "least_stress_coefficient": float(fared.least_stress[choice].min()),
        "shortage_mm_d": float(fared.shortage[choice].sum()),
        "volume_l": float((fared.minutes[choice] @ coming.flow).sum()) / 60.0,
        "hottest_short_bed_days": int(hot.bed_days[choice]),
        "hottest_least_stress_coefficient": float(hot.least_stress[choice].min()),
    }


def _short_text(coming: Coming, short: NDArray[np.bool_]) -> str:
    """Return the first of the days on which a bed is short."""
    return day_text(coming.day(int(np.argmax(short))))


def _remark(coming: Coming, bed: int, number: int) -> str:
    """Return what to know of one bed at one visit."""
    fared = coming.chosen[coming.expected]
    days = fared.days[0]
    begin = int(days[number])
    end = int(days[number + 1]) if number + 1 < days.size else coming.n_days
    minutes = int(fared.minutes[0, number, bed])
    short = fared.short[:, 0, bed]
    if not coming.in_use[begin, bed]:
        return "nothing grows in it that day"
    words = []
    if short[:begin].any() and number == 0:
        words.append(f"short from {_short_text(coming, short)} until the visit")
    until = "the return" if end == coming.n_days else f"the visit on {day_text(coming.day(end))}"
    if minutes and short[begin:end].any():
        again = day_text(coming.day(begin + int(np.argmax(short[begin:end]))))
        then = "then " if words else ""
        words.append(f"{then}full, its soil holds no more; short again from {again}")
    elif minutes:
        words.append(f"lasts until {until}")
    elif short[begin:end].any():
        words.append("water would not help")
    else:
        words.append(f"needs none until {until}")
    intake = coming.garden.beds[bed].soil.intake_rate
    if minutes and intake is not None and coming.rate[bed] > intake:
        words.append("in turns with pauses: the line gives water faster than the soil takes it")
    return "; ".join(words)


def _bed_rows(coming: Coming) -> list[Row]:
    """Return one row for each visit and bed."""
    fared, hot = coming.chosen[coming.expected], coming.chosen["hottest"]
    rows: list[Row] = []
    for number, day in enumerate(fared.days[0].tolist()):
        end = int(fared.days[0, number + 1]) if number + 1 < fared.days.shape[1] else coming.n_days
        begin = 0 if number == 0 else day
        for bed, one in enumerate(coming.garden.beds):
            if not coming.in_use[:, bed].any():
                continue
            minutes = int(fared.minutes[0, number, bed])
            rows.append(
                {
                    "date": coming.day(day),
                    "bed": one.name,
                    "run_time_min": minutes,
                    "volume_l": minutes / 60.0 * float(coming.flow[bed]),
                    "hottest_run_time_min": int(hot.minutes[0, number, bed]),
                    "short_before_days": int(fared.short[begin:day, 0, bed].sum()),
                    "short_after_days": int(fared.short[day:end, 0, bed].sum()),
                    "least_stress_coefficient": float(fared.least_stress[0, bed]),
                    "remark": _remark(coming, bed, number),
                }
            )
    return rows


def coming_parts(coming: Coming) -> tuple[Part, ...]:
    """Return the tables of a dead timer: what each day of one visit comes to, and what to do on it."""
    rows = [_day_row(coming, coming.nobody, 0, "nobody comes")]
    rows += [
        _day_row(
            coming,
            coming.singles,
            choice,
            day_text(coming.day(choice)) + (", best" if choice == coming.best and coming.needed else ""),
        )
        for choice in range(coming.n_days)
    ]
    if coming.chosen[coming.expected].days.shape[1] > 1:
        rows.append(_day_row(coming, coming.chosen, 0, "those named"))
    title = "If the timer dies on the day of leaving: what one visit on each day comes to"
    named = "named" if coming.given else "best"
    beds = Part(
        "visit",
        f"What to do on the {named} day: minutes of each valve, opened by hand past the timer, in one go",
        BED_COLUMNS,
        tuple(_bed_rows(coming)) if coming.needed or coming.given else (),
        group="date",
    )
    grows = coming.in_use.any()
    return Part("days", title, DAY_COLUMNS, tuple(rows) if grows else ()), beds


def coming_lines(coming: Coming, system: System) -> list[str]:
    """Return in words which day is best and what stays short."""
    nobody = coming.nobody[coming.expected]
    last = day_text(coming.day(coming.n_days - 1))
    if not coming.needed:
        return [f"A dead timer does no harm through {last}: no bed is short even if nobody comes."]
    best = coming.singles[coming.expected]
    left, without = _left_short(best, coming.best, system), _left_short(nobody, 0, system)
    lines = [
        f"If the timer dies, the best single day for a visit is {day_text(coming.day(coming.best))}: through "
        f"{last} it leaves {left}; if nobody comes, {without}."
    ]
    chosen = coming.chosen[coming.expected]
    many = chosen.days.shape[1] > 1
    if coming.given:
        which = " and ".join(day_text(coming.day(day)) for day in chosen.days[0])
        named = f"The visits you named ({which}) leave" if many else f"The visit you named ({which}) leaves"
        lines.append(f"{named} {_left_short(chosen, 0, system)}.")
    lines += [
        (f"Visit on {day_text(row['date'])}, " if many else "") + f"{row['bed']}: {row['remark']}."
        for row in _bed_rows(coming)
        if row["short_before_days"] or row["short_after_days"] or "turns" in row["remark"]
    ]
    volume = format_quantity(float((chosen.minutes[0] @ coming.flow).sum()) / 60.0, "volume", system)
    visits = "The visits take" if many else "The visit takes"
    lines.append(f"{visits} {volume} in all; bring a fresh battery.")
    return lines


def _left_short(visits: Visits, choice: int, system: System) -> str:
    """Return how short a choice of days leaves the beds: the depth that the best day goes by; bed-days."""
    depth = format_quantity(float(visits.shortage[choice].sum()), "water_depth", system)
    return f"{depth} short over all beds and days ({_bed_days(int(visits.bed_days[choice]))})"


def coming_notes(coming: Coming) -> list[str]:
    """Return how the best day is chosen, if there is one."""
    if not coming.needed:
        return []
    return [
        "The best single day leaves the least depth short: how far beds end their days past readily "
        "available water, summed over all beds and days. So a bed that is far past it weighs more than one "
        "that is just so, which bed-days do not show. Of days that do alike, the one with the least water."
    ]


def _bed_days(count: int) -> str:
    """Return a count of bed-days in words."""
    return "no bed-day" if count == 0 else "one bed-day" if count == 1 else f"{count} bed-days"
