"""What is odd about a possible weather record: sensors that stick, drift or stand in the wrong place.

Nothing here refuses a record; every finding is a note. Rules after ASCE-EWRI (2005) Appendix D and FAO-56
(1998) Annex 5; thresholds are from memory of these texts unless marked as judgement.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scheduler.garden.plan import Site
from scheduler.weather.days import day_of_year, name_days
from scheduler.weather.findings import Findings
from scheduler.weather.record import WeatherRecord

__all__ = ["add_doubts", "hemisphere_note"]

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

# Variables that do not stay the same from day to day, and the value at which each may rest.
_CONTINUOUS = {
    "tmax": np.nan,
    "tmin": np.nan,
    "dew_point": np.nan,
    "rh_max": 100.0,
    "rh_min": 100.0,
    "rh_mean": 100.0,
    "wind": 0.0,
    "solar_radiation": np.nan,
}
_SHORTEST_STUCK = 3
_CHANCE_RUNS = 0.1
# Differences of conversion alone, in any unit.
_SAME = 1e-6
# Still air for a month: worn bearings or shelter [m s-1], [d].
_STILL_WIND = 1.0
_STILL_DAYS = 30
# Radiation above the clear sky by more than this share is a high reading; days of it that count.
_CLEAR_SKY_SLACK = 1.05
_CLEAR_SKY_DAYS = 3
# Share of the clear sky that the best twentieth of at least 60 days should reach.
_CLEAR_SKY_REACHED = 0.85
_LEAST_SHARE_OF_RA = 0.03
# A dew point this far above the minimum [degC], on more than this share of days (fronts do it 6 to 17
# days a year).
_DEW_POINT_ABOVE = 3.0
_DEW_POINT_SHARE = 0.06
_DRY_AIR = 5.0
_DAMP_MORNING = 80.0
# Days that count as nearly a year of values; rain of a year that tenths of a millimetre would show [mm];
# and maxima on warm days that Celsius read as Fahrenheit would show [degC]: judgement.
_NEARLY_A_YEAR = 330
_RAIN_OF_TENTHS = 4000.0
_COLD_SUMMER = 8.0
# Difference of the half-years that shows a season [degC], and the latitude from which there is one.
_SEASON = 3.0
_SEASONAL_LATITUDE = 15.0


def add_doubts(record: WeatherRecord, site: Site, *, findings: Findings, sun: bool = True) -> None:
    """Add a note to `findings` for each thing about the record that deserves a look.

    Stuck sensors, long still air, radiation off its clear-sky envelope (left out if `sun` is False, since
    that loads pandas), air too dry or never damp, dew points far above the minimum, no rain in a year, rain
    or temperatures that look like another unit.
    """
    _note_stuck(record, findings)
    _note_still_air(record, findings)
    if sun:
        _note_radiation(record, site, findings)
    _note_humidity(record, findings)
    _note_rain(record, findings)
    tmax = record.values["tmax"][np.isfinite(record.values["tmax"])]
    if tmax.size >= _NEARLY_A_YEAR and (warm := np.quantile(tmax, 0.9)) < _COLD_SUMMER:
        findings.notes.append(
            f"tmax: below {warm:.1f} degC on nine days in ten; is it Celsius read as Fahrenheit?"
        )


def hemisphere_note(record: WeatherRecord, latitude: float) -> str | None:
    """Return a warning if the record's warm months contradict the sign of the latitude, else None.

    Compares tmax of June to August with that of December to February, 20 days of each at least; near the
    equator, and for differences below 3 degC, there is nothing to contradict. `latitude` [degrees].
    """
    tmax = record.values["tmax"]
    month = record.dates.astype("datetime64[M]").astype(np.int64) % 12 + 1
    middle, turn = (tmax[np.isin(month, months) & np.isfinite(tmax)] for months in ((6, 7, 8), (12, 1, 2)))
    if min(middle.size, turn.size) < 20 or abs(latitude) < _SEASONAL_LATITUDE:
        return None
    difference = float(middle.mean() - turn.mean())
    if abs(difference) < _SEASON or difference * latitude > 0:
        return None
    warm = "June to August" if difference > 0 else "December to February"
    side, other = ("south", "N") if latitude < 0 else ("north", "S")
    return (
        f"the record is warm from {warm}, but latitude {latitude:.1f} lies {side} of the equator; "
        f"should the plan's latitude end in {other}?"
    )


def _runs(chosen: BoolArray) -> list[tuple[int, int]]:
    """Return (start, length) of each unbroken row of True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], chosen, [False])).astype(np.int8)))
    return [(int(a), int(b - a)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _note_stuck(record: WeatherRecord, findings: Findings) -> None:
    """Note equal values on days in a row, where chance does not explain them."""
    for variable, rest in _CONTINUOUS.items():
        column = record.values[variable]
        steps = np.diff(column)
        equal = (steps == 0) & (column[1:] != rest)
        demanded = _stuck_length(column, steps)
        runs = [(start, length + 1) for start, length in _runs(equal) if length + 1 >= demanded]
        if runs:
            days = np.zeros(column.size, dtype=bool)
            for start, length in runs:
                days[start : start + length] = True
            times = "once" if len(runs) == 1 else f"{len(runs)} times"
            named = name_days(record.dates, days)
            findings.notes.append(
                f"{variable}: the same value on {demanded} or more days in a row, {times}; is the sensor "
                f"stuck? {named}"
            )


def _stuck_length(column: FloatArray, steps: FloatArray) -> int:
    """Return how many equal days in a row are more than chance: 3, and more for coarse readings.

    Rule (judgement): readings in steps of s that mostly change by m from day to day repeat by chance with
    a probability of 0.27 s/m (normal differences of median size m); the run demanded is the shortest,
    from 3 days on, that chance brings about in fewer than one of ten records of this length. Over a year,
    tenths of a degree so need 3 equal days and whole degrees 5 or 6.
    """
    changes = np.abs(steps[np.abs(steps) > _SAME])
    if changes.size < 2:
        return _SHORTEST_STUCK
    gaps = np.diff(np.unique(column[np.isfinite(column)]))
    # The median, since whole degrees Fahrenheit lie 0.5 or 0.6 degC apart once they are rounded.
    step = float(np.median(gaps[gaps > _SAME]))
    chance = min(0.27 * step / float(np.median(changes)), 0.9)
    days = int(np.isfinite(column).sum())
    return max(_SHORTEST_STUCK, 1 + int(np.ceil(np.log(_CHANCE_RUNS / days) / np.log(chance))))


def _note_still_air(record: WeatherRecord, findings: Findings) -> None:
    """Note a month or more of hardly any wind."""
    longest = max(_runs(record.values["wind"] < _STILL_WIND), key=lambda run: run[1], default=(0, 0))
    if longest[1] >= _STILL_DAYS:
        begin = record.dates[longest[0]]
        findings.notes.append(
            f"wind: below {_STILL_WIND:g} m/s on {longest[1]} days in a row from {begin}; is the sensor worn "
            "or sheltered?"
        )


def _note_radiation(record: WeatherRecord, site: Site, findings: Findings) -> None:
    """Note radiation above a clear sky (FAO-56 Eq. 37), never near it, or next to none on a whole day."""
    if not record.has("solar_radiation"):
        return
    # Imported here: it brings pandas and pyet, which a reader of other records need not load.
    from scheduler.weather.reference_et import clear_sky_radiation, extraterrestrial_radiation

    solar = record.values["solar_radiation"]
    ra = extraterrestrial_radiation(site.latitude, day_of_year(record.dates))
    rso = clear_sky_radiation(ra, site.elevation)
    high = solar > _CLEAR_SKY_SLACK * rso
    if high.sum() > _CLEAR_SKY_DAYS:
        findings.notes.append(
            f"solar_radiation: over 5 % above a clear sky on {high.sum()} days; is the sensor's calibration "
            f"high, or the elevation wrong? {name_days(record.dates, high)}"
        )
    share = solar[np.isfinite(solar) & (rso > 1.0)] / rso[np.isfinite(solar) & (rso > 1.0)]
    if share.size >= 60 and (best := np.quantile(share, 0.95)) < _CLEAR_SKY_REACHED:
        findings.notes.append(
            f"solar_radiation: the brightest days reach only {best:.0%} of a clear sky; is the sensor "
            "dirty or shaded, or the unit another one?"
        )
    dark = (solar < _LEAST_SHARE_OF_RA * ra) & (ra > 1.0)
    if dark.any():
        findings.notes.append(
            f"solar_radiation: next to none on {dark.sum()} days: {name_days(record.dates, dark)}"
        )


def _note_humidity(record: WeatherRecord, findings: Findings) -> None:
    """Note very dry air, mornings that never turn damp, means out of place and dew points above tmin."""
    values, dates = record.values, record.dates
    dry = values["rh_min"] < _DRY_AIR
    if dry.any():
        findings.notes.append(f"rh_min: below {_DRY_AIR:g} % on {dry.sum()} days: {name_days(dates, dry)}")
    damp = values["rh_max"][np.isfinite(values["rh_max"])]
    if damp.size >= _STILL_DAYS and np.quantile(damp, 0.9) < _DAMP_MORNING:
        findings.notes.append(
            f"rh_max: below {_DAMP_MORNING:g} % on nine days in ten; does the sensor read low, or stand on "
            "dry ground?"
        )
    mean = values["rh_mean"]
    out = (mean > values["rh_max"] + 1.0) | (mean < values["rh_min"] - 1.0)
    if out.any():
        findings.notes.append(
            f"rh_mean: outside of rh_min to rh_max on {out.sum()} days: {name_days(dates, out)}"
        )
    above = values["dew_point"] > values["tmin"] + _DEW_POINT_ABOVE
    known = int(np.isfinite(values["dew_point"]).sum())
    if above.sum() > max(1.0, _DEW_POINT_SHARE * known):
        findings.notes.append(
            f"dew_point: more than {_DEW_POINT_ABOVE:g} degC above tmin on {above.sum()} of {known} days: "
            f"{name_days(dates, above)}"
        )


def _note_rain(record: WeatherRecord, findings: Findings) -> None:
    """Note a year without rain, and rain as much as tenths of a millimetre would make it."""
    rain, year = record.values["rain"], record.dates.astype("datetime64[Y]")
    known = np.isfinite(rain)
    dry = [
        str(y)
        for y in np.unique(year)
        if known[year == y].sum() >= _NEARLY_A_YEAR and rain[known & (year == y)].max() == 0
    ]
    if not dry and known.sum() >= _NEARLY_A_YEAR and rain[known].max() == 0:
        dry = [f"{record.dates[0]} to {record.dates[-1]}"]
    if dry:
        findings.notes.append(f"rain: none at all in {', '.join(dry)}; was the gauge working?")
    yearly = rain[known].mean() * 365.25 if known.sum() >= _NEARLY_A_YEAR else 0.0
    if yearly > _RAIN_OF_TENTHS:
        findings.notes.append(f"rain: {yearly:.0f} mm a year; is it in tenths of a millimetre?")
