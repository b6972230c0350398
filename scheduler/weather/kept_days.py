"""Days of weather as a ledger keeps them: records -> rows, and rows -> records."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime

import numpy as np

from scheduler.ledger.entries import WeatherDay
from scheduler.weather.layers import Origin, Part
from scheduler.weather.record import VARIABLES, WeatherRecord

__all__ = ["day_rows", "new_rows", "parts_of_rows"]

#: Variable -> field of a kept day.
_FIELDS = {
    "tmax": "tmax_c",
    "tmin": "tmin_c",
    "rh_max": "rh_max_pct",
    "rh_min": "rh_min_pct",
    "rh_mean": "rh_mean_pct",
    "dew_point": "dew_point_c",
    "wind": "wind_m_s",
    "solar_radiation": "solar_mj_m2",
    "sunshine": "sunshine_h",
    "rain": "rain_mm",
}


def day_rows(
    record: WeatherRecord,
    *,
    origin: Origin,
    source: str,
    issued_at: datetime,
    wind_height: float | None,
) -> tuple[WeatherDay, ...]:
    """Return the days of a record that hold anything; wind of an unknown height is left out."""
    rows = []
    for place, day in enumerate(record.dates.tolist()):
        values = {
            field: float(record.values[name][place])
            for name, field in _FIELDS.items()
            if np.isfinite(record.values[name][place]) and (name != "wind" or wind_height is not None)
        }
        if values:
            height = wind_height if "wind_m_s" in values else None
            rows.append(WeatherDay(day, origin, source, issued_at, wind_height_m=height, **values))
    return tuple(rows)


def new_rows(rows: Iterable[WeatherDay], kept: Mapping[date, WeatherDay]) -> tuple[WeatherDay, ...]:
    """Return the rows that say something that the ledger does not know yet.

    A newer forecast of a day that is already under way may lack what an older one had: that is carried on.
    A measured value that is withdrawn is not, since it may have been found wrong.

    Parameters
    ----------
    rows : iterable of WeatherDay
        Of one origin and source.
    kept : mapping of date to WeatherDay
        The newest row of each day, of the same origin and source.
    """
    fresh = []
    for row in rows:
        old = kept.get(row.date)
        if old is not None and row.origin == "forecast":
            gone = {
                field: getattr(old, field)
                for field in (*_FIELDS.values(), "wind_height_m")
                if getattr(row, field) is None
            }
            row = replace(row, **gone)
        if old is None or row != replace(old, issued_at=row.issued_at):
            fresh.append(row)
    return tuple(fresh)


def parts_of_rows(rows: Sequence[WeatherDay], *, attribution: str, place: int) -> tuple[Part, ...]:
    """Return the days of one origin and source as parts of a blend, one for each height of the wind.

    Parameters
    ----------
    rows : sequence of WeatherDay
        At least one; growing by day, none twice.
    attribution : str
    place : int
        As in `Part`.
    """
    heights = [row.wind_height_m for row in rows if row.wind_height_m is not None]
    # Days without wind go with any height.
    usual = min(heights, default=None)
    groups: dict[float | None, list[WeatherDay]] = {}
    for row in rows:
        groups.setdefault(usual if row.wind_height_m is None else row.wind_height_m, []).append(row)
    return tuple(
        _part(group, attribution=attribution, place=place, wind_height=height)
        for height, group in groups.items()
    )


def _part(rows: Sequence[WeatherDay], *, attribution: str, place: int, wind_height: float | None) -> Part:
    first = rows[0]
    days = np.array([row.date for row in rows], dtype="datetime64[D]")
    every = np.arange(days[0], days[-1] + np.timedelta64(1, "D"), dtype="datetime64[D]")
    where = np.searchsorted(every, days)
    values = {name: np.full(every.size, np.nan) for name in VARIABLES}
    for name, field in _FIELDS.items():
        column = [getattr(row, field) for row in rows]
        values[name][where] = np.array([np.nan if cell is None else cell for cell in column])
    issued = [row.issued_at for row in rows if row.issued_at is not None]
    flags = np.full(every.size, first.origin == "forecast")
    record = WeatherRecord(every, values, flags, first.source, attribution)
    return Part(record, first.origin, max(issued, default=None), wind_height, place)
