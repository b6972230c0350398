"""A full disk: a clear error, nothing half written, and work goes on when there is room again."""

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from scheduler.ledger.store import Ledger
from tests.ledger.filling import count, fill, keep_one

PROJECT = Path(__file__).resolve().parents[2]

# A small disk in memory, in a name space of its own: it is gone with the process, and needs no rights.
MOUNT = ["unshare", "--map-root-user", "--mount", "sh", "-c"]
DISK = 'mount -t tmpfs -o size=1m none "$1" && shift && exec "$@"'


def mounts_allowed():
    """Return True if this system lets a test have its own small disk."""
    if shutil.which("unshare") is None:
        return False
    script = 'mount -t tmpfs -o size=64k none "$(mktemp -d)"'
    return subprocess.run([*MOUNT, script], capture_output=True, check=False).returncode == 0


def small_disk(folder):
    """Fill a real file system of 1 MB."""
    command = [*MOUNT, DISK, "sh", str(folder), sys.executable, "-m", "tests.ledger.filling", str(folder)]
    process = subprocess.run(command, cwd=PROJECT, capture_output=True, text=True, check=False, timeout=600)
    assert process.returncode == 0, process.stderr
    return json.loads(process.stdout)


def page_limit(folder):
    """Let SQLite itself refuse to make the file longer, which it reports as a full disk."""
    path = folder / "ledger.sqlite"
    found = {}
    with Ledger.open(path) as ledger:
        ledger._connection.execute("PRAGMA max_page_count = 200")
        found["acknowledged"], found["error"] = fill(ledger)
        found["while_full"] = count(ledger)
        ledger._connection.execute("PRAGMA max_page_count = 1000")
        keep_one(ledger, -1)
        found["with_room"] = count(ledger)
    with Ledger.open(path) as ledger:
        found["reopened"] = count(ledger)
        found["integrity"] = ledger._connection.execute("PRAGMA integrity_check").fetchone()[0]
    return found


@pytest.mark.parametrize("disk", [page_limit, *([small_disk] if mounts_allowed() else [])])
def test_a_full_disk(disk, tmp_path):
    found = disk(tmp_path)
    kept = found["acknowledged"]
    assert kept > 10
    assert "the disk is full; free some space" in found["error"]
    assert found["while_full"] == kept
    assert found["with_room"] == found["reopened"] == kept + 1
    assert found["integrity"] == "ok"
