"""Salt against the worked example of FAO-56, which stands in salinity.toml."""

import tomllib
from pathlib import Path

import pytest

from scheduler.water.rootzone import water_stress_coefficient
from scheduler.water.salinity import combined_stress_coefficient, salt_stress_coefficient, soil_salinity
from tests.published.printed import half_digit

BEANS = tomllib.loads(Path(__file__).with_name("salinity.toml").read_text(encoding="utf-8"))["beans"]


def close(printed):
    return pytest.approx(float(printed), abs=half_digit(printed))


def test_example_39_soil_salinity():
    soil = soil_salinity(BEANS["water_salinity"], leaching_fraction=BEANS["leaching_fraction"])
    assert float(soil) == close(BEANS["printed_soil_salinity"])


@pytest.mark.parametrize(("depletion", "without_salt", "with_salt"), BEANS["rows"])
def test_example_39_stress(depletion, without_salt, with_salt):
    salt = salt_stress_coefficient(
        BEANS["soil_salinity"], threshold=BEANS["threshold"], slope=BEANS["slope"], ky=BEANS["ky"]
    )
    assert float(salt.coefficient) == close(BEANS["printed_salt_stress"])
    assert salt.within_range
    assert not salt.ky_assumed
    water = water_stress_coefficient(depletion, BEANS["taw"], raw=BEANS["raw"])
    assert float(water) == close(without_salt)
    assert float(combined_stress_coefficient(salt.coefficient, water)) == close(with_salt)
