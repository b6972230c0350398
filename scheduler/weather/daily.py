"""`WeatherRecord` -> `DailyWeather`: checked, filled as the plan declares, with reference ET, no NaN.

Equation numbers are those of FAO-56 (1998), chapter 3.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from scheduler.errors import Fault, WeatherError
from scheduler.garden.plan import Site, WeatherChoice
from scheduler.weather import reference_et as et
from scheduler.weather.days import day_of_year, name_days
from scheduler.weather.filling import Filling
from scheduler.weather.findings import Findings
from scheduler.weather.quality import check_record, clip_humidity, hemisphere_note
from scheduler.weather.record import DailyWeather, WeatherRecord

__all__ = ["prepare_weather"]

FloatArray = NDArray[np.float64]

# Eq. 50: adjustment coefficient [degC-0.5] by the site.
_KRS = {"inland": 0.16, "coast": 0.19}
# FAO-56 text on Eq. 6: least wind that counts [m s-1].
_LEAST_WIND = 0.5
# FAO-56 text on missing wind: mean of over 2000 stations [m s-1].
_ASSUMED_WIND = 2.0
_HUMIDITY_KEY = '[weather.fill] humidity = "dew point from tmin"'
_RADIATION_KEY = '[weather.fill] radiation = "from temperature"'
_WIND_KEY = '[weather.fill] wind = "2 m/s"'
_RAIN_KEY = '[weather.fill] rain = "count as none"'


def prepare_weather(record: WeatherRecord, site: Site, choice: WeatherChoice) -> DailyWeather:
    """Return complete daily weather with reference evapotranspiration.

    A quantity that is missing, on all days or on some, is filled by its own setting in the plan if it has
    one, else by the plan's rule for gaps; a day that neither fills is refused by its date.

    Parameters
    ----------
    record : WeatherRecord
    site : Site
    choice : WeatherChoice
        What may be filled and how, and the height of the wind sensor.

    Returns
    -------
    DailyWeather
        `estimated` marks each day that rests on an estimate: ``gap``, ``humidity``, ``radiation``,
        ``wind``, ``rain``, ``method``.

    Raises
    ------
    WeatherError
        With everything that `check_record` refuses, or with everything that is missing and the setting
        of the plan that would fill it.
    """
    record = clip_humidity(record)
    faults, notes = check_record(record, site)
    if faults:
        Findings(faults).refuse(record.source)
    findings = Findings(notes=[*record.notes, *notes])
    if warning := hemisphere_note(record, site.latitude):
        findings.notes.append(warning)
    filling = Filling(record, choice, findings)
    tmax, tmin = _temperatures(filling)
    rain = _rain(filling)
    compute = _from_temperature if choice.method == "temperature only" else _penman_monteith
    reference, wind, rh_min = compute(filling, site, tmax=tmax, tmin=tmin)
    return DailyWeather(
        dates=record.dates,
        reference_et=reference,
        rain=rain,
        wind_2m=wind,
        rh_min=rh_min,
        tmax=tmax,
        tmin=tmin,
        forecast=record.forecast,
        estimated=filling.estimated,
        source=record.source,
        attribution=record.attribution,
        notes=(*findings.notes, *filling.lines()),
    )


def _temperatures(filling: Filling) -> tuple[FloatArray, FloatArray]:
    """Return tmax and tmin [degC] with gaps closed; a day that lacks them is named once for all it lacks."""
    tmax, tmin = filling.record.values["tmax"], filling.record.values["tmin"]
    together = np.array_equal(np.isnan(tmax), np.isnan(tmin))
    tmax = filling.close_gaps(tmax, "tmax and tmin" if together else "tmax")
    filling.refused |= np.isnan(tmax)
    tmin = filling.close_gaps(tmin, "tmin")
    filling.refused |= np.isnan(tmin)
    # A filled value may cross the measured one of its day.
    return np.maximum(tmax, tmin), tmin


def _rain(filling: Filling) -> FloatArray:
    """Return the rain [mm d-1]."""
    rain = filling.record.values["rain"]
    if filling.choice.rain == "count as none":
        rain = filling.put(rain, np.zeros_like(rain), key="rain", rule="missing rain counts as none")
    return filling.close_gaps(rain, "rain", setting=_RAIN_KEY)


def _from_temperature(
    filling: Filling, site: Site, *, tmax: FloatArray, tmin: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return reference ET by Eq. 52, and the wind and rh_min that have to be assumed with it."""
    filling.findings.refuse(filling.record.source)
    record = filling.record
    reference = _named(
        record,
        lambda: et.reference_et_from_temperature(
            tmax, tmin, latitude=site.latitude, day_of_year=day_of_year(record.dates)
        ),
    )
    below = filling.choice.dew_point_below_tmin
    rule = (
        "reference ET from tmax and tmin alone (Eq. 52); for the crop coefficients wind of "
        f"{_ASSUMED_WIND:g} m/s and {_dew_point_rule(below)} (Eq. 64) are assumed"
    )
    filling.mark("method", np.ones(record.dates.size, dtype=bool), rule=rule)
    ea = et.actual_vapour_pressure_from_dew_point(tmin - below)
    return reference, np.full(record.dates.size, _ASSUMED_WIND), _least_humidity(ea, tmax)


def _penman_monteith(
    filling: Filling, site: Site, *, tmax: FloatArray, tmin: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return reference ET by Eq. 6, wind at 2 m [m s-1] and rh_min [%]."""
    record = filling.record
    ea = _vapour_pressure(filling, tmax, tmin=tmin)
    solar = _radiation(filling, site, tmax=tmax, tmin=tmin)
    wind = _wind(filling)
    filling.findings.refuse(record.source)
    reference = _named(
        record,
        lambda: et.reference_et(
            tmax,
            tmin,
            ea=ea,
            solar_radiation=solar,
            wind_2m=wind,
            elevation=site.elevation,
            latitude=site.latitude,
            day_of_year=day_of_year(record.dates),
        ),
    )
    measured = record.values["rh_min"]
    return reference, wind, np.where(np.isfinite(measured), measured, _least_humidity(ea, tmax))


def _vapour_pressure(filling: Filling, tmax: FloatArray, *, tmin: FloatArray) -> FloatArray:
    """Return the actual vapour pressure [kPa] from the best humidity that each day has."""
    v, choice = filling.record.values, filling.choice
    ea = np.full(tmax.size, np.nan)
    # In the order of FAO-56: dew point, both ends of humidity, its maximum, its mean.
    for name, function, columns in (
        ("dew point, Eq. 14", et.actual_vapour_pressure_from_dew_point, (v["dew_point"],)),
        (
            "rh_max and rh_min, Eq. 17",
            et.actual_vapour_pressure_from_rh_max_min,
            (tmax, tmin, v["rh_max"], v["rh_min"]),
        ),
        ("rh_max, Eq. 18", et.actual_vapour_pressure_from_rh_max, (tmin, v["rh_max"])),
        ("rh_mean, Eq. 19", et.actual_vapour_pressure_from_rh_mean, (tmax, tmin, v["rh_mean"])),
    ):
        found = np.where(np.isnan(ea), _on_known_days(function, *columns), np.nan)
        if np.isfinite(found).any():
            filling.findings.notes.append(f"humidity on {np.isfinite(found).sum()} days from {name}")
            ea = np.where(np.isfinite(found), found, ea)
    if choice.humidity == "dew point from tmin":
        below = choice.dew_point_below_tmin
        guess = _on_known_days(et.actual_vapour_pressure_from_dew_point, tmin - below)
        ea = filling.put(ea, guess, key="humidity", rule=f"{_dew_point_rule(below)} (Eq. 48)")
    ea = filling.close_gaps(ea, "humidity", setting=_HUMIDITY_KEY)
    return _at_most_saturated(filling, ea, tmax, tmin=tmin)


def _at_most_saturated(filling: Filling, ea: FloatArray, tmax: FloatArray, *, tmin: FloatArray) -> FloatArray:
    """Return the vapour pressure [kPa], at most what the air of the day can hold (Eq. 12)."""
    ends = [_on_known_days(et.saturation_vapour_pressure, temperature) for temperature in (tmax, tmin)]
    most = (ends[0] + ends[1]) / 2
    over = ea > most
    if over.any():
        named = name_days(filling.record.dates, over)
        filling.findings.notes.append(f"humidity: more than the air can hold, lowered to saturation: {named}")
    return np.where(over, most, ea)


def _radiation(filling: Filling, site: Site, *, tmax: FloatArray, tmin: FloatArray) -> FloatArray:
    """Return solar radiation [MJ m-2 d-1]: measured, from sunshine, or as declared from temperature."""
    day = day_of_year(filling.record.dates)
    solar = filling.record.values["solar_radiation"]
    from_sunshine = _on_known_days(
        lambda hours, days: et.solar_radiation_from_sunshine(hours, site.latitude, days),
        filling.record.values["sunshine"],
        day,
    )
    used = np.isnan(solar) & np.isfinite(from_sunshine)
    if used.any():
        filling.findings.notes.append(f"solar radiation on {used.sum()} days from hours of sunshine, Eq. 35")
        solar = np.where(used, from_sunshine, solar)
    if filling.choice.radiation == "from temperature":
        krs = _KRS[filling.choice.radiation_site]
        guess = _on_known_days(
            lambda warm, cool, days: et.solar_radiation_from_temperature(
                warm, cool, latitude=site.latitude, day_of_year=days, elevation=site.elevation, krs=krs
            ),
            tmax,
            tmin,
            day,
        )
        rule = f"from tmax - tmin with kRs {krs:g} for {filling.choice.radiation_site} (Eq. 50)"
        solar = filling.put(solar, guess, key="radiation", rule=rule)
    return filling.close_gaps(solar, "solar radiation or sunshine", setting=_RADIATION_KEY)


def _wind(filling: Filling) -> FloatArray:
    """Return the wind at 2 m [m s-1] (Eq. 47), at least 0.5 m/s."""
    record, choice, findings = filling.record, filling.choice, filling.findings
    wind = record.values["wind"]
    if record.has("wind") and choice.wind_height is None:
        wanted = '[weather] wind_height = "10 ft", the height of the wind sensor above the ground'
        findings.fault("wind", "the height of its sensor is not in the plan", wanted)
        return wind
    if choice.wind_height is not None:
        height = choice.wind_height
        wind = _named(record, lambda: _on_known_days(lambda speed: et.wind_at_2m(speed, height), wind))
    if choice.wind is not None:
        rule = f"{choice.wind:g} m/s at 2 m, as the plan says"
        wind = filling.put(wind, np.full(wind.size, choice.wind), key="wind", rule=rule)
    wind = filling.close_gaps(wind, "wind", setting=_WIND_KEY)
    still = wind < _LEAST_WIND
    if still.any():
        findings.notes.append(f"wind: {still.sum()} days below {_LEAST_WIND:g} m/s at 2 m counted as that")
    return np.where(still, _LEAST_WIND, wind)


def _dew_point_rule(below: float) -> str:
    """Return in words where the dew point is taken to lie."""
    return f"dew point = tmin - {below:g} degC" if below else "dew point = tmin"


def _least_humidity(ea: FloatArray, tmax: FloatArray) -> FloatArray:
    """Return the least relative humidity of the day [%], Eq. 63."""
    return np.minimum(100.0 * ea / et.saturation_vapour_pressure(tmax), 100.0)


def _on_known_days(function: Callable[..., FloatArray], *columns: NDArray[np.generic]) -> FloatArray:
    """Return `function` of the columns on the days that have them all, NaN on the others."""
    known = np.logical_and.reduce([np.isfinite(column) for column in columns])
    answer = np.full(known.size, np.nan)
    if known.any():
        answer[known] = function(*(column[known] for column in columns))
    return answer


def _named(record: WeatherRecord, compute: Callable[[], FloatArray]) -> FloatArray:
    """Return what `compute` does; an answer out of bounds is refused under the name of the record."""
    try:
        return compute()
    except WeatherError as error:
        first = f" (day index 0 is {record.dates[0]})"
        faults = [
            Fault(f"{fault.where}{first if 'day index' in fault.where else ''}", fault.found, fault.wanted)
            for fault in error.faults
        ]
        raise WeatherError(record.source, faults) from error
