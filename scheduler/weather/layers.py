"""Rows of one record that are trusted alike: what is laid over other rows when records are blended."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np

from scheduler.weather.record import VARIABLES, DateArray, FloatArray, WeatherRecord
from scheduler.weather.wind import wind_at_height

__all__ = ["NOBODY", "QUANTITIES", "Layer", "Origin", "Part", "layers_of"]

Origin = Literal["gauge", "station", "forecast"]

#: Origins, the most trusted first.
RANKS: dict[Origin, int] = {"gauge": 0, "station": 1, "forecast": 2}
#: Quantity -> its variables. A day takes all variables of a quantity from one part, lest a foretold one
#: stand beside a measured one of the same quantity and be preferred to it.
QUANTITIES: dict[str, tuple[str, ...]] = {
    "tmax": ("tmax",),
    "tmin": ("tmin",),
    "humidity": ("dew_point", "rh_max", "rh_min", "rh_mean"),
    "radiation": ("solar_radiation", "sunshine"),
    "wind": ("wind",),
    "rain": ("rain",),
}
#: Number of the layer that gave a quantity on days on which none did.
NOBODY = -1


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A record with what decides how far it is trusted.

    Attributes
    ----------
    record : WeatherRecord
        Rows that it marks as forecast count as such whatever the origin.
    origin : {"gauge", "station", "forecast"}
    issued_at : datetime or None
        When a forecast was made, aware; None if that is not known, which counts as oldest.
    wind_height : float or None
        Height of its wind [m].
    place : int
        Order among parts of the same origin, and of forecasts of the same issue, the most trusted first.
    """

    record: WeatherRecord
    origin: Origin
    issued_at: datetime | None = None
    wind_height: float | None = None
    place: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """The measured or the foretold rows of a part.

    Attributes
    ----------
    dates : array of datetime64[D], shape (n_rows,)
    columns : dict of str to array, shape (n_rows,)
        One for each of `VARIABLES`, NaN where there is no value.
    forecast : bool
    source, attribution : str
    notes : tuple of str
    trust : tuple
        Sorts layers, the most trusted first; two of the same trust hold the same.
    """

    dates: DateArray
    columns: Mapping[str, FloatArray]
    forecast: bool
    source: str
    attribution: str
    notes: tuple[str, ...]
    trust: tuple[object, ...]


def layers_of(part: Part, wind_height: float | None) -> Iterator[Layer]:
    """Yield the measured and the foretold rows of a part, wind at `wind_height` [m] if one is given."""
    record = part.record
    columns = {name: record.values[name] for name in VARIABLES}
    if wind_height is not None and part.wind_height is not None:
        columns["wind"] = wind_at_height(columns["wind"], part.wind_height, wanted=wind_height)
    foretold = np.full(record.dates.size, part.origin == "forecast") | record.forecast
    for forecast in (False, True):
        rows = foretold == forecast
        if rows.any():
            chosen = {name: column[rows] for name, column in columns.items()}
            yield Layer(
                dates=record.dates[rows],
                columns=chosen,
                forecast=forecast,
                source=record.source,
                attribution=record.attribution,
                notes=record.notes,
                trust=_trust(part, record.dates[rows], chosen, forecast=forecast),
            )


def _trust(
    part: Part, dates: DateArray, columns: Mapping[str, FloatArray], *, forecast: bool
) -> tuple[object, ...]:
    """Return the key by which layers are sorted; contents decide last, so that no order of parts does."""
    age = 0.0
    if forecast:
        age = float("inf") if part.issued_at is None else -part.issued_at.timestamp()
    content = b"".join(column.tobytes() for column in columns.values())
    rank = RANKS["forecast" if forecast else part.origin]
    return (rank, age, part.place, part.record.source, dates.tobytes(), content)
