"""The typed garden plan, in canonical units.

Units: lengths and depths of soil m, depths of water mm, areas m2, flows L/h, volumes L, pressures kPa,
temperatures degC, degree-days degC d, angles degrees, electrical conductivity dS/m, times minutes,
shares 0..1, money Decimal.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, time
from pathlib import PurePath
from typing import Literal, TypeAlias

from scheduler.garden.bill import BillBlock, Household, Sewer, Tariff
from scheduler.garden.ground import Mulch, Settled, SoilLayer, SoilMix, SoilState
from scheduler.garden.kept import Kept
from scheduler.garden.layout_plan import (
    BedMeasures,
    BedPlace,
    HeadPart,
    LayoutPlan,
    MainLine,
    Segment,
    Takeoff,
)
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
from scheduler.garden.measured import BedFlowTest, CupTest, WaterTest
from scheduler.garden.plants import HeatStages, Planting, StageLengths

__all__ = [
    "Assumption",
    "Bed",
    "BedFlowTest",
    "BedMeasures",
    "BedPlace",
    "BillBlock",
    "CommandNotice",
    "CupTest",
    "DripLine",
    "EmailNotice",
    "FileNotice",
    "Garden",
    "GhcnSource",
    "HeadPart",
    "HeatStages",
    "Household",
    "LayoutPlan",
    "MainLine",
    "MeterPlan",
    "MqttPlan",
    "Mulch",
    "Notify",
    "NwsSource",
    "OpenMeteoSource",
    "Planning",
    "Planting",
    "Publish",
    "Restriction",
    "Secret",
    "Segment",
    "Settled",
    "Sewer",
    "Site",
    "SoilLayer",
    "SoilMix",
    "SoilState",
    "StageLengths",
    "StationSource",
    "Takeoff",
    "Tariff",
    "Timer",
    "Uncertainty",
    "WateringWindow",
    "WaterSource",
    "WaterTest",
    "WeatherChoice",
    "WeatherSource",
    "WebhookNotice",
    "Zone",
]

Shape = Literal["rectangle", "circle", "rounded ends", "polygon"]
Weekday = Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
ZoneRule = Literal["driest bed", "area mean"]
NeedRule = Literal["area mean", "thirstiest plant"]
SunLost = Literal["morning", "midday", "evening"]
Mixing = Literal["area", "height"]
Seedbed = Literal["by hand", "whole bed"]
Coefficient = Literal["dual", "single"]
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
class DripLine:
    """A kind of drip line: q = emitter_flow (pressure / at_pressure) ** exponent.

    `efficiency` is the application efficiency that the person states; None lets it follow from the
    cup test or from `manufacturing_variation` (coefficient of variation of new emitters).

    `inside_diameter` is the bore of the line and `passage` the smallest opening of an emitter [m]. An emitter
    opens at `opening_pressure` and compensates from `lowest_pressure` to `highest_pressure` [kPa].
    """

    name: str
    emitter_flow: float
    at_pressure: float
    exponent: float
    emitter_spacing: float
    manufacturing_variation: float | None = None
    efficiency: float | None = None
    inside_diameter: float | None = None
    opening_pressure: float | None = None
    lowest_pressure: float | None = None
    highest_pressure: float | None = None
    passage: float | None = None


@dataclass(frozen=True, slots=True)
class Bed:
    """One raised bed.

    Attributes
    ----------
    area : float
        Inside area [m2], from the shape and its measures.
    shape_text : str
        The shape in words, with its measures as written, for people to check.
    soil : SoilMix
        Its mix, with layers the topmost one.
    soil_depth : float
        Depth of soil above any wood or rubble fill [m], before anything in `settled`.
    line_length : float or None
        Total length of drip line [m]; None when the emitters were counted.
    emitters : int
        Number of emitters, counted by the person or from line length and spacing.
    emitters_counted : bool
        True if the person counted them.
    pressure : float
        Pressure at the emitters [kPa].
    layers : tuple of SoilLayer
        From top to bottom, soil first; empty for a bed of one mix.
    settled : tuple of Settled
        Later depths of its soil, in order of their days.
    mulch : Mulch or None
        What lies on it.
    wetted_share : float or None
        Share of the surface that a run wets: fw of FAO-56 Table 20.
    wetted_width : float or None
        Width of the strip that one line wets [m]; at most one of the two is given.
    runs_through_after : float or None
        Minutes of a run after which water comes out at its bottom, as the person saw it.
    sun_lost : float
        Hours of direct sun that walls and trees take on a clear day [h], around `sun_lost_when`.
    wall_heat : float
        Share by which a warm wall raises its use; a judgement of the plan.
    rain_share : float
        Share of the rain that reaches it.
    isolated_width : float or None
        Width of a small stand that stands alone in dry surroundings [m].
    mixing : str
        How crops that grow together share the reference: by area, or the taller above the lower.
    seedbed : str
        Who keeps a sown surface wet: the gardener by hand, or every run of the whole bed.
    cup_test, flow_test : CupTest, BedFlowTest or None
        The newest of each kind.
    measures : BedMeasures or None
        Measures of bed and line; a plan file gives them always.
    place : BedPlace or None
        Where it lies; None in a plan without a layout.
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
    layers: tuple[SoilLayer, ...] = ()
    settled: tuple[Settled, ...] = ()
    mulch: Mulch | None = None
    wetted_share: float | None = None
    wetted_width: float | None = None
    runs_through_after: float | None = None
    sun_lost: float = 0.0
    sun_lost_when: SunLost = "evening"
    wall_heat: float = 0.0
    rain_share: float = 1.0
    isolated_width: float | None = None
    mixing: Mixing = "area"
    seedbed: Seedbed = "by hand"
    flow_test: BedFlowTest | None = None

    @property
    def newest_test(self) -> CupTest | BedFlowTest | None:
        """The newest measurement of its flow; of one day, that of the whole bed before the cups."""
        if self.flow_test is None or self.cup_test is None:
            return self.flow_test or self.cup_test
        return self.cup_test if self.cup_test.on > self.flow_test.on else self.flow_test

    @property
    def measured_flow(self) -> float | None:
        """Its flow by the newest measurement [L/h]; None without one."""
        test = self.newest_test
        if test is None:
            return None
        return test.emitter_flow * self.emitters if isinstance(test, CupTest) else test.flow_of(self.name)

    measures: BedMeasures | None = None
    place: BedPlace | None = None


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
    """A limit on watering as the person entered it; whether it applies is the person's entry too.

    `asked_on` is the day on which the person asked about it or read it; None if the plan does not say.
    """

    reason: str
    begins: date
    ends: date
    days: tuple[Weekday, ...]
    begin: time | None
    until: time | None
    exempt: Literal["yes", "no", "unknown"]
    asked_on: date | None = None


@dataclass(frozen=True, slots=True)
class WaterSource:
    """The tap as measured with a bucket [L/h], the share of it to plan on, and a water test.

    `leaching_fraction` is the share of water that drains below the roots over the years, as stated.
    `temperature` of the water [degC] sets how easily it flows.
    """

    flow: float
    flow_house_busy: float | None
    usable_share: float
    static_pressure: float | None
    salinity: float | None
    leaching_fraction: float | None = None
    test: WaterTest = WaterTest()
    temperature: float | None = None


@dataclass(frozen=True, slots=True)
class Planning:
    """How careful to be (shares 0..1), and by which crop coefficient to reckon.

    `bare_soil_coefficient` is used by the single coefficient alone.
    """

    reserve: float
    forecast_rain: float
    normal_rain: float
    bare_soil_coefficient: float
    coefficient: Coefficient = "dual"


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """How far what is reckoned with may lie off: relative standard uncertainties, as shares 0..1.

    The defaults are judgements without a source; that of `flow` leans on ISO 9261, from memory.
    """

    reference_et: float = 0.07
    crop_coefficient: float = 0.10
    available_water: float = 0.20
    efficiency: float = 0.05
    flow: float = 0.07
    rain: float = 0.15


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
    """A whole plan; `ledger` is as written, relative to the plan file, None for the usual name.

    `kept` holds what was worked out from it; it is no part of the plan.
    `drip_lines` are the kinds at hand, also those that no bed has.
    """

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
    uncertainty: Uncertainty = Uncertainty()
    layout: LayoutPlan | None = None
    drip_lines: tuple[DripLine, ...] = ()
    kept: Kept = field(default_factory=Kept, init=False, repr=False, compare=False)

    def beds_of(self, zone: str) -> tuple[Bed, ...]:
        """Return the beds behind one zone, in plan order."""
        return tuple(bed for bed in self.beds if bed.zone == zone)
