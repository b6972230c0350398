"""What a garden is linked to beyond its beds: weather sources, the water meter, notices and publishing.

Secrets never stand in a plan: it only says in which environment variable or file one is kept.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import PurePath
from typing import Literal

__all__ = [
    "CommandNotice",
    "EmailNotice",
    "FileNotice",
    "GhcnSource",
    "MeterPlan",
    "MqttPlan",
    "NwsSource",
    "OpenMeteoSource",
    "Publish",
    "Secret",
    "StationSource",
    "WebhookNotice",
]


@dataclass(frozen=True, slots=True)
class OpenMeteoSource:
    """The open forecast and archive service; `base` is another server, empty for the service's own."""

    product: Literal["forecast", "archive"] = "forecast"
    base: str = ""


@dataclass(frozen=True, slots=True)
class NwsSource:
    """The US National Weather Service's gridpoint forecast; `base` as above."""

    base: str = ""


@dataclass(frozen=True, slots=True)
class GhcnSource:
    """A station of GHCN-Daily; its wind is used only if the height of its sensor [m] is known."""

    station: str
    base: str = ""
    wind_height: float | None = None


@dataclass(frozen=True, slots=True)
class StationSource:
    """A station's own file with a row every few minutes or hours, and what its columns are.

    Attributes
    ----------
    file : PurePath
        As written; relative to the plan file.
    time_columns : tuple of str
        One column with date and time, or two to be read one after the other.
    time_format : str
        Such as ``%d.%m.%Y %H:%M``.
    columns : dict of str to (str, str)
        Quantity -> (column name in the file, unit text).
    rain : {"daily total", "counter", "interval"}
    clock : {"local", "standard", "utc"}
    decimal : {".", ","}
    missing : tuple of str or None
        Cells that stand for a missing value; None for the usual ones.
    longest_step : float
        Minutes between two rows over which both still speak for the time between them.
    least_share, least_share_solar : float
        Share of a day that must be covered before it counts, 0..1.
    wind_height : float or None
        Height of the wind sensor [m].
    """

    file: PurePath
    time_columns: tuple[str, ...]
    time_format: str
    columns: dict[str, tuple[str, str]] = field(default_factory=dict)
    rain: Literal["daily total", "counter", "interval"] = "daily total"
    clock: Literal["local", "standard", "utc"] = "local"
    decimal: Literal[".", ","] = "."
    missing: tuple[str, ...] | None = None
    longest_step: float = 60.0
    least_share: float = 0.9
    least_share_solar: float = 0.99
    wind_height: float | None = None


@dataclass(frozen=True, slots=True)
class MeterPlan:
    """The water meter: where it rolls over and its smallest digit [L], and its least flow [L/h]."""

    capacity: float
    smallest_digit: float
    low_flow_limit: float | None = None


@dataclass(frozen=True, slots=True)
class Secret:
    """Where a password or token is kept; exactly one of the two is set.

    Attributes
    ----------
    env : str
        Name of an environment variable; empty if the secret is in a file.
    file : PurePath or None
        As written; relative to the plan file.
    """

    env: str = ""
    file: PurePath | None = None


@dataclass(frozen=True, slots=True)
class FileNotice:
    """Notices are added to the end of a file, named relative to the plan file."""

    file: PurePath


@dataclass(frozen=True, slots=True)
class CommandNotice:
    """Notices are handed to a program on its standard input; `command` is its name and arguments."""

    command: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EmailNotice:
    """Notices go out by mail; `user` is empty where the server asks for none, and then `password` is None.

    With `tls` the connection must be encrypted: from the start on port 465, else after STARTTLS.
    """

    host: str
    port: int
    sender: str
    to: tuple[str, ...]
    user: str = ""
    password: Secret | None = None
    tls: bool = True


@dataclass(frozen=True, slots=True)
class WebhookNotice:
    """Notices are sent to an address of the web, with a token if the receiver asks for one."""

    url: str
    token: Secret | None = None


@dataclass(frozen=True, slots=True)
class MqttPlan:
    """A message broker; `topic` is the beginning of every topic, `user` empty where it asks for none."""

    host: str
    port: int
    topic: str
    user: str = ""
    password: Secret | None = None
    tls: bool = False


@dataclass(frozen=True, slots=True)
class Publish:
    """Where the current timetable is put: files named relative to the plan file, and a broker."""

    json: PurePath | None = None
    calendar: PurePath | None = None
    mqtt: MqttPlan | None = None
