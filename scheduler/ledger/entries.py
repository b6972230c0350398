"""What a ledger holds, one type a table; fields are named and ordered as the columns of the table.

Units: water and rain mm, volumes L, minutes, wind m/s, radiation MJ m-2 d-1, humidity %, degC, soil moisture
a share of volume or a tension in kPa, money Decimal.
Instants are aware datetimes; they are kept in UTC to the whole second, what is finer is dropped.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Generic, Literal, TypeAlias, TypeVar

__all__ = [
    "Bill",
    "Dig",
    "Entry",
    "Gauge",
    "Kept",
    "Moisture",
    "PlanVersion",
    "Reading",
    "ReferenceEt",
    "Relaid",
    "Run",
    "Timetable",
    "TimetableRun",
    "Valve",
    "WeatherDay",
    "Withdrawal",
]


@dataclass(frozen=True, slots=True)
class PlanVersion:
    """The text of a garden plan as it was used; one row for each different text."""

    hash: str
    text: str


@dataclass(frozen=True, slots=True)
class WeatherDay:
    """One day's weather from one origin; None where nothing was measured or forecast.

    `issued_at` is when a forecast was issued or a record fetched. Wind is at the height of its sensor.
    """

    date: datetime.date
    origin: Literal["station", "forecast", "gauge"]
    source: str
    issued_at: datetime.datetime | None = None
    tmax_c: float | None = None
    tmin_c: float | None = None
    dew_point_c: float | None = None
    rh_max_pct: float | None = None
    rh_min_pct: float | None = None
    rh_mean_pct: float | None = None
    wind_m_s: float | None = None
    wind_height_m: float | None = None
    solar_mj_m2: float | None = None
    sunshine_h: float | None = None
    rain_mm: float | None = None


@dataclass(frozen=True, slots=True)
class ReferenceEt:
    """One complete day as the water balance used it.

    `inputs_hash` stands for all that the values were computed from; `estimated` names what rests on an
    estimate, separated by ``", "``, empty if nothing does.
    """

    date: datetime.date
    reference_et_mm: float
    inputs_hash: str
    rain_mm: float
    wind_2m_m_s: float
    rh_min_pct: float
    tmax_c: float
    tmin_c: float
    forecast: bool = False
    estimated: str = ""


@dataclass(frozen=True, slots=True)
class Timetable:
    """A week's advice: `document` is the whole answer as JSON text, `plan_id` the row of its plan version."""

    first_day: datetime.date
    plan_id: int
    weather_hash: str
    computed_at: datetime.datetime
    document: str


@dataclass(frozen=True, slots=True)
class TimetableRun:
    """One run of an advised timetable; `start_min` counts from midnight of its day and may pass 1440."""

    timetable_id: int
    date: datetime.date
    zone: str
    start_min: int
    minutes: float
    volume_l: float


@dataclass(frozen=True, slots=True)
class Run:
    """What really ran or was skipped on a day; zone and bed None mean the whole garden.

    `minutes` None means as advised.
    """

    date: datetime.date
    status: Literal["ran", "skipped"]
    zone: str | None = None
    bed: str | None = None
    minutes: float | None = None


@dataclass(frozen=True, slots=True)
class Valve:
    """How the hand valve of a bed stands from an instant on."""

    at: datetime.datetime
    bed: str
    state: Literal["open", "shut"]


@dataclass(frozen=True, slots=True)
class Reading:
    """What a meter showed, or what a bucket held after some minutes; `as_written` is the person's text."""

    at: datetime.datetime
    kind: Literal["meter", "bucket"]
    volume_l: float
    bed: str | None = None
    minutes: float | None = None
    as_written: str = ""


@dataclass(frozen=True, slots=True)
class Gauge:
    """Rain in a person's own gauge, in the open or below the leaves."""

    date: datetime.date
    rain_mm: float
    place: Literal["open", "canopy"] = "open"


@dataclass(frozen=True, slots=True)
class Dig:
    """What a finger or trowel found at root depth."""

    date: datetime.date
    bed: str
    finding: Literal["wet", "right", "dry"]


@dataclass(frozen=True, slots=True)
class Bill:
    """A water bill: `units` of the utility's `unit`, and the sum to pay."""

    first_day: datetime.date
    last_day: datetime.date
    units: Decimal
    unit: Literal["m3", "CCF", "kgal", "gal", "L"]
    amount: Decimal
    currency: str


@dataclass(frozen=True, slots=True)
class Relaid:
    """From an instant on, the drip line of a bed is another, or lies otherwise: its flow begins anew."""

    at: datetime.datetime
    bed: str


@dataclass(frozen=True, slots=True)
class Moisture:
    """Soil moisture measured at root depth; `as_written` is the person's text.

    The one of `content_share` (share of the soil's volume that is water) and `tension_kpa` (a tensiometer's
    reading) that `kind` names is given, the other is None.
    """

    date: datetime.date
    bed: str
    kind: Literal["content", "tension"]
    content_share: float | None = None
    tension_kpa: float | None = None
    as_written: str = ""


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """A row taken back: the table it stands in, its number there, and why."""

    table_name: str
    row_id: int
    reason: str


Entry: TypeAlias = (
    PlanVersion
    | WeatherDay
    | ReferenceEt
    | Timetable
    | TimetableRun
    | Run
    | Valve
    | Reading
    | Gauge
    | Dig
    | Bill
    | Relaid
    | Moisture
    | Withdrawal
)

EntryT = TypeVar("EntryT", bound=Entry, covariant=True)


@dataclass(frozen=True, slots=True)
class Kept(Generic[EntryT]):
    """An entry as the ledger keeps it: its row number in its table, and when it was recorded (UTC)."""

    id: int
    recorded_at: datetime.datetime
    entry: EntryT
