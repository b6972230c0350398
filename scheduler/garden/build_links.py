"""Tables on what a garden is linked to -> their types, in canonical units."""

from __future__ import annotations

from pathlib import PurePath

from scheduler.garden import defaults
from scheduler.garden.links import StationSource
from scheduler.garden.plan import (
    CommandNotice,
    EmailNotice,
    FileNotice,
    GhcnSource,
    MeterPlan,
    MqttPlan,
    Notify,
    NwsSource,
    OpenMeteoSource,
    Publish,
    Secret,
    WeatherSource,
    WebhookNotice,
)
from scheduler.garden.plantables import SourceTables
from scheduler.garden.schema_links import MeterTable, MqttTable, NotifyTable, PublishTable
from scheduler.garden.tableread import Read

__all__ = ["build_meter", "build_notice", "build_publish", "build_source"]


def build_source(entry: SourceTables) -> WeatherSource:
    """Return one source of weather."""
    table = entry.source.table
    base = table.base or ""
    if table.kind == "open-meteo":
        return OpenMeteoSource(table.product or "forecast", base)
    if table.kind == "nws":
        return NwsSource(base)
    if table.kind == "ghcn-daily":
        return GhcnSource(table.station or "", base, table.wind_height)
    return _station(entry)


def _station(entry: SourceTables) -> StationSource:
    table = entry.source.table
    given = {
        name: value
        for name in ("rain", "clock", "decimal", "longest_step", "least_share", "least_share_solar")
        if (value := getattr(table, name)) is not None
    }
    return StationSource(
        file=PurePath(table.file or ""),
        time_columns=tuple(table.time_columns or ()),
        time_format=table.time_format or "",
        columns={
            quantity: (column.table.column, column.table.unit or "")
            for quantity, column in entry.columns.items()
        },
        missing=None if table.missing is None else tuple(table.missing),
        wind_height=table.wind_height,
        **given,
    )


def build_meter(table: MeterTable) -> MeterPlan:
    """Return the water meter."""
    return MeterPlan(table.capacity, table.smallest_digit, table.low_flow_limit)


def build_notice(table: NotifyTable) -> Notify:
    """Return one way to tell a person something."""
    if table.kind == "file":
        return FileNotice(PurePath(table.file or ""))
    if table.kind == "command":
        return CommandNotice(tuple(table.command or ()))
    if table.kind == "webhook":
        return WebhookNotice(table.url or "", _secret(table.token_env, table.token_file))
    tls = table.tls is not False
    return EmailNotice(
        host=table.host or "",
        port=(defaults.MAIL_PORT if tls else defaults.OPEN_MAIL_PORT) if table.port is None else table.port,
        sender=table.sender or "",
        to=tuple(table.to or ()),
        user=table.user or "",
        password=_secret(table.password_env, table.password_file),
        tls=tls,
    )


def build_publish(table: PublishTable, mqtt: Read[MqttTable] | None) -> Publish:
    """Return where the timetable is put."""
    return Publish(
        json=None if table.json_file is None else PurePath(table.json_file),
        calendar=None if table.calendar is None else PurePath(table.calendar),
        mqtt=None if mqtt is None else _broker(mqtt.table),
    )


def _broker(table: MqttTable) -> MqttPlan:
    tls = table.tls is True
    usual = defaults.BROKER_PORT if tls else defaults.OPEN_BROKER_PORT
    return MqttPlan(
        host=table.host,
        port=usual if table.port is None else table.port,
        topic=table.topic,
        user=table.user or "",
        password=_secret(table.password_env, table.password_file),
        tls=tls,
    )


def _secret(env: str | None, file: str | None) -> Secret | None:
    """Return where a secret is kept, None if there is none."""
    if env is None and file is None:
        return None
    return Secret(env or "", None if file is None else PurePath(file))
