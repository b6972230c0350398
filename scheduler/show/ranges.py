"""Plausible ranges for people: of the minutes a run day, of a season, and what to measure next."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Garden
from scheduler.season.results import WeekResult
from scheduler.season.season_range import SeasonRange
from scheduler.season.uncertainty import PlausibleRange, input_uncertainty
from scheduler.season.varied import INPUTS
from scheduler.season.week_range import MEMORY_DAYS, run_days, week_range
from scheduler.show.notes import percent
from scheduler.show.report import Column, Part

__all__ = [
    "NeedsRange",
    "input_part",
    "measure_line",
    "needs_range",
    "season_range_note",
    "span_text",
    "week_range_note",
]

FloatArray = NDArray[np.float64]

INPUT_COLUMNS = (
    Column("input", "input"),
    Column("uncertainty_percent", "standard\nuncertainty\n[%]", decimals=1),
    Column("moves_min", "moves the minutes\na run day by", "duration", decimals=1),
    Column("variance_percent", "share of\nvariance [%]", decimals=0),
)

WORDS = {
    "reference_et": "reference ET",
    "crop_coefficient": "crop coefficient",
    "available_water": "available water",
    "efficiency": "application efficiency",
    "flow": "emitter flow",
    "rain": "rain",
}

#: How a gardener measures each input, or checks what it leads to.
HOW = {
    "reference_et": "take weather from a station nearer by, with humidity, wind and sun measured there",
    "crop_coefficient": "dig 12 to 24 hours after runs and log whether the soil is wetter or drier than told",
    "available_water": "weigh a pot of the mix when it has drained and again when plants wilt in it, and "
    "measure the depth of the soil again",
    "efficiency": "set eight cups or more under emitters all along its line for a cup test",
    "flow": "set eight cups or more under its emitters for a cup test, or time a bucket or the meter while "
    "it runs alone",
    "rain": "read a gauge of your own in the open beside the beds and log it",
}

#: What one cup test measures.
BY_CUPS = ("efficiency", "flow")


class NeedsRange(NamedTuple):
    """Plausible range of the minutes that each bed needs on a run day, shape (n_beds,).

    Where the table sets no run, those of a single one. `week` is the range of the whole week's minutes.
    """

    low: FloatArray
    high: FloatArray
    days: FloatArray
    week: PlausibleRange


def needs_range(garden: Garden, result: WeekResult) -> NeedsRange:
    """Return the plausible range of the minutes that each bed needs on a run day."""
    week = week_range(garden, result)
    days = np.maximum(run_days(garden, result).sum(axis=0), 1.0)
    return NeedsRange(week.low / days, week.high / days, days, week)


def span_text(low: float, high: float) -> str:
    """Return a range in whole numbers."""
    return f"{low:.0f}-{high:.0f}"


def input_part(garden: Garden, ranges: NeedsRange, number: int) -> Part:
    """Return what each input adds to the range of one bed."""
    uncertainty = input_uncertainty(garden)[number]
    rows = tuple(
        {
            "input": WORDS[name],
            "uncertainty_percent": 100.0 * float(uncertainty[i]),
            "moves_min": float(ranges.week.parts[i, number] / ranges.days[number]),
            "variance_percent": 100.0 * float(ranges.week.shares[i, number]),
        }
        for i, name in enumerate(INPUTS)
    )
    return Part("inputs", "What the range rests on", INPUT_COLUMNS, rows)


def measure_line(ranges: NeedsRange, number: int) -> str | None:
    """Return which input to measure next for one bed, and how; None if no input moves its answer."""
    name, share = ranges.week.foremost(number)
    if share <= 0.0:
        return None
    line = (
        f"Measuring the {WORDS[name]} would narrow this answer most: it makes {percent(share)} of its "
        f"variance; {HOW[name]}."
    )
    by_cups = sum(float(ranges.week.shares[INPUTS.index(one), number]) for one in BY_CUPS)
    if name not in BY_CUPS and by_cups > share:
        line += f" One cup test measures two others, flow and efficiency: together {percent(by_cups)}."
    return line


def _taken(garden: Garden) -> str:
    """Return the plan's standard uncertainties in words, and that some are judgements."""
    listed = ", ".join(f"{WORDS[name]} {percent(getattr(garden.uncertainty, name))}" for name in INPUTS)
    measured = any(bed.cup_test or bed.flow_test for bed in garden.beds)
    tests = "; a bed that was measured goes by its tests" if measured else ""
    judged = any(note.where == "uncertainty" for note in garden.assumed)
    return listed + tests + ("; what the plan leaves open is judgement" if judged else "")


def week_range_note(garden: Garden) -> str:
    """Return what the ranges of a week rest on."""
    return (
        "Ranges hold eight cases in ten if inputs lie off by their standard uncertainties "
        f"({_taken(garden)}). They take the soil as known when last stated, dug or measured, or "
        f"{MEMORY_DAYS} days ago, and the weather ahead as reckoned."
    )


def season_range_note(garden: Garden, water: SeasonRange) -> str:
    """Return what the range of a season rests on, and which input matters most."""
    foremost = (
        f" The {WORDS[water.foremost]} makes {percent(water.share)} of its variance."
        if water.share > 0.0
        else ""
    )
    return (
        "The range holds eight cases in ten if inputs lie off, alike in all beds and on all days, by their "
        f"standard uncertainties ({_taken(garden)}).{foremost} Other weather is not in it: --every-year "
        "shows that."
    )
