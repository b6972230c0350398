"""The ledger's schema as SQL, one script for each version; a script that was ever released never changes.

Tables are STRICT and append-only: triggers refuse to change or delete a row. A mistake is mended by a row in
`withdrawal` and, where there is something to say instead, a new row; the views `current_...` leave withdrawn
rows out. `logbook` keeps the order in which a person's entries came, whatever the clock said.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator

__all__ = ["APPLICATION_ID", "MIGRATIONS", "VERSION", "statements"]

#: ``PRAGMA application_id`` of a ledger: the bytes "RILL".
APPLICATION_ID = 0x52494C4C

# Left alone, date() takes 30 February for a day; moved by no day at all it makes 2 March of it, so that the
# comparison fails. Words such as 'now' do not begin with a digit and never reach it.
_INSTANT = "CHECK (@c GLOB '[0-9]*' AND @c IS strftime('%Y-%m-%dT%H:%M:%SZ', @c, '+0 days'))"
_DATE = "CHECK (@c GLOB '[0-9]*' AND @c IS date(@c, '+0 days'))"


def _instant(column: str, *, needed: bool = True) -> str:
    """Return the SQL of a column that holds an instant in UTC, to the second."""
    check = _INSTANT.replace("@c", column)
    return f"{column} TEXT NOT NULL {check}" if needed else f"{column} TEXT {check}"


def _date(column: str) -> str:
    """Return the SQL of a column that holds a date."""
    return f"{column} TEXT NOT NULL {_DATE.replace('@c', column)}"


def _decimal(column: str) -> str:
    """Return the SQL of a column that holds a decimal number as text, digit for digit."""
    return (
        f"{column} TEXT NOT NULL CHECK ({column} GLOB '*[0-9]*' AND {column} NOT GLOB '*[^-0-9.]*'"
        f" AND {column} NOT GLOB '?*-*' AND {column} NOT GLOB '*.*.*')"
    )


def _for(tables: Iterable[str], script: str) -> str:
    """Return a script once for each table, its name put in for ``@table``."""
    return "".join(script.replace("@table", table) for table in tables)


# INSERT OR REPLACE deletes without asking a delete trigger, hence the first one; ``@same`` finds the rows
# that it would replace.
_GUARDS = """
CREATE TRIGGER @table_never_replaced BEFORE INSERT ON @table
WHEN EXISTS (SELECT 1 FROM @table WHERE @same) BEGIN @refuse END;
CREATE TRIGGER @table_never_changed BEFORE UPDATE ON @table BEGIN @refuse END;
CREATE TRIGGER @table_never_deleted BEFORE DELETE ON @table BEGIN @refuse END;
""".replace(
    "@refuse",
    "SELECT RAISE(ABORT, 'the ledger is append-only: a row of @table is never changed or deleted;"
    " withdraw it and enter it anew');",
)
_CURRENT = """
CREATE VIEW current_@table AS SELECT * FROM @table
WHERE id NOT IN (SELECT row_id FROM withdrawal WHERE table_name = '@table');
"""
_LOGGED = """
CREATE TRIGGER @table_logged AFTER INSERT ON @table BEGIN
    INSERT INTO logbook (recorded_at, table_name, row_id) VALUES (NEW.recorded_at, '@table', NEW.id);
END;
"""
_WITHDRAWAL_OF_A_ROW = """
CREATE TRIGGER withdrawal_of_a_row BEFORE INSERT ON withdrawal
WHEN NOT CASE NEW.table_name @cases ELSE 0 END
BEGIN SELECT RAISE(ABORT, 'there is no such row to withdraw'); END;
"""
_CASE = "\n    WHEN '@table' THEN EXISTS (SELECT 1 FROM @table WHERE id = NEW.row_id)"

# Version 1.
_BY_HAND = ("run", "valve", "reading", "gauge", "dig", "bill")
_WITHDRAWABLE = ("weather_day", "reference_et", "timetable", *_BY_HAND)
_HEAD = f"id INTEGER PRIMARY KEY CHECK (id > 0),\n    {_instant('recorded_at')}"

_TABLES_1 = f"""
CREATE TABLE plan_version (
    {_HEAD},
    hash TEXT NOT NULL UNIQUE CHECK (hash <> ''),
    text TEXT NOT NULL
) STRICT;
CREATE TABLE weather_day (
    {_HEAD},
    {_date("date")},
    origin TEXT NOT NULL CHECK (origin IN ('station', 'forecast', 'gauge')),
    source TEXT NOT NULL CHECK (source <> ''),
    {_instant("issued_at", needed=False)},
    tmax_c REAL,
    tmin_c REAL,
    dew_point_c REAL,
    rh_max_pct REAL CHECK (rh_max_pct BETWEEN 0 AND 100),
    rh_min_pct REAL CHECK (rh_min_pct BETWEEN 0 AND 100),
    rh_mean_pct REAL CHECK (rh_mean_pct BETWEEN 0 AND 100),
    wind_m_s REAL CHECK (wind_m_s >= 0),
    wind_height_m REAL CHECK (wind_height_m > 0),
    solar_mj_m2 REAL CHECK (solar_mj_m2 >= 0),
    sunshine_h REAL CHECK (sunshine_h BETWEEN 0 AND 24),
    rain_mm REAL CHECK (rain_mm >= 0)
) STRICT;
CREATE TABLE reference_et (
    {_HEAD},
    {_date("date")},
    reference_et_mm REAL NOT NULL CHECK (reference_et_mm >= 0),
    inputs_hash TEXT NOT NULL CHECK (inputs_hash <> ''),
    rain_mm REAL NOT NULL CHECK (rain_mm >= 0),
    wind_2m_m_s REAL NOT NULL CHECK (wind_2m_m_s >= 0),
    rh_min_pct REAL NOT NULL CHECK (rh_min_pct BETWEEN 0 AND 100),
    tmax_c REAL NOT NULL,
    tmin_c REAL NOT NULL,
    forecast INTEGER NOT NULL CHECK (forecast IN (0, 1)),
    estimated TEXT NOT NULL
) STRICT;
CREATE TABLE timetable (
    {_HEAD},
    {_date("first_day")},
    plan_id INTEGER NOT NULL REFERENCES plan_version (id),
    weather_hash TEXT NOT NULL CHECK (weather_hash <> ''),
    {_instant("computed_at")},
    document TEXT NOT NULL CHECK (json_valid(document))
) STRICT;
CREATE TABLE timetable_run (
    {_HEAD},
    timetable_id INTEGER NOT NULL REFERENCES timetable (id),
    {_date("date")},
    zone TEXT NOT NULL CHECK (zone <> ''),
    start_min INTEGER NOT NULL CHECK (start_min >= 0),
    minutes REAL NOT NULL CHECK (minutes >= 0),
    volume_l REAL NOT NULL CHECK (volume_l >= 0)
) STRICT;
CREATE TABLE run (
    {_HEAD},
    {_date("date")},
    status TEXT NOT NULL CHECK (status IN ('ran', 'skipped')),
    zone TEXT CHECK (zone <> ''),
    bed TEXT CHECK (bed <> ''),
    minutes REAL CHECK (minutes >= 0),
    CHECK (status = 'ran' OR minutes IS NULL)
) STRICT;
CREATE TABLE valve (
    {_HEAD},
    {_instant("at")},
    bed TEXT NOT NULL CHECK (bed <> ''),
    state TEXT NOT NULL CHECK (state IN ('open', 'shut'))
) STRICT;
CREATE TABLE reading (
    {_HEAD},
    {_instant("at")},
    kind TEXT NOT NULL CHECK (kind IN ('meter', 'bucket')),
    volume_l REAL NOT NULL CHECK (volume_l >= 0),
    bed TEXT CHECK (bed <> ''),
    minutes REAL CHECK (minutes >= 0),
    as_written TEXT NOT NULL,
    CHECK (kind = 'meter' OR coalesce(minutes, 0) > 0)
) STRICT;
CREATE TABLE gauge (
    {_HEAD},
    {_date("date")},
    rain_mm REAL NOT NULL CHECK (rain_mm >= 0)
) STRICT;
CREATE TABLE dig (
    {_HEAD},
    {_date("date")},
    bed TEXT NOT NULL CHECK (bed <> ''),
    finding TEXT NOT NULL CHECK (finding IN ('wet', 'right', 'dry'))
) STRICT;
CREATE TABLE bill (
    {_HEAD},
    {_date("first_day")},
    {_date("last_day")},
    {_decimal("units")},
    unit TEXT NOT NULL CHECK (unit IN ('m3', 'CCF', 'kgal', 'gal', 'L')),
    {_decimal("amount")},
    currency TEXT NOT NULL CHECK (currency <> ''),
    CHECK (last_day >= first_day)
) STRICT;
CREATE TABLE withdrawal (
    {_HEAD},
    table_name TEXT NOT NULL,
    row_id INTEGER NOT NULL,
    reason TEXT NOT NULL CHECK (reason <> ''),
    UNIQUE (table_name, row_id)
) STRICT;
CREATE TABLE logbook (
    {_HEAD},
    table_name TEXT NOT NULL,
    row_id INTEGER NOT NULL,
    UNIQUE (table_name, row_id)
) STRICT;
"""
_INDEXES_1 = """
CREATE INDEX weather_day_by_date ON weather_day (date);
CREATE INDEX reference_et_by_date ON reference_et (date);
CREATE INDEX timetable_by_first_day ON timetable (first_day);
CREATE INDEX timetable_run_by_timetable ON timetable_run (timetable_id);
CREATE INDEX run_by_date ON run (date);
CREATE INDEX valve_by_instant ON valve (at);
CREATE INDEX reading_by_instant ON reading (at);
CREATE INDEX gauge_by_date ON gauge (date);
CREATE INDEX dig_by_date ON dig (date);
"""
# Plan versions and withdrawals are never withdrawn; runs of a timetable stand and fall with it.
_VIEWS_1 = """
CREATE VIEW current_plan_version AS SELECT * FROM plan_version;
CREATE VIEW current_withdrawal AS SELECT * FROM withdrawal;
CREATE VIEW current_timetable_run AS SELECT * FROM timetable_run
WHERE timetable_id NOT IN (SELECT row_id FROM withdrawal WHERE table_name = 'timetable');
"""
_SAME_ROW = "id = NEW.id OR (table_name = NEW.table_name AND row_id = NEW.row_id)"
_VERSION_1 = "".join(
    [
        f"PRAGMA application_id = {APPLICATION_ID};",
        _TABLES_1,
        _INDEXES_1,
        _VIEWS_1,
        _for(_WITHDRAWABLE, _CURRENT),
        _for(_BY_HAND, _LOGGED),
        _for(("timetable_run", *_WITHDRAWABLE), _GUARDS.replace("@same", "id = NEW.id")),
        _for(("plan_version",), _GUARDS.replace("@same", "id = NEW.id OR hash = NEW.hash")),
        _for(("withdrawal", "logbook"), _GUARDS.replace("@same", _SAME_ROW)),
        _WITHDRAWAL_OF_A_ROW.replace("@cases", _for(_WITHDRAWABLE, _CASE)),
    ]
)

# Version 2: a second gauge below the leaves.
_VERSION_2 = """
DROP VIEW current_gauge;
ALTER TABLE gauge ADD COLUMN place TEXT NOT NULL DEFAULT 'open' CHECK (place IN ('open', 'canopy'));
""" + _for(("gauge",), _CURRENT)

# Version 3: lines of a bed relaid, and soil moisture measured.
_ADDED_3 = ("relaid", "moisture")
_VERSION_3 = "".join(
    [
        f"""
CREATE TABLE relaid (
    {_HEAD},
    {_instant("at")},
    bed TEXT NOT NULL CHECK (bed <> '')
) STRICT;
CREATE TABLE moisture (
    {_HEAD},
    {_date("date")},
    bed TEXT NOT NULL CHECK (bed <> ''),
    kind TEXT NOT NULL CHECK (kind IN ('content', 'tension')),
    content_share REAL CHECK (content_share BETWEEN 0 AND 1),
    tension_kpa REAL CHECK (tension_kpa >= 0),
    as_written TEXT NOT NULL,
    CHECK ((content_share IS NOT NULL) = (kind = 'content')),
    CHECK ((tension_kpa IS NOT NULL) = (kind = 'tension'))
) STRICT;
CREATE INDEX relaid_by_instant ON relaid (at);
CREATE INDEX moisture_by_date ON moisture (date);
DROP TRIGGER withdrawal_of_a_row;
""",
        _for(_ADDED_3, _CURRENT + _LOGGED + _GUARDS.replace("@same", "id = NEW.id")),
        _WITHDRAWAL_OF_A_ROW.replace("@cases", _for((*_WITHDRAWABLE, *_ADDED_3), _CASE)),
    ]
)

#: Script number n (from 0) brings a ledger of version n to version n + 1; version 0 is an empty file.
MIGRATIONS: tuple[str, ...] = (_VERSION_1, _VERSION_2, _VERSION_3)

VERSION = len(MIGRATIONS)


def statements(script: str) -> Iterator[str]:
    """Yield the statements of a script one by one, so that they can run inside one transaction."""
    statement = ""
    for piece in script.split(";"):
        statement += f"{piece};"
        if sqlite3.complete_statement(statement):
            if statement.strip(" \n;"):
                yield statement.strip()
            statement = ""
