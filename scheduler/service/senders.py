"""Ways to tell a person: a file, a program, e-mail, an address of the web.

Errors name the receiver and what went wrong, never a secret, nor words of a server that might repeat one.
"""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from scheduler.errors import RillbookError
from scheduler.garden.plan import CommandNotice, EmailNotice, FileNotice, Notify, WebhookNotice
from scheduler.service.outbox import Letter

if TYPE_CHECKING:
    import ssl

__all__ = ["Post", "receiver_names", "send"]

#: Longest wait for a program, or for each answer of a server [s].
PATIENCE = 30.0


@dataclass(frozen=True, slots=True)
class Post:
    """What every way needs beside the letters.

    Attributes
    ----------
    garden : str
        Name of the garden.
    folder : Path
        Folder of the plan, which files are relative to.
    moment : datetime
        Now, aware.
    context : ssl.SSLContext or None
        Whom to trust over TLS; None for the authorities that the system trusts.
    patience : float
        Longest wait for a program, or for each answer of a server [s].
    """

    garden: str
    folder: Path
    moment: datetime
    context: ssl.SSLContext | None = None
    patience: float = PATIENCE


def receiver_names(receivers: Sequence[Notify]) -> tuple[str, ...]:
    """Return what each receiver is called in messages and in the outbox; names hold no secret."""
    names: list[str] = []
    for receiver in receivers:
        name = _name(receiver)
        again = sum(1 for other in names if other.split(" (again ")[0] == name)
        names.append(f"{name} (again {again})" if again else name)
    return tuple(names)


def _name(receiver: Notify) -> str:
    """Return what one receiver is called."""
    if isinstance(receiver, FileNotice):
        return f"file {receiver.file}"
    if isinstance(receiver, CommandNotice):
        return f"command {receiver.command[0]}"
    if isinstance(receiver, EmailNotice):
        return f"email {', '.join(receiver.to)}"
    # The rest of the address may hold a key.
    return f"webhook {urlsplit(receiver.url).hostname}"


def send(letters: Sequence[Letter], receiver: Notify, *, post: Post) -> None:
    """Hand letters to one receiver, all in one message.

    Raises
    ------
    RillbookError
        If they did not get through.
    """
    if isinstance(receiver, FileNotice):
        _to_file(letters, receiver, post)
    elif isinstance(receiver, CommandNotice):
        _to_command(letters, receiver, post)
    elif isinstance(receiver, EmailNotice):
        from scheduler.service.email import send_email

        send_email(letters, receiver, post=post)
    else:
        _to_webhook(letters, receiver, post)


def _to_webhook(letters: Sequence[Letter], receiver: WebhookNotice, post: Post) -> None:
    from scheduler.service.webhook import send_webhook

    send_webhook(letters, receiver, post=post)


def _to_file(letters: Sequence[Letter], receiver: FileNotice, post: Post) -> None:
    """Add one line a letter to a file, in a single write at its end."""
    stamp = post.moment.isoformat(timespec="minutes")
    lines = "".join(f"{stamp} {letter.text}\n" for letter in letters).encode()
    path = post.folder / receiver.file
    try:
        with path.open("ab", buffering=0) as file:
            file.write(lines)
    except OSError as fault:
        raise RillbookError(f'notify > file: "{path}" cannot be written ({fault.strerror})') from fault


def _to_command(letters: Sequence[Letter], receiver: CommandNotice, post: Post) -> None:
    """Give the letters to a program, one line each; its arguments go to it as they stand, without a shell."""
    name = receiver.command[0]
    text = "".join(f"{letter.text}\n" for letter in letters)
    try:
        # The person's own program, named in the person's own plan.
        done = subprocess.run(  # noqa: S603
            receiver.command,
            input=text.encode(),
            cwd=post.folder,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=post.patience,
            check=False,
        )
    except OSError as fault:
        raise RillbookError(f'notify > command: "{name}" cannot be started ({fault.strerror})') from fault
    except subprocess.TimeoutExpired:
        raise RillbookError(
            f'notify > command: "{name}" was stopped after {post.patience:.0f} s; it must end by itself'
        ) from None
    if done.returncode:
        raise RillbookError(f'notify > command: "{name}" ended with code {done.returncode}, not 0')
