"""Opening a ledger file: what it must be, how it is set up, and SQLite's complaints in a gardener's words."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from scheduler.errors import Fault, LedgerError
from scheduler.ledger.schema import APPLICATION_ID, MIGRATIONS, VERSION, statements

__all__ = ["connect", "explained"]

#: How long to wait for another program that is writing [s].
PATIENCE = 30.0

#: How often the switch to write-ahead logging is tried, and how long it waits for readers each time [ms].
WAL_TRIES = 10
WAL_PATIENCE = 50

# STRICT tables came with 3.37, json_valid without a build option with 3.38.
OLDEST_SQLITE = (3, 38, 0)

_OTHER_FILE = "the path of a ledger, or of a file that does not exist yet"

#: Primary SQLite result code -> (what was found, what would be right).
_WORDS = {
    sqlite3.SQLITE_BUSY: (
        f"another program kept it locked for {PATIENCE:.0f} s",
        "end the other program, then try again; nothing was written",
    ),
    sqlite3.SQLITE_FULL: (
        "the disk is full",
        "free some space, then try again; nothing of this entry was written, all earlier entries are safe",
    ),
    sqlite3.SQLITE_IOERR: (
        "the disk could not be read or written",
        "look at free space and at the disk, then try again; nothing of this entry was written",
    ),
    sqlite3.SQLITE_NOTADB: ("this is not an SQLite file", _OTHER_FILE),
    sqlite3.SQLITE_CORRUPT: ("the file is damaged", "a sound copy of the ledger"),
    sqlite3.SQLITE_CANTOPEN: ("the file cannot be opened", "an existing folder that may be written to"),
    sqlite3.SQLITE_READONLY: ("the file or its folder may not be written to", "permission to write there"),
    sqlite3.SQLITE_PERM: ("the file may not be used", "permission to read and write it"),
}


@contextmanager
def explained(path: Path) -> Iterator[None]:
    """Turn what SQLite complains about into a `LedgerError` that says what to do.

    Raises
    ------
    LedgerError
        For a full or broken disk, a lock that stays, a file that is no database, or a row that the schema
        refuses. Any other error of SQLite is a mistake in the program and passes as it is.
    """
    try:
        yield
    except sqlite3.Error as error:
        # Extended codes carry the primary one in their low byte.
        code = getattr(error, "sqlite_errorcode", -1) & 0xFF
        if code == sqlite3.SQLITE_CONSTRAINT:
            fault = Fault("entry", str(error), "must be a row that the ledger allows")
            raise LedgerError(str(path), [fault]) from error
        if code not in _WORDS:
            raise
        found, wanted = _WORDS[code]
        raise LedgerError(str(path), [Fault("", found, wanted)]) from error


def _single(connection: sqlite3.Connection, pragma: str) -> int | str:
    """Return the one value of a pragma."""
    value: int | str = connection.execute(f"PRAGMA {pragma}").fetchone()[0]
    return value


def _known_version(connection: sqlite3.Connection, path: Path) -> int:
    """Return the version of a ledger, 0 for an empty file; refuse what is no ledger, or a newer one."""
    version = int(_single(connection, "user_version"))
    owner = _single(connection, "application_id")
    things = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
    if (version, owner, things) == (0, 0, 0):
        return 0
    if owner != APPLICATION_ID or version <= 0:
        fault = Fault("", "this is a database of another program", _OTHER_FILE)
        raise LedgerError(str(path), [fault])
    if version > VERSION:
        found = f"version {version} of the ledger, made by a newer rillbook"
        raise LedgerError(str(path), [Fault("", found, f"at most version {VERSION}, or a newer rillbook")])
    return version


def _bring_up_to_date(connection: sqlite3.Connection, path: Path) -> None:
    """Run the missing migrations, all or none, under the write lock."""
    if _known_version(connection, path) == VERSION:
        return
    connection.execute("BEGIN IMMEDIATE")
    try:
        # Another program may have done it while this one waited for the lock.
        for script in MIGRATIONS[_known_version(connection, path) :]:
            for statement in statements(script):
                connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _use_write_ahead_log(connection: sqlite3.Connection) -> None:
    """Switch to write-ahead logging, so that readers and a writer do not wait for each other.

    The file keeps it, so only a new file needs the switch. SQLite refuses it at once, without waiting, while
    another program writes; asking for the write lock waits for that program. If others stay in the way the
    file keeps the older kind of log, which is as safe, and the next program to open it tries again.
    """
    for _ in range(WAL_TRIES):
        if _single(connection, "journal_mode") == "wal":
            return
        connection.execute(f"PRAGMA busy_timeout = {WAL_PATIENCE}")
        try:
            # A file system without shared memory also keeps the older kind of log.
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY:
                raise
        finally:
            connection.execute(f"PRAGMA busy_timeout = {round(1000 * PATIENCE)}")
        connection.execute("BEGIN IMMEDIATE")
        connection.execute("ROLLBACK")


def connect(path: Path, *, create: bool) -> sqlite3.Connection:
    """Open a ledger and bring its schema up to date.

    Parameters
    ----------
    path : Path
        File of the ledger.
    create : bool
        True to make the file if it does not exist.

    Returns
    -------
    sqlite3.Connection
        Without implicit transactions; every commit reaches the disk before it returns.

    Raises
    ------
    LedgerError
        If the file is missing, no SQLite file, of another program, or of a newer version, or if the disk or
        a lock does not allow the work.
    """
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        wanted = f"{'.'.join(map(str, OLDEST_SQLITE))} or newer"
        raise LedgerError(str(path), [Fault("SQLite library", sqlite3.sqlite_version, wanted)])
    if not create and not path.exists():
        raise LedgerError(str(path), [Fault("", "there is no such file", "the path of a ledger")])
    mode = "rwc" if create else "rw"
    address = f"{path.absolute().as_uri()}?mode={mode}"
    with explained(path):
        connection = sqlite3.connect(address, uri=True, timeout=PATIENCE, isolation_level=None)
        try:
            connection.execute("PRAGMA foreign_keys = ON")
            connection.execute("PRAGMA synchronous = FULL")
            _bring_up_to_date(connection, path)
            _use_write_ahead_log(connection)
        except BaseException:
            connection.close()
            raise
    return connection
