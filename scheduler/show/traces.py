"""Results into the lines that figures draw."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import to_display, unit_label
from scheduler.season.results import SeasonResult, WeekResult
from scheduler.season.settings_replay import ReplayedYears
from scheduler.season.settings_table import SettingsTable
from scheduler.show.plot import BedTrace, ChangesPanel
from scheduler.timetable.patterns import DAYS_PER_WEEK

__all__ = ["changes_panels", "season_traces", "week_traces"]

FloatArray = NDArray[np.float64]

#: Days of the replay that a week's figure shows before the table begins.
DAYS_BEFORE = 28


def season_traces(garden: Garden, result: SeasonResult) -> list[BedTrace]:
    """Return one trace per bed over a whole replay."""
    limit = np.where(np.isfinite(result.limit), result.limit, np.nan)
    return [
        BedTrace(
            bed.name,
            result.dates,
            result.depletion[:, i],
            limit[:, i],
            result.rain[:, i],
            result.applied[:, i],
            None,
        )
        for i, bed in enumerate(garden.beds)
    ]


def _expected_runs(garden: Garden, result: WeekResult) -> FloatArray:
    """Return the depth that the table's runs store on each day and bed [mm], (7, n_beds)."""
    applied = np.zeros((DAYS_PER_WEEK, len(garden.beds)))
    for setting in result.plan.settings:
        per_day = np.array(setting.mask, dtype=float) * setting.minutes_per_day
        for i, bed in enumerate(garden.beds):
            if bed.zone == setting.zone:
                applied[:, i] = per_day * result.outlook.net_rate[:DAYS_PER_WEEK, i]
    return applied


def week_traces(garden: Garden, result: WeekResult) -> list[BedTrace]:
    """Return one trace per bed: the last four weeks of the replay and the seven days of the table."""
    week = slice(0, DAYS_PER_WEEK)
    limit = np.where(result.outlook.in_use, result.outlook.limit, np.nan)[week]
    parts = [
        (
            result.weather.dates[week],
            result.plan.depletion[week],
            limit,
            result.outlook.conditions.rain[week],
            _expected_runs(garden, result),
        )
    ]
    if result.before is not None:
        back, tail = result.before, slice(-DAYS_BEFORE, None)
        was_limit = np.where(np.isfinite(back.limit), back.limit, np.nan)[tail]
        parts.insert(
            0, (back.dates[tail], back.depletion[tail], was_limit, back.rain[tail], back.applied[tail])
        )
    dates, *lines = (np.concatenate(arrays) for arrays in zip(*parts, strict=True))
    deficit, limits, rain, applied = lines
    return [
        BedTrace(bed.name, dates, deficit[:, i], limits[:, i], rain[:, i], applied[:, i], result.on)
        for i, bed in enumerate(garden.beds)
    ]


def changes_panels(
    garden: Garden, table: SettingsTable, *, weekly: ReplayedYears | None, system: System
) -> list[ChangesPanel]:
    """Return water, money and the worst shortage of a week against the number of settings."""
    rows = [row.replayed for row in table.rows]
    water = np.asarray(to_display(np.array([row.litres for row in rows]), "volume", system))
    panels = [
        ChangesPanel(
            f"water a season [{unit_label('volume', system)}]",
            tuple(water.tolist()),
            None if weekly is None else float(to_display(weekly.litres, "volume", system)),
        )
    ]
    costs = [float(row.cost) for row in rows if row.cost is not None]
    if garden.tariff is not None and len(costs) == len(rows):
        reference = None if weekly is None or weekly.cost is None else float(weekly.cost)
        panels.append(ChangesPanel(f"garden's cost [{garden.tariff.currency}]", tuple(costs), reference))
    panels.append(
        ChangesPanel(
            "worst week short [%]",
            tuple(100.0 * row.worst.share for row in rows),
            None if weekly is None else 100.0 * weekly.worst.share,
        )
    )
    return panels
