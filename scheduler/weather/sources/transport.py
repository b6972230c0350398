"""One question to a server, asked politely and within limits: tries, pauses, redirections, checks."""

from __future__ import annotations

import json
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from urllib.parse import SplitResult, urljoin, urlsplit

import requests
import urllib3
from requests.adapters import HTTPAdapter

from scheduler.errors import Fault, SourceError
from scheduler.weather.sources.limits import NEVER, Clock, Kind, Limits, fresh_for, http_date

__all__ = ["CONFIRMED", "Errand", "Transport", "require_safe"]

#: Header, ours, that keeps the moment at which the server last confirmed a stored answer.
CONFIRMED = "X-Confirmed-At"

_LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
_TRY_AGAIN = frozenset({429, 500, 502, 503, 504})
_REDIRECTIONS = frozenset({301, 302, 303, 307, 308})
_CHUNK = 65_536
# Bytes of a refusal that are read for its reason, and characters of the reason that are shown.
_REASON_BYTES = 65_536
_REASON_LENGTH = 200


@dataclass(frozen=True, slots=True)
class Errand:
    """What is asked for: its kind, content types that will do, and a check of the text.

    The check raises `SourceError` for an answer that cannot be used, so that it never takes the place
    of a good one stored before.
    """

    kind: Kind
    accept: tuple[str, ...]
    check: Callable[[str], object] | None = None


class _TryAgainError(Exception):
    """A failure that may pass: what happened, and for how long the server asks to be left alone [s]."""

    def __init__(self, what: str, wait: float | None = None) -> None:
        self.what = what
        self.wait = wait
        super().__init__(what)


def require_safe(url: str) -> SplitResult:
    """Return the parts of an address that may be asked: https, or http on this machine itself.

    Raises
    ------
    SourceError
        If it is anything else.
    """
    wanted = "an address that begins with https:// (http:// only for this machine itself)"
    try:
        parts = urlsplit(url)
        host, _ = parts.hostname, parts.port
    except ValueError as error:
        raise SourceError(url[:80], [Fault("address", str(error), wanted)]) from error
    if not host or parts.username is not None or parts.password is not None:
        raise SourceError(
            host or url[:80], [Fault("address", "no host, or a name and password in it", wanted)]
        )
    if parts.scheme != "https" and not (parts.scheme == "http" and host in _LOOPBACK):
        raise SourceError(host, [Fault("address", f"begins with {parts.scheme}://", wanted)])
    return parts


class Transport(HTTPAdapter):
    """Carries one errand at a time; set `errand` before each request. For one thread.

    Attributes
    ----------
    errand : Errand or None
    failure : Exception or None
        Why the last request failed; None if it did not.
    server_date : str
        ``Date`` of the last answer, empty without one.
    """

    def __init__(self, limits: Limits, clock: Clock, *, contact: str, offline: bool) -> None:
        super().__init__(pool_connections=2, pool_maxsize=1, max_retries=0)
        self.errand: Errand | None = None
        self.failure: Exception | None = None
        self.server_date = ""
        self._limits = limits
        self._clock = clock
        self._contact = contact
        self._offline = offline

    def send(
        self,
        request: requests.PreparedRequest,
        stream: bool = False,
        timeout: object = None,
        verify: bool | str = True,
        cert: object = None,
        proxies: Mapping[str, str] | None = None,
    ) -> requests.Response:
        """Return an answer that has passed every check, its body read.

        The parameters are those of the base class; `stream`, `timeout` and `cert` are not heeded.

        Raises
        ------
        SourceError
            After the last try, or at once where another try would change nothing.
        """
        try:
            if self._offline:
                raise SourceError(_host(request), [Fault("", "not asked, since offline", "go online")])
            return self._persist(request, verify=verify, proxies=dict(proxies or {}))
        except Exception as failure:
            self.failure = failure
            raise

    def _persist(
        self, request: requests.PreparedRequest, *, verify: bool | str, proxies: dict[str, str] | None
    ) -> requests.Response:
        """Try, pause and try again, within the total time."""
        end = self._clock.elapsed() + self._limits.total_time
        attempt = 1
        while True:
            try:
                return self._follow(request, end=end, verify=verify, proxies=proxies)
            except _TryAgainError as failure:
                wait = self._wait(failure, attempt)
                if attempt == self._limits.attempts or self._clock.elapsed() + wait >= end:
                    tries = "1 try" if attempt == 1 else f"{attempt} tries"
                    fault = Fault(_place(request), f"{failure.what}, after {tries}", "ask again later")
                    raise SourceError(_host(request), [fault]) from failure
                if failure.wait is not None and wait < failure.wait:
                    asked = f"{failure.what}; it asks for a pause of {failure.wait:.0f} s"
                    fault = Fault(_place(request), asked, "ask again after that")
                    raise SourceError(_host(request), [fault]) from failure
            self._clock.pause(wait)
            attempt += 1

    def _wait(self, failure: _TryAgainError, attempt: int) -> float:
        """Return the pause before the next try [s].

        Half of it is spread by a checksum of who asks and when, so that many gardens that failed
        together do not come back together.
        """
        if failure.wait is not None:
            return min(failure.wait, self._limits.longest_pause)
        full = min(self._limits.first_pause * 2 ** (attempt - 1), self._limits.longest_pause)
        seed = f"{self._contact} {attempt} {self._clock.moment().isoformat()}"
        spread = zlib.crc32(seed.encode()) / 0xFFFFFFFF
        return full * (0.5 + spread / 2)

    def _follow(
        self,
        request: requests.PreparedRequest,
        *,
        end: float,
        verify: bool | str,
        proxies: dict[str, str] | None,
    ) -> requests.Response:
        """Ask once, following redirections that stay on the host."""
        asked = request.copy()
        for _ in range(self._limits.redirects + 1):
            response = self._exchange(asked, verify=verify, proxies=proxies)
            with response:
                if response.status_code not in _REDIRECTIONS:
                    self._take(response, asked, end=end)
                    # Stored under the address that was asked for, wherever the host keeps it.
                    response.request = request
                    return response
                target = urljoin(str(asked.url), response.headers.get("Location", ""))
            parts = require_safe(target)
            if parts[:2] != urlsplit(str(asked.url))[:2]:
                wanted = "an answer from the host that was asked"
                fault = Fault(_place(asked), f"sent on to another host, {parts.netloc[:80]}", wanted)
                raise SourceError(_host(asked), [fault])
            asked.url = target
        fault = Fault(_place(request), "sent on again and again", "an answer")
        raise SourceError(_host(request), [fault])

    def _exchange(
        self, request: requests.PreparedRequest, *, verify: bool | str, proxies: dict[str, str] | None
    ) -> requests.Response:
        """Send, and return the head of the answer."""
        timeouts = (self._limits.connect_timeout, self._limits.read_timeout)
        # This machine itself is never asked through somebody else.
        through = None if urlsplit(str(request.url)).hostname in _LOOPBACK else proxies
        try:
            return super().send(request, stream=True, timeout=timeouts, verify=verify, proxies=through)
        except requests.exceptions.SSLError as error:
            fault = Fault("", "its certificate was not accepted", "a correct clock, and a direct connection")
            raise SourceError(_host(request), [fault]) from error
        except requests.Timeout as error:
            raise _TryAgainError("no answer in time") from error
        except requests.ConnectionError as error:
            raise _TryAgainError("no connection") from error
        except (requests.RequestException, urllib3.exceptions.HTTPError) as error:
            fault = Fault(_place(request), f"could not be asked ({type(error).__name__})", "a sound address")
            raise SourceError(_host(request), [fault]) from error

    def _take(self, response: requests.Response, request: requests.PreparedRequest, *, end: float) -> None:
        """Read the body, refuse what is not an answer, and write down how long it is fresh."""
        errand = self.errand
        if errand is None:
            raise ValueError("a request without an errand")
        self.server_date = response.headers.get("Date", "")
        status = response.status_code
        if status in _TRY_AGAIN:
            raise _TryAgainError(f"status {status}", _retry_after(response))
        conditional = {"If-None-Match", "If-Modified-Since"} & {name.title() for name in request.headers}
        if status != 200 and not (status == 304 and conditional):
            reason = _reason(self._body(response, end=end, most=_REASON_BYTES))
            wanted = "an answer with status 200; look at the place, the station and the dates asked for"
            raise SourceError(_host(request), [Fault(_place(request), f"status {status}{reason}", wanted)])
        body = self._body(response, end=end, most=self._limits.largest_answer)
        if status == 200:
            _check(body, response, errand=errand, place=_place(request))
        _set_body(response, body)
        self._set_freshness(response, errand.kind)

    def _body(self, response: requests.Response, *, end: float, most: int) -> bytes:
        """Return the body, decompressed; refuse one that is too large, give up on one that trickles."""
        taken = bytearray()
        try:
            # Piece by piece as they come, so that the total time holds for a trickle too.
            while piece := response.raw.read1(_CHUNK, decode_content=True):
                taken += piece
                if len(taken) > most:
                    wanted = f"at most {most / 1e6:g} MB"
                    fault = Fault("", "the answer is too large", wanted)
                    raise SourceError(str(urlsplit(response.url).hostname), [fault])
                if self._clock.elapsed() > end:
                    raise _TryAgainError("the answer came too slowly")
        except (urllib3.exceptions.HTTPError, OSError) as error:
            what = "no answer in time" if "timed out" in str(error) else "the answer broke off"
            raise _TryAgainError(what) from error
        return bytes(taken)

    def _set_freshness(self, response: requests.Response, kind: Kind) -> None:
        """Put the lifetime into the headers by which the store goes."""
        seconds = fresh_for(kind, response.headers)
        for name in ("Expires", "Pragma", "Vary", "Set-Cookie"):
            # Vary: what is asked never differs but by its address.
            response.headers.pop(name, None)
        words = "no-store" if seconds is None else "immutable" if seconds == NEVER else f"max-age={seconds}"
        response.headers["Cache-Control"] = words
        response.headers[CONFIRMED] = self._clock.moment().isoformat()


def _set_body(response: requests.Response, body: bytes) -> None:
    """Make a body that was read elsewhere the content of a response."""
    response.headers.pop("Content-Encoding", None)
    # The library has no public way to say that a body was read.
    response._content = body
    response._content_consumed = True


def _check(body: bytes, response: requests.Response, *, errand: Errand, place: str) -> None:
    """Refuse a body that is not of the kind asked for."""
    host = str(urlsplit(response.url).hostname)
    declared = response.headers.get("Content-Type", "").partition(";")[0].strip().lower()
    if declared not in errand.accept:
        found = f'the answer is "{declared[:60]}"' if declared else "the answer does not say what it is"
        raise SourceError(host, [Fault(place, found, f"one of {', '.join(errand.accept)}")])
    try:
        text = body.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise SourceError(host, [Fault(place, "the answer is not text", "text in UTF-8")]) from error
    if errand.check is not None:
        errand.check(text)


def _reason(body: bytes) -> str:
    """Return what a refusal says for itself, if it says so in JSON."""
    try:
        said = json.loads(body)
    except (ValueError, RecursionError):
        return ""
    if not isinstance(said, dict):
        return ""
    text = next((said[key] for key in ("reason", "detail", "title") if isinstance(said.get(key), str)), "")
    plain = " ".join(part for part in text.split() if part.isprintable())
    return f': "{plain[:_REASON_LENGTH]}"' if plain else ""


def _retry_after(response: requests.Response) -> float | None:
    """Return the pause that the server asks for [s]; a date counts from the server's own clock."""
    text = response.headers.get("Retry-After", "").strip()
    if text.isascii() and text.isdigit() and len(text) < 9:
        return float(text)
    until, date = http_date(text), http_date(response.headers.get("Date", ""))
    return max(0.0, (until - date).total_seconds()) if until is not None and date is not None else None


def _host(request: requests.PreparedRequest) -> str:
    return str(urlsplit(str(request.url)).hostname)


def _place(request: requests.PreparedRequest) -> str:
    """Return the path that was asked, without the query."""
    return urlsplit(str(request.url)).path[:80]
