"""Mulches against the figures of FAO-56, which stand in mulch.toml."""

import tomllib
from pathlib import Path

import pytest

from scheduler.water.mulch import (
    FILM_EFFECTS,
    FILM_KC_INI,
    film_basal_coefficient,
    film_coefficient,
    organic_evaporation_factor,
)
from tests.published.printed import half_digit

DATA = tomllib.loads(Path(__file__).with_name("mulch.toml").read_text(encoding="utf-8"))
ROWS = DATA["effects"]["rows"]


def close(case):
    return pytest.approx(float(case["printed"]), abs=half_digit(case["printed"], case.get("tolerance")))


def test_text_half_covered_by_an_organic_mulch():
    case = DATA["organic"]
    reduction = 100.0 * (1.0 - float(organic_evaporation_factor(case["cover"])))
    assert reduction == pytest.approx(float(case["printed_reduction"]), abs=1e-9)


@pytest.mark.parametrize("case", DATA["film"]["single"], ids=lambda case: case["printed"])
def test_example_45_single_coefficient(case):
    assert float(film_coefficient(case["kc"], reduction=case["reduction"])) == close(case)


@pytest.mark.parametrize("case", DATA["film"]["basal"], ids=lambda case: case["printed"])
def test_example_45_basal_coefficient(case):
    """The example takes the middle of the range, as the function does where it is told nothing."""
    assert float(film_basal_coefficient(case["kcb"])) == close(case)


def test_example_45_initial_coefficient():
    assert float(DATA["film"]["kc_ini"]) == FILM_KC_INI


def test_table_25_has_the_same_crops():
    assert sorted(FILM_EFFECTS) == sorted(ROWS)


@pytest.mark.parametrize("crop", ROWS)
def test_table_25(crop):
    for held, printed in zip(FILM_EFFECTS[crop], ROWS[crop], strict=True):
        assert (None if held is None else [100.0 * share for share in held]) == (
            pytest.approx(printed, abs=1e-9) if printed else None
        )
