"""Yield and water against the worked example of FAO-56, which stands in yield_response.toml."""

import tomllib
from pathlib import Path

import pytest

from scheduler.water.yield_response import relative_yield, stress_from_yield
from tests.published.printed import half_digit

BEANS = tomllib.loads(Path(__file__).with_name("yield_response.toml").read_text(encoding="utf-8"))["beans"]


def test_example_44_stress_from_a_yield_and_back():
    left = BEANS["yield_kg_per_ha"] / BEANS["greatest_yield_kg_per_ha"]
    stress = stress_from_yield(left, BEANS["ky"])
    assert float(stress) == pytest.approx(
        float(BEANS["printed_stress"]), abs=half_digit(BEANS["printed_stress"])
    )
    assert float(relative_yield(stress, BEANS["ky"])) == pytest.approx(left, abs=1e-12)
