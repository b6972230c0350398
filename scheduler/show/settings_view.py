"""Few settings of a timer over a season: the card to set it by, and what more or fewer settings cost."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import numpy as np

from scheduler.garden.dimensions import System
from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.season.outlet_settings import FewSettings, OutletSetting, Stretch
from scheduler.season.settings_replay import ReplayedYears
from scheduler.season.settings_table import WORTH_A_TRIP, Reckoned, SettingsTable, paying
from scheduler.show.notes import (
    day_text,
    garden_notes,
    percent,
    restriction_notes,
    supply_notes,
    weather_notes,
)
from scheduler.show.report import Column, Part, Report, Row
from scheduler.show.settings_soil import daily_lines, gap_faults, run_length_lines
from scheduler.show.week_view import clock_text
from scheduler.timetable.windows import WEEKDAYS
from scheduler.weather.record import DailyWeather

__all__ = ["card_report", "changes_report", "days_text", "settings_faults"]

CARD_COLUMNS = (
    Column("begins", "set the\ntimer on", day=True),
    Column("outlet", "outlet"),
    Column("zone", "zone"),
    Column("days", "run on"),
    Column("starts", "start at"),
    Column("run_time_min", "each run", "duration"),
    Column("too_long_for", ""),
)
CHANGES_COLUMNS = (
    Column("times", "timer set"),
    Column("changes", ""),
    Column("over_l", "over need,\nreckoned", "volume"),
    Column("over_percent", "of\nneed", "percent", decimals=0),
    Column("volume_l", "water\na season", "volume"),
    Column("deep_percolation_l", "drained\nbelow", "volume"),
    Column("cost", "garden's\ncost"),
    Column("currency", ""),
    Column("short_days", "bed-days\nshort", decimals=0),
    Column("worst_percent", "worst\nweek short", "percent", decimals=0),
    Column("worst_bed", "in"),
    Column("worst_week", ""),
    Column("weeks_beyond_share", ""),
    Column("weeks_not_lasted", ""),
)
SETTING_COLUMNS = (Column("changes", "changes"), *CARD_COLUMNS)

#: Which need a week's setting has to meet, in words.
BASES = {
    "normals": "the need of the normals",
    "p80": "the need that eight years in ten stay below",
    "worst": "the greatest need of all years",
}


def days_text(setting: OutletSetting, stretch: Stretch) -> str:
    """Return the run days of a setting as a timer is told them."""
    pattern = setting.pattern
    if pattern is None:
        return "off"
    if pattern.weekdays is not None:
        if all(pattern.weekdays):
            return "every day"
        return " ".join(name for name, runs in zip(WEEKDAYS, pattern.weekdays, strict=True) if runs)
    if pattern.interval == 1:
        return "every day"
    first = stretch.begins + timedelta(days=pattern.offset)
    return f"every {pattern.interval} days from {day_text(first)}"


def _setting_rows(garden: Garden, few: FewSettings) -> list[Row]:
    """Return one row for each outlet of each setting."""
    return [
        {
            "changes": few.changes,
            "begins": stretch.begins,
            "outlet": setting.outlet,
            "zone": setting.zone,
            "days": days_text(setting, stretch),
            "starts": [clock_text(begin) for begin in setting.begins] or None,
            "run_time_min": setting.minutes or None,
            "too_long_for": "; ".join(garden.beds[bed].name for bed in setting.too_long_for) or None,
        }
        for stretch in few.stretches
        for setting in stretch.settings
    ]


def _off_row(table: SettingsTable) -> Row:
    """Return the last line of a card."""
    return {"begins": table.off_on, "zone": "all", "days": "switch the timer off"}


def _times(changes: int) -> str:
    """Return how often the timer is set, in words."""
    return "once" if changes == 1 else f"{changes} times"


def _replayed(replayed: ReplayedYears) -> Row:
    """Return the cells of a timetable that was replayed."""
    return {
        "volume_l": replayed.litres,
        "deep_percolation_l": replayed.drained,
        "cost": None if replayed.cost is None else f"{replayed.cost:.2f}",
        "short_days": replayed.short_days,
        "worst_percent": 100.0 * replayed.worst.share,
        "worst_bed": replayed.worst.bed if replayed.worst.share else None,
        "worst_week": replayed.worst.begins,
    }


def _reckoned_row(table: SettingsTable, reckoned: Reckoned, times: str) -> Row:
    """Return a row of the table of changes."""
    few = reckoned.few
    return {
        "times": times + ("" if reckoned.fits else " *"),
        "changes": few.changes,
        "over_l": few.over,
        "over_percent": 100.0 * few.over / table.need if table.need > 0.0 else None,
        **_replayed(reckoned.replayed),
        "weeks_beyond_share": len({week.begins for week in reckoned.short_weeks}),
        "weeks_not_lasted": len({week for gap in reckoned.long_gaps for week in gap.weeks}),
    }


def _changes_part(garden: Garden, table: SettingsTable, weekly: ReplayedYears | None, key: str) -> Part:
    """Return every number of settings beside the others, and the weekly table as reference."""
    rows = [_reckoned_row(table, row, _times(row.few.changes)) for row in table.rows]
    rows.append(_reckoned_row(table, table.each_week, "weekly, ahead"))
    if weekly is not None:
        rows.append({"times": "weekly, by soil", "changes": None, **_replayed(weekly)})
    currency = "" if garden.tariff is None else garden.tariff.currency
    marked = tuple({**row, "currency": currency} for row in rows)
    return Part(key, "What more or fewer settings cost", CHANGES_COLUMNS, marked)


def settings_faults(reckoned: Reckoned, share: float) -> list[str]:
    """Return in words the weeks and the gaps between runs that settings leave short, outlet by outlet."""
    faults = []
    for zone in dict.fromkeys(week.zone for week in reckoned.short_weeks):
        weeks = [week for week in reckoned.short_weeks if week.zone == zone]
        worst = max(weeks, key=lambda week: week.share)
        forced = [week for week in weeks if week.least > share + 1e-9]
        if len(forced) == len(weeks):
            why = "whatever the timer is set to"
        elif forced:
            why = f"{len(forced)} of them whatever the timer is set to, the others for want of more settings"
        else:
            why = "which more settings would avoid"
        named = ", ".join(day_text(week.begins)[4:] for week in weeks)
        faults.append(
            f'outlet {worst.outlet}, zone "{zone}": short by up to {percent(worst.share)} of the need in the '
            f"week{'s' if len(weeks) > 1 else ''} from {named}, worst from {day_text(worst.begins)[4:]}; "
            f"{why}; this is the setting that falls least short"
        )
    return faults + gap_faults(reckoned.long_gaps)


def _notes(
    garden: Garden, daily: DailyWeather, table: SettingsTable, *, weekly: bool, system: System
) -> tuple[str, ...]:
    """Return what the settings rest on."""
    first = table.rows[0].few.stretches[0].begins
    years = f"{table.years[0]} to {table.years[-1]}" if len(table.years) > 1 else str(table.years[0])
    n_years = f"{len(table.years)} year{'s' if len(table.years) > 1 else ''} ({years})"
    return (
        f"In no week is an outlet short of more than {percent(table.share)} of {BASES[table.basis]}, its "
        "driest bed or the mean of its beds by the zone's rule, unless told. Weeks begin on Mondays.",
        "A week's need is the use of a well-watered bed less the rain of the same week; rain that soil keeps "
        "for a later week is left out. The water of a setting counts evenly over its days.",
        f"Over need: water beyond each bed's need of each week, mean over {n_years}, the least that so few "
        "settings allow, over all dates and all that the timer can hold.",
        "The other figures are means of those years replayed day by day, the timer untouched between the "
        "dates. Worst week: the greatest share of its use that a bed's crops missed in a week of any year. "
        "A bed planted into dry soil shows there: soak it by hand on that day.",
        "Weekly, ahead: a setting for each week, settled before the season."
        + (" Weekly, by soil: the table of `week`, made anew every Monday." if weekly else ""),
        "Days between two runs are held to what the readily available water of the beds lasts; an interval "
        "counts from its first run. Runs are held to what the soil takes at once, if the plan tells of it, "
        "before water is saved. Not reckoned: what the ledger knows, and hand valves shut early.",
        *restriction_notes(garden, first, table.off_on),
        *weather_notes(daily, np.flatnonzero(~daily.forecast)),
        *supply_notes(garden, garden.beds, system),
        *garden_notes(garden, garden.beds),
    )


def _extra(table: SettingsTable, row: Reckoned, faults: Sequence[str]) -> Row:
    """Return further fields of the machine format."""
    return {
        "times": row.few.changes,
        "short_fraction": table.share,
        "years": table.basis,
        "replayed_years": list(table.years),
        "need_l": table.need,
        "off_on": table.off_on,
        "conflicts": list(faults),
    }


def _bare_lines(table: SettingsTable) -> list[str]:
    """Return when the timer can be off between crops."""
    return [
        f"Nothing grows from {day_text(begins)} to {day_text(ends)}: the timer can be off meanwhile."
        for begins, ends in table.bare
    ]


def _marked_lines(table: SettingsTable) -> list[str]:
    """Return what the mark in the table means, if it is there."""
    if all(row.fits for row in (*table.rows, table.each_week)):
        return []
    return [
        "* leaves weeks short by more than the share, or beds past their readily available water between "
        "runs; its card tells which."
    ]


def _paying_line(table: SettingsTable, chosen: Reckoned, system: System) -> str:
    """Return where more settings stop paying, by a stated rule."""
    n_set, n_most = chosen.few.changes, len(table.rows)
    least = min(table.rows, key=lambda row: row.replayed.litres)
    water, best = (format_quantity(row.replayed.litres, "volume", system) for row in (chosen, least))
    rule = f"the fewest settings whose water is within {percent(WORTH_A_TRIP)} of the least of 1 to {n_most}"
    if n_most == 1:
        return "Only one setting a season was looked at; --up-to looks at more."
    if n_set == n_most:
        return f"Up to {n_most} settings pay: {water} a season (rule: {rule}). --up-to looks at more."
    return (
        f"More settings than {n_set} pay little: {water} a season with {n_set}, {best} with "
        f"{least.few.changes} (rule: {rule}). Its card: --changes {n_set}."
    )


def _mean_of(years: int) -> str:
    """Return how many years figures are from, in words."""
    return "in the one year replayed" if years == 1 else f"mean of {years} years replayed"


def card_report(
    garden: Garden, daily: DailyWeather, *, table: SettingsTable, changes: int, system: System
) -> Report:
    """Return the card of one number of settings, what others cost below it."""
    row = table.rows[changes - 1]
    few, replayed = row.few, row.replayed
    rows = (*_setting_rows(garden, few), _off_row(table))
    n_set = len(few.stretches)
    fewer = f"; a setting more than {n_set} would change nothing" if n_set < changes else ""
    water, over = (format_quantity(value, "volume", system) for value in (replayed.litres, few.over))
    faults = settings_faults(row, table.share)
    cost = (
        ""
        if replayed.cost is None or garden.tariff is None
        else f" and adds {replayed.cost:.2f} {garden.tariff.currency} to the bills"
    )
    lines = [
        f"The timer is set {_times(n_set)}, the first time included{fewer}, and switched off on "
        f"{day_text(table.off_on)}.",
        f"A season takes {water}{cost}, {_mean_of(len(table.years))}; {over} of it beyond the "
        "need of its week.",
        *_bare_lines(table),
        *daily_lines(few),
        *run_length_lines(garden, few, system),
        *_marked_lines(table),
        *(f"DOES NOT FIT: {fault}." for fault in faults),
    ]
    return Report(
        schema="rillbook.settings/1",
        title=f"{garden.name}: {n_set} setting{'s' if n_set > 1 else ''} for {few.stretches[0].begins.year}",
        as_of=few.stretches[0].begins,
        parts=(
            Part("rows", "Set the timer", CARD_COLUMNS, rows, group="begins"),
            _changes_part(garden, table, None, "changes"),
        ),
        lines=tuple(lines),
        notes=_notes(garden, daily, table, weekly=False, system=system),
        extra=_extra(table, row, faults),
    )


def changes_report(
    garden: Garden, daily: DailyWeather, *, table: SettingsTable, weekly: ReplayedYears | None, system: System
) -> Report:
    """Return every number of settings beside the others, and where more of them stop paying."""
    chosen = paying(table)
    faults = settings_faults(table.each_week, table.share)
    lines = [
        _paying_line(table, chosen, system),
        *_bare_lines(table),
        *_marked_lines(table),
        *(f"DOES NOT FIT, however often the timer is set: {fault}." for fault in faults),
    ]
    settings = tuple(row for reckoned in table.rows for row in _setting_rows(garden, reckoned.few))
    return Report(
        schema="rillbook.changes/1",
        title=f"{garden.name}: how often to set the timer in a season",
        as_of=table.rows[0].few.stretches[0].begins,
        parts=(
            _changes_part(garden, table, weekly, "rows"),
            Part("settings", "Settings", SETTING_COLUMNS, settings, machine_only=True),
        ),
        lines=tuple(lines),
        notes=_notes(garden, daily, table, weekly=weekly is not None, system=system),
        extra=_extra(table, chosen, faults),
    )
