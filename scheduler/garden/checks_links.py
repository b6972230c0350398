"""Checks across keys: notices, publishing, the meter, and files that are written."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import PurePath
from typing import Any

from scheduler.errors import Fault
from scheduler.garden.bounds import outside
from scheduler.garden.checks_sources import check_sources, keys_of_kind
from scheduler.garden.fields import shown
from scheduler.garden.plantables import PlanTables
from scheduler.garden.schema_links import MeterTable, NotifyTable
from scheduler.garden.tableread import Read

__all__ = ["check_links"]

# Keys that each kind needs, and those that it may also have.
_NOTICE_NEEDS: dict[str, tuple[str, ...]] = {
    "file": ("file",),
    "command": ("command",),
    "email": ("host", "from", "to"),
    "webhook": ("url",),
}
_NOTICE_EXTRAS: dict[str, tuple[str, ...]] = {
    "file": (),
    "command": (),
    "email": ("port", "user", "password_env", "password_file", "tls"),
    "webhook": ("token_env", "token_file"),
}
_HERE = ("localhost", "127.", "::1")


def check_links(tables: PlanTables) -> Iterator[Fault]:
    """Yield faults of sources, meter, notices and publishing."""
    yield from check_sources(tables)
    if tables.meter is not None:
        yield from _check_meter(tables.meter)
    for notice in tables.notices:
        yield from _check_notice(notice)
    publish = tables.publish
    if publish is not None and not publish.bad and not publish.raw:
        yield Fault(
            publish.where, "says nowhere to publish", 'write json = "timetable.json", calendar or mqtt'
        )
    if tables.mqtt is not None:
        yield from _check_login(tables.mqtt)
    yield from _check_files(tables)


def _check_meter(meter: Read[MeterTable]) -> Iterator[Fault]:
    yield from outside(
        meter,
        "capacity",
        "volume",
        low="1000 gal",
        high="100000000 m3",
        ask="the number after which all digits are zero again, with the unit on the dial",
    )
    yield from outside(
        meter,
        "smallest_digit",
        "volume",
        low="0.01 L",
        high="10 m3",
        ask="the step of the last digit or pointer that you can read",
    )
    yield from outside(
        meter,
        "low_flow_limit",
        "flow",
        low="0.1 L/h",
        high="10 gal/min",
        ask="the least flow that the data sheet promises to count",
    )
    if meter.has("capacity", "smallest_digit") and meter.table.smallest_digit * 100 > meter.table.capacity:
        yield Fault(
            meter.place("smallest_digit"),
            f"{shown(meter.raw['smallest_digit'])} is more than a hundredth of the capacity",
            "are the two exchanged?",
        )


def _check_notice(notice: Read[NotifyTable]) -> Iterator[Fault]:
    if not notice.has("kind"):
        return
    kind = notice.table.kind
    yield from keys_of_kind(notice, kind, needs=_NOTICE_NEEDS[kind], extras=_NOTICE_EXTRAS[kind])
    if kind == "email":
        yield from _check_login(notice)
        yield from _check_open_password(notice)
    if kind == "webhook" and notice.table.token_env is not None and notice.table.token_file is not None:
        yield Fault(notice.where, "gives token_env and token_file", "say one place of the token")


def _check_login(read: Read[Any]) -> Iterator[Fault]:
    """Yield a fault for a user without a password, one without a user, and two places of a password."""
    if not read.has("user", "password_env", "password_file"):
        return
    table = read.table
    places = [name for name in ("password_env", "password_file") if getattr(table, name) is not None]
    if len(places) > 1:
        yield Fault(read.where, f"gives {' and '.join(places)}", "say one place of the password")
    if places and table.user is None:
        yield Fault(read.place(places[0]), "a password without a user", "write user as well")
    if table.user is not None and not places:
        wanted = 'write password_env = "GARDEN_PASSWORD", or password_file'
        yield Fault(read.place("user"), "a user without a password", wanted)


def _check_open_password(notice: Read[NotifyTable]) -> Iterator[Fault]:
    """Yield a fault if a password would travel to another machine for all to read."""
    table = notice.table
    given = not {"password_env", "password_file"}.isdisjoint(notice.raw)
    if not given or not notice.has("tls", "host") or table.tls is not False or table.host is None:
        return
    if not table.host.casefold().startswith(_HERE):
        yield Fault(
            notice.place("tls"), "false would send the password unencrypted", "leave tls out, or write true"
        )


def _check_files(tables: PlanTables) -> Iterator[Fault]:
    """Yield a fault for each file that is written although something else stands in it."""
    taken = {PurePath(name): place for place, name in _files_read(tables)}
    for place, name in _files_written(tables):
        path = PurePath(name)
        if path in taken:
            yield Fault(place, f"{shown(name)} is {taken[path]} already", "a file of its own")
        elif path.suffix.casefold() == ".toml":
            yield Fault(
                place, f"{shown(name)} ends as plans do", "another name, so that no plan is overwritten"
            )
        taken.setdefault(path, place)


def _files_read(tables: PlanTables) -> Iterator[tuple[str, str]]:
    """Yield places of the plan that name a file which is only read, and its name."""
    reads: list[tuple[Read[Any], str]] = [(tables.weather, "file")]
    reads += [(source.source, "file") for source in tables.sources]
    for notice in tables.notices:
        reads += [(notice, "password_file"), (notice, "token_file")]
    if tables.mqtt is not None:
        reads.append((tables.mqtt, "password_file"))
    yield from _named(reads)


def _files_written(tables: PlanTables) -> Iterator[tuple[str, str]]:
    """Yield places of the plan that name a file which is written, and its name."""
    reads: list[tuple[Read[Any], str]] = [(tables.head, "ledger")]
    reads += [(notice, "file") for notice in tables.notices]
    if tables.publish is not None:
        reads += [(tables.publish, "json_file"), (tables.publish, "calendar")]
    yield from _named(reads)


def _named(reads: list[tuple[Read[Any], str]]) -> Iterator[tuple[str, str]]:
    for read, name in reads:
        value = getattr(read.table, name) if read.has(name) else None
        if value is not None:
            yield read.place(name).removeprefix(" > "), value
