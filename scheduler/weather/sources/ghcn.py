"""GHCN-Daily, the archive of daily station observations: where to ask, and its files as a record.

Elements, units and flags after the archive's own readme, section III; units of elements other than
PRCP, TMAX, TMIN, AWND, ADPT and RHAV from memory of it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, SourceError
from scheduler.garden.units import convert
from scheduler.weather.columns import DIMENSIONS
from scheduler.weather.days import name_days
from scheduler.weather.record import WeatherRecord
from scheduler.weather.sources.daily_table import impossible, on_every_day, to_record
from scheduler.weather.sources.ghcn_layouts import Observation, layout_of, observations

__all__ = ["ATTRIBUTION", "BASE", "LICENCE", "parse_ghcn", "request_url"]

FloatArray = NDArray[np.float64]
DateArray = NDArray[np.datetime64]

#: Home of the archive's files; from memory.
BASE = "https://www.ncei.noaa.gov/pub/data/ghcn/daily/all"
ATTRIBUTION = (
    "NOAA GHCN-Daily: Menne et al. (2012), J. Atmos. Oceanic Technol. 29, 897-910, "
    "doi:10.1175/JTECH-D-11-00103.1"
)
LICENCE = "US government data, free to use; the citation is asked for"

# Element -> variable, unit, and stored units in one unit.
_ELEMENTS: dict[str, tuple[str, str, int]] = {
    "TMAX": ("tmax", "degC", 10),
    "TMIN": ("tmin", "degC", 10),
    "PRCP": ("rain", "mm", 10),
    "AWND": ("wind", "m/s", 10),
    "ADPT": ("dew_point", "degC", 10),
    "RHAV": ("rh_mean", "%", 1),
    "RHMN": ("rh_min", "%", 1),
    "RHMX": ("rh_max", "%", 1),
    "TSUN": ("sunshine", "min", 1),
}
# Wind run of the day, used where there is no mean wind.
_WIND_RUN = ("WDMV", "km/d")
_STATION = re.compile(r"[A-Z]{2}[A-Z0-9_\-]{9}", re.ASCII)
# Share of impossible days that shows a wrong unit rather than slips that no flag has caught.
_MOST_IMPOSSIBLE = 0.02
# A year of temperatures that all lie within this, read as tenths [degC], is no garden's: whole degrees.
_WHOLE_DEGREES, _DAYS_FOR_THAT = 13.5, 300


def request_url(station: str, *, base: str = BASE) -> str:
    """Return the address of a station's file, in the layout of one month a line.

    Raises
    ------
    SourceError
        If the station's identification cannot be one.
    """
    if not _STATION.fullmatch(station):
        wanted = "11 letters and digits, country first, such as USC00215435"
        raise SourceError("GHCN-Daily", [Fault("station", f'"{station[:40]}"', wanted)])
    return f"{base}/{station}.dly"


def parse_ghcn(text: str, *, station: str = "", source: str = "GHCN-Daily") -> WeatherRecord:
    """Return the observations in a file of any of the archive's three layouts, which is recognised.

    A value with a quality flag, or presumed where nothing was reported, counts as missing; a trace of
    rain counts as none. Totals of several days are told, never put on one day.

    Parameters
    ----------
    text : str
    station : str
        Which station to read from a file of many; empty for the only one.
    source : str

    Raises
    ------
    SourceError
        For a file in none of the layouts, with rows that cannot be read, values that differ for one
        day, more than one station, or in another unit.
    """
    layout = layout_of(text)
    if not layout:
        wanted = "a station file, or a list of values with station, day and element"
        raise SourceError(source, [Fault("", "not in a layout of GHCN-Daily", wanted)])
    faults: list[Fault] = []
    found = list(observations(text, layout, station=station, faults=faults))
    found = _once(found, faults)
    stations = sorted({one.station for one in found})
    if len(stations) > 1:
        faults.append(Fault("", f"{len(stations)} stations", f"say which, such as {stations[0]}"))
    if faults:
        raise SourceError(source, faults)
    if not found:
        whose = f" of {station}" if station else ""
        raise SourceError(source, [Fault("", f"no values{whose}", "temperatures or rain")])
    return _record(found, layout=layout, source=source)


def _once(found: Sequence[Observation], faults: list[Fault]) -> list[Observation]:
    """Return each value once; values that differ for one day and element are faults."""
    kept: dict[tuple[str, str, str], Observation] = {}
    for one in found:
        key = (one.station, str(one.day), one.element)
        if kept.setdefault(key, one) != one:
            faults.append(
                Fault(f"{one.day}, {one.element}", "two values that differ", "one value for each day")
            )
            break
    return list(kept.values())


def _record(found: Sequence[Observation], *, layout: str, source: str) -> WeatherRecord:
    notes = [f"GHCN-Daily, station {found[0].station}, layout {layout}"]
    dates = np.unique(np.array([one.day for one in found], dtype="datetime64[D]"))
    places = np.searchsorted(dates, np.array([one.day for one in found], dtype="datetime64[D]"))
    raw: dict[str, FloatArray] = {}
    flagged: dict[str, NDArray[np.bool_]] = {}
    presumed = np.zeros(dates.size, dtype=bool)
    for one, place in zip(found, places, strict=True):
        column = raw.setdefault(one.element, np.full(dates.size, np.nan))
        if one.quality_flag:
            flagged.setdefault(one.element, np.zeros(dates.size, dtype=bool))[place] = True
        elif one.measurement_flag == "P":
            presumed[place] = True
        else:
            # A trace is kept as 0; what is written there besides is no amount.
            column[place] = 0 if one.measurement_flag == "T" else one.value
    _note_flags(dates, flagged, presumed=presumed, notes=notes)
    _note_totals(dates, raw, notes)
    _note_time(found, notes)
    columns = _convert(raw, notes)
    days, columns = on_every_day(dates, columns, source=source)
    _drop_impossible(days, columns, source=source, notes=notes)
    return to_record(
        days, columns, forecast=False, source=source, attribution=f"{ATTRIBUTION}; {LICENCE}", notes=notes
    )


def _convert(raw: dict[str, FloatArray], notes: list[str]) -> dict[str, FloatArray]:
    """Return variables in canonical units from elements as stored."""
    columns: dict[str, FloatArray] = {}
    for element, (variable, unit, parts) in _ELEMENTS.items():
        if element in raw:
            columns[variable] = convert(raw[element] / parts, unit, DIMENSIONS[variable])
    element, unit = _WIND_RUN
    if element in raw:
        from_run = convert(raw[element], unit, "speed")
        wind = columns.get("wind", np.full(from_run.size, np.nan))
        if (np.isnan(wind) & np.isfinite(from_run)).any():
            notes.append("wind from the run of 24 hours where there is no mean")
        columns["wind"] = np.where(np.isnan(wind), from_run, wind)
    if "wind" in columns:
        notes.append("the archive does not tell the height of the wind sensor")
    return columns


def _note_flags(
    dates: DateArray,
    flagged: dict[str, NDArray[np.bool_]],
    *,
    presumed: NDArray[np.bool_],
    notes: list[str],
) -> None:
    for element, bad in flagged.items():
        notes.append(f"{element} failed the archive's checks and counts as missing: {name_days(dates, bad)}")
    if presumed.any():
        notes.append(f"nothing was reported, so a presumed 0 counts as missing: {name_days(dates, presumed)}")


def _note_totals(dates: DateArray, raw: dict[str, FloatArray], notes: list[str]) -> None:
    """Tell the totals of several days; none of them goes into the rain of a day."""
    totals, lengths = raw.get("MDPR"), raw.get("DAPR")
    if totals is None:
        return
    for place in np.flatnonzero(np.isfinite(totals)):
        days = lengths[place] if lengths is not None else np.nan
        over = f"{days:.0f} days" if np.isfinite(days) else "several days"
        notes.append(f"{totals[place] / 10:g} mm over {over} up to {dates[place]} is on no single day")


def _note_time(found: Sequence[Observation], notes: list[str]) -> None:
    """Tell the hour of observation: a reading in the morning holds mostly the day before."""
    times = sorted({one.time for one in found if one.element in ("PRCP", "TMAX") and one.time})
    for hour in times:
        if re.fullmatch(r"\d{4}", hour) and 0 < int(hour) < 1800:
            said = f"{hour[:2]}:{hour[2:]}"
            notes.append(f"read at {said}: rain and tmax of a date fell mostly on the day before")
            return
    if not times:
        notes.append(
            "the hour of observation is not told; read in the morning, a date holds mostly the day before"
        )


def _drop_impossible(
    days: DateArray, columns: dict[str, FloatArray], *, source: str, notes: list[str]
) -> None:
    """Count slips that no flag has caught as missing; refuse a file that is full of them."""
    faults: list[Fault] = []
    for name, bad in impossible(columns).items():
        known = int(np.isfinite(columns[name]).sum())
        if bad.sum() > max(1.0, _MOST_IMPOSSIBLE * known):
            found = f"{int(bad.sum())} of {known} days cannot be"
            faults.append(Fault(name, found, "the archive's own units, as its readme has them"))
        elif bad.any():
            notes.append(f"{name} cannot be and counts as missing: {name_days(days, bad)}")
        columns[name] = np.where(bad, np.nan, columns[name])
    for name in ("tmax", "tmin"):
        column = columns.get(name, np.empty(0))
        known = int(np.isfinite(column).sum())
        if known >= _DAYS_FOR_THAT and np.nanmax(np.abs(column)) <= _WHOLE_DEGREES:
            found = (
                f"{known} days from {np.nanmin(column):.1f} to {np.nanmax(column):.1f} degC, read as tenths"
            )
            faults.append(
                Fault(name, found, "tenths of a degree, as the archive keeps them, not whole degrees")
            )
    if faults:
        raise SourceError(source, faults)
