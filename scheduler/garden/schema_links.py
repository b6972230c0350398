"""Tables of the plan file on what a garden is linked to: sources, meter, notices, publishing."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from scheduler.garden.fields import Quantity, Whole, Words
from scheduler.garden.fields_links import (
    FileName,
    HostName,
    MailAddress,
    TopicStart,
    VariableName,
    WebAddress,
)
from scheduler.garden.schema_base import ColumnTable, Table

__all__ = ["MeterTable", "MqttTable", "NotifyTable", "PublishTable", "SourceTable"]

_Port = Annotated[int, Whole(1, 65535, example="587")]
_PasswordVariable = Annotated[str, VariableName("GARDEN_PASSWORD")]
_SecretFile = Annotated[str, FileName("secret.txt")]
_FewWords = Annotated[str, Words("Date Time", "--")]


class SourceTable(Table):
    """A source to fetch weather from; which keys it takes depends on its kind."""

    kind: Literal["open-meteo", "nws", "ghcn-daily", "station csv"] = Field(
        description="Which source it is.", examples=["open-meteo"]
    )
    product: Literal["forecast", "archive"] | None = Field(
        default=None, description="For open-meteo: the days to come, or days past.", examples=["forecast"]
    )
    station: Annotated[str, Words("USC00123456")] | None = Field(
        default=None, description="For ghcn-daily: the identification of the station."
    )
    base: Annotated[str, WebAddress("https://weather.example.org/v1")] | None = Field(
        default=None, description="Another server that answers the same way."
    )
    wind_height: Annotated[float, Quantity("length", "33 ft", "10 m")] | None = Field(
        default=None, description="Height of the wind sensor above the ground."
    )
    file: Annotated[str, FileName("station.csv")] | None = Field(
        default=None, description="For station csv: the file, seen from the folder of this plan."
    )
    time_columns: Annotated[list[_FewWords], Field(min_length=1, max_length=2)] | None = Field(
        default=None,
        description="The column with date and time, or two to be read one after the other.",
        examples=[["Date Time"]],
    )
    time_format: Annotated[str, Words("%m/%d/%Y %I:%M %p", "%Y-%m-%d %H:%M")] | None = Field(
        default=None, description="How date and time are written: day or month first is never guessed."
    )
    columns: dict[str, ColumnTable] = Field(
        default_factory=dict, description="What the columns are: temperature, humidity, wind, rain ..."
    )
    rain: Literal["daily total", "counter", "interval"] | None = Field(
        default=None,
        description="How rain is counted: since midnight, since some start, or since the row before.",
    )
    clock: Literal["local", "standard", "utc"] | None = Field(
        default=None,
        description="What the station's clock shows: local time with its changes, without, or UTC.",
    )
    decimal: Literal[".", ","] | None = Field(default=None, description="The decimal sign.")
    missing: Annotated[list[_FewWords], Field(min_length=1, max_length=20)] | None = Field(
        default=None, description="Cells that stand for a missing value.", examples=[["--"]]
    )
    longest_step: Annotated[float, Quantity("duration", "60 min")] | None = Field(
        default=None, description="Time between two rows over which both still speak for what lies between."
    )
    least_share: Annotated[float, Quantity("ratio", "90 %")] | None = Field(
        default=None, description="Part of a day that must be covered before it counts."
    )
    least_share_solar: Annotated[float, Quantity("ratio", "99 %")] | None = Field(
        default=None, description="The same for radiation."
    )


class MeterTable(Table):
    """The water meter."""

    capacity: Annotated[float, Quantity("volume", "10000 m3", "1000000 gal")] = Field(
        description="Reading at which it starts again from zero."
    )
    smallest_digit: Annotated[float, Quantity("volume", "1 L", "0.1 gal")] = Field(
        description="The smallest step that you can read."
    )
    low_flow_limit: Annotated[float, Quantity("flow", "0.25 gal/min", "1 L/min")] | None = Field(
        default=None, description="Flow below which it does not turn, from its data sheet."
    )


class NotifyTable(Table):
    """A way to be told; which keys it takes depends on its kind."""

    kind: Literal["file", "command", "email", "webhook"] = Field(
        description="How you want to be told.", examples=["file"]
    )
    file: Annotated[str, FileName("notices.txt")] | None = Field(
        default=None, description="For file: where notices are added at the end."
    )
    command: Annotated[list[Annotated[str, Words("mail-me")]], Field(min_length=1, max_length=50)] | None = (
        Field(
            default=None,
            description="For command: a program and its arguments; it reads the notice.",
            examples=[["mail-me", "--quiet"]],
        )
    )
    host: Annotated[str, HostName("mail.example.org")] | None = Field(
        default=None, description="For email: the server that sends mail."
    )
    port: _Port | None = Field(default=None, description="Its port.")
    sender: Annotated[str, MailAddress("garden@example.org")] | None = Field(
        default=None, alias="from", description="Address that sends."
    )
    to: (
        Annotated[list[Annotated[str, MailAddress("name@example.org")]], Field(min_length=1, max_length=20)]
        | None
    ) = Field(default=None, description="Addresses that receive.", examples=[["name@example.org"]])
    user: Annotated[str, Words("garden")] | None = Field(default=None, description="User name there.")
    password_env: _PasswordVariable | None = Field(
        default=None, description="Environment variable that holds the password."
    )
    password_file: _SecretFile | None = Field(default=None, description="File that holds the password.")
    tls: bool | None = Field(default=None, description="Whether the connection must be encrypted.")
    url: Annotated[str, WebAddress("https://example.org/notices")] | None = Field(
        default=None, description="For webhook: the address that takes notices."
    )
    token_env: Annotated[str, VariableName("GARDEN_TOKEN")] | None = Field(
        default=None, description="Environment variable that holds a token."
    )
    token_file: _SecretFile | None = Field(default=None, description="File that holds a token.")


class MqttTable(Table):
    """A message broker that takes the timetable."""

    host: Annotated[str, HostName("broker.example.org")] = Field(description="The broker.")
    port: Annotated[int, Whole(1, 65535, example="1883")] | None = Field(
        default=None, description="Its port."
    )
    topic: Annotated[str, TopicStart("garden/watering")] = Field(description="Beginning of every topic.")
    user: Annotated[str, Words("garden")] | None = Field(default=None, description="User name there.")
    password_env: _PasswordVariable | None = Field(
        default=None, description="Environment variable that holds the password."
    )
    password_file: _SecretFile | None = Field(default=None, description="File that holds the password.")
    tls: bool | None = Field(default=None, description="Whether the connection must be encrypted.")


class PublishTable(Table):
    """Where the current timetable is put."""

    json_file: Annotated[str, FileName("timetable.json")] | None = Field(
        default=None, alias="json", description="A file for other programs."
    )
    calendar: Annotated[str, FileName("watering.ics")] | None = Field(
        default=None, description="A file for calendars."
    )
    mqtt: MqttTable | None = Field(default=None, description="A message broker.")
