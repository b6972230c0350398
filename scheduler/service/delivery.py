"""Letters out of the outbox to their receivers; one receiver that fails does not hold up the others."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from scheduler.errors import RillbookError
from scheduler.garden.plan import Notify
from scheduler.service.notices import Notice
from scheduler.service.outbox import Letter, add_letters, read_outbox, write_outbox
from scheduler.service.senders import Post, receiver_names, send

__all__ = ["deliver", "put_in_outbox"]


def put_in_outbox(path: Path, notices: Sequence[Notice], receivers: Sequence[Notify]) -> tuple[str, ...]:
    """Put notices for every receiver into the outbox; return what was wrong with it.

    Raises
    ------
    RillbookError
        If the outbox cannot be written.
    """
    new = [
        Letter(receiver=name, kind=notice.kind, key=notice.key, text=notice.text)
        for name in receiver_names(receivers)
        for notice in notices
    ]
    if not new:
        return ()
    waiting, problems = read_outbox(path)
    write_outbox(path, add_letters(waiting, new))
    return problems


def deliver(
    path: Path, receivers: Sequence[Notify], *, post: Post
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Send what waits in the outbox, and leave there what did not get through.

    Letters to a receiver that the plan no longer has are dropped.

    Returns
    -------
    tuple of (tuple of str, tuple of str)
        The receivers that were told something, and what went wrong.
    """
    waiting, problems = read_outbox(path)
    told: list[str] = []
    failed: list[str] = list(problems)
    left: tuple[Letter, ...] = ()
    for name, receiver in zip(receiver_names(receivers), receivers, strict=True):
        letters = tuple(letter for letter in waiting if letter.receiver == name)
        if not letters:
            continue
        try:
            send(letters, receiver, post=post)
            told.append(name)
        except RillbookError as fault:
            failed.append(f"{fault}; tried again at the next run")
            left += letters
    if left != waiting or problems:
        try:
            write_outbox(path, left)
        except RillbookError as fault:
            failed.append(str(fault))
    return tuple(told), tuple(failed)
