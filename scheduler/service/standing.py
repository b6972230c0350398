"""What the timer is set to: the advice that stands until another takes its place. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from scheduler.timetable.patterns import DAYS_PER_WEEK
from scheduler.timetable.week import ZoneSetting

__all__ = ["Standing", "mask_from", "read_standing", "standing_of", "standing_rows"]

_EVERY = re.compile(r"every (\d+) days from")


@dataclass(frozen=True, slots=True)
class Standing:
    """The setting of one outlet.

    Attributes
    ----------
    zone : str
    outlet : int
    days : str
        The days as a person sets them.
    mask : tuple of bool
        The first seven days from `since`; True on days with a run.
    begins : tuple of int
        Start times, minutes after midnight.
    minutes : int
        Length of each run.
    since : date
        Day from which the setting has been advised.
    """

    zone: str
    outlet: int
    days: str
    mask: tuple[bool, ...]
    begins: tuple[int, ...]
    minutes: int
    since: date

    @property
    def minutes_per_day(self) -> int:
        """Minutes of all starts of one run day."""
        return self.minutes * len(self.begins)


def standing_of(setting: ZoneSetting, since: date) -> Standing:
    """Return a setting as the one that stands from a day on."""
    return Standing(
        setting.zone, setting.outlet, setting.days, setting.mask, setting.begins, setting.minutes, since
    )


def mask_from(standing: Standing, first: date) -> tuple[bool, ...]:
    """Return on which of the seven days from `first` a timer left at a setting runs.

    Weekdays come round every seven days, every n days every n.
    """
    every = _EVERY.match(standing.days)
    period = int(every[1]) if every else DAYS_PER_WEEK
    passed = (first - standing.since).days
    places = [(passed + day) % period for day in range(DAYS_PER_WEEK)]
    # Of a period longer than a week only the first seven days can hold its run.
    return tuple(place < DAYS_PER_WEEK and standing.mask[place] for place in places)


def standing_rows(settings: Iterable[Standing]) -> list[dict[str, Any]]:
    """Return settings as rows that JSON holds."""
    return [{**asdict(one), "since": one.since.isoformat()} for one in settings]


def read_standing(rows: Iterable[Mapping[str, Any]]) -> dict[str, Standing]:
    """Return the settings in rows made by `standing_rows`, by zone."""
    settings = (
        Standing(
            zone=row["zone"],
            outlet=row["outlet"],
            days=row["days"],
            mask=tuple(row["mask"]),
            begins=tuple(row["begins"]),
            minutes=row["minutes"],
            since=date.fromisoformat(row["since"]),
        )
        for row in rows
    )
    return {setting.zone: setting for setting in settings}
