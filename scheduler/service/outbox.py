"""Notices on their way: kept in a file until each has reached each of its receivers.

A notice is put here before the table that it belongs to is recorded, and taken out when it has been
delivered. Whatever stops the program between, no notice is lost; at worst one comes twice.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path

from scheduler.show.wholefile import write_whole

__all__ = ["Letter", "add_letters", "outbox_path", "read_outbox", "write_outbox"]

SCHEMA = "rillbook.outbox/1"


@dataclass(frozen=True, slots=True)
class Letter:
    """One notice to one receiver; `key` and `receiver` together name it."""

    receiver: str
    kind: str
    key: str
    text: str


def outbox_path(ledger: Path) -> Path:
    """Return where the outbox of a ledger lies."""
    return ledger.with_name(f"{ledger.name}.outbox.json")


def add_letters(waiting: Iterable[Letter], new: Iterable[Letter]) -> tuple[Letter, ...]:
    """Return the letters of both, each once, in order."""
    by_name = {(letter.receiver, letter.key): letter for letter in (*waiting, *new)}
    return tuple(by_name.values())


def read_outbox(path: Path) -> tuple[tuple[Letter, ...], tuple[str, ...]]:
    """Return the letters that wait, and what is wrong with the file; none wait where there is no file."""
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
        return tuple(Letter(**row) for row in document["letters"]), ()
    except FileNotFoundError:
        return (), ()
    except (OSError, ValueError, KeyError, TypeError):
        return (), (f'"{path}": cannot be read; notices that waited in it are not sent again',)


def write_outbox(path: Path, letters: Iterable[Letter]) -> None:
    """Keep the letters that wait.

    Raises
    ------
    RillbookError
        If the file cannot be written.
    """
    document = {"schema": SCHEMA, "letters": [asdict(letter) for letter in letters]}
    text = json.dumps(document, ensure_ascii=False, indent=2) + "\n"
    write_whole(path, lambda file: file.write(text.encode()))
