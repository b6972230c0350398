"""Timetables beside each other: water, money, drainage and bed-days short of water, for a season or many."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.season.compare import WEEKLY, Comparison, Outcome, Tally, mean_tally
from scheduler.season.yields import PlantingYield
from scheduler.show.compare_words import verdict
from scheduler.show.notes import garden_notes, percent, restriction_notes, supply_notes, weather_notes
from scheduler.show.report import Column, Part, Report, Row
from scheduler.weather.record import DailyWeather

__all__ = ["compare_report", "compare_years_report"]

COLUMNS = (
    Column("timetable", "timetable"),
    Column("volume_l", "water", "volume"),
    Column("drained_l", "drained\nbelow", "volume"),
    Column("transpired_l", ""),
    Column("cost", "garden's\ncost"),
    Column("currency", ""),
    Column("short_days", "bed-days\nshort of\nwater"),
    Column("least_stress_coefficient", "lowest\nKs", decimals=2),
    Column("hardest", "hardest-hit bed"),
    Column("hardest_bed", ""),
    Column("hardest_bed_short_days", ""),
    Column("least_yield", "least yield over full"),
    Column("least_yield_crop", ""),
    Column("least_yield_low_fraction", ""),
    Column("least_yield_high_fraction", ""),
)
BESIDE_COLUMNS = (
    Column("timetable", "timetable"),
    Column("more_volume_l", "water\nmore", "volume"),
    Column("more_drained_l", "drained\nmore", "volume"),
    Column("more_cost", "cost\nmore"),
    Column("currency", ""),
    Column("more_short_days", "bed-days short\nmore"),
)
BED_COLUMNS = (
    Column("timetable", "timetable"),
    Column("bed", "bed"),
    Column("short_days", "days"),
    Column("volume_l", "water", "volume"),
    Column("drained_l", "drained", "volume"),
    Column("least_stress_coefficient", "lowest Ks", decimals=2),
)
MEAN_COLUMNS = (
    Column("timetable", "timetable"),
    Column("volume_l", "water,\nmean", "volume"),
    Column("least_volume_l", "least", "volume"),
    Column("most_volume_l", "most", "volume"),
    Column("drained_l", "drained,\nmean", "volume"),
    Column("transpired_l", ""),
    Column("cost", "cost,\nmean"),
    Column("least_cost", "least"),
    Column("most_cost", "most"),
    Column("currency", ""),
    Column("short_days", "bed-days\nshort,\nmean", decimals=0),
    Column("most_short_days", "most"),
)
YEAR_COLUMNS = (
    Column("year", "year"),
    Column("timetable", "timetable"),
    Column("volume_l", "water", "volume"),
    Column("drained_l", "drained", "volume"),
    Column("transpired_l", ""),
    Column("cost", "cost"),
    Column("currency", ""),
    Column("short_days", "bed-days short"),
)


def _tally_row(tally: Tally, currency: str) -> Row:
    """Return the figures of one timetable's season."""
    return {
        "timetable": tally.label,
        "volume_l": tally.litres,
        "drained_l": tally.drained,
        "transpired_l": tally.transpired,
        "cost": None if tally.cost is None else f"{tally.cost:.2f}",
        "currency": currency,
        "short_days": round(tally.short_days),
    }


def _yield_text(outcome: PlantingYield | None) -> str | None:
    """Return the planting that may have lost most, and the range of what it still gave."""
    if outcome is None or outcome.low is None or outcome.high is None:
        return None
    low, high = percent(outcome.low), percent(outcome.high)
    return "nothing lost" if low == high == percent(1.0) else f"{outcome.crop} {low} to {high}"


def _row(outcome: Outcome, currency: str) -> Row:
    """Return the row of one timetable."""
    hardest, least = outcome.hardest, outcome.least_yield
    return _tally_row(outcome.tally, currency) | {
        "least_stress_coefficient": min(bed.least_stress for bed in outcome.beds),
        "hardest": "none" if hardest is None else f"{hardest.bed}, {hardest.short_days} d",
        "hardest_bed": None if hardest is None else hardest.bed,
        "hardest_bed_short_days": None if hardest is None else hardest.short_days,
        "least_yield": _yield_text(least),
        "least_yield_crop": None if least is None else least.crop,
        "least_yield_low_fraction": None if least is None else least.low,
        "least_yield_high_fraction": None if least is None else least.high,
    }


def _beside_part(tallies: Sequence[Tally], currency: str) -> Part:
    """Return what each timetable takes, costs and leaves short over the weekly table, below 0 where less."""
    ours = tallies[0]
    rows = tuple(
        {
            "timetable": one.label,
            "more_volume_l": one.litres - ours.litres,
            "more_drained_l": one.drained - ours.drained,
            "more_cost": None if one.cost is None or ours.cost is None else f"{one.cost - ours.cost:.2f}",
            "currency": currency,
            "more_short_days": round(one.short_days - ours.short_days),
        }
        for one in tallies[1:]
    )
    return Part("beside", f"Over the {WEEKLY}; below 0 is less than it", BESIDE_COLUMNS, rows)


def _bed_part(outcomes: Sequence[Outcome]) -> Part:
    """Return how each bed fared under each timetable."""
    rows = tuple(
        {
            "timetable": outcome.tally.label,
            "bed": bed.bed,
            "short_days": bed.short_days,
            "volume_l": bed.litres,
            "drained_l": bed.drained,
            "least_stress_coefficient": bed.least_stress,
        }
        for outcome in outcomes
        for bed in outcome.beds
    )
    return Part(
        "beds", "Days short of water, bed by bed", BED_COLUMNS, rows, by=("timetable", "bed", "short_days")
    )


def _against_lines(outcomes: Sequence[Outcome]) -> list[str]:
    """Return what of the timetables could not be set on this timer."""
    return [
        f'CANNOT BE SET as said, replayed all the same: "{one.tally.label}": {"; ".join(one.against)}.'
        for one in outcomes
        if one.against
    ]


def _notes(comparison: Comparison) -> list[str]:
    """Return what the comparison rests on."""
    notes = [
        f"The {WEEKLY} is set anew on Mondays, as `season` replays it; the others stay as they were set on "
        "the season's first day. All live through the same weather, soil and crops.",
        "All valves of a zone stay open for its whole runs, and are shut where nothing grows; for a depth a "
        "week each valve is shut by hand after the minutes of its own bed, and the depth is what the line "
        "puts down, spread over the bed.",
        "Drained is what the soil could not hold, of rain too. What unevenness and leaching take is in the "
        "water, and not in what is drained. Water given by hand is in none.",
        "Yield is that of the crop that may have lost most, relative to one that was never short (FAO-56 "
        "eq. 90, Ky of FAO-33): to compare by, never a promise.",
    ]
    if comparison.later_states:
        notes.append(
            "The plan states soil after the season's first day: then it is the same for all timetables."
        )
    if comparison.left_out:
        notes.append(
            "Of what is recorded only the rain gauge is used: runs and digs belong to the water really given."
        )
    return notes


def _usual_note(usual: bool) -> list[str]:
    """Return where the timetables are from that nobody named."""
    if not usual:
        return []
    return [
        "No timetable was named: every day 20 min, and an inch a week, stand for common practice (judgement, "
        "no source). --fixed and --depth take your own."
    ]


def compare_report(
    garden: Garden,
    daily: DailyWeather,
    *,
    comparison: Comparison,
    usual: bool,
    moved: str,
    system: System,
) -> Report:
    """Return one season under several timetables; `usual` tells that those beside ours were not named."""
    ours, currency = comparison.ours, garden.tariff.currency if garden.tariff else ""
    outcomes = comparison.outcomes
    first, last = ours.dates[0].item(), ours.dates[-1].item()
    tallies = [outcome.tally for outcome in outcomes]
    unfit = sum(1 for plan in ours.plans if plan.conflicts)
    return Report(
        schema="rillbook.compare/1",
        title=f"{garden.name}: timetables compared, {first} to {last}",
        as_of=last,
        parts=(
            Part("rows", "The season under each", COLUMNS, tuple(_row(one, currency) for one in outcomes)),
            _beside_part(tallies, currency),
            _bed_part(outcomes),
        ),
        lines=(
            *(verdict(tallies[0], one, currency=currency, system=system) for one in tallies[1:]),
            *_against_lines(outcomes),
            *([f"The {WEEKLY} itself DOES NOT FIT in {unfit} weeks; see `season`."] if unfit else []),
        ),
        notes=(
            *_usual_note(usual),
            *_notes(comparison),
            *([moved] if moved else []),
            *weather_notes(daily, ours.weather_rows),
            *restriction_notes(garden, first, last),
            *supply_notes(garden, garden.beds, system),
            *garden_notes(garden, garden.beds),
        ),
        extra={"weeks_with_conflict": unfit},
    )


def _mean_row(tallies: Sequence[Tally], currency: str) -> Row:
    """Return the means and extremes of one timetable over the years."""
    litres = [tally.litres for tally in tallies]
    costs = [tally.cost for tally in tallies if tally.cost is not None]
    return _tally_row(mean_tally(tallies), currency) | {
        "least_volume_l": min(litres),
        "most_volume_l": max(litres),
        "least_cost": f"{min(costs):.2f}" if costs else None,
        "most_cost": f"{max(costs):.2f}" if costs else None,
        "short_days": mean_tally(tallies).short_days,
        "most_short_days": round(max(tally.short_days for tally in tallies)),
    }


def _span_line(ours: Sequence[Tally], other: Sequence[Tally]) -> str:
    """Return in how many years the weekly table took less water, and left fewer bed-days short."""
    less = sum(a.litres < b.litres for a, b in zip(ours, other, strict=True))
    fewer = sum(a.short_days < b.short_days for a, b in zip(ours, other, strict=True))
    if len(ours) == 1:
        return ""  # The sentence before says it of the only year.
    return f" It took less water in {less} of {len(ours)} years, and left fewer bed-days short in {fewer}."


def compare_years_report(
    garden: Garden, daily: DailyWeather, *, comparisons: Sequence[Comparison], usual: bool, system: System
) -> Report:
    """Return the same comparison over many years of the record: means and extremes, then year by year."""
    currency = garden.tariff.currency if garden.tariff else ""
    by_timetable = [
        [outcome.tally for outcome in column]
        for column in zip(*(c.outcomes for c in comparisons), strict=True)
    ]
    means = [mean_tally(tallies) for tallies in by_timetable]
    years = tuple(
        {"year": c.year} | _tally_row(outcome.tally, currency) for c in comparisons for outcome in c.outcomes
    )
    count = len(comparisons)
    lines = [
        verdict(means[0], mean, currency=currency, system=system) + _span_line(by_timetable[0], tallies)
        for mean, tallies in zip(means[1:], by_timetable[1:], strict=True)
    ]
    return Report(
        schema="rillbook.compare-years/1",
        title=f"{garden.name}: timetables compared in every year of the record",
        as_of=None,
        parts=(
            Part(
                "rows",
                "The one year of the record" if count == 1 else f"Means of {count} years",
                MEAN_COLUMNS,
                tuple(_mean_row(tallies, currency) for tallies in by_timetable),
            ),
            _beside_part(means, currency),
            Part("years", "Water year by year", YEAR_COLUMNS, years, by=("year", "timetable", "volume_l")),
        ),
        lines=(*lines, *_against_lines(comparisons[-1].outcomes)),
        notes=(
            *_usual_note(usual),
            *(["Sentences go by the means of the years."] if count > 1 else []),
            *_notes(comparisons[-1]),
            *weather_notes(daily, np.flatnonzero(~daily.forecast)),
            *supply_notes(garden, garden.beds, system),
            *garden_notes(garden, garden.beds),
        ),
    )
