"""Sun, air and the sky's light against published figures, which stand in sun.toml."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from scheduler.water.air import psychrometric_constant, radiation_weight, vapour_pressure_slope
from scheduler.water.shade import beam_share
from scheduler.water.sun import (
    daylight_hours,
    extraterrestrial_radiation,
    radiation_between,
    solar_declination,
    sunset_hour_angle,
)
from tests.published.printed import half_digit

DATA = tomllib.loads(Path(__file__).with_name("sun.toml").read_text(encoding="utf-8"))


def check(case, name, value):
    """Compare with the printed figure of a case, where it has one."""
    printed = case.get(f"printed_{name}")
    if printed is None:
        return 0
    allowed = half_digit(printed, case.get(f"{name}_tolerance"))
    assert float(value) == pytest.approx(float(printed), abs=allowed), name
    return 1


@pytest.mark.parametrize("case", DATA["day"], ids=lambda case: case["source"])
def test_day(case):
    place = (case["latitude"], case["day_of_year"])
    checked = [
        check(case, "declination", solar_declination(case["day_of_year"])),
        check(case, "sunset", sunset_hour_angle(*place)),
        check(case, "radiation", extraterrestrial_radiation(*place)),
        check(case, "daylight", daylight_hours(*place)),
    ]
    assert sum(checked) == sum(name.startswith("printed_") for name in case)


def test_example_19_an_hour():
    case = DATA["hour"]
    start, end = (case[name] * 12.0 / np.pi for name in ("start_angle", "end_angle"))
    value = radiation_between(start, end, latitude=case["latitude"], day_of_year=case["day_of_year"])
    assert check(case, "radiation", value)


@pytest.mark.parametrize("case", DATA["air"], ids=lambda case: case["source"])
def test_air(case):
    checked = check(case, "gamma", psychrometric_constant(case["elevation"]))
    if "temperature" in case:
        checked += check(case, "slope", vapour_pressure_slope(case["temperature"]))
        weight = radiation_weight(case["temperature"], case["wind_2m"], elevation=case["elevation"])
        checked += check(case, "weight", weight)
    assert checked == sum(name.startswith("printed_") for name in case)


@pytest.mark.parametrize(("daylight", "clearness", "diffuse"), DATA["diffuse"]["rows"])
def test_diffuse_share_of_a_day(daylight, clearness, diffuse):
    beam = beam_share(clearness, daylight=daylight)
    assert float(beam) == pytest.approx(1.0 - diffuse, abs=DATA["diffuse"]["tolerance"])
