"""Several programs at one ledger, and programs killed while they write.

RILLBOOK_LONG_TESTS=1 in the environment makes it 500 kills, and two writers for a minute; -rP shows what
was counted.
"""

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from scheduler.ledger.reading import open_reader
from tests.ledger.crowd import check_file
from tests.ledger.samples import DAY

PROJECT = Path(__file__).resolve().parents[2]
LONG = os.environ.get("RILLBOOK_LONG_TESTS") == "1"
ROUNDS = 500 if LONG else 40
SECONDS = 60 if LONG else 2


@pytest.fixture
def start():
    """Return a function that starts a program of crowd.py; none is left running."""
    started = []

    def begin(*arguments):
        command = [sys.executable, "-m", "tests.ledger.crowd", *map(str, arguments)]
        pipe = subprocess.PIPE
        started.append(subprocess.Popen(command, cwd=PROJECT, stdout=pipe, stderr=pipe, text=True))
        return started[-1]

    yield begin
    for process in started:
        process.kill()
        process.wait()
        process.stdout.close()
        process.stderr.close()


def answer(process):
    """Return what a program answered; it must have ended well."""
    out, talk = process.communicate(timeout=600)
    assert process.returncode == 0, talk
    return json.loads(out)


def test_two_programs_write_and_one_reads_at_once(start, path):
    # Both find no file: one makes it while the other waits.
    writers = [start("write", path, SECONDS, bed) for bed in ("low", "tall")]
    seen = [0]
    while any(writer.poll() is None for writer in writers):
        if path.exists():
            with open_reader(path) as reader:
                seen.append(len(reader.gauges_between(DAY, DAY)))
        time.sleep(0.02)
    found = [answer(writer) for writer in writers]
    sys.stdout.write(f"{found}\n")
    assert all(each["written"] > 0 for each in found)
    assert seen == sorted(seen)
    timetables, gauges = check_file(path)
    written = sum(each["written"] for each in found)
    assert (len(gauges), len(timetables)) == (written, 3 * written)
    assert gauges == set(range(1, written + 1))


def test_what_was_acknowledged_survives_a_kill(start, tmp_path):
    counts = answer(start("kill", tmp_path, ROUNDS, 20260713))
    sys.stdout.write(f"{counts}\n")
    assert counts["rounds"] == ROUNDS
    assert counts["kept"] >= counts["acknowledged"] > ROUNDS / 4
    # The kills fell where they can do harm: inside a transaction, and while the file was opened or made.
    assert counts["killed_inside"] > ROUNDS / 10
    assert counts["killed_before_first"] > 0
