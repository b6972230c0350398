"""The day patterns that a timer can hold, as masks over the seven days of a week. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from itertools import compress, product

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Timer
from scheduler.timetable.windows import weekday

__all__ = ["DAYS_PER_WEEK", "DayPattern", "day_patterns"]

DAYS_PER_WEEK = 7

BoolArray = NDArray[np.bool_]
#: Mask over the week's days, and how a person sets it.
DayPattern = tuple[tuple[bool, ...], str]


def _weekday_text(mask: Sequence[bool], names: Sequence[str]) -> str:
    """Return the weekdays of a mask in words, in the order of the week's days."""
    return "every day" if all(mask) else " ".join(compress(names, mask))


def day_patterns(first: date, allowed: Sequence[bool], timer: Timer) -> tuple[DayPattern, ...]:
    """Return every pattern of run days from `first` on that the timer can hold and the limits allow.

    The first pattern is no run at all; the rest follow by number of runs. Two ways to set one mask
    are one pattern, told as weekdays if the timer knows them.
    """
    found: dict[tuple[bool, ...], str] = {(False,) * DAYS_PER_WEEK: "no run this week"}
    if "weekdays" in timer.day_choices:
        names = [weekday(first + timedelta(days=day)) for day in range(DAYS_PER_WEEK)]
        for mask in product(*(((False, True) if may else (False,)) for may in allowed)):
            found.setdefault(mask, _weekday_text(mask, names))
    if "every n days" in timer.day_choices:
        for interval in range(1, timer.longest_interval + 1):
            for offset in range(min(interval, DAYS_PER_WEEK)):
                mask = tuple(day % interval == offset for day in range(DAYS_PER_WEEK))
                if all(may or not runs for runs, may in zip(mask, allowed, strict=True)):
                    begins = first + timedelta(days=offset)
                    often = "every day" if interval == 1 else f"every {interval} days"
                    text = often if interval == 1 else f"{often} from {begins:%a} {begins.day} {begins:%b}"
                    found.setdefault(mask, text)
    return tuple(sorted(found.items(), key=lambda item: (sum(item[0]), [not runs for runs in item[0]])))
