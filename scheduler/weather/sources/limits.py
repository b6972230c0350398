"""How long an answer stays fresh, how long to wait for one, and how much of it to take."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from typing import Literal

from scheduler.clock import elapsed, now, pause

__all__ = ["LIFETIMES", "NEVER", "Clock", "Kind", "Lifetime", "Limits", "fresh_for", "http_date"]

#: What a request asks for: a forecast; past days that may still change; past days that will not;
#: the file of a station; which grid cell a place lies in.
Kind = Literal["forecast", "recent days", "archive", "station", "mapping"]

#: Lifetime of what never goes stale.
NEVER = -1
_HOUR = 3600
_DAY = 24 * _HOUR


@dataclass(frozen=True, slots=True)
class Lifetime:
    """How long an answer is fresh [s]: `usual` if the server does not say, never more than `longest`."""

    usual: int
    longest: int


#: Lifetimes by kind. Days older than an archive's delay do not change any more.
LIFETIMES: dict[Kind, Lifetime] = {
    "forecast": Lifetime(_HOUR, 6 * _HOUR),
    "recent days": Lifetime(6 * _HOUR, _DAY),
    "archive": Lifetime(NEVER, NEVER),
    "station": Lifetime(12 * _HOUR, 2 * _DAY),
    "mapping": Lifetime(_DAY, 30 * _DAY),
}


@dataclass(frozen=True, slots=True)
class Limits:
    """Bounds on one question to a server.

    Attributes
    ----------
    connect_timeout, read_timeout : float
        Longest silence while connecting, and while reading [s].
    total_time : float
        Longest time for all tries and pauses together [s].
    attempts : int
        Tries before giving up.
    first_pause, longest_pause : float
        Pause after the first try, doubled after each further one, and its limit [s]. A server's
        ``Retry-After`` is obeyed up to the same limit; one that asks for longer is left alone.
    largest_answer : int
        Bytes of an answer after decompression.
    redirects : int
        Redirections followed, all on the same host.
    """

    connect_timeout: float = 5.0
    read_timeout: float = 20.0
    total_time: float = 60.0
    attempts: int = 4
    first_pause: float = 1.0
    longest_pause: float = 20.0
    largest_answer: int = 20_000_000
    redirects: int = 3


def _moment() -> datetime:
    return now("UTC")


@dataclass(frozen=True, slots=True)
class Clock:
    """The clock as a session sees it: the moment in UTC, seconds passed, and waiting."""

    moment: Callable[[], datetime] = _moment
    elapsed: Callable[[], float] = elapsed
    pause: Callable[[float], None] = pause


def fresh_for(kind: Kind, headers: Mapping[str, str]) -> int | None:
    """Return for how many seconds an answer is fresh; `NEVER` for always, None if it may not be stored.

    ``max-age`` comes before ``Expires``, which counts from the server's own ``Date``, so that a clock
    that is wrong on either side does not matter (RFC 9111, sections 4.2.1 and 5.3). What has settled
    stays for ever; an answer that says ``no-cache`` is stored, but only used again after asking.

    Parameters
    ----------
    kind : Kind
    headers : mapping
        Of the answer; names in any case if the mapping allows for that.
    """
    words = [word.strip().lower() for word in headers.get("Cache-Control", "").split(",")]
    if "no-store" in words:
        return None
    lifetime = LIFETIMES[kind]
    if lifetime.usual == NEVER:
        return NEVER
    # At least a second, since what expires at once would not be kept for an outage either.
    return max(1, min(_said(words, headers, usual=lifetime.usual), lifetime.longest))


def _said(words: list[str], headers: Mapping[str, str], *, usual: int) -> int:
    """Return the lifetime that the server states, or else the usual one [s]."""
    if "no-cache" in words:
        return 0
    ages = [word.partition("=")[2].strip('"') for word in words if word.startswith("max-age=")]
    if ages:
        return int(ages[0]) if ages[0].isascii() and ages[0].isdigit() and len(ages[0]) < 12 else usual
    expires, date = http_date(headers.get("Expires", "")), http_date(headers.get("Date", ""))
    if expires is None or date is None:
        return usual
    return int((expires - date).total_seconds())


def http_date(text: str) -> datetime | None:
    """Return the moment in a header such as ``Date``, in UTC; None if it cannot be read."""
    try:
        moment = parsedate_to_datetime(text)
    except (TypeError, ValueError, OverflowError):
        return None
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
