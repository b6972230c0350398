"""Days as people say them: today, yesterday, monday, or 2026-07-13. Pure."""

from __future__ import annotations

from datetime import date, timedelta

from scheduler.errors import RillbookError

__all__ = ["parse_day"]

_NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def parse_day(text: str, *, today: date) -> date:
    """Return the day that is meant; a weekday is the last one that was, today included.

    Raises
    ------
    RillbookError
        If the text is none of these, or a day still to come.
    """
    word = text.strip().lower()
    if word in ("today", "yesterday"):
        return today - timedelta(days=word == "yesterday")
    found = [number for number, name in enumerate(_NAMES) if len(word) >= 3 and name.startswith(word)]
    if len(found) == 1:
        return today - timedelta(days=(today.weekday() - found[0]) % 7)
    try:
        day = date.fromisoformat(word)
    except ValueError:
        raise RillbookError(
            f'day "{text}": write today, yesterday, a weekday such as monday, or a date such as {today}'
        ) from None
    if day > today:
        raise RillbookError(f'day "{text}" is still to come; today is {today}')
    return day
