"""Is a weather record possible? What no weather does is a fault, what it seldom does is a note.

Rules after ASCE-EWRI (2005) Appendix D and FAO-56 (1998) Annex 5; thresholds without an equation beside
them are from memory of these texts or judgement, and are named where they are set.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault
from scheduler.garden.plan import Site
from scheduler.weather.days import day_of_year, name_days
from scheduler.weather.doubts import add_doubts, hemisphere_note
from scheduler.weather.findings import Findings
from scheduler.weather.record import VARIABLES, WeatherRecord

__all__ = ["POSSIBLE", "check_record", "check_values", "clip_humidity", "hemisphere_note"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

#: What daily weather can reach, in the canonical unit of each variable.
POSSIBLE: dict[str, tuple[float, float]] = {
    "tmax": (-60.0, 60.0),
    "tmin": (-60.0, 60.0),
    "rh_max": (1.0, 105.0),
    "rh_min": (0.0, 105.0),
    "rh_mean": (1.0, 105.0),
    "dew_point": (-60.0, 60.0),
    "wind": (0.0, 60.0),
    "solar_radiation": (0.0, 50.0),
    "sunshine": (0.0, 24.0),
    "rain": (0.0, 500.0),
}
_HINTS = {
    "tmax": "; Fahrenheit needs the unit degF",
    "tmin": "; Fahrenheit needs the unit degF",
    "dew_point": "; Fahrenheit needs the unit degF",
    "solar_radiation": "; a daily mean in W/m2 needs the unit W/m2",
    "rain": "; inches need the unit in",
}
# Share of days warmer than possible, and median of the warmer half of the days [degC], that show
# Fahrenheit; the warmest months on record anywhere have a mean maximum near 47 degC.
_TOO_WARM_SHARE = 0.02
_TOO_WARM_MEDIAN = 50.0
# No air temperature on record is above this, read as Fahrenheit.
_WARMEST_FAHRENHEIT = 135.0
# Rounding of a dew point and of a temperature read by different sensors [degC].
_DEW_POINT_SLACK = 0.5
# Offset that a radiation sensor may show [MJ m-2 d-1].
_SENSOR_OFFSET = 0.5
# Days of never falling rain totals that cannot be chance, and different values among them.
_RUNNING_DAYS = 60
_RUNNING_VALUES = 10


def check_record(record: WeatherRecord, site: Site) -> tuple[list[Fault], tuple[str, ...]]:
    """Return what makes a record unusable, and what is worth a look.

    Parameters
    ----------
    record : WeatherRecord
    site : Site
        Its latitude and elevation give the sun's greatest radiation.

    Returns
    -------
    faults : list of Fault
        Temperatures crossed or in Fahrenheit, values that no weather reaches, crossed humidities, a dew
        point above the day's maximum, more radiation than above the atmosphere, more sunshine than day,
        a running total given as daily rain. One fault for each kind, with the days in it.
    notes : tuple of str
        See `scheduler.weather.doubts`.
    """
    findings = Findings()
    check_values(record, findings)
    _check_sun(record, site, findings)
    if not findings.faults:
        add_doubts(record, site, findings=findings)
    return findings.faults, tuple(findings.notes)


def check_values(record: WeatherRecord, findings: Findings) -> None:
    """Add the faults of `check_record` that need no site."""
    fahrenheit = _check_fahrenheit(record, findings)
    for variable in VARIABLES:
        if not (fahrenheit and variable in ("tmax", "tmin", "dew_point")):
            _check_range(record, variable, findings)
    values = record.values
    _check_order(record, "tmin", "tmax", findings=findings)
    _check_order(record, "rh_min", "rh_max", findings=findings)
    wet = values["dew_point"] > values["tmax"] + _DEW_POINT_SLACK
    _add(findings, record, wet, what="dew_point", found="above tmax", wanted="at most the day's maximum")
    _check_running_total(record, findings)


def clip_humidity(record: WeatherRecord) -> WeatherRecord:
    """Return the record with relative humidities from 100 to 105 % set to 100 %, and a note if any was.

    A sensor in fog reads a little high; more than 105 % is left for `check_record` to refuse.
    """
    clipped = dict(record.values)
    notes = list(record.notes)
    for variable in ("rh_max", "rh_min", "rh_mean"):
        column = record.values[variable]
        high = (column > 100.0) & (column <= POSSIBLE[variable][1])
        if high.any():
            clipped[variable] = np.where(high, 100.0, column)
            days = "1 day" if high.sum() == 1 else f"{high.sum()} days"
            notes.append(f"{variable}: {days} above 100 %, at most {column[high].max():.1f} %, set to 100 %")
    return replace(record, values=clipped, notes=tuple(notes)) if len(notes) > len(record.notes) else record


def _add(
    findings: Findings, record: WeatherRecord, bad: BoolArray, *, what: str, found: str, wanted: str
) -> None:
    """Add one fault for the bad days, if there are any."""
    if bad.any():
        findings.fault(f"{what}, {name_days(record.dates, bad)}", found, wanted)


def _check_fahrenheit(record: WeatherRecord, findings: Findings) -> bool:
    """Refuse a record whose maxima can only be Fahrenheit; return True if so."""
    tmax = record.values["tmax"][np.isfinite(record.values["tmax"])]
    if not tmax.size:
        return False
    too_warm = float((tmax > POSSIBLE["tmax"][1]).mean())
    warmer_half = float(np.median(tmax[tmax >= np.median(tmax)]))
    if too_warm < _TOO_WARM_SHARE and warmer_half <= _TOO_WARM_MEDIAN:
        return False
    looks = "Fahrenheit" if warmer_half <= _WARMEST_FAHRENHEIT else "tenths of a degree"
    wanted = f"degC; these look like {looks}"
    if looks == "Fahrenheit":
        wanted += (
            ": name the unit in the header (tmax_f), or in the plan "
            '[weather.columns] tmax = { column = "...", unit = "degF" }'
        )
    found = f"{tmax.max():.1f} degC at most, {warmer_half:.1f} degC on a warm day"
    findings.fault("tmax", found, wanted)
    return True


def _check_range(record: WeatherRecord, variable: str, findings: Findings) -> None:
    """Refuse values outside of what the weather can reach."""
    column, unit = record.values[variable], VARIABLES[variable]
    low, high = POSSIBLE[variable]
    below, above = column < low, column > high
    if below.any():
        found = f"{column[below].min():.4g} {unit}"
        wanted = f"at least {low:g} {unit}, or an empty cell where nothing was measured"
        _add(findings, record, below, what=variable, found=found, wanted=wanted)
    if above.any():
        found = f"{column[above].max():.4g} {unit}"
        wanted = f"at most {high:g} {unit} a day{_HINTS.get(variable, '')}"
        _add(findings, record, above, what=variable, found=found, wanted=wanted)


def _check_order(record: WeatherRecord, least: str, greatest: str, *, findings: Findings) -> None:
    """Refuse days whose least value lies above the greatest."""
    low, high = record.values[least], record.values[greatest]
    crossed = low > high
    if crossed.any():
        first = int(np.flatnonzero(crossed)[0])
        found = f"{least} {low[first]:.4g} above {greatest} {high[first]:.4g} {VARIABLES[least]}"
        wanted = f"{least} at or below {greatest}; are the columns exchanged?"
        _add(findings, record, crossed, what=f"{least} and {greatest}", found=found, wanted=wanted)


def _check_running_total(record: WeatherRecord, findings: Findings) -> None:
    """Refuse rain that only ever grows: the total since a start, not the rain of the day."""
    rain = record.values["rain"]
    rain = rain[np.isfinite(rain)]
    falls = np.flatnonzero(np.diff(rain) < 0) + 1
    longest = max(np.split(rain, falls), key=len)
    if longest.size >= _RUNNING_DAYS and np.unique(longest).size >= _RUNNING_VALUES:
        found = f"grows from {longest[0]:.4g} to {longest[-1]:.4g} mm over {longest.size} days without a fall"
        findings.fault("rain", found, "the rain of each day, not a running total")


def _check_sun(record: WeatherRecord, site: Site, findings: Findings) -> None:
    """Refuse more radiation than above the atmosphere (FAO-56 Eq. 21) and more sunshine than day (Eq. 34)."""
    if record.has("solar_radiation"):
        _check_radiation(record, site, findings)
    if record.has("sunshine"):
        _check_sunshine(record, site, findings)


def _check_radiation(record: WeatherRecord, site: Site, findings: Findings) -> None:
    # Imported here: it brings pandas and pyet, which a reader of other records need not load.
    from scheduler.weather.reference_et import extraterrestrial_radiation

    solar = record.values["solar_radiation"]
    ra = extraterrestrial_radiation(site.latitude, day_of_year(record.dates))
    high = (solar > ra + _SENSOR_OFFSET) & (solar <= POSSIBLE["solar_radiation"][1])
    if high.any():
        worst = int(np.argmax(np.where(high, solar - ra, -np.inf)))
        found = f"{solar[worst]:.1f} MJ m-2 d-1 on {record.dates[worst]}"
        wanted = (
            f"at most the {ra[worst]:.1f} MJ m-2 d-1 that reach the atmosphere at latitude "
            f"{site.latitude:.1f}; look at the unit, the dates and the latitude's sign"
        )
        _add(findings, record, high, what="solar_radiation", found=found, wanted=wanted)


def _check_sunshine(record: WeatherRecord, site: Site, findings: Findings) -> None:
    from scheduler.weather.reference_et import REFRACTION, daylight_hours

    sunshine = record.values["sunshine"]
    longest = daylight_hours(site.latitude, day_of_year(record.dates))
    long = (sunshine > longest + REFRACTION) & (sunshine <= POSSIBLE["sunshine"][1])
    if long.any():
        worst = int(np.argmax(np.where(long, sunshine - longest, -np.inf)))
        found = f"{sunshine[worst]:.1f} h on {record.dates[worst]}"
        wanted = f"at most the {longest[worst]:.1f} h of that day at latitude {site.latitude:.1f}"
        _add(findings, record, long, what="sunshine", found=found, wanted=wanted)
