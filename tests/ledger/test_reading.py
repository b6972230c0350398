"""A quick command reads the ledger without what is slow to load, and cannot write to it."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from scheduler.ledger.reading import open_reader
from scheduler.ledger.store import Ledger
from tests.ledger.samples import DAY, NOW, record_samples

PROJECT = Path(__file__).resolve().parents[2]
# Asks everything that a week needs, then lists the packages loaded.
WEEK = """
import datetime, sys
from pathlib import Path
from scheduler.ledger.reading import open_reader
day = datetime.date(2026, 7, 13)
with open_reader(Path(sys.argv[1])) as reader:
    found = [
        reader.reference_et_between(day, day), reader.weather_between(day, day),
        reader.runs_between(day, day),
        reader.gauges_between(day, day), reader.digs_between(day, day), reader.moistures_between(day, day),
        reader.valves(), reader.readings(),
        reader.timetable_runs(reader.latest_timetable(day).id),
    ]
print([len(rows) for rows in found], *sorted({name.partition(".")[0] for name in sys.modules}))
"""


def fresh(script, path):
    command = [sys.executable, "-c", script, str(path)]
    process = subprocess.run(command, cwd=PROJECT, capture_output=True, text=True, check=True, timeout=600)
    return process.stdout.split()


def test_reading_loads_neither_pandas_nor_sqlite_utils(path):
    with Ledger.open(path) as ledger:
        record_samples(ledger)
    loaded = fresh(WEEK, path)
    assert loaded[:9] == ["[1,", *["1,"] * 7, "1]"]
    assert {"scheduler", "sqlite3"} <= set(loaded)
    assert {"numpy", "pandas", "sqlite_utils"} & set(loaded) == set()
    # What writes does load them: the absence above is no accident of names.
    writing = "import sys, scheduler.ledger.store\nprint(*{name.partition('.')[0] for name in sys.modules})"
    assert {"pandas", "sqlite_utils"} <= set(fresh(writing, path))


def test_a_reader_cannot_write(path):
    with Ledger.open(path) as ledger:
        record_samples(ledger)
    with open_reader(path) as reader:
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            reader._connection.execute("INSERT INTO withdrawal DEFAULT VALUES")
        assert not hasattr(reader, "record")


def test_a_reader_sees_what_is_committed_while_another_writes(path):
    with Ledger.open(path) as ledger, open_reader(path) as reader:
        with ledger.writing():
            record_samples(ledger)
            assert reader.gauges_between(DAY, DAY) == ()
        assert len(reader.gauges_between(DAY, DAY)) == 1
        ledger.undo_last(NOW)
        assert reader.moistures_between(DAY, DAY) == ()


def test_nothing_is_left_beside_the_file(path):
    with Ledger.open(path) as ledger, open_reader(path):
        record_samples(ledger)
    assert [each.name for each in path.parent.iterdir()] == [path.name]


def test_any_tool_can_read_it(path):
    with Ledger.open(path) as ledger:
        record_samples(ledger)
        ledger.undo_last(NOW)
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("SELECT rain_mm, place FROM current_gauge").fetchall() == [(8.0, "canopy")]
        assert connection.execute("SELECT count(*) FROM current_moisture").fetchone() == (0,)
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
