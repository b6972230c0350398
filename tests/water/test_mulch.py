"""Mulches: ranges, directions and refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import RillbookError
from scheduler.water.mulch import (
    FILM_KC_REDUCTION,
    FILM_KCB_REDUCTION,
    film_basal_coefficient,
    film_coefficient,
    open_wetted_fraction,
    organic_coefficient,
    organic_evaporation_factor,
    organic_initial_coefficient,
)
from tests.water.slices import assert_slices_agree

SHARES = st.floats(0.0, 1.0)
COEFFICIENTS = st.floats(0.1, 1.3)


@settings(deadline=None)
@given(SHARES, SHARES)
def test_more_organic_mulch_means_less_evaporation(first, second):
    less, more = organic_evaporation_factor(sorted([first, second]))
    assert 0.5 <= more <= less <= 1.0


@settings(deadline=None)
@given(COEFFICIENTS, COEFFICIENTS, SHARES)
def test_organic_mulch_takes_evaporation_only(kc, kcb, cover):
    under = float(organic_coefficient(kc, cover, kcb=kcb))
    assert min(kc, kcb) <= under <= kc
    assert float(organic_coefficient(kc, 0.0, kcb=kcb)) == kc
    start = float(organic_initial_coefficient(kc, cover))
    assert 0.5 * kc <= start <= kc


def test_organic_mulch_by_hand():
    """1.15 - 0.5 x 0.8 x (1.15 - 1.05) = 1.11, and 0.7 x (1 - 0.5 x 0.8) = 0.42."""
    assert float(organic_coefficient(1.15, 0.8, kcb=1.05)) == pytest.approx(1.11)
    assert float(organic_initial_coefficient(0.7, 0.8)) == pytest.approx(0.42)


@settings(deadline=None)
@given(COEFFICIENTS, SHARES, SHARES, SHARES)
def test_film_lowers_in_proportion(kc, first, second, reduction):
    some, all_of_it = film_coefficient(kc, sorted([first, second]), reduction=reduction)
    assert 0.0 <= all_of_it <= some <= kc
    assert float(film_coefficient(kc, 0.0, reduction=reduction)) == kc
    assert float(film_basal_coefficient(kc, reduction=reduction)) <= kc


def test_film_that_is_told_nothing_takes_the_middle():
    assert float(film_coefficient(1.0)) == pytest.approx(1.0 - FILM_KC_REDUCTION)
    assert float(film_basal_coefficient(1.0)) == pytest.approx(1.0 - FILM_KCB_REDUCTION)
    assert 0.10 < FILM_KC_REDUCTION < 0.30
    assert 0.05 < FILM_KCB_REDUCTION < 0.15


@settings(deadline=None)
@given(SHARES, SHARES, st.floats(2.0, 3.0))
def test_open_ground_is_a_share_and_grows_with_holes(outside, holes, factor):
    wetted = open_wetted_fraction(outside, holes, hole_factor=np.array([factor, factor + 1.0]))
    assert np.all((wetted >= outside) & (wetted <= 1.0))
    assert wetted[1] >= wetted[0]
    assert float(open_wetted_fraction(outside, 0.0)) == outside


def test_open_ground_by_hand():
    """0.05 of the ground outside, 0.02 in holes that count three times: 0.11."""
    assert float(open_wetted_fraction(0.05, 0.02)) == pytest.approx(0.11)


@pytest.mark.parametrize("share", [50.0, -0.1, float("nan"), [0.5, 1.5]])
def test_share_that_is_none_is_refused(share):
    calls = [
        lambda: organic_evaporation_factor(share),
        lambda: organic_initial_coefficient(0.5, share),
        lambda: organic_coefficient(1.0, share, kcb=0.9),
        lambda: film_coefficient(1.0, share),
        lambda: film_coefficient(1.0, reduction=share),
        lambda: film_basal_coefficient(1.0, reduction=share),
        lambda: open_wetted_fraction(share, 0.0),
        lambda: open_wetted_fraction(0.0, share),
    ]
    for call in calls:
        with pytest.raises(RillbookError, match=r"outside 0\.\.1"):
            call()


@pytest.mark.parametrize("factor", [1.9, 4.1, float("nan")])
def test_factor_for_holes_out_of_its_range_is_refused(factor):
    with pytest.raises(RillbookError, match="factor for holes"):
        open_wetted_fraction(0.1, 0.01, hole_factor=factor)


def test_scalars_agree_with_arrays():
    kc, share = np.array([0.4, 1.0, 1.2]), np.array([0.0, 0.3, 1.0])
    assert_slices_agree(organic_evaporation_factor, {"cover": share})
    assert_slices_agree(organic_initial_coefficient, {"kc_ini": kc, "cover": share})
    assert_slices_agree(organic_coefficient, {"kc": kc, "cover": share, "kcb": kc - 0.1})
    assert_slices_agree(film_coefficient, {"kc": kc, "covered": share})
    assert_slices_agree(film_basal_coefficient, {"kcb": kc, "reduction": share})
    assert_slices_agree(open_wetted_fraction, {"wetted_outside": share, "holes": share / 10.0})
