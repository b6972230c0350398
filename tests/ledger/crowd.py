"""Programs for the tests that need a ledger in several processes, or in one that is killed.

``python -m tests.ledger.crowd write FILE SECONDS BED`` writes as fast as it can and tells what it wrote;
``... kill FOLDER ROUNDS SEED`` lets a child write and kills it, again and again, and looks at what is left.
"""

import datetime
import json
import os
import random
import signal
import sqlite3
import sys
import time
from contextlib import closing
from pathlib import Path

from scheduler.ledger.entries import Dig, Gauge, PlanVersion, Timetable, TimetableRun
from scheduler.ledger.reading import open_reader
from scheduler.ledger.store import Ledger

__all__ = ["RUNS", "check_file", "write_week"]

NOW = datetime.datetime(2026, 7, 13, 4, 10, tzinfo=datetime.UTC)
DAY = datetime.date(2026, 7, 13)

#: Runs of every timetable; another number would be half a transaction.
RUNS = 6

#: A child is killed within this time after it was started [s]; opening a new file takes a third of it.
LONGEST_LIFE = 0.09

#: A third of the children is killed within this time, while they open the file or soon after [s].
SHORTEST_LIFE = 0.02

#: Rounds after which the child begins with no file.
ROUNDS_PER_FILE = 5


def write_week(ledger):
    """Record a timetable with its runs and a dig check in one transaction; return the timetable's number."""
    with ledger.writing():
        plan = ledger.record_plan(PlanVersion("a1", "text"), recorded_at=NOW)
        timetable = ledger.record_timetable(Timetable(DAY, plan, "c3", NOW, "{}"), recorded_at=NOW)
        for start in range(RUNS):
            run = TimetableRun(timetable, DAY, "north", start, 20.0, 64.25)
            ledger.record_timetable_run(run, recorded_at=NOW)
        ledger.record_dig(Dig(DAY, f"bed {timetable}", "wet"), recorded_at=NOW)
    return timetable


def check_file(path):
    """Return the numbers of timetables and gauge readings in a ledger; its transactions must be whole."""
    with open_reader(path) as reader:
        timetables = {kept.id for kept in reader.timetables()}
        gauges = {kept.id for kept in reader.gauges_between(DAY, DAY)}
        digs = [kept.entry.bed for kept in reader.digs_between(DAY, DAY)]
        logged = reader.logbook()
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
        runs = connection.execute("SELECT timetable_id, count(*) FROM timetable_run GROUP BY 1").fetchall()
    assert dict(runs) == dict.fromkeys(timetables, RUNS)
    assert sorted(digs) == sorted(f"bed {number}" for number in timetables)
    assert len(logged) == len(set(logged)) == len(timetables) + len(gauges)
    return timetables, gauges


def write(path, seconds, bed):
    """Write for some time; print the number of transactions and the longest wait [s]."""
    ends = time.monotonic() + seconds
    written, longest = 0, 0.0
    while (begun := time.monotonic()) < ends:
        # Opened anew each time, as a program run from the command line would.
        with Ledger.open(path) as ledger:
            ledger.record_gauge(Gauge(DAY, 1.0), recorded_at=NOW)
            for _ in range(3):
                write_week(ledger)
        written += 1
        longest = max(longest, time.monotonic() - begun)
    sys.stdout.write(json.dumps({"bed": bed, "written": written, "longest": longest}))


def live_until_killed(path, pipe):
    """Write transactions; tell when one begins and, after it was committed, its row."""
    with Ledger.open(path) as ledger:
        while True:
            os.write(pipe, b"begin\n")
            os.write(pipe, f"timetable {write_week(ledger)}\n".encode())
            os.write(pipe, f"gauge {ledger.record_gauge(Gauge(DAY, 1.0), recorded_at=NOW)}\n".encode())


def start_child(path):
    """Return the process that writes and the pipe it speaks through."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child:
        os.close(theirs)
        return child, ours
    try:
        os.close(ours)
        live_until_killed(path, theirs)
    except BaseException as error:
        os.write(theirs, f"error {error!r}\n".encode())
    os._exit(1)


def let_live(chance, pipe):
    """Wait briefly for a third of the children, longer for a third, and for a third after their first row.

    Return what was read of the pipe meanwhile. However slow the machine is, that third tells of a row.
    """
    kind, text = chance.randrange(3), b""
    while kind == 2 and b"timetable" not in text and (piece := os.read(pipe, 65536)):
        text += piece
    time.sleep(chance.uniform(0, SHORTEST_LIFE if kind == 0 else LONGEST_LIFE))
    return text


def read_all(pipe, text):
    """Return the lines of a pipe up to its end, after what was read of it before."""
    while piece := os.read(pipe, 65536):
        text += piece
    os.close(pipe)
    return text.decode().splitlines()


def kill(folder, rounds, seed):
    """Run the rounds and print the counts: rows acknowledged and kept, rounds killed inside a transaction."""
    chance = random.Random(seed)
    counts = dict.fromkeys(("rounds", "acknowledged", "kept", "killed_inside", "killed_before_first"), 0)
    told = {"timetable": set(), "gauge": set()}
    path = folder
    for number in range(rounds):
        if number % ROUNDS_PER_FILE == 0:
            path = folder / f"ledger_{number}.sqlite"
            told = {"timetable": set(), "gauge": set()}
        child, pipe = start_child(path)
        begun = let_live(chance, pipe)
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        lines = read_all(pipe, begun)
        assert not any(line.startswith("error") for line in lines), lines[-1]
        for kind, row in (line.split() for line in lines if line != "begin"):
            told[kind].add(int(row))
        counts["rounds"] += 1
        counts["acknowledged"] += sum(line != "begin" for line in lines)
        counts["killed_inside"] += lines[-1:] == ["begin"]
        counts["killed_before_first"] += not lines
        if path.exists():
            timetables, gauges = check_file(path)
            assert told["timetable"] <= timetables
            assert told["gauge"] <= gauges
            # At most the transaction that was on its way may have been kept without having been told.
            assert (
                len(timetables) + len(gauges) - sum(map(len, told.values())) <= number % ROUNDS_PER_FILE + 1
            )
        else:
            assert not any(told.values())
        if number % ROUNDS_PER_FILE == ROUNDS_PER_FILE - 1 or number == rounds - 1:
            counts["kept"] += sum(map(len, check_file(path)))
    sys.stdout.write(json.dumps(counts))


if __name__ == "__main__":
    task, place, amount, last = sys.argv[1:]
    if task == "write":
        write(Path(place), float(amount), last)
    else:
        kill(Path(place), int(amount), int(last))
