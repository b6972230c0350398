"""The US National Weather Service's gridpoint forecast: where to ask, and its layers as daily values.

Layers, units and rules after the service's own descriptions of its gridpoint data.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, SourceError
from scheduler.garden.plan import Site
from scheduler.garden.units import Dimension
from scheduler.weather.days import name_days
from scheduler.weather.record import WeatherRecord
from scheduler.weather.sources.daily_table import refuse_impossible, to_record
from scheduler.weather.sources.documents import converted, numbers, part_of, read_object, shown, text_of
from scheduler.weather.sources.intervals import (
    Interval,
    LocalDays,
    day_of,
    read_interval,
    read_moment,
    zone_named,
)

__all__ = [
    "ATTRIBUTION",
    "BASE",
    "LICENCE",
    "WIND_HEIGHT",
    "GridCell",
    "grid_url",
    "issued_at",
    "parse_gridpoint",
    "parse_point",
    "point_url",
]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

BASE = "https://api.weather.gov"
ATTRIBUTION = "US National Weather Service, https://www.weather.gov/ (cut into local days)"
LICENCE = "US government work, free to use"
#: Height of its wind [m]; from memory.
WIND_HEIGHT = 10.0

# Their units, without prefix -> how `units` spells them. Whatever is not here is refused.
_UNITS = {
    "degC": "degC",
    "degF": "degF",
    "K": "K",
    "percent": "%",
    "mm": "mm",
    "km_h-1": "km/h",
    "m_s-1": "m/s",
    "kt": "kn",
}
_LAYERS: dict[str, Dimension] = {
    "temperature": "temperature",
    "dewpoint": "temperature",
    "maxTemperature": "temperature",
    "minTemperature": "temperature",
    "relativeHumidity": "percent",
    "quantitativePrecipitation": "water_depth",
    "windSpeed": "speed",
}
# Share of a day that a layer must cover before a mean or an extreme stands for the day; our judgement.
_LEAST_SHARE = 0.8
# The forecast reaches about eight days; a layer that says more has a slip in a date.
_MOST_DAYS = 45
_MOST_INTERVALS = 5000
# A forecast's rain begins at most half a day after it is made, in steps of up to that length [s].
_FIRST_STEP = 12 * 3600.0
# Overlap of two intervals that is no more than rounding [s].
_OVERLAP = 1.0

Layers = dict[str, tuple[Interval, ...]]


@dataclass(frozen=True, slots=True)
class GridCell:
    """The cell of the forecast grid that a place lies in."""

    office: str
    x: int
    y: int
    timezone: str


def point_url(site: Site, *, base: str = BASE) -> str:
    """Return the address that tells in which grid cell a garden lies.

    Coordinates have at most four decimals and no zeros at their ends, as the service demands.

    Raises
    ------
    SourceError
        Without a longitude.
    """
    if site.longitude is None:
        fault = Fault("longitude", "missing", 'the garden\'s, such as "92.5 W"')
        raise SourceError("National Weather Service", [fault])
    place = ",".join(f"{angle:.4f}".rstrip("0").rstrip(".") for angle in (site.latitude, site.longitude))
    return f"{base}/points/{place}"


def parse_point(text: str, *, source: str = "National Weather Service") -> GridCell:
    """Return the grid cell that the service names; raises SourceError for any other document."""
    properties = part_of(read_object(text, source), "properties", source)
    office = text_of(properties, "gridId", source)
    faults = (
        []
        if re.fullmatch(r"[A-Z]{2,4}", office)
        else [Fault("gridId", shown(office), "letters of an office")]
    )
    cells: list[int] = []
    for key in ("gridX", "gridY"):
        number = properties.get(key)
        if isinstance(number, bool) or not isinstance(number, int) or not 0 <= number < 10_000:
            faults.append(Fault(key, shown(number), "a whole number"))
        else:
            cells.append(number)
    timezone = text_of(properties, "timeZone", source)
    try:
        zone_named(timezone)
    except ValueError:
        faults.append(Fault("timeZone", shown(timezone), "a time zone such as America/Chicago"))
    if faults:
        raise SourceError(source, faults)
    return GridCell(office, cells[0], cells[1], timezone)


def grid_url(cell: GridCell, *, base: str = BASE) -> str:
    """Return the address of a cell's forecast layers; built here, never taken from an answer."""
    return f"{base}/gridpoints/{cell.office}/{cell.x},{cell.y}"


def issued_at(text: str, *, source: str = "National Weather Service") -> datetime:
    """Return when a forecast was last made, UTC; raises SourceError if the document does not say."""
    said = text_of(part_of(read_object(text, source), "properties", source), "updateTime", source)
    try:
        return datetime.fromtimestamp(read_moment(said), UTC)
    except ValueError as error:
        raise SourceError(source, [Fault("updateTime", str(error), "a moment with its offset")]) from error


def parse_gridpoint(text: str, *, timezone: str, source: str = "National Weather Service") -> WeatherRecord:
    """Return the daily values of a forecast's layers.

    An amount of rain is spread evenly over its interval and cut at local midnight; a day's rain stands
    only if the layer reaches its end without a hole. On the first day the hours before the forecast are
    gone by, and its rain is that of the hours left, which a note tells. Other layers hold for every hour
    of an interval; a mean or an extreme stands if 80 % of the day is covered.

    Parameters
    ----------
    text : str
    timezone : str
        IANA time zone of the garden.
    source : str

    Returns
    -------
    WeatherRecord
        All days are forecast. Greatest and least temperature are those of the service's own layers, on
        the local day that holds the middle of their interval, and of the hourly layer where these say
        nothing. No radiation.

    Raises
    ------
    SourceError
        For any document that is not as described, with all that is wrong with its layers.
    ValueError
        If there is no such time zone.
    """
    properties = part_of(read_object(text, source), "properties", source)
    layers = _layers(properties, source)
    zone = zone_named(timezone)
    moments = [moment for layer in layers.values() for i in layer for moment in (i.begins, i.ends - 1.0)]
    if not moments:
        raise SourceError(source, [Fault("properties", "no values in its layers", "a forecast")])
    days = LocalDays(day_of(min(moments), zone), day_of(max(moments), zone), zone=zone)
    issued = issued_at(text, source=source)
    notes = [f"forecast of {issued:%Y-%m-%d %H:%M} UTC", "no radiation in it"]
    columns = _columns(layers, days, issued=issued.timestamp(), notes=notes)
    # Days that were over when the forecast was made: the evening before a night's minimum is one.
    over = int(np.searchsorted(days.edges[1:], issued.timestamp(), side="right"))
    span = slice(over, days.dates.size)
    if not any(np.isfinite(column[span]).any() for column in columns.values()):
        raise SourceError(source, [Fault("properties", "no day is covered", "a forecast of whole days")])
    columns = {name: column[span] for name, column in columns.items()}
    refuse_impossible(days.dates[span], columns, source=source)
    return to_record(
        days.dates[span],
        columns,
        forecast=True,
        source=source,
        attribution=f"{ATTRIBUTION}; {LICENCE}",
        notes=notes,
    )


def _layers(properties: Mapping[str, object], source: str) -> Layers:
    """Return the layers that are used, in canonical units, each in the order of time."""
    faults: list[Fault] = []
    layers: Layers = {}
    for name, dimension in _LAYERS.items():
        if name in properties:
            layer = part_of(properties, name, source)
            layers[name] = _layer(layer, dimension, name=name, faults=faults)
    moments = [moment for layer in layers.values() for i in layer for moment in (i.begins, i.ends)]
    if moments and max(moments) - min(moments) > _MOST_DAYS * 86_400:
        faults.append(Fault("properties", "intervals that lie years apart", f"at most {_MOST_DAYS} days"))
    if faults:
        raise SourceError(source, faults)
    return layers


def _layer(
    layer: Mapping[str, object], dimension: Dimension, *, name: str, faults: list[Fault]
) -> tuple[Interval, ...]:
    found = layer.get("values")
    if not isinstance(found, list) or len(found) > _MOST_INTERVALS:
        faults.append(Fault(f"{name} > values", shown(found), "a list of intervals with values"))
        return ()
    spans: list[tuple[float, float]] = []
    raw: list[object] = []
    for place, entry in enumerate(found):
        where = f"{name}, value {place + 1}"
        if not isinstance(entry, dict) or "value" not in entry:
            faults.append(Fault(where, shown(entry), "an interval with its value"))
            return ()
        try:
            spans.append(read_interval(str(entry.get("validTime"))))
        except ValueError as error:
            faults.append(Fault(where, str(error), "an interval such as 2024-06-01T18:00:00+00:00/PT6H"))
            return ()
        raw.append(entry["value"])
    if not spans:
        return ()
    values = numbers(raw, where=name, faults=faults)
    unit = layer.get("uom", layer.get("unitCode"))
    spelled = _UNITS.get(unit.rpartition(":")[2]) if isinstance(unit, str) else None
    if spelled is None and unit is not None:
        faults.append(Fault(f"{name} > uom", shown(unit), f"one of {', '.join(_UNITS)}"))
        return ()
    values = converted(values, spelled, dimension, where=f"{name} > uom", faults=faults)
    intervals = tuple(
        sorted((Interval(*span, value) for span, value in zip(spans, values, strict=True)), key=_begin)
    )
    for one, other in zip(intervals, intervals[1:], strict=False):
        if other.begins < one.ends - _OVERLAP:
            at = datetime.fromtimestamp(other.begins, UTC)
            faults.append(
                Fault(name, f"two values at {at:%Y-%m-%d %H:%M} UTC", "intervals one after the other")
            )
            return ()
    return intervals


def _begin(interval: Interval) -> float:
    return interval.begins


def _columns(layers: Layers, days: LocalDays, *, issued: float, notes: list[str]) -> dict[str, FloatArray]:
    """Return each variable on each day, NaN where the layers do not cover it."""
    columns = {
        "tmax": _placed(layers.get("maxTemperature", ()), days, greatest=True),
        "tmin": _placed(layers.get("minTemperature", ()), days, greatest=False),
        "rain": _rain(layers.get("quantitativePrecipitation", ()), days, issued=issued, notes=notes),
        "wind": _where_covered(layers.get("windSpeed", ()), days, "mean"),
        "dew_point": _where_covered(layers.get("dewpoint", ()), days, "mean"),
    }
    hours = layers.get("temperature", ())
    for name, part in (("tmax", "greatest"), ("tmin", "least")):
        from_hours = _where_covered(hours, days, part)
        used = np.isnan(columns[name]) & np.isfinite(from_hours)
        if used.any():
            notes.append(f"{name} from the hourly temperatures: {name_days(days.dates, used)}")
        columns[name] = np.where(used, from_hours, columns[name])
    humidity = layers.get("relativeHumidity", ())
    for name, part in (("rh_max", "greatest"), ("rh_min", "least"), ("rh_mean", "mean")):
        columns[name] = _where_covered(humidity, days, part)
    return columns


def _where_covered(layer: tuple[Interval, ...], days: LocalDays, part: str) -> FloatArray:
    """Return mean, least or greatest value of the days of which enough is covered."""
    least, greatest = days.extremes(layer)
    found = {"mean": days.means(layer), "least": least, "greatest": greatest}[part]
    return np.where(days.covered(layer) >= _LEAST_SHARE * days.lengths, found, np.nan)


def _placed(layer: tuple[Interval, ...], days: LocalDays, *, greatest: bool) -> FloatArray:
    """Return day maxima or night minima on the local day that holds the middle of their interval.

    A night belongs to the morning on which it ends, and its middle lies after midnight.
    """
    placed = np.full(days.dates.size, np.nan)
    for interval in layer:
        day = int(np.searchsorted(days.edges, (interval.begins + interval.ends) / 2, side="right")) - 1
        better = np.fmax if greatest else np.fmin
        placed[day] = better(placed[day], interval.value)
    return placed


def _rain(layer: tuple[Interval, ...], days: LocalDays, *, issued: float, notes: list[str]) -> FloatArray:
    """Return the rain of each day that the layer covers to its end, without a hole."""
    if not layer:
        return np.full(days.dates.size, np.nan)
    missing = days.lengths - days.covered(layer)
    begins = layer[0].begins
    first = int(np.searchsorted(days.edges, begins, side="right")) - 1
    gone_by = begins - float(days.edges[first])
    if gone_by > 0 and begins - issued <= _FIRST_STEP and missing[first] - gone_by <= _OVERLAP:
        # Only the day of the forecast itself may lack hours at its beginning.
        missing[first] = 0.0
        hours = (days.edges[first + 1] - begins) / 3600
        notes.append(
            f"rain of {days.dates[first]}: of the last {hours:.0f} hours of the day, the rest is gone by"
        )
    return np.where(missing <= _OVERLAP, days.split_amounts(layer), np.nan)
