"""Ledgers of earlier versions: made from the SQL of that version, and one kept as it was written then.

``python -m tests.ledger.old_ledgers FILE VERSION`` writes one; so were those in data/ made.
"""

import sqlite3
import sys
from contextlib import closing
from pathlib import Path

from scheduler.ledger.schema import MIGRATIONS, statements

__all__ = ["KEPT", "OLD_VERSIONS", "ROWS", "write_old"]

DATA = Path(__file__).parent / "data"
KEPT = {version: DATA / f"version_{version}.sqlite" for version in (1, 2)}

#: Every version before the last, 0 being an empty file.
OLD_VERSIONS = range(len(MIGRATIONS))

AT = "2026-07-13T04:10:00Z"
DAY = "2026-07-13"

#: Version -> rows as that version took them: table -> values by column.
ROWS = {
    0: {},
    1: {
        "plan_version": {"hash": "a1", "text": "name = 'Heron Lane'"},
        "weather_day": {
            "date": DAY,
            "origin": "station",
            "source": "orchard",
            "tmax_c": 29.5,
            "tmin_c": 14.0,
        },
        "reference_et": {
            "date": DAY,
            "reference_et_mm": 5.4,
            "inputs_hash": "b2",
            "rain_mm": 0.0,
            "wind_2m_m_s": 1.8,
            "rh_min_pct": 41.0,
            "tmax_c": 29.5,
            "tmin_c": 14.0,
            "forecast": 0,
            "estimated": "wind",
        },
        "timetable": {
            "first_day": DAY,
            "plan_id": 1,
            "weather_hash": "c3",
            "computed_at": AT,
            "document": '{"zones": ["north"]}',
        },
        "timetable_run": {
            "timetable_id": 1,
            "date": DAY,
            "zone": "north",
            "start_min": 300,
            "minutes": 20.0,
            "volume_l": 64.25,
        },
        "run": {"date": DAY, "status": "ran", "zone": "north", "bed": "low bed", "minutes": 18.5},
        "valve": {"at": AT, "bed": "low bed", "state": "shut"},
        "reading": {"at": AT, "kind": "meter", "volume_l": 84512.0, "as_written": "84.512 m3"},
        "gauge": {"date": DAY, "rain_mm": 8.0},
        "dig": {"date": DAY, "bed": "low bed", "finding": "dry"},
        "bill": {
            "first_day": "2026-07-01",
            "last_day": "2026-07-31",
            "units": "12.50",
            "unit": "m3",
            "amount": "48.10",
            "currency": "EUR",
        },
        "withdrawal": {"table_name": "dig", "row_id": 1, "reason": "other bed"},
    },
}
ROWS[2] = ROWS[1] | {"gauge": ROWS[1]["gauge"] | {"place": "canopy"}}


def write_old(path, version):
    """Write a ledger of an earlier version with a row in every table."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        # Small pages keep the stored file small.
        connection.execute("PRAGMA page_size = 512")
        connection.execute("PRAGMA journal_mode = WAL" if version else "PRAGMA journal_mode")
        for script in MIGRATIONS[:version]:
            for statement in statements(script):
                connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {version}")
        for table, row in ROWS[version].items():
            names, marks = ", ".join(row), ", ".join("?" * len(row))
            connection.execute(
                f"INSERT INTO {table} (recorded_at, {names}) VALUES (?, {marks})", (AT, *row.values())
            )


if __name__ == "__main__":
    write_old(Path(sys.argv[1]), int(sys.argv[2]))
