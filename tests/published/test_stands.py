"""Sparse stands and shared beds against the worked examples of FAO-56, which stand in stands.toml."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from scheduler.water.air import vapour_pressure_slope
from scheduler.water.crop import adjust_for_climate
from scheduler.water.mixture import height_weighted_coefficient, overlapping_coefficient
from scheduler.water.stand import (
    cover_reduction,
    effective_cover,
    effective_cover_of_crowns,
    full_cover_coefficient,
    isolated_row_coefficient,
    leaf_area_index,
    reduced_for_cover,
    sparse_basal_coefficient,
    stomatal_factor,
)
from scheduler.water.sun import noon_altitude, solar_declination
from tests.published.printed import half_digit

DATA = tomllib.loads(Path(__file__).with_name("stands.toml").read_text(encoding="utf-8"))
THIN, TREES, ABOVE = DATA["thin"], DATA["trees"], DATA["above"]


def close(printed, tolerance=None):
    return pytest.approx(float(printed), abs=half_digit(printed, tolerance))


def adjusted(kc):
    """Return a coefficient in the climate of example 40."""
    return adjust_for_climate(kc, THIN["wind_2m"], rh_min=THIN["rh_min"], height=THIN["height"])


def test_example_40_first_guess():
    reduction = cover_reduction(THIN["cover"], THIN["dense_cover"])
    assert float(reduction) == close(THIN["printed_reduction"])
    for name in ("kc", "kcb"):
        dense = adjusted(THIN[f"{name}_mid"])
        assert float(dense) == close(THIN[f"printed_{name}_dense"])
        thin = reduced_for_cover(dense, cover=THIN["cover"], dense_cover=THIN["dense_cover"])
        assert float(thin) == close(THIN[f"printed_{name}"], THIN["tolerance"])


def test_example_41_natural_vegetation():
    case = DATA["natural"]
    altitude = noon_altitude(case["latitude"], case["day_of_year"])
    assert float(solar_declination(case["day_of_year"])) == close(case["printed_declination"])
    assert float(np.sin(altitude)) == close(case["printed_sine"])
    assert float(altitude) == close(case["printed_altitude"])
    assert float(np.tan(altitude)) == close(case["printed_tangent"], case["tangent_tolerance"])
    shaded = effective_cover(
        case["cover"],
        case["latitude"],
        day_of_year=case["day_of_year"],
        height_width_ratio=case["height_width_ratio"],
    )
    assert float(shaded) == close(case["printed_effective_cover"], case["effective_cover_tolerance"])
    # A humidity of 45 % and a wind of 2 m/s leave eq. 101 alone.
    assert float(full_cover_coefficient(case["height"], 2.0, rh_min=45.0)) == close(case["printed_by_height"])
    full = full_cover_coefficient(case["height"], case["wind_2m"], rh_min=case["rh_min"])
    assert float(full) == close(case["printed_full"])
    kcb = sparse_basal_coefficient(
        full,
        cover=case["cover"],
        effective_cover=shaded,
        height=case["height"],
        kc_min=case["kc_min"],
    )
    assert float(kcb) == close(case["printed_kcb"])


def test_example_42_tomato():
    case = DATA["staked"]
    altitude = noon_altitude(case["latitude"], case["day_of_year"])
    assert float(np.sin(altitude)) == close(case["printed_sine"])
    assert float(altitude) == close(case["printed_altitude"])
    shaded = effective_cover(
        case["cover"],
        case["latitude"],
        day_of_year=case["day_of_year"],
        height_width_ratio=case["height_width_ratio"],
    )
    assert float(shaded) == close(case["printed_effective_cover"])
    full = adjusted(THIN["kcb_mid"])
    assert float(full) == close(case["printed_full"])
    kcb = sparse_basal_coefficient(full, cover=case["cover"], effective_cover=shaded, height=case["height"])
    assert float(kcb) == close(case["printed_kcb"], case["tolerance"])


def test_example_43_sun_and_stomata():
    altitude = noon_altitude(TREES["latitude"], TREES["day_of_year"])
    assert float(solar_declination(TREES["day_of_year"])) == close(TREES["printed_declination"])
    assert float(np.sin(altitude)) == close(TREES["printed_sine"])
    assert float(full_cover_coefficient(TREES["height"], 2.0, rh_min=45.0)) == close(
        TREES["printed_by_height"]
    )
    assert float(vapour_pressure_slope(TREES["temperature"])) == close(TREES["printed_slope"])
    assert float(olive_factor()) == close(TREES["printed_factor"])


def olive_factor():
    return stomatal_factor(
        TREES["leaf_resistance"],
        TREES["wind_2m"],
        temperature=TREES["temperature"],
        elevation=TREES["elevation"],
    )


@pytest.mark.parametrize("case", TREES["spacing"], ids=lambda case: f"{case['area']:.0f} m2")
def test_example_43_olives(case):
    cover = np.pi / 4.0 * TREES["crown_diameter"] ** 2 / case["area"]
    assert cover == close(case["printed_cover"])
    shaded = effective_cover_of_crowns(cover, TREES["latitude"], day_of_year=TREES["day_of_year"])
    assert float(shaded) == close(case["printed_effective_cover"])
    full = full_cover_coefficient(TREES["height"], TREES["wind_2m"], rh_min=TREES["rh_min"])
    assert float(full) == close(TREES["printed_full"])
    kcb = sparse_basal_coefficient(full, cover=cover, effective_cover=shaded, height=TREES["height"])
    assert float(kcb) == close(case["printed_kcb"], case.get("tolerance"))
    assert float(olive_factor() * kcb) == close(case["printed_reduced"], case.get("tolerance"))


def test_example_46_beside_each_other():
    case = DATA["beside"]
    for cover in (case["cover"], case["by_row_spacing"]):
        kc = height_weighted_coefficient(
            case["kc"], cover=cover, height=case["height"], greatest=case["greatest"]
        )
        assert float(kc) == close(case["printed"], case["tolerance"])
    level = height_weighted_coefficient(
        case["kc"], cover=case["cover"], height=[1.0, 1.0], greatest=case["greatest"]
    )
    assert float(level) == close(case["printed_without_height"])


def test_example_47_above_each_other():
    def in_climate(kc):
        return adjust_for_climate(kc, ABOVE["wind_2m"], rh_min=ABOVE["rh_min"], height=ABOVE["height"])

    kc, full = in_climate(ABOVE["kc"]), in_climate(ABOVE["full"])
    leaves = leaf_area_index(kc, kcb_full=full, kc_min=ABOVE["kc_min"])
    for plant in range(2):
        assert kc[plant] == close(ABOVE["printed_kc"][plant])
        assert full[plant] == close(ABOVE["printed_full"][plant])
        assert leaves[plant] == close(ABOVE["printed_leaf_area"][plant])
    assert leaves.sum() == close(ABOVE["printed_sum"], ABOVE["sum_tolerance"])
    both = overlapping_coefficient(kc, kcb_full=full, greatest=ABOVE["greatest"], kc_min=ABOVE["kc_min"])
    assert float(both) == close(ABOVE["printed"], ABOVE["tolerance"])


@pytest.mark.parametrize(("height", "width", "by_hand"), DATA["row"]["rows"])
def test_equation_105_by_hand(height, width, by_hand):
    assert float(isolated_row_coefficient(height, width)) == pytest.approx(by_hand, abs=1e-12)
