"""What of the past an answer knows from records, and what it only assumes."""

from __future__ import annotations

from datetime import date

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.season.feedback import GREATEST_FACTOR, LEAST_FACTOR, REPEATS
from scheduler.season.results import WeekResult
from scheduler.show.notes import day_text, percent

__all__ = ["known_notes"]

#: A correction smaller than this is none [mm].
LEAST_CORRECTION = 0.05

#: A factor nearer to 1 than this is none.
LEAST_FACTOR_CHANGE = 0.005


def known_notes(garden: Garden, result: WeekResult, *, system: System) -> tuple[str, ...]:
    """Return from which day on runs are known, where gauge rain counts, and what set the soil right."""
    before = result.before
    if before is None:
        return ()
    notes: list[str] = []
    days = np.flatnonzero(before.known.any(axis=1))
    if days.size:
        first = int(days[0])
        watered = before.minutes[first:] > 0.0
        known = int((before.known[first:] & watered).sum())
        notes.append(
            f"Runs are known from {before.dates[first]} on: {known} of the {int(watered.sum())} runs of beds "
            "since then are recorded, the others are taken as kept."
        )
    gauged = int(before.gauged.sum())
    if gauged:
        notes.append(
            f"Your own gauge's rain stands for the record's on {gauged} day{'s' if gauged > 1 else ''}."
        )
    for day, number in np.argwhere(np.abs(before.correction) > LEAST_CORRECTION):
        moved = float(before.correction[day, number])
        notes.append(_set_right(garden.beds[number].name, before.dates[day].item(), moved, system))
    # Roots that grow or go move what is missing between them and the soil below; only the sum tells.
    this_morning = result.outlook.depletion + np.asarray(result.outlook.state.below)
    for number, moved in enumerate(this_morning - (before.depletion[-1] + before.below[-1])):
        if abs(moved) > LEAST_CORRECTION:
            notes.append(_set_right(garden.beds[number].name, result.on, float(moved), system))
    notes += _factor_notes(garden, result)
    return tuple(notes)


def _factor_notes(garden: Garden, result: WeekResult) -> list[str]:
    """Return for which beds repeated findings have changed the use that is reckoned with, and since when."""
    notes = []
    before = result.before
    for number, factor in enumerate(result.use_factor):
        if abs(factor - 1.0) < LEAST_FACTOR_CHANGE:
            continue
        since = result.on
        if before is not None:
            same = np.flatnonzero(np.abs(before.use_factor[:, number] - factor) > 1e-9)
            row = int(same[-1]) + 1 if same.size else 0
            since = before.dates[row].item() if row < before.dates.shape[0] else result.on
        more = "more" if factor > 1.0 else "less"
        found = "drier" if factor > 1.0 else "wetter"
        notes.append(
            f"{garden.beds[number].name} is reckoned to use {percent(abs(float(factor) - 1.0))} {more} since "
            f"{day_text(since)}: {REPEATS} findings in a row were {found} than reckoned. The factor is kept "
            f"within {LEAST_FACTOR:g} and {GREATEST_FACTOR:g} (judgement); test the bed's flow too."
        )
    return notes


def _set_right(bed: str, on: date, moved: float, system: System) -> str:
    """Return what a soil state or a dig changed."""
    amount = format_quantity(abs(moved), "water_depth", system)
    way = "drier" if moved > 0.0 else "wetter"
    by = "by a soil state, a dig or a measurement"
    return f"Set right on the morning of {day_text(on)}: {bed} is {amount} {way}, {by}."
