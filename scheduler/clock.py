"""The only reader of the wall clock; everything else is given its date."""

from __future__ import annotations

import time
from datetime import date, datetime
from zoneinfo import ZoneInfo

__all__ = ["elapsed", "now", "pause", "today"]


def today(timezone: str) -> date:
    """Return the current date in an IANA time zone, for example ``Europe/Lisbon``."""
    return now(timezone).date()


def now(timezone: str) -> datetime:
    """Return the current moment, with its offset, in an IANA time zone."""
    return datetime.now(ZoneInfo(timezone))


def elapsed() -> float:
    """Return seconds from some moment on, never set back; only differences of two answers mean something."""
    return time.monotonic()


def pause(seconds: float) -> None:
    """Wait."""
    time.sleep(seconds)
