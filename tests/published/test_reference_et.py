"""Reference evapotranspiration and its pieces against published worked examples (reference_et.toml)."""

import tomllib
from pathlib import Path

import numpy as np
import pandas as pd
import pyet
import pytest

from scheduler.weather import reference_et as et

PUBLISHED = tomllib.loads(Path(__file__).with_name("reference_et.toml").read_text(encoding="utf-8"))
# Room for the binary form of a printed decimal.
BINARY = 1e-9


def vapour_pressure(given):
    if "ea" in given:
        return given["ea"]
    if "dew_point" in given:
        return et.actual_vapour_pressure_from_dew_point(given["dew_point"])
    return et.actual_vapour_pressure_from_rh_max_min(
        given["tmax"], given["tmin"], given["rh_max"], given["rh_min"]
    )


def solar_radiation(given):
    if "solar_radiation" in given:
        return given["solar_radiation"]
    if "sunshine" in given:
        return et.solar_radiation_from_sunshine(given["sunshine"], given["latitude"], given["day_of_year"])
    names = ("tmax", "tmin", "latitude", "day_of_year", "elevation", "krs")
    return et.solar_radiation_from_temperature(**{name: given[name] for name in names})


def steps(given):
    """Every step from the weather of a day to its reference evapotranspiration, net radiation by pyet."""
    ea, rs = vapour_pressure(given), solar_radiation(given)
    wind = given["wind_2m"] if "wind_2m" in given else et.wind_at_2m(given["wind"], given["wind_height"])
    ra = et.extraterrestrial_radiation(given["latitude"], given["day_of_year"])
    rso = et.clear_sky_radiation(ra, given["elevation"])
    days = {"rs": rs, "rso": rso, "ea": ea, "tmax": given["tmax"], "tmin": given["tmin"]}
    days = {name: pd.Series(np.atleast_1d(values).astype(float)) for name, values in days.items()}
    rnl = float(pyet.calc_rad_long(**days).iloc[0])
    slope = pyet.calc_vpc((given["tmax"] + given["tmin"]) / 2)
    gamma = pyet.calc_psy(pyet.calc_press(given["elevation"]))
    answer = et.reference_et(
        given["tmax"],
        given["tmin"],
        ea=ea,
        solar_radiation=rs,
        wind_2m=wind,
        elevation=given["elevation"],
        latitude=given["latitude"],
        day_of_year=given["day_of_year"],
    )
    # The engine's step is a day, without soil heat flux (Eq. 42); the monthly example has one.
    stored = 0.408 * given.get("soil_heat_flux", 0.0) * slope / (slope + gamma * (1 + 0.34 * wind))
    return {
        "slope": slope,
        "gamma": gamma,
        "wind_2m": wind,
        "ea": ea,
        "extraterrestrial_radiation": ra,
        "daylight_hours": et.daylight_hours(given["latitude"], given["day_of_year"]),
        "solar_radiation": rs,
        "clear_sky_radiation": rso,
        "net_long_wave": rnl,
        "net_radiation": 0.77 * rs - rnl,
        "reference_et": answer - stored,
    }


def function(name):
    return getattr(pyet, name.removeprefix("pyet.")) if name.startswith("pyet.") else getattr(et, name)


@pytest.mark.parametrize("example", PUBLISHED["equation"], ids=lambda e: f"{e['source']}: {e['call']}")
def test_equation(example):
    answer = float(function(example["call"])(**example["inputs"]))
    assert answer == pytest.approx(example["printed"], rel=0, abs=example["tolerance"] + BINARY)


def test_vapour_pressure_deficit():
    # FAO-56 ex. 6, p. 39: 0.91 kPa, tolerance half of the last digit.
    es = (et.saturation_vapour_pressure(25.0) + et.saturation_vapour_pressure(18.0)) / 2
    ea = et.actual_vapour_pressure_from_rh_max_min(25.0, 18.0, 82.0, 54.0)
    assert float(es - ea) == pytest.approx(0.91, rel=0, abs=0.005)


@pytest.mark.parametrize("example", PUBLISHED["day"], ids=lambda e: e["source"])
def test_day(example):
    found = steps(example["inputs"])
    for name, (printed, tolerance) in example["printed"].items():
        assert float(found[name]) == pytest.approx(printed, rel=0, abs=tolerance + BINARY), name


@pytest.mark.parametrize("row", PUBLISHED["greeley"]["rows"], ids=lambda row: f"day {row[0]}")
def test_greeley(row):
    station = PUBLISHED["greeley"]
    values = dict(zip(station["columns"], row, strict=True))
    given = {name: station[name] for name in ("latitude", "elevation", "wind_height")} | values
    found = steps(given)
    for name, tolerance in station["tolerance"].items():
        assert float(found[name]) == pytest.approx(values[name], rel=0, abs=tolerance + BINARY), name


def test_greeley_as_one_array():
    station = PUBLISHED["greeley"]
    table = dict(zip(station["columns"], np.array(station["rows"]).T, strict=True))
    answer = et.reference_et(
        table["tmax"],
        table["tmin"],
        ea=table["ea"],
        solar_radiation=table["solar_radiation"],
        wind_2m=et.wind_at_2m(table["wind"], station["wind_height"]),
        elevation=station["elevation"],
        latitude=station["latitude"],
        day_of_year=table["day_of_year"],
    )
    np.testing.assert_allclose(answer, table["reference_et"], rtol=0, atol=0.025)
