"""The typed garden plan, in canonical units.

Units: lengths and depths of soil m, depths of water mm, areas m2, flows L/h, volumes L, pressures kPa,
angles degrees, electrical conductivity dS/m, times minutes, shares 0..1, money Decimal.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, time
from decimal import Decimal
from pathlib import PurePath
from typing import Literal, TypeAlias

from scheduler.garden.links import (
    CommandNotice,
    EmailNotice,
    FileNotice,
    GhcnSource,
    MeterPlan,
    MqttPlan,
    NwsSource,
    OpenMeteoSource,
    Publish,
    Secret,
    StationSource,
    WebhookNotice,
)

__all__ = [
    "Assumption",
    "Bed",
    "BillBlock",
    "CommandNotice",
    "CupTest",
    "DripLine",
    "EmailNotice",
    "FileNotice",
    "Garden",
    "GhcnSource",
    "Household",
    "MeterPlan",
    "MqttPlan",
    "Notify",
    "NwsSource",
    "OpenMeteoSource",
    "Planning",
    "Planting",
    "Publish",
    "Restriction",
    "Secret",
    "Sewer",
    "Site",
    "SoilMix",
    "SoilState",
    "StageLengths",
    "StationSource",
    "Tariff",
    "Timer",
    "WateringWindow",
    "WaterSource",
    "WeatherChoice",
    "WeatherSource",
    "WebhookNotice",
    "Zone",
]

Shape = Literal["rectangle", "circle", "rounded ends", "polygon"]
Weekday = Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
ZoneRule = Literal["driest bed", "area mean"]
NeedRule = Literal["area mean", "thirstiest plant"]
#: A source to fetch weather from, one type a kind.
WeatherSource: TypeAlias = OpenMeteoSource | NwsSource | GhcnSource | StationSource
#: A way to tell a person something, one type a kind.
Notify: TypeAlias = FileNotice | CommandNotice | EmailNotice | WebhookNotice


@dataclass(frozen=True, slots=True)
class Site:
    """Where the garden lies: degrees (north and east positive), metres, IANA time zone."""

    latitude: float
    elevation: float
    timezone: str
    longitude: float | None = None


@dataclass(frozen=True, slots=True)
class WeatherChoice:
    """Which record the plan reads and which gaps in it may be filled, and how.

    Attributes
    ----------
    file : PurePath or None
        As written; relative to the plan file. None if all weather comes from sources.
    wind_height : float or None
        Height of the wind sensor [m]; None when the record has no wind.
    columns : dict of str to (str, str)
        Declared columns: variable -> (column name in the file, unit text).
    contact : str
        Address that services over the network are told; empty if none is asked.
    """

    file: PurePath | None
    wind_height: float | None = None
    columns: dict[str, tuple[str, str]] = field(default_factory=dict)
    gaps: Literal["refuse", "mean of neighbours", "long-term mean"] = "refuse"
    humidity: Literal["refuse", "dew point from tmin"] = "refuse"
    dew_point_below_tmin: float = 0.0
    radiation: Literal["refuse", "from temperature"] = "refuse"
    radiation_site: Literal["inland", "coast"] = "inland"
    wind: float | None = None
    rain: Literal["refuse", "count as none"] = "refuse"
    method: Literal["penman-monteith", "temperature only"] = "penman-monteith"
    contact: str = ""


@dataclass(frozen=True, slots=True)
class SoilMix:
    """Water held by a soil mix, by volume, and how fast it takes water in [mm/h]."""

    name: str
    field_capacity: float
    wilting_point: float
    source: str
    intake_rate: float | None = None


@dataclass(frozen=True, slots=True)
class StageLengths:
    """Lengths of the four growth stages [d]."""

    initial: float
    development: float
    mid: float
    late: float


@dataclass(frozen=True, slots=True)
class Planting:
    """One crop in one bed, with every value that the balance needs already looked up.

    Attributes
    ----------
    crop : str
        Name as written in the plan.
    planted, removed : date
        First day in the ground, and the day it is taken out (that day no longer counts).
    share : float
        Share of the bed's area, 0..1.
    kc_ini, kc_mid, kc_end : float
        Single crop coefficients before adjustment for climate.
    stages : StageLengths
        Already scaled to the planting's stay unless the plan gives its own.
    height : float
        Greatest height [m].
    root_depth : float
        Greatest rooting depth [m], not yet capped by the bed's soil depth.
    depletion_fraction : float
        p of FAO-56 Table 22, for a crop use of 5 mm/d.
    salinity_threshold, salinity_slope : float or None
        ECe threshold [dS/m] and yield loss above it [% per dS/m].
    source : str
        Where the coefficients come from.
    borrowed_from : str
        Name of the published crop whose row stands in; empty if the crop has its own.
    notes : tuple of str
        What was scaled, capped or chosen between.
    """

    crop: str
    planted: date
    removed: date
    share: float
    kc_ini: float
    kc_mid: float
    kc_end: float
    stages: StageLengths
    height: float
    root_depth: float
    depletion_fraction: float
    salinity_threshold: float | None
    salinity_slope: float | None
    source: str
    borrowed_from: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DripLine:
    """A kind of drip line: q = emitter_flow (pressure / at_pressure) ** exponent.

    `efficiency` is the application efficiency that the person states; None lets it follow from the
    cup test or from `manufacturing_variation` (coefficient of variation of new emitters).
    """

    name: str
    emitter_flow: float
    at_pressure: float
    exponent: float
    emitter_spacing: float
    manufacturing_variation: float | None = None
    efficiency: float | None = None


@dataclass(frozen=True, slots=True)
class CupTest:
    """Volumes [L] caught under some emitters of one bed in `minutes`."""

    bed: str
    on: date
    minutes: float
    volumes: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Bed:
    """One raised bed.

    Attributes
    ----------
    area : float
        Inside area [m2], from the shape and its measures.
    shape_text : str
        The shape in words, with its measures as written, for people to check.
    soil_depth : float
        Depth of soil above any wood or rubble fill [m].
    line_length : float or None
        Total length of drip line [m]; None when the emitters were counted.
    emitters : int
        Number of emitters, counted by the person or from line length and spacing.
    emitters_counted : bool
        True if the person counted them.
    pressure : float
        Pressure at the emitters [kPa].
    """

    name: str
    zone: str
    soil: SoilMix
    shape: Shape
    shape_text: str
    area: float
    soil_depth: float
    drip: DripLine
    line_length: float | None
    emitters: int
    emitters_counted: bool
    pressure: float
    need: NeedRule
    plantings: tuple[Planting, ...]
    cup_test: CupTest | None = None


@dataclass(frozen=True, slots=True)
class Zone:
    """One timer outlet and the beds behind it, each with its own hand valve."""

    name: str
    outlet: int
    rule: ZoneRule


@dataclass(frozen=True, slots=True)
class Timer:
    """What the timer can hold; lengths in minutes."""

    outlets: int
    starts_per_day: int
    step: int
    shortest_run: int
    longest_run: int
    day_choices: tuple[Literal["weekdays", "every n days"], ...]
    longest_interval: int
    one_zone_at_a_time: bool


@dataclass(frozen=True, slots=True)
class WateringWindow:
    """Hours in which water may run; `until` at or before `begin` means past midnight."""

    days: tuple[Weekday, ...]
    begin: time
    until: time


@dataclass(frozen=True, slots=True)
class Restriction:
    """A limit on watering as the person entered it; whether it applies is the person's entry too."""

    reason: str
    begins: date
    ends: date
    days: tuple[Weekday, ...]
    begin: time | None
    until: time | None
    exempt: Literal["yes", "no", "unknown"]


@dataclass(frozen=True, slots=True)
class WaterSource:
    """The tap as measured with a bucket [L/h], the share of it to plan on, and a water test."""

    flow: float
    flow_house_busy: float | None
    usable_share: float
    static_pressure: float | None
    salinity: float | None


@dataclass(frozen=True, slots=True)
class SoilState:
    """What the soil held on a day: depletion [mm], or 'full' (0), or 'at limit' (RAW)."""

    on: date
    depletion: float | Literal["full", "at limit"]
    bed: str | None


@dataclass(frozen=True, slots=True)
class Planning:
    """How careful to be: shares 0..1."""

    reserve: float
    forecast_rain: float
    normal_rain: float
    bare_soil_coefficient: float


@dataclass(frozen=True, slots=True)
class BillBlock:
    """One price block: price per billing unit up to `up_to` units a period (None: no upper end)."""

    up_to: Decimal | None
    price: Decimal


@dataclass(frozen=True, slots=True)
class Sewer:
    """How sewer is charged on water; `winter_average` in billing units a period."""

    rule: Literal["none", "all water", "winter average", "cap"]
    price: Decimal
    fixed_charge: Decimal
    winter_average: Decimal | None
    cap: Decimal | None
    averaging_months: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Tariff:
    """Water prices as the utility bills them.

    Attributes
    ----------
    unit : str
        Billing unit: ``m3``, ``CCF``, ``kgal``, ``gal`` or ``L``.
    whole_units : bool
        True if the utility bills whole units: each meter reading is cut down to a whole unit.
    period : str
        Text of the billing period as written, such as ``1 month`` or ``33 days``.
    period_months, period_days : int or None
        One of the two is set.
    first_reading : date
        A day on which the meter was read; periods follow from it both ways.
    blocks_per_days : int or None
        Days a block's width holds for; widths then grow with the days of the period.
    fixed_per_days : int or None
        Likewise for the fixed charge.
    tax : Decimal
        Share of the sum, 0..1.
    """

    currency: str
    unit: str
    whole_units: bool
    period: str
    period_months: int | None
    period_days: int | None
    first_reading: date
    fixed_charge: Decimal
    fixed_per_days: int | None
    blocks: tuple[BillBlock, ...]
    blocks_per_days: int | None
    sewer: Sewer
    tax: Decimal


@dataclass(frozen=True, slots=True)
class Household:
    """The rest of the house on the same meter [L]: use a day, and the reading on `first_reading`."""

    use_per_day: float
    meter_reading: float


@dataclass(frozen=True, slots=True)
class Assumption:
    """A value that the plan left open and that was taken all the same, or an entry worth a second look."""

    where: str
    text: str

    def __str__(self) -> str:
        """Return it as one line."""
        return f"{self.where}: {self.text}"


@dataclass(frozen=True, slots=True)
class Garden:
    """A whole plan; `ledger` is as written, relative to the plan file, None for the usual name."""

    name: str
    note: str
    site: Site
    weather: WeatherChoice
    beds: tuple[Bed, ...]
    zones: tuple[Zone, ...]
    timer: Timer
    windows: tuple[WateringWindow, ...]
    restrictions: tuple[Restriction, ...]
    water_source: WaterSource
    soil_states: tuple[SoilState, ...]
    planning: Planning
    tariff: Tariff | None
    household: Household | None
    assumed: tuple[Assumption, ...] = ()
    ledger: PurePath | None = None
    sources: tuple[WeatherSource, ...] = ()
    meter: MeterPlan | None = None
    notify: tuple[Notify, ...] = ()
    publish: Publish | None = None

    def beds_of(self, zone: str) -> tuple[Bed, ...]:
        """Return the beds behind one zone, in plan order."""
        return tuple(bed for bed in self.beds if bed.zone == zone)
