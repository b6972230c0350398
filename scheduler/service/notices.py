"""What a person should be told today: settings to change, runs that rain makes needless, doubtful readings.

Anything else is quiet. Pure: what was told before comes in as keys.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

import numpy as np

from scheduler.garden.plan import Garden
from scheduler.garden.units import format_quantity
from scheduler.season.results import WeekResult
from scheduler.service.settle import Change, Settled
from scheduler.service.standing import Standing, standing_rows
from scheduler.timetable.choices import ZoneBeds, outlook_of
from scheduler.timetable.outlook import BedOutlook, depletion_under
from scheduler.timetable.week import ZoneSetting

__all__ = ["Doubt", "Notice", "notices_of_day"]

#: Rain from here on can be the reason that a run is needless [mm]: less is gone within a summer's day.
NOTABLE_RAIN = 3.0
#: The part of it that is worth a word [mm].
TOLD_RAIN = 1.0
#: Days back, and ahead, over which rain is taken for the reason.
RAIN_BEHIND, RAIN_AHEAD = 3, 3
#: Today's runs and tomorrow's can still be stopped by hand.
DAYS_TO_STOP = 2


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reading that looks wrong; `key` names the finding, so that it is told once while it lasts."""

    key: str
    text: str


@dataclass(frozen=True, slots=True)
class Notice:
    """One thing to tell; `key` names it, so that it is not told again."""

    kind: Literal["setting", "needless run", "reading"]
    key: str
    text: str


def notices_of_day(
    garden: Garden,
    settled: Settled,
    *,
    doubts: Sequence[Doubt] = (),
    told: Collection[str] = (),
) -> tuple[tuple[Notice, ...], tuple[str, ...]]:
    """Return what to tell today, and the keys to remember for tomorrow.

    Parameters
    ----------
    garden : Garden
    settled : Settled
        The week as the timer will run it.
    doubts : sequence of Doubt
        Readings that look wrong today.
    told : collection of str
        Keys remembered from the day before.

    Returns
    -------
    tuple of (tuple of Notice, tuple of str)
        Keys of what no longer holds are forgotten: should it come back, it is told again.
    """
    found = [
        *(_setting_notice(garden, change) for change in settled.changes),
        *_needless_runs(garden, settled),
        *(Notice("reading", f"reading {doubt.key}", doubt.text) for doubt in doubts),
    ]
    new = tuple(notice for notice in found if notice.key not in told)
    return new, tuple(notice.key for notice in found)


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


def _day(day: date) -> str:
    return f"{day:%a} {day.day} {day:%b}"


def _setting_text(setting: Standing) -> str:
    """Return a setting as a person enters it."""
    if not setting.begins:
        return "no run"
    starts = ", ".join(_clock(begin) for begin in setting.begins)
    return f"{setting.days}, start {starts}, {setting.minutes} min each"


def _setting_notice(garden: Garden, change: Change) -> Notice:
    """Return the notice that a setting should change."""
    after = change.after
    was = "" if change.before is None else f" (until now: {_setting_text(change.before)})"
    where = f'outlet {after.outlet}, zone "{after.zone}"'
    text = f"{garden.name}: set {where} to: {_setting_text(after)}{was}."
    row = standing_rows([after])[0]
    return Notice("setting", f"setting {' '.join(str(value) for value in row.values())}", text)


def _needless_runs(garden: Garden, settled: Settled) -> Iterator[Notice]:
    """Yield the runs of today and tomorrow that no bed needs, if rain is the reason."""
    result = settled.result
    fell, expected = _rain(result)
    if fell + expected < NOTABLE_RAIN:
        return
    changed = {change.after.zone for change in settled.changes}
    places = {beds.zone.name: beds for beds in result.zones}
    for setting in result.plan.settings:
        # A setting that is new today knows of the rain.
        if setting.begins and setting.zone not in changed:
            for day in _needless_days(setting, result.outlook, places[setting.zone]):
                on = result.on + timedelta(days=day)
                text = (
                    f'{garden.name}: the run of zone "{setting.zone}" on {_day(on)} is not needed '
                    f"({_rain_text(fell, expected)}); its beds stay within their limits without it. "
                    "If you stop it, log it as skipped."
                )
                yield Notice("needless run", f"needless {on} {setting.zone}", text)


def _needless_days(setting: ZoneSetting, outlook: BedOutlook, beds: ZoneBeds) -> list[int]:
    """Return which of the coming runs can be left out, one after the other, with every bed within its limit.

    The other runs of the week stay as they are set.
    """
    part = outlook_of(outlook, beds.index)
    minutes = np.full((1, beds.index.shape[0]), setting.minutes_per_day)
    mask = np.array([setting.mask], dtype=float)
    needless: list[int] = []
    for day in range(DAYS_TO_STOP):
        if not setting.mask[day]:
            continue
        without = mask.copy()
        without[0, day] = 0.0
        depletion = depletion_under(part, without, minutes)[:, 0]
        if (depletion <= part.limit + 1e-9).all():
            needless.append(day)
            mask = without
    return needless


def _rain(result: WeekResult) -> tuple[float, float]:
    """Return the effective rain of the last days, and what is counted of the forecast's [mm]."""
    fell = 0.0 if result.before is None else float(result.before.rain[-RAIN_BEHIND:].mean(axis=1).sum())
    expected = np.where(result.weather.origin == "forecast", result.counted_rain, 0.0)
    return fell, float(expected[:RAIN_AHEAD].sum())


def _rain_text(fell: float, expected: float) -> str:
    """Return where the water comes from, in both unit systems."""
    parts = {"fell in the last days": fell, "are counted on in the coming days": expected}
    words = [
        f"{format_quantity(depth, 'water_depth', 'metric')} "
        f"({format_quantity(depth, 'water_depth', 'us')}) of rain {how}"
        for how, depth in parts.items()
        if depth >= TOLD_RAIN
    ]
    return " and ".join(words)
