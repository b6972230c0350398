"""The only reader of the wall clock; everything else is given its date."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

__all__ = ["today"]


def today(timezone: str) -> date:
    """Return the current date in an IANA time zone, for example ``Europe/Lisbon``."""
    return datetime.now(ZoneInfo(timezone)).date()
