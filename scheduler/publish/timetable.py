"""The timetable as JSON: one document for the whole table, and one for each zone. Pure."""

from __future__ import annotations

import json
from typing import Any

from scheduler.publish.table import TableRun, TableZone, WeekTable

__all__ = ["ADVICE", "timetable_json", "zone_json"]

TABLE_SCHEMA = "rillbook.timetable/1"
ZONE_SCHEMA = "rillbook.timetable-zone/1"

#: Stands in every document, so that whoever takes it knows what it is.
ADVICE = "Advice only: rillbook opens no valve. Whoever acts on this document decides so by itself."


def timetable_json(table: WeekTable) -> str:
    """Return the table as one JSON document, schema ``rillbook.timetable/1``; instants carry their offset."""
    document = {**_head(table, TABLE_SCHEMA), "zones": [_zone(zone) for zone in table.zones]}
    return json.dumps(document, ensure_ascii=False, indent=2) + "\n"


def zone_json(table: WeekTable, zone: TableZone) -> str:
    """Return one zone of the table as a JSON document, schema ``rillbook.timetable-zone/1``."""
    return json.dumps({**_head(table, ZONE_SCHEMA), **_zone(zone)}, ensure_ascii=False)


def _head(table: WeekTable, schema: str) -> dict[str, Any]:
    """Return what every document begins with."""
    return {
        "schema": schema,
        "advice": ADVICE,
        "garden": table.garden,
        "timezone": table.timezone,
        "first_day": table.first_day.isoformat(),
        "last_day": table.last_day.isoformat(),
        "computed_at": table.computed_at.isoformat(timespec="seconds"),
        "conflicts": list(table.conflicts),
    }


def _zone(zone: TableZone) -> dict[str, Any]:
    """Return a zone's setting, beds and runs."""
    return {
        "zone": zone.zone,
        "outlet": zone.outlet,
        "days": zone.days,
        "starts": list(zone.starts),
        "run_time_min": zone.run_time_min,
        "volume_l": zone.volume_l,
        "beds": [{"bed": bed.bed, "needs_min": bed.needs_min, "gets_min": bed.gets_min} for bed in zone.beds],
        "runs": [_run(run) for run in zone.runs],
    }


def _run(run: TableRun) -> dict[str, Any]:
    """Return one run."""
    return {
        "begins": run.begins.isoformat(),
        "ends": run.ends.isoformat(),
        "run_time_min": run.run_time_min,
        "volume_l": run.volume_l,
    }
