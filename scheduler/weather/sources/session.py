"""The door to the network: answers from servers, kept in a file for an outage, each with its age."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from logging import NullHandler, getLogger
from pathlib import Path
from types import TracebackType

import requests
from requests_cache import CachedSession

from scheduler import __version__
from scheduler.errors import Fault, RillbookError, SourceError
from scheduler.weather.sources.limits import LIFETIMES, Clock, Kind, Limits, http_date
from scheduler.weather.sources.transport import CONFIRMED, Errand, Transport, require_safe

__all__ = ["Fetched", "Session", "open_session"]

# An address of mail or of a page, on one line.
_CONTACT = re.compile(r"[!-~]+@[!-~]+|https?://[!-~]+")
# Clocks that differ by more than this are worth a word [s].
_CLOCK_SLACK = 300.0
# How long to wait for another process that writes into the store [s].
_LOCK_TIME = 5.0


@dataclass(frozen=True, slots=True)
class Fetched:
    """An answer with its age.

    Attributes
    ----------
    text : str
    fetched_at : datetime
        When the server gave or last confirmed it, UTC.
    from_cache : bool
        True if it was stored before.
    age_seconds : float
        Since `fetched_at`; 0 if the clock was set back meanwhile.
    stale : bool
        True if it is past its lifetime, and used since no newer answer could be had.
    notes : tuple of str
        Why no newer answer could be had; whether the clock seems wrong.
    """

    text: str
    fetched_at: datetime
    from_cache: bool
    age_seconds: float
    stale: bool
    notes: tuple[str, ...] = ()


def open_session(
    cache_file: Path,
    *,
    contact: str,
    offline: bool = False,
    limits: Limits | None = None,
    clock: Clock | None = None,
) -> Session:
    """Return a session that stores its answers in a file of its own.

    Parameters
    ----------
    cache_file : Path
        Made if it is not there. Never the ledger.
    contact : str
        Address of mail or page of the person who runs this; services ask for it.
    offline : bool
        True to answer from what is stored only, whatever its age.
    limits : Limits or None
        None for the usual ones.
    clock : Clock or None
        None for the clock of the machine.

    Raises
    ------
    RillbookError
        If the contact is no address.
    SourceError
        If the file cannot be used.
    """
    if not _CONTACT.fullmatch(contact):
        wanted = "an address of mail or a page, such as name@example.org"
        raise RillbookError(str(Fault("contact", f'"{contact[:60]}"', wanted)))
    _try_file(cache_file)
    clock = clock or Clock()
    transport = Transport(limits or Limits(), clock, contact=contact, offline=offline)
    return Session(
        _stored_session(cache_file, transport, contact=contact), transport, clock=clock, offline=offline
    )


def _try_file(path: Path) -> None:
    """Refuse a file that cannot be written: the store would wait for it without end."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with closing(sqlite3.connect(path, timeout=_LOCK_TIME, isolation_level=None)) as connection:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute("CREATE TABLE IF NOT EXISTS trial (id INTEGER)")
            connection.execute("ROLLBACK")
    except (sqlite3.Error, OSError) as error:
        wanted = "a file that can be written; a damaged one may be deleted, it only holds copies"
        raise SourceError(path.name, [Fault("stored answers", str(error), wanted)]) from error


def _stored_session(path: Path, transport: Transport, *, contact: str) -> CachedSession:
    # A stale answer in place of an error is told as a note, not logged with a traceback.
    getLogger("requests_cache").addHandler(NullHandler())
    session = CachedSession(
        str(path.absolute()),
        backend="sqlite",
        # Plain text: a file that somebody else has changed cannot do more than give wrong weather.
        serializer="json",
        expire_after=LIFETIMES["forecast"].usual,
        cache_control=True,
        stale_if_error=True,
        allowable_methods=("GET",),
        timeout=_LOCK_TIME,
    )
    session.headers.update({"User-Agent": f"rillbook/{__version__} ({contact})"})
    # Names and passwords that the machine keeps for a host are nobody's business here.
    session.auth = _no_auth
    session.mount("https://", transport)
    session.mount("http://", transport)
    return session


def _no_auth(request: requests.PreparedRequest) -> requests.PreparedRequest:
    return request


class Session:
    """Asks servers, one question at a time and from one thread; a context manager."""

    def __init__(self, cached: CachedSession, transport: Transport, *, clock: Clock, offline: bool) -> None:
        self._cached = cached
        self._transport = transport
        self._clock = clock
        self.offline = offline

    def __enter__(self) -> Session:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close connections and file."""
        self._cached.close()  # type: ignore[no-untyped-call] # the library does not type it

    def moment(self) -> datetime:
        """Return the current moment by the session's clock, UTC."""
        return self._clock.moment()

    def get_text(
        self,
        url: str,
        *,
        kind: Kind,
        accept: tuple[str, ...],
        check: Callable[[str], object] | None = None,
    ) -> Fetched:
        """Return the text at an address, from the server or from what is stored.

        Parameters
        ----------
        url : str
            https, or http on this machine itself.
        kind : Kind
            Says how long the answer stays fresh.
        accept : tuple of str
            Content types that will do.
        check : callable or None
            Raises `SourceError` for a text that cannot be used; such an answer is not stored, and
            does not replace one that is.

        Raises
        ------
        SourceError
            If no answer can be had and none is stored.
        """
        parts = require_safe(url)
        self._transport.errand = Errand(kind, accept, check)
        response = self._ask(url, accept)
        if response.status_code == 504:
            fault = Fault("", "nothing is stored for this question", "ask once while online")
            raise SourceError(str(parts.hostname), [fault])
        ahead = (_confirmed(response) - self.moment()).total_seconds()
        if ahead > _CLOCK_SLACK and not self.offline and self._transport.failure is None:
            # Stored in what is now the future: the clock was set back, so lifetimes mean nothing.
            with suppress(SourceError):
                response = self._ask(url, accept, again=True)
        return self._fetched(response)

    def _ask(self, url: str, accept: tuple[str, ...], *, again: bool = False) -> requests.Response:
        self._transport.failure = None
        self._transport.server_date = ""
        response = self._cached.get(
            url,
            headers={"Accept": ", ".join(accept)},
            only_if_cached=self.offline,
            force_refresh=again,
            allow_redirects=False,
        )
        failure = self._transport.failure
        if failure is not None and not isinstance(failure, SourceError):
            # The store answers any failure with what it has; one of our own making must be seen.
            raise failure
        return response

    def _fetched(self, response: requests.Response) -> Fetched:
        fetched_at, failure = _confirmed(response), self._transport.failure
        notes: list[str] = []
        seconds = (self.moment() - fetched_at).total_seconds()
        if failure is not None:
            notes.append(f"no newer answer: {' '.join(str(failure).split())}")
        if seconds < -_CLOCK_SLACK:
            notes.append(
                f"stored at {fetched_at:%Y-%m-%d %H:%M} UTC, which is still to come: the clock was set back"
            )
        if note := self._skew():
            notes.append(note)
        return Fetched(
            text=response.content.decode("utf-8-sig"),
            fetched_at=fetched_at,
            from_cache=_from_cache(response),
            age_seconds=max(0.0, seconds),
            stale=failure is not None or (self.offline and bool(getattr(response, "is_expired", False))),
            notes=tuple(notes),
        )

    def _skew(self) -> str:
        """Return a note if the server's clock and ours differ."""
        date = http_date(self._transport.server_date)
        if date is None:
            return ""
        minutes = (self.moment() - date).total_seconds() / 60
        if abs(minutes) * 60 <= _CLOCK_SLACK:
            return ""
        side = "ahead of" if minutes > 0 else "behind"
        return f"this machine's clock is {abs(minutes):.0f} minutes {side} the server's; one of them is wrong"


def _from_cache(response: requests.Response) -> bool:
    """Return True for a stored answer that no server was asked about, or that a server confirmed."""
    return bool(getattr(response, "from_cache", False))


def _confirmed(response: requests.Response) -> datetime:
    """Return when the server gave or confirmed an answer, UTC; each stored answer says so."""
    return datetime.fromisoformat(response.headers[CONFIRMED]).astimezone(UTC)
