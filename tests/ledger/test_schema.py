"""The schema as SQL sees it: append-only, strict, no secrets; every version opens, other files do not."""

import dataclasses
import re
import shutil
import sqlite3
from contextlib import closing
from threading import Timer

import pytest

from scheduler.errors import LedgerError
from scheduler.ledger.columns import TABLES
from scheduler.ledger.entries import Gauge, Kept, Moisture, Relaid
from scheduler.ledger.reading import open_reader
from scheduler.ledger.rows import from_row
from scheduler.ledger.schema import APPLICATION_ID, MIGRATIONS, VERSION, statements
from scheduler.ledger.store import Ledger
from tests.ledger.old_ledgers import KEPT, OLD_VERSIONS, ROWS, write_old
from tests.ledger.samples import DAY, NOW, record_samples

ALL = [*TABLES, "logbook"]
TYPES = {"number": "REAL", "whole": "INTEGER", "flag": "INTEGER"}
AT = "2026-07-13T04:10:00Z"
WET = {"date": "2026-07-13", "bed": "low bed", "kind": "content", "content_share": 0.24, "as_written": ""}


@pytest.fixture
def sql(path):
    """Return a bare connection to a ledger with a row in every table, as any SQLite tool would open it."""
    with Ledger.open(path) as ledger:
        record_samples(ledger)
        ledger.withdraw("dig", 1, reason="other bed", recorded_at=NOW)
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        yield connection


def test_columns_are_as_told(sql):
    for name, table in TABLES.items():
        told = {
            column.name: (TYPES.get(column.kind, "TEXT"), int(not column.optional))
            for column in table.columns
        }
        found = {row[1]: (row[2], row[3]) for row in sql.execute(f"PRAGMA table_info({name})")}
        assert found.pop("id") == ("INTEGER", 0)
        assert found.pop("recorded_at") == ("TEXT", 1)
        assert found == told
        assert [column.name for column in table.columns] == [f.name for f in dataclasses.fields(table.entry)]


def test_tables_are_strict_and_views_leave_out_what_was_withdrawn(sql):
    kinds = {name: (kind, strict) for _, name, kind, _, _, strict in sql.execute("PRAGMA table_list")}
    assert {name for name in ALL if kinds[name] != ("table", 1)} == set()
    counts = {name: sql.execute(f"SELECT count(*) FROM current_{name}").fetchone()[0] for name in TABLES}
    assert counts == {name: 0 if name == "dig" else 1 for name in TABLES}


def test_file_is_marked_and_write_ahead(sql):
    pragmas = ("application_id", "user_version", "journal_mode")
    found = [sql.execute(f"PRAGMA {pragma}").fetchone()[0] for pragma in pragmas]
    assert found == [APPLICATION_ID, VERSION, "wal"]


def test_connection_reaches_the_disk_and_checks_references(ledger):
    pragmas = {"synchronous": 2, "foreign_keys": 1, "recursive_triggers": 1}
    found = {name: ledger._connection.execute(f"PRAGMA {name}").fetchone()[0] for name in pragmas}
    assert found == pragmas


@pytest.mark.parametrize("table", ALL)
def test_no_row_is_changed_deleted_or_replaced(sql, table):
    before = sql.execute(f"SELECT * FROM {table}").fetchall()
    names = [row[1] for row in sql.execute(f"PRAGMA table_info({table})")]
    columns, marks = ", ".join(names), ", ".join("?" * len(names))
    replacing = f"INSERT OR REPLACE INTO {table} ({columns}) VALUES ({marks})"
    for statement, values in (
        (f"UPDATE {table} SET recorded_at = recorded_at", ()),
        (f"UPDATE OR REPLACE {table} SET id = 2", ()),
        (f"DELETE FROM {table}", ()),
        (replacing, before[0]),
    ):
        with pytest.raises(sqlite3.IntegrityError, match=f"append-only: a row of {table} is never"):
            sql.execute(statement, values)
    assert sql.execute(f"SELECT * FROM {table}").fetchall() == before


@pytest.mark.parametrize(
    ("table", "same"),
    [("plan_version", {"hash": "a1"}), ("withdrawal", {"table_name": "dig"}), ("logbook", {"row_id": 1})],
)
def test_a_row_with_the_same_key_replaces_nothing(sql, table, same):
    names = [row[1] for row in sql.execute(f"PRAGMA table_info({table})") if row[1] != "id"]
    columns = ", ".join(names)
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        sql.execute(f"INSERT OR REPLACE INTO {table} ({columns}) SELECT {columns} FROM {table} LIMIT 1")
    (key, value), *_ = same.items()
    assert sql.execute(f"SELECT count(*) FROM {table} WHERE {key} = ? AND id = 1", (value,)).fetchone() == (
        1,
    )


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ("gauge", {"date": "2026-02-30", "rain_mm": 8.0}),
        ("gauge", {"date": "13/07/2026", "rain_mm": 8.0}),
        ("gauge", {"date": "now", "rain_mm": 8.0}),
        ("gauge", {"date": "2026-07-13", "rain_mm": -1.0}),
        ("gauge", {"date": "2026-07-13", "rain_mm": "much"}),
        ("gauge", {"date": "2026-07-13", "rain_mm": 8.0, "place": "shed"}),
        ("gauge", {"date": "2026-07-13", "rain_mm": 8.0, "recorded_at": "2026-07-13 04:10:00"}),
        ("gauge", {"date": "2026-07-13", "rain_mm": 8.0, "recorded_at": "2026-02-30T04:10:00Z"}),
        ("gauge", {"date": "2026-07-13", "rain_mm": 8.0, "id": 0}),
        ("run", {"date": "2026-07-13", "status": "skipped", "minutes": 3.0}),
        ("reading", {"at": AT, "kind": "bucket", "volume_l": 8.0, "as_written": ""}),
        ("bill", ROWS[1]["bill"] | {"amount": "1e3"}),
        ("bill", ROWS[1]["bill"] | {"amount": "1-2"}),
        ("bill", ROWS[1]["bill"] | {"amount": "1.2.3"}),
        ("bill", ROWS[1]["bill"] | {"last_day": "2026-06-30"}),
        ("timetable", ROWS[1]["timetable"] | {"document": "{"}),
        ("relaid", {"at": "2026-07-13", "bed": "low bed"}),
        ("relaid", {"at": AT, "bed": ""}),
        ("moisture", WET | {"tension_kpa": 35.0}),
        ("moisture", WET | {"content_share": None}),
        ("moisture", WET | {"content_share": None, "tension_kpa": 35.0}),
        ("moisture", WET | {"kind": "tension"}),
        ("moisture", WET | {"kind": "damp"}),
        ("moisture", WET | {"content_share": 24.0}),
        ("moisture", WET | {"kind": "tension", "content_share": None, "tension_kpa": -1.0}),
        ("withdrawal", {"table_name": "gauge", "row_id": 9, "reason": "x"}),
        ("withdrawal", {"table_name": "plan_version", "row_id": 1, "reason": "x"}),
    ],
)
def test_sql_itself_refuses_what_cannot_be(sql, table, row):
    row = {"recorded_at": AT, **row}
    with pytest.raises(sqlite3.IntegrityError):
        sql.execute(
            f"INSERT INTO {table} ({', '.join(row)}) VALUES ({', '.join('?' * len(row))})", [*row.values()]
        )


def test_no_column_is_for_a_secret(sql):
    secret = re.compile("pass|secret|token|key|auth|user|login|mail|credential|cookie|host|url")
    names = [row[1] for table in ALL for row in sql.execute(f"PRAGMA table_info({table})")]
    assert len(names) > 60
    assert [name for name in names if secret.search(name)] == []


def schema_of(path):
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute("SELECT type, name, sql FROM sqlite_schema ORDER BY type, name").fetchall()


def old_files(tmp_path):
    """Yield version and file of every ledger of an earlier version, made now or kept from then."""
    for version in OLD_VERSIONS:
        made = tmp_path / f"made_{version}.sqlite"
        write_old(made, version)
        yield version, made
    for version, kept in KEPT.items():
        copy = tmp_path / f"kept_{version}.sqlite"
        shutil.copyfile(kept, copy)
        yield version, copy


@pytest.mark.parametrize("open_ledger", [open_reader, Ledger.open])
def test_a_ledger_of_every_earlier_version_opens(tmp_path, open_ledger):
    with Ledger.open(tmp_path / "new.sqlite"):
        pass
    opened = []
    for version, path in old_files(tmp_path):
        with open_ledger(path) as ledger:
            for name, row in ROWS[version].items():
                (kept,) = ledger.rows(TABLES[name], withdrawn=True)
                values = [row.get(column.name) for column in TABLES[name].columns]
                if name == "gauge" and version == 1:
                    values[-1] = "open"
                assert kept == Kept(1, NOW, from_row(TABLES[name], values))
            assert len(ledger.last_entries(9)) == (5 if version else 0)
        assert schema_of(path) == schema_of(tmp_path / "new.sqlite")
        opened.append((version, path.name))
    assert opened == [
        *((version, f"made_{version}.sqlite") for version in (0, 1, 2)),
        *((version, f"kept_{version}.sqlite") for version in (1, 2)),
    ]
    assert {version for version, _ in opened} == set(range(VERSION))


def test_released_scripts_never_change(tmp_path):
    for version, kept in KEPT.items():
        made = tmp_path / f"made_{version}.sqlite"
        write_old(made, version)
        assert schema_of(made) == schema_of(shutil.copyfile(kept, tmp_path / "kept.sqlite"))
    assert set(KEPT) == set(range(1, VERSION))


@pytest.mark.parametrize("version", KEPT)
def test_an_old_ledger_takes_new_tables_and_gives_their_rows_back(tmp_path, version):
    path = shutil.copyfile(KEPT[version], tmp_path / "kept.sqlite")
    relaid, moisture = Relaid(NOW, "low bed"), Moisture(DAY, "low bed", "tension", tension_kpa=35.0)
    with Ledger.open(path) as ledger:
        for entry in (relaid, moisture):
            ledger.record(entry, recorded_at=NOW)
        assert [kept.entry for kept in ledger.last_entries(2)] == [moisture, relaid]
        assert [ledger.undo_last(NOW).entry for _ in range(2)] == [moisture, relaid]
        assert (ledger.relaid(), ledger.moistures_between(DAY, DAY)) == ((), ())
        # What the older version could withdraw can be withdrawn still.
        ledger.withdraw("gauge", 1, reason="misread", recorded_at=NOW)


def test_an_old_ledger_takes_new_entries(tmp_path):
    path = shutil.copyfile(KEPT[1], tmp_path / "kept.sqlite")
    with Ledger.open(path) as ledger:
        ledger.record_gauge(Gauge(DAY, 3.0, "canopy"), recorded_at=NOW)
        assert [kept.entry.place for kept in ledger.gauges_between(DAY, DAY)] == ["open", "canopy"]
        assert ledger.undo_last(NOW).id == 2


def test_a_migration_that_breaks_off_leaves_the_old_ledger(tmp_path, monkeypatch):
    path = shutil.copyfile(KEPT[1], tmp_path / "kept.sqlite")
    before = schema_of(path)
    broken = (MIGRATIONS[0], "CREATE TABLE shed (id INTEGER) STRICT; INSERT INTO nowhere VALUES (1);")
    monkeypatch.setattr("scheduler.ledger.connection.MIGRATIONS", broken)
    with pytest.raises(sqlite3.OperationalError, match="nowhere"):
        Ledger.open(path)
    assert schema_of(path) == before
    monkeypatch.undo()
    with Ledger.open(path) as ledger:
        assert len(ledger.last_entries(9)) == 5


def test_statements_are_cut_where_they_end():
    trigger = "CREATE TRIGGER c AFTER INSERT ON a BEGIN SELECT 1; SELECT 2; END"
    script = f"CREATE TABLE a (b) ;\n{trigger}; SELECT ';' ; \n"
    cut = list(statements(script))
    assert [statement.split()[0] for statement in cut] == ["CREATE", "CREATE", "SELECT"]


def newer(path):
    with Ledger.open(path) as ledger:
        ledger._connection.execute(f"PRAGMA user_version = {VERSION + 1}")


def foreign(path):
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE herons (id INTEGER)")


def foreign_numbered(path):
    foreign(path)
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA user_version = 1")


def damaged(path):
    with Ledger.open(path) as ledger:
        record_samples(ledger)
    whole = bytearray(path.read_bytes())
    # The first page of the file holds the schema; its cells begin after the file's head of 100 bytes.
    whole[100:4096] = bytes(3996)
    path.write_bytes(whole)


@pytest.mark.parametrize(
    ("make", "fault"),
    [
        (newer, f"version {VERSION + 1} of the ledger, made by a newer rillbook; at most version {VERSION}"),
        (foreign, "a database of another program"),
        (foreign_numbered, "a database of another program"),
        (lambda path: path.write_bytes(b"date,rain_mm\n" * 100), "not an SQLite file"),
        (damaged, "damaged"),
        (lambda path: path.mkdir(), "cannot be opened"),
    ],
)
@pytest.mark.parametrize("open_ledger", [open_reader, Ledger.open])
def test_what_is_no_ledger_is_refused_and_left_as_it_was(path, make, fault, open_ledger):
    make(path)
    before = path.read_bytes() if path.is_file() else None
    with pytest.raises(LedgerError, match=fault):
        open_ledger(path)
    assert (path.read_bytes() if path.is_file() else None) == before


@pytest.mark.parametrize("open_ledger", [open_reader, lambda path: Ledger.open(path, create=False)])
def test_a_missing_file_is_told_and_not_made(path, open_ledger):
    with pytest.raises(LedgerError, match="there is no such file"):
        open_ledger(path)
    assert not path.exists()


def test_a_missing_folder_is_told(tmp_path):
    with pytest.raises(LedgerError, match="cannot be opened; an existing folder"):
        Ledger.open(tmp_path / "nowhere" / "ledger.sqlite")


def test_an_old_sqlite_library_is_told(path, monkeypatch):
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 36, 0))
    with pytest.raises(LedgerError, match="SQLite library: .*; 3.38.0 or newer"):
        Ledger.open(path)


def test_a_file_in_use_is_opened_and_changed_to_write_ahead_later(path):
    with Ledger.open(path) as ledger:
        ledger._connection.execute("PRAGMA journal_mode = DELETE")
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN")
        other.execute("SELECT * FROM gauge").fetchall()
        with open_reader(path) as reader:
            assert reader._connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    with open_reader(path) as reader:
        assert reader._connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)


def test_opening_waits_for_a_writer_and_then_changes_to_write_ahead(path):
    with Ledger.open(path) as ledger:
        ledger._connection.execute("PRAGMA journal_mode = DELETE")
    with closing(sqlite3.connect(path, isolation_level=None, check_same_thread=False)) as other:
        other.execute("BEGIN IMMEDIATE")
        end = Timer(0.1, other.execute, ["ROLLBACK"])
        end.start()
        with open_reader(path) as reader:
            assert reader._connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        end.join()


def test_a_name_with_signs_of_its_own_is_a_file_name(tmp_path):
    path = tmp_path / "bed 50%?mode=ro#1.sqlite"
    with Ledger.open(path) as ledger:
        ledger.record_gauge(Gauge(DAY, 8.0), recorded_at=NOW)
    assert [each.name for each in tmp_path.iterdir()] == [path.name]
