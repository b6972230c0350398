"""Crop coefficients against the worked examples of FAO-56, which stand in crop_coefficients.toml."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from scheduler.water.balance import step
from scheduler.water.crop import adjust_for_climate, crop_coefficient, stage_progress
from tests.published.printed import half_digit
from tests.water.beds import conditions, soil

DATA = tomllib.loads(Path(__file__).with_name("crop_coefficients.toml").read_text(encoding="utf-8"))
DECADES = DATA["decades"]


def coefficient_on(day, case):
    initial, development, mid, late = case["stages"]
    progress = stage_progress(day, initial, development=development, mid=mid, late=late)
    kc_ini, kc_mid, kc_end = case["kc"]
    return crop_coefficient(*progress, kc_ini=kc_ini, kc_mid=kc_mid, kc_end=kc_end)


@pytest.mark.parametrize("case", DATA["climate"], ids=lambda case: case["source"])
def test_coefficient_adjusted_for_climate(case):
    adjusted = adjust_for_climate(case["kc"], case["wind_2m"], rh_min=case["rh_min"], height=case["height"])
    assert float(adjusted) == pytest.approx(float(case["printed"]), abs=half_digit(case["printed"]))


@pytest.mark.parametrize("case", DATA["curve"], ids=lambda case: case["source"])
def test_coefficient_on_a_day(case):
    for day, printed in case["days"]:
        allowed = half_digit(printed, case.get("tolerance"))
        assert float(coefficient_on(day, case)) == pytest.approx(float(printed), abs=allowed), f"day {day}"


def decade_days(number):
    """Return the days of a decade, the first being decade 1."""
    return np.arange(10 * number - 9, 10 * number + 1)


def test_figure_36_coefficients():
    for number, printed in enumerate(DECADES["printed_kc"], 1):
        kc = coefficient_on(decade_days(number), DECADES)
        if number == DECADES["averaged"]:
            assert kc.mean() == pytest.approx(float(printed), abs=DECADES["averaged_tolerance"])
        else:
            value = kc[DECADES["day_of_decade"] - 1]
            assert value == pytest.approx(float(printed), abs=half_digit(printed)), f"decade {number}"


def test_figure_36_crop_use_from_a_full_soil():
    """Kc times ETo, eq. 58, as the balance draws it where nothing holds the crop back."""
    demand = np.array([float(kc) for kc in DECADES["printed_kc"]]) * np.array(DECADES["reference_et"])
    drawn = step(soil(reach=100.0), conditions(basal=demand, taw=100.0, raw=50.0), applied=0.0).transpiration
    for value, printed in zip(drawn, DECADES["printed_et_crop"], strict=True):
        assert value == pytest.approx(float(printed), abs=half_digit(printed))
