"""An absence: how long each bed lasts, what visits should do, what a timer stuck open runs out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.season.away import LONGEST_LOOK, Absence, Lasting
from scheduler.season.results import WeekResult
from scheduler.season.setup import Setup
from scheduler.season.stuck_open import StuckOutlet
from scheduler.season.visits import best_visit, every_single_visit, no_visit, visits_on
from scheduler.show.away_stuck import stuck_lines, stuck_notes, stuck_part
from scheduler.show.away_visits import Coming, coming_lines, coming_notes, coming_parts
from scheduler.show.known import known_notes
from scheduler.show.notes import day_text, garden_notes, percent, supply_notes, weather_notes
from scheduler.show.report import Column, Part, Report, Row
from scheduler.show.week_view import weather_rows_of_week

__all__ = ["Left", "away_report"]

LASTING_COLUMNS = (
    Column("bed", "bed"),
    Column("soil", "soil"),
    Column("weather", "weather"),
    Column("to_stress_days", "to stress"),
    Column("stress_on", "first stress", day=True),
    Column("to_half_days", "to half"),
    Column("half_on", "half use", day=True),
    Column("stands_until", "stands until", day=True),
)
WEATHER_WORDS = {
    "normals": "usual\nweather",
    "forecast": "forecast,\nthen usual",
    "hottest": "hottest\nspell",
}
SOIL_WORDS = {"full": "just filled", "today": "as today"}
TABLE_TITLE = (
    "Days that each bed lasts without a run: unhurt, and until plants use less than half of what they would"
)


@dataclass(frozen=True, slots=True, eq=False)
class Left:
    """A garden left alone for `days` from the table's first morning on; `visits` are days counted from 0."""

    setup: Setup
    result: WeekResult
    absence: Absence
    days: int
    visits: tuple[int, ...]

    @property
    def garden(self) -> Garden:
        """The plan."""
        return self.setup.garden

    def day(self, number: int) -> date:
        """Return the date of a day counted from 0."""
        return self.result.on + timedelta(days=int(number))


def _stands(left: Left, bed: int) -> int:
    """Return for how many of the days looked at a bed keeps what grows in it."""
    return int(left.absence.standing[:, bed].sum())


def _lasting_rows(left: Left) -> list[Row]:
    """Return one row for each bed, soil and weather; a count is None if the bed lasts past what is seen."""
    rows: list[Row] = []
    for number, bed in enumerate(left.garden.beds):
        stands = _stands(left, number)
        for case in left.absence.lasting if stands else ():
            stress, half = (int(counts[number]) for counts in (case.to_stress, case.to_half))
            rows.append(
                {
                    "bed": bed.name,
                    "soil": case.soil,
                    "weather": case.weather,
                    "to_stress_days": stress if stress < stands else None,
                    "stress_on": left.day(stress) if stress < stands else None,
                    "to_half_days": half if half < stands else None,
                    "half_on": left.day(half) if half < stands else None,
                    "stands_until": left.day(stands) if stands < LONGEST_LOOK else None,
                }
            )
    return rows


def _count_text(left: Left, count: int, bed: int) -> str:
    """Return days that a bed lasts, for people."""
    stands = _stands(left, bed)
    if count < stands:
        return str(count)
    return f"more than {LONGEST_LOOK}" if stands == LONGEST_LOOK else f"till {day_text(left.day(stands))[4:]}"


def _table_part(left: Left) -> Part:
    """Return how long beds last, for people: a line for each bed and soil."""
    names = list(left.absence.ahead)
    columns = [Column("bed", "bed"), Column("soil", "soil")]
    for name in names:
        columns.append(Column(f"{name}_stress", f"{WEATHER_WORDS[name]}:\nunhurt"))
        columns.append(Column(f"{name}_half", "\n\nto half"))
    rows: list[Row] = []
    for number, bed in enumerate(left.garden.beds):
        for soil, shown in SOIL_WORDS.items() if _stands(left, number) else ():
            row: Row = {"bed": bed.name, "soil": shown}
            for case in left.absence.lasting:
                if case.soil == soil:
                    row[f"{case.weather}_stress"] = _count_text(left, int(case.to_stress[number]), number)
                    row[f"{case.weather}_half"] = _count_text(left, int(case.to_half[number]), number)
            rows.append(row)
    return Part("table", TABLE_TITLE, tuple(columns), tuple(rows), group="bed")


def _first_line(left: Left) -> list[str]:
    """Return which bed to look at first, and how soon."""
    order = left.absence.first_beds()
    if not order.size:
        return ["Nothing grows on the day of leaving: no bed needs looking at."]
    case = left.absence.of("today", left.absence.expected)
    named = ", ".join(f"{left.garden.beds[number].name} ({_soon(left, case, number)})" for number in order)
    return [f"Look at these first, in this order: {named}."]


def _soon(left: Left, case: Lasting, number: int) -> str:
    """Return when a bed is first short, in words."""
    stress = int(case.to_stress[number])
    if stress >= _stands(left, number):
        return "not short in sight"
    if stress == 0:
        return f"short by the evening of {day_text(left.day(0))}"
    return f"short from {day_text(left.day(stress))}"


def _coming(left: Left) -> Coming:
    """Return the visits of an absence: none, every single day, and the days given or the best one."""
    state, n_days = left.result.outlook.state, left.days
    cases = {name: left.absence.ahead[name] for name in (left.absence.expected, "hottest")}
    singles = {name: every_single_visit(ahead, state, n_days=n_days) for name, ahead in cases.items()}
    best = best_visit(singles[left.absence.expected], left.setup.flow)
    days = np.array([left.visits or (best,)], dtype=np.int64)
    return Coming(
        garden=left.garden,
        on=left.result.on,
        n_days=n_days,
        flow=left.setup.flow,
        rate=left.setup.rate,
        nobody={name: no_visit(ahead, state, n_days=n_days) for name, ahead in cases.items()},
        singles=singles,
        chosen={name: visits_on(ahead, state, days, n_days=n_days) for name, ahead in cases.items()},
        expected=left.absence.expected,
        best=best,
        given=bool(left.visits),
        in_use=left.absence.ahead[left.absence.expected].growth.in_use[:n_days],
    )


def _notes(left: Left, system: System) -> tuple[str, ...]:
    """Return what the days rest on."""
    spell, absence, garden, result = left.absence.spell, left.absence, left.garden, left.result
    standing = tuple(bed for n, bed in enumerate(garden.beds) if absence.standing[0, n])
    later = [bed.name for n, bed in enumerate(garden.beds) if not absence.standing[0, n]]
    foretold = absence.forecast_days
    care = garden.planning
    return (
        "A bed lasts for a day if it ends it within readily available water (Ks still 1); the second count "
        "ends with Ks below 0.5. As today: the soil as reckoned for that morning. Just filled: run until its "
        "whole soil is full, the day of leaving.",
        f"Usual weather: the normals of the record, with {percent(care.normal_rain)} of their rain. "
        + (
            f"Forecast: rows for {foretold} of the days away, with {percent(care.forecast_rain)} of their "
            "rain; then normals."
            if foretold
            else "There are no forecast rows."
        ),
        f"Hottest spell: {spell.first} to {spell.last}, the {(spell.last - spell.first).days + 1} days in a "
        "row of the record with the greatest reference ET "
        f"({format_quantity(spell.reference_et, 'water_depth', system)} a day) in the months of this "
        "absence, and the days after it, without rain.",
        "The days go with the water that the mix holds: if it holds a fifth less, beds last about a fifth "
        "shorter. Dig before you trust them.",
        *(
            [f"Nothing grows on that day in {', '.join(later)}; what is planted later needs water then."]
            if later
            else []
        ),
        *weather_notes(left.setup.daily, weather_rows_of_week(left.setup.daily, result), until=result.on),
        *known_notes(garden, result, system=system),
        *supply_notes(garden, standing, system),
        *garden_notes(garden, standing),
    )


def away_report(
    left: Left, stuck: Sequence[StuckOutlet], costs: Sequence[Decimal | None], *, system: System
) -> Report:
    """Return an absence as a report; `costs` are what each outlet stuck open adds to the bills."""
    coming = _coming(left)
    garden, on, back = left.garden, left.result.on, left.day(left.days)
    currency = garden.tariff.currency if garden.tariff is not None else ""
    return Report(
        schema="rillbook.away/1",
        title=f"{garden.name}: away from {day_text(on)} to {day_text(back)} {back:%Y}",
        as_of=on,
        parts=(
            Part("rows", "", LASTING_COLUMNS, tuple(_lasting_rows(left)), machine_only=True),
            _table_part(left),
            *coming_parts(coming),
            stuck_part(stuck, costs, currency=currency, days=left.days),
        ),
        lines=(
            *_first_line(left),
            *coming_lines(coming, system),
            *stuck_lines(stuck, costs, currency=currency, days=left.days, system=system),
        ),
        notes=(*_notes(left, system), *coming_notes(coming), *stuck_notes(garden)),
        extra={
            "back": back,
            "hottest_from": left.absence.spell.first,
            "hottest_to": left.absence.spell.last,
            "best_visit": left.day(coming.best),
            "look_first": [garden.beds[n].name for n in left.absence.first_beds()],
        },
    )
