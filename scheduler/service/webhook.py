"""Notices to an address of the web: one POST of a JSON document, encrypted unless it stays on the machine."""

from __future__ import annotations

import http.client
import json
import ssl
from collections.abc import Sequence
from urllib.parse import SplitResult, urlsplit

from scheduler import __version__
from scheduler.errors import RillbookError
from scheduler.garden.plan import WebhookNotice
from scheduler.publish.secret import read_secret
from scheduler.service.email import is_this_machine
from scheduler.service.outbox import Letter
from scheduler.service.senders import Post

__all__ = ["send_webhook", "webhook_body"]

SCHEMA = "rillbook.notice/1"


def webhook_body(letters: Sequence[Letter], *, post: Post) -> str:
    """Return letters as a JSON document, schema ``rillbook.notice/1``."""
    return json.dumps(
        {
            "schema": SCHEMA,
            "garden": post.garden,
            "sent_at": post.moment.isoformat(timespec="seconds"),
            "notices": [{"kind": letter.kind, "key": letter.key, "text": letter.text} for letter in letters],
        },
        ensure_ascii=False,
    )


def send_webhook(letters: Sequence[Letter], receiver: WebhookNotice, *, post: Post) -> None:
    """Send letters to an address of the web; redirects are not followed, since the token would go along.

    Raises
    ------
    RillbookError
        If the token cannot be had, if the address is neither https nor on this machine, or if the answer
        is not one of success.
    """
    address = urlsplit(receiver.url)
    where = f"notify > webhook: {address.hostname}"
    headers = {
        "Content-Type": "application/json; charset=utf-8",
        "User-Agent": f"rillbook/{__version__}",
        "Connection": "close",
    }
    if receiver.token is not None:
        headers["Authorization"] = f"Bearer {read_secret(receiver.token, folder=post.folder)}"
    path = (address.path or "/") + (f"?{address.query}" if address.query else "")
    try:
        connection = _connection(address, post, where=where)
        try:
            connection.request("POST", path, webhook_body(letters, post=post).encode(), headers)
            status = connection.getresponse().status
        finally:
            connection.close()
    except OSError as fault:
        raise RillbookError(
            f"{where}: cannot be reached ({fault.strerror or type(fault).__name__})"
        ) from None
    except (http.client.HTTPException, ValueError) as fault:
        raise RillbookError(f"{where}: did not take the notice ({type(fault).__name__})") from None
    if not 200 <= status < 300:
        raise RillbookError(f"{where}: answered with status {status}, not one of success")


def _connection(address: SplitResult, post: Post, *, where: str) -> http.client.HTTPConnection:
    """Return an open way to a host: encrypted, or on this machine."""
    host = address.hostname or ""
    if address.scheme == "https":
        context = post.context or ssl.create_default_context()
        return http.client.HTTPSConnection(host, address.port, timeout=post.patience, context=context)
    if address.scheme == "http" and is_this_machine(host):
        return http.client.HTTPConnection(host, address.port, timeout=post.patience)
    raise RillbookError(f"{where}: must be an https address, or one of this machine")
