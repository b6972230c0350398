"""Open-Meteo's forecast and archive: what to ask for, and its JSON answers as a record.

Variables, units and limits after the service's own interface description, state of August 2026.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from typing import Literal
from urllib.parse import urlencode

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, SourceError
from scheduler.garden.plan import Site
from scheduler.weather.columns import DIMENSIONS
from scheduler.weather.record import WeatherRecord
from scheduler.weather.sources.daily_table import on_every_day, refuse_impossible, to_record
from scheduler.weather.sources.documents import converted, numbers, part_of, read_object, shown, text_of
from scheduler.weather.sources.intervals import zone_named

__all__ = [
    "ARCHIVE_BASE",
    "ARCHIVE_DELAY",
    "ATTRIBUTION",
    "FORECAST_BASE",
    "LICENCE",
    "WIND_HEIGHT",
    "archive_spans",
    "parse_open_meteo",
    "request_url",
]

FORECAST_BASE = "https://api.open-meteo.com/v1/forecast"
ARCHIVE_BASE = "https://archive-api.open-meteo.com/v1/archive"
ATTRIBUTION = "Open-Meteo, https://open-meteo.com/ (units converted, days selected)"
LICENCE = (
    "CC BY 4.0, https://creativecommons.org/licenses/by/4.0/; the free service is for non-commercial use"
)
#: Height of its wind [m].
WIND_HEIGHT = 10.0
#: Days after which the archive does not change any more: the slower of its two analyses is five days
#: late, and twice that leaves room for a week in which it is later.
ARCHIVE_DELAY = 10

_MOST_FORECAST_DAYS, _MOST_PAST_DAYS = 16, 92
# Their name -> ours. Names without the inner underscores stand in old answers.
_VARIABLES = {
    "temperature_2m_max": "tmax",
    "temperature_2m_min": "tmin",
    "relative_humidity_2m_max": "rh_max",
    "relative_humidity_2m_min": "rh_min",
    "relative_humidity_2m_mean": "rh_mean",
    "dew_point_2m_mean": "dew_point",
    "wind_speed_10m_mean": "wind",
    "shortwave_radiation_sum": "solar_radiation",
    "sunshine_duration": "sunshine",
    "precipitation_sum": "rain",
}
_OLD_NAMES = {"windspeed_10m_mean": "wind_speed_10m_mean", "dewpoint_2m_mean": "dew_point_2m_mean"} | {
    f"relativehumidity_2m_{part}": f"relative_humidity_2m_{part}" for part in ("max", "min", "mean")
}
_GREATEST_WIND = ("wind_speed_10m_max", "windspeed_10m_max")
# Farthest that the middle of a grid cell lies from the place asked for [degrees].
_CELL = 0.75


def request_url(
    site: Site,
    product: Literal["forecast", "archive"],
    *,
    base: str = "",
    begins: date | None = None,
    ends: date | None = None,
    past_days: int = 2,
) -> str:
    """Return the address of a daily forecast, or of past days in the archive.

    The forecast's address does not change from day to day, so that yesterday's answer is found when
    today's cannot be had.

    Parameters
    ----------
    site : Site
        Its longitude must be known; its time zone decides on the days.
    product : {"forecast", "archive"}
    base : str
        Another server; empty for the service itself.
    begins, ends : date
        For the archive: first and last day.
    past_days : int
        For the forecast: days before today, 0 to 92.

    Raises
    ------
    SourceError
        Without a longitude, without days for the archive, or with `past_days` out of range.
    """
    faults = (
        [Fault("longitude", "missing", 'the garden\'s, such as "92.5 W"')] if site.longitude is None else []
    )
    if product == "archive" and (begins is None or ends is None or begins > ends):
        faults.append(Fault("days", f"{begins} to {ends}", "a first and a last day in order"))
    if not 0 <= past_days <= _MOST_PAST_DAYS:
        faults.append(Fault("past_days", str(past_days), f"0 to {_MOST_PAST_DAYS}"))
    if faults:
        raise SourceError("Open-Meteo", faults)
    query = {
        "latitude": f"{site.latitude:.4f}",
        "longitude": f"{site.longitude:.4f}",
        "daily": ",".join(_VARIABLES),
        "timezone": site.timezone,
        "temperature_unit": "celsius",
        "wind_speed_unit": "ms",
        "precipitation_unit": "mm",
    }
    if product == "archive":
        query |= {"start_date": str(begins), "end_date": str(ends)}
    else:
        query |= {"forecast_days": str(_MOST_FORECAST_DAYS), "past_days": str(past_days)}
    home = ARCHIVE_BASE if product == "archive" else FORECAST_BASE
    return f"{base or home}?{urlencode(query, safe=',/')}"


def archive_spans(begins: date, ends: date, *, on: date) -> tuple[tuple[date, date, bool], ...]:
    """Return spans of days to ask the archive for, each with whether it has settled.

    A span stays within a year, and settled days end with a month, so that a span that grows from day
    to day asks for few days anew.

    Parameters
    ----------
    begins, ends : date
    on : date
        Today.
    """
    settled_until = on - timedelta(days=ARCHIVE_DELAY)
    month_end = (settled_until + timedelta(days=1)).replace(day=1) - timedelta(days=1)
    spans: list[tuple[date, date, bool]] = []
    first = begins
    while first <= ends:
        last = min(ends, date(first.year, 12, 31))
        if last > settled_until and first <= month_end:
            last = month_end
        spans.append((first, last, last <= settled_until))
        first = last + timedelta(days=1)
    return tuple(spans)


def parse_open_meteo(text: str, *, site: Site, forecast: bool, source: str = "Open-Meteo") -> WeatherRecord:
    """Return the daily values of an answer.

    Parameters
    ----------
    text : str
    site : Site
        Place and time zone that were asked for; another grid cell or other days are refused. Without a
        longitude only the latitude is compared.
    forecast : bool
        True for the forecast: all its days are marked, those gone by are computed as well.
    source : str

    Raises
    ------
    SourceError
        With the service's own reason for an error; for anything but one whole document with arrays of
        one length, units that are known, days in order, and values that weather can reach.
    """
    document = read_object(text, source)
    if document.get("error"):
        raise SourceError(
            source, [Fault("", f"the service says {shown(document.get('reason'), 200)}", "an answer")]
        )
    daily, units = part_of(document, "daily", source), part_of(document, "daily_units", source)
    _require_place(document, site, source=source)
    dates = _dates(daily, units, source=source)
    _require_zone(document, site, dates=dates, source=source)
    notes = ["forecast: computed" if forecast else "archive: computed from observations, not measured here"]
    columns = _columns(daily, units, length=dates.size, source=source, notes=notes)
    days, columns = on_every_day(dates, columns, source=source)
    refuse_impossible(days, columns, source=source)
    return to_record(
        days, columns, forecast=forecast, source=source, attribution=f"{ATTRIBUTION}; {LICENCE}", notes=notes
    )


def _require_place(document: Mapping[str, object], site: Site, *, source: str) -> None:
    """Refuse an answer for another place."""
    faults: list[Fault] = []
    for key, wanted in (("latitude", site.latitude), ("longitude", site.longitude)):
        found = numbers([document.get(key)], where=key, faults=faults)[0]
        if wanted is None or faults:
            continue
        apart = abs(found - wanted) % 360.0
        if not min(apart, 360.0 - apart) <= _CELL:
            faults.append(Fault(key, f"{found:.4f}", f"a grid cell near the garden at {wanted:.4f}"))
    if faults:
        raise SourceError(source, faults)


def _require_zone(
    document: Mapping[str, object], site: Site, *, dates: NDArray[np.datetime64], source: str
) -> None:
    """Refuse an answer whose days are not the garden's, under whatever name of the time zone."""
    name = text_of(document, "timezone", source)
    if name == site.timezone or not dates.size:
        return
    fault = Fault("timezone", shown(name), f"days of {site.timezone}")
    try:
        theirs, ours = zone_named(name), zone_named(site.timezone)
    except ValueError as error:
        raise SourceError(source, [fault]) from error
    for day in dates[[0, -1]].tolist():
        noon = datetime.combine(day, time(12))
        if noon.replace(tzinfo=theirs).utcoffset() != noon.replace(tzinfo=ours).utcoffset():
            raise SourceError(source, [fault])


def _dates(
    daily: Mapping[str, object], units: Mapping[str, object], *, source: str
) -> NDArray[np.datetime64]:
    """Return the days, growing, none twice."""
    found, unit = daily.get("time"), units.get("time")
    if unit != "iso8601":
        raise SourceError(source, [Fault("daily_units > time", shown(unit), '"iso8601"')])
    if not isinstance(found, list):
        raise SourceError(source, [Fault("daily > time", shown(found), "a list of days")])
    days: list[date] = []
    for place, text in enumerate(found):
        where = f"daily > time, value {place + 1}"
        try:
            # Longer spellings, such as those of a week or an hour, are not days.
            day = date.fromisoformat(text) if isinstance(text, str) and len(text) == 10 else None
        except ValueError:
            day = None
        if day is None:
            raise SourceError(source, [Fault(where, shown(text), "a day such as 2024-06-01")])
        if days and day <= days[-1]:
            raise SourceError(source, [Fault(where, f"{day} after {days[-1]}", "days in order, each once")])
        days.append(day)
    return np.array(days, dtype="datetime64[D]")


def _columns(
    daily: Mapping[str, object], units: Mapping[str, object], *, length: int, source: str, notes: list[str]
) -> dict[str, NDArray[np.float64]]:
    """Return the variables that the engine uses, in canonical units; the others are named in a note."""
    faults: list[Fault] = []
    columns: dict[str, NDArray[np.float64]] = {}
    unread: list[str] = []
    for name, found in daily.items():
        variable = _VARIABLES.get(_OLD_NAMES.get(name, name))
        if name == "time":
            continue
        where = f"daily > {shown(name)[1:-1]}"
        if not isinstance(found, list) or len(found) != length:
            what = f"{len(found)} values" if isinstance(found, list) else shown(found)
            faults.append(Fault(where, what, f"{length} values, one for each day"))
        elif variable is None:
            unread.append(shown(name)[1:-1])
        elif variable in columns:
            faults.append(Fault(where, f"{variable} under two names", "each variable once"))
        else:
            raw = numbers(found, where=where, faults=faults)
            unit, dimension = units.get(name), DIMENSIONS[variable]
            columns[variable] = converted(raw, unit, dimension, where=f"{where}, unit", faults=faults)
    if faults:
        raise SourceError(source, faults)
    if "wind" not in columns and any(name in unread for name in _GREATEST_WIND):
        notes.append(
            "wind: only the day's greatest is given, which is not the mean; the wind counts as missing"
        )
    if unread:
        notes.append(f"not read: {', '.join(unread)}")
    return columns
