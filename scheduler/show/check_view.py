"""A plan read back: every quantity in both unit systems, and what the plan leaves to assumptions."""

from __future__ import annotations

from scheduler.garden.describe import describe_plan
from scheduler.garden.plan import Garden
from scheduler.season.water_quality import clogging_notes
from scheduler.show.report import Column, Part, Report

__all__ = ["check_report"]

COLUMNS = (Column("place", "where"), Column("what", "what"), Column("value", "read as"))


def check_report(garden: Garden, *, weather_found: bool) -> Report:
    """Return the plan's quantities as a report; `weather_found` tells if its weather file is there."""
    rows = tuple(
        {"place": place, "what": what, "value": value} for place, what, value in describe_plan(garden)
    )
    planting_notes = tuple(
        f"{bed.name}, {planting.crop}: {note}"
        for bed in garden.beds
        for planting in bed.plantings
        for note in planting.notes
    )
    missing = (
        ("The weather record is not read here: rillbook weather checks it.",)
        if weather_found
        else (f"The weather file {garden.weather.file} is not there yet.",)
    )
    return Report(
        schema="rillbook.check/1",
        title=f"{garden.name}: no faults",
        as_of=None,
        parts=(Part("rows", "", COLUMNS, rows, group="place"),),
        notes=(*missing, *map(str, garden.assumed), *map(str, clogging_notes(garden)), *planting_notes),
    )
