"""Everything that a plan's [publish] asks for, each by itself: one that fails does not hold up the others."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from scheduler.errors import RillbookError
from scheduler.garden.plan import MqttPlan, Publish
from scheduler.publish.secret import read_secret
from scheduler.publish.table import WeekTable
from scheduler.publish.timetable import timetable_json
from scheduler.show.wholefile import write_whole

__all__ = ["publish_table"]


def publish_table(
    table: WeekTable, publish: Publish, *, folder: Path, stamp: datetime
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Put a table where the plan asks for it.

    Parameters
    ----------
    table : WeekTable
    publish : Publish
    folder : Path
        Folder of the plan, which files are relative to.
    stamp : datetime
        When the calendar is made, aware.

    Returns
    -------
    tuple of (tuple of str, tuple of str)
        The places that have it now, and what went wrong with the others.
    """
    places: dict[str, Callable[[], None]] = {}
    if publish.json is not None:
        path = folder / publish.json
        places[str(publish.json)] = lambda: _write(path, timetable_json(table).encode())
    if publish.calendar is not None:
        ics = folder / publish.calendar
        places[str(publish.calendar)] = lambda: _write_calendar(ics, table, stamp=stamp)
    if publish.mqtt is not None:
        broker = publish.mqtt
        places[f"{broker.host}:{broker.port}"] = lambda: _send(broker, table, folder=folder)
    done, failed = [], []
    for place, put in places.items():
        try:
            put()
            done.append(place)
        except RillbookError as fault:
            failed.append(f"publish > {fault}")
    return tuple(done), tuple(failed)


def _write(path: Path, content: bytes) -> None:
    write_whole(path, lambda file: file.write(content))


def _write_calendar(path: Path, table: WeekTable, *, stamp: datetime) -> None:
    from scheduler.publish.calendar import calendar_file

    _write(path, calendar_file(table, stamp=stamp))


def _send(broker: MqttPlan, table: WeekTable, *, folder: Path) -> None:
    from scheduler.publish.mqtt import publish_mqtt

    password = None if broker.password is None else read_secret(broker.password, folder=folder)
    publish_mqtt(table, broker, password=password)
