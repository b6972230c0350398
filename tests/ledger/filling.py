"""Fill a disk: ``python -m tests.ledger.filling FOLDER`` writes to a ledger there until the disk is full.

Writes out what was acknowledged, the error, and what was found in the file afterwards, with the disk still
full and with space again.
"""

import json
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

from scheduler.errors import LedgerError
from scheduler.ledger.entries import Gauge, PlanVersion
from scheduler.ledger.store import Ledger
from tests.ledger.samples import DAY, NOW

__all__ = ["count", "fill", "keep_one"]

#: Room that is given back after the disk was full [bytes].
SPARE = 256 * 1024


def keep_one(ledger, number):
    """Record a plan of some length and a gauge reading in one transaction."""
    with ledger.writing():
        ledger.record_plan(PlanVersion(f"plan {number}", "#" * 3000), recorded_at=NOW)
        ledger.record_gauge(Gauge(DAY, 1.0), recorded_at=NOW)


def fill(ledger):
    """Record until an error comes; return the number of transactions acknowledged and the error."""
    for number in range(100_000):
        try:
            keep_one(ledger, number)
        except LedgerError as error:
            return number, str(error)
    raise AssertionError("the disk never got full")


def count(ledger):
    """Return the transactions that a ledger holds; each must be whole."""
    plans, gauges = len(ledger.plan_versions()), len(ledger.gauges_between(DAY, DAY))
    assert plans == gauges
    return gauges


def fill_folder(folder):
    """Fill a disk, look, make room, go on, and look again with a fresh connection."""
    spare, path = folder / "spare", folder / "ledger.sqlite"
    spare.write_bytes(bytes(SPARE))
    found = {}
    with Ledger.open(path) as ledger:
        found["acknowledged"], found["error"] = fill(ledger)
        found["while_full"] = count(ledger)
        # Nothing is stuck: with room again the same connection goes on.
        spare.unlink()
        keep_one(ledger, -1)
        found["with_room"] = count(ledger)
    with Ledger.open(path) as ledger:
        found["reopened"] = count(ledger)
    with closing(sqlite3.connect(path)) as connection:
        found["integrity"] = connection.execute("PRAGMA integrity_check").fetchone()[0]
    return found


if __name__ == "__main__":
    sys.stdout.write(json.dumps(fill_folder(Path(sys.argv[1]))))
