"""Passwords and tokens: from an environment variable, or from a file that nobody else can read."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from scheduler.errors import RillbookError
from scheduler.garden.plan import Secret

__all__ = ["read_secret"]

#: Longest secret file that is read [bytes].
_LARGEST = 65_536


def read_secret(secret: Secret, *, folder: Path) -> str:
    """Return a secret; errors name the place where it was looked for, never what stands there.

    Parameters
    ----------
    secret : Secret
    folder : Path
        Folder of the plan, which a file is relative to.

    Raises
    ------
    RillbookError
        If the variable is not set, or if the file is missing, empty, or open to group or others.
    """
    if secret.file is None:
        value = os.environ.get(secret.env, "")
        if not value:
            raise RillbookError(f"environment variable {secret.env}: not set; it must hold the secret")
        return value
    return _from_file(folder / secret.file)


def _from_file(path: Path) -> str:
    """Return the first line of a file that only its owner can read."""
    try:
        with path.open("rb") as file:
            status = os.fstat(file.fileno())
            # What is checked is the file that was opened, not what may lie there a moment later.
            if os.name == "posix" and status.st_mode & (stat.S_IRWXG | stat.S_IRWXO):
                raise RillbookError(
                    f'"{path}": its group or others may use it (mode {stat.S_IMODE(status.st_mode):04o}); '
                    "a file with a secret must be its owner's alone: chmod 600"
                )
            lines = file.read(_LARGEST).decode("utf-8").splitlines()
    except OSError as fault:
        raise RillbookError(f'"{path}": cannot be read ({fault.strerror}); it must hold the secret') from None
    except UnicodeDecodeError:
        raise RillbookError(f'"{path}": is not text; it must hold the secret as one line') from None
    if not lines or not lines[0].strip():
        raise RillbookError(f'"{path}": is empty; its first line must be the secret')
    return lines[0].strip()
