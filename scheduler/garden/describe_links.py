"""What a garden is linked to, told back line by line; where a secret is kept is told, never what it is."""

from __future__ import annotations

from collections.abc import Iterator

from scheduler.garden.describe_lines import Line
from scheduler.garden.fields import percent
from scheduler.garden.plan import (
    CommandNotice,
    EmailNotice,
    FileNotice,
    Garden,
    GhcnSource,
    MqttPlan,
    Notify,
    NwsSource,
    OpenMeteoSource,
    Secret,
    StationSource,
    WeatherSource,
)
from scheduler.garden.units import both_systems

__all__ = ["describe_links", "describe_sources"]


def describe_sources(garden: Garden) -> Iterator[Line]:
    """Yield lines on the sources of weather."""
    if garden.weather.contact:
        yield "weather", "contact", garden.weather.contact
    for number, source in enumerate(garden.sources, start=1):
        place = f"weather > source {number}"
        yield place, "kind", _kind(source)
        if isinstance(source, StationSource):
            yield from _station(place, source)
        elif source.base:
            yield place, "asked at", source.base
        if isinstance(source, GhcnSource | StationSource) and source.wind_height is not None:
            yield place, "height of the wind sensor", both_systems(source.wind_height, "length")


def _kind(source: WeatherSource) -> str:
    if isinstance(source, OpenMeteoSource):
        return f"open-meteo, {source.product}"
    if isinstance(source, NwsSource):
        return "nws"
    return (
        f"ghcn-daily, {source.station}" if isinstance(source, GhcnSource) else f"station csv, {source.file}"
    )


def _station(place: str, source: StationSource) -> Iterator[Line]:
    yield place, "time", f"{' and '.join(source.time_columns)}, as {source.time_format}, {source.clock} clock"
    for quantity, (column, unit) in source.columns.items():
        yield place, quantity, f"column {column} in {unit}"
    if "rain" in source.columns:
        yield place, "rain is a", source.rain
    yield place, "decimal sign", source.decimal
    if source.missing is not None:
        yield place, "missing values", " ".join(source.missing)
    yield place, "longest step", both_systems(source.longest_step, "duration")
    shares = f"{percent(source.least_share)}, of radiation {percent(source.least_share_solar)}"
    yield place, "least part of a day", shares


def describe_links(garden: Garden) -> Iterator[Line]:
    """Yield lines on ledger, meter, notices and publishing."""
    if garden.ledger is not None:
        yield "ledger", "file", str(garden.ledger)
    meter = garden.meter
    if meter is not None:
        yield "meter", "starts again from zero at", both_systems(meter.capacity, "volume")
        yield "meter", "smallest digit", both_systems(meter.smallest_digit, "volume")
        if meter.low_flow_limit is not None:
            yield "meter", "least flow", both_systems(meter.low_flow_limit, "flow")
    for number, notice in enumerate(garden.notify, start=1):
        yield from _notice(f"notify {number}", notice)
    publish = garden.publish
    if publish is not None:
        if publish.json is not None:
            yield "publish", "json", str(publish.json)
        if publish.calendar is not None:
            yield "publish", "calendar", str(publish.calendar)
        if publish.mqtt is not None:
            yield from _broker(publish.mqtt)


def _notice(place: str, notice: Notify) -> Iterator[Line]:
    if isinstance(notice, FileNotice):
        yield place, "file", str(notice.file)
    elif isinstance(notice, CommandNotice):
        yield place, "command", " ".join(notice.command)
    elif isinstance(notice, EmailNotice):
        yield place, "email", f"from {notice.sender} to {', '.join(notice.to)}"
        yield place, "server", f"{notice.host}, port {notice.port}, {_encryption(notice.tls)}"
        yield from _login(place, notice.user, notice.password)
    else:
        # The path of such an address often is a secret by itself.
        yield place, "webhook", "/".join(notice.url.split("/")[:3])
        yield from _login(place, "", notice.token)


def _broker(mqtt: MqttPlan) -> Iterator[Line]:
    place = "publish > mqtt"
    yield place, "broker", f"{mqtt.host}, port {mqtt.port}, {_encryption(mqtt.tls)}"
    yield place, "topics below", mqtt.topic
    yield from _login(place, mqtt.user, mqtt.password)


def _encryption(tls: bool) -> str:
    return "encrypted" if tls else "not encrypted"


def _login(place: str, user: str, secret: Secret | None) -> Iterator[Line]:
    """Yield the user and where the secret is kept."""
    if user:
        yield place, "user", user
    if secret is not None:
        kept = f"variable {secret.env}" if secret.file is None else f"file {secret.file}"
        yield place, "secret kept in", kept
