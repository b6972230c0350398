"""Files written whole or not at all."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

from scheduler.errors import RillbookError

__all__ = ["write_whole"]


def write_whole(path: Path, write: Callable[[BinaryIO], object]) -> None:
    """Write a file through `write` beside its place and then move it there.

    Raises
    ------
    RillbookError
        If it cannot be written; what was at `path` before is then still there.
    """
    draft = path.with_name(f".{path.name}.part")
    try:
        with draft.open("wb") as file:
            write(file)
        draft.replace(path)
    except OSError as fault:
        with suppress(OSError):
            draft.unlink()
        raise RillbookError(f'"{path}": cannot be written ({fault.strerror})') from fault
