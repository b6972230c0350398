"""Sparse stands and single rows: ranges, directions, limits and refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import RillbookError
from scheduler.water.stand import (
    GREATEST_ISOLATED_KC,
    KC_MIN,
    cover_reduction,
    effective_cover,
    effective_cover_of_crowns,
    full_cover_coefficient,
    height_width_ratio,
    isolated_row_coefficient,
    leaf_area_coefficient,
    leaf_area_index,
    reduced_for_cover,
    sparse_basal_coefficient,
    stomatal_factor,
)
from tests.water.slices import assert_slices_agree

SHARES = st.floats(0.0, 1.0)
HEIGHTS = st.floats(0.05, 5.0)
LATITUDES = st.floats(-90.0, 90.0)
DAYS = st.integers(1, 366)
FULL = st.floats(0.9, 1.4)
#: Rounding may turn a step the wrong way by this much.
HAIR = 1e-12


@settings(deadline=None)
@given(SHARES, SHARES, st.floats(0.05, 1.0))
def test_thinner_stands_are_reduced_more(first, second, dense):
    thin, thick = sorted([first, second])
    reductions = cover_reduction([thin, thick], dense)
    assert np.all((reductions >= 0.0) & (reductions <= 1.0))
    assert reductions[0] >= reductions[1]
    assert float(cover_reduction(dense, dense)) == 0.0
    assert float(cover_reduction(0.0, dense)) == 1.0
    assert float(reduced_for_cover(0.5, cover=0.0, dense_cover=dense)) == 0.0


@settings(deadline=None)
@given(SHARES, SHARES, HEIGHTS, FULL)
def test_sparse_coefficient_lies_between_bare_and_full(first, second, height, full):
    thin, thick = sorted([first, second])
    kcb = sparse_basal_coefficient(
        full, cover=np.array([thin, thick]), effective_cover=np.array([thin, thick]), height=height
    )
    assert np.all((kcb >= KC_MIN - HAIR) & (kcb <= full + HAIR))
    assert kcb[0] <= kcb[1] + HAIR


def test_closed_and_bare_stands():
    closed = sparse_basal_coefficient(1.15, cover=1.0, effective_cover=1.0, height=0.5)
    assert float(closed) == pytest.approx(1.15)
    bare = sparse_basal_coefficient(1.15, cover=0.0, effective_cover=0.0, height=0.5, kc_min=0.2)
    assert float(bare) == pytest.approx(0.2)


@settings(deadline=None)
@given(SHARES, HEIGHTS, FULL)
def test_taller_plants_use_more_at_the_same_cover(cover, height, full):
    lower, higher = sparse_basal_coefficient(
        full, cover=cover, effective_cover=cover, height=np.array([height, height + 0.5])
    )
    assert higher >= lower - HAIR


@settings(deadline=None)
@given(st.floats(0.0, 12.0), FULL)
def test_leaf_area_and_coefficient_turn_back(leaves, full):
    kcb = leaf_area_coefficient(leaves, kcb_full=full)
    assert KC_MIN <= float(kcb) < full
    assert float(leaf_area_index(kcb, kcb_full=full)) == pytest.approx(leaves, abs=1e-9)
    assert float(leaf_area_coefficient(leaves + 0.5, kcb_full=full)) > float(kcb)


def test_coefficient_below_bare_ground_means_no_leaves():
    assert float(leaf_area_index(0.10, kcb_full=1.15)) == 0.0


@pytest.mark.parametrize(("kcb", "kc_min"), [(1.15, 0.15), (1.3, 0.15), (float("nan"), 0.15), (0.3, 1.2)])
def test_coefficient_that_full_cover_does_not_reach_is_refused(kcb, kc_min):
    with pytest.raises(RillbookError, match="not below full cover"):
        leaf_area_index(kcb, kcb_full=1.15, kc_min=kc_min)


@settings(deadline=None)
@given(SHARES, LATITUDES, DAYS, st.floats(0.0, 3.0))
def test_shaded_ground_is_a_share_and_no_less_than_covered_ground(cover, latitude, day, ratio):
    rows = effective_cover(cover, latitude, day_of_year=day, height_width_ratio=np.array([ratio, ratio + 1]))
    crowns = effective_cover_of_crowns(cover, latitude, day_of_year=day)
    for shaded in (*rows, crowns):
        assert cover <= shaded + HAIR
        assert shaded <= 1.0
    assert rows[1] >= rows[0]


def test_shadows_are_longer_in_winter_and_endless_in_the_polar_night():
    summer, winter = effective_cover(0.2, 45.0, day_of_year=np.array([172, 355]), height_width_ratio=1.0)
    assert winter > summer
    assert effective_cover([0.0, 0.1], 80.0, day_of_year=355, height_width_ratio=1.0).tolist() == [0.0, 1.0]
    assert effective_cover_of_crowns([0.0, 0.1], 80.0, day_of_year=355).tolist() == [0.0, 1.0]


def test_rows_from_north_to_south_cast_no_shadow_beside_themselves():
    assert float(height_width_ratio(1.5, 0.5, row_angle=90.0)) == pytest.approx(0.0, abs=1e-12)
    assert float(height_width_ratio(1.5, 0.5, row_angle=0.0)) == pytest.approx(3.0)
    assert float(height_width_ratio(1.5, 0.5, row_angle=-60.0)) == pytest.approx(1.5)
    assert float(height_width_ratio(1.5, 0.5, row_angle=180.0)) == pytest.approx(3.0)


@pytest.mark.parametrize("cover", [30.0, -0.1, float("nan"), [0.2, 1.1]])
def test_cover_that_is_no_share_is_refused(cover):
    with pytest.raises(RillbookError, match=r"ground cover .* outside 0\.\.1"):
        effective_cover(cover, 45.0, day_of_year=180, height_width_ratio=1.0)
    with pytest.raises(RillbookError, match="ground cover"):
        effective_cover_of_crowns(cover, 45.0, day_of_year=180)
    with pytest.raises(RillbookError, match="ground cover"):
        sparse_basal_coefficient(1.15, cover=cover, effective_cover=0.5, height=1.0)
    with pytest.raises(RillbookError, match="ground cover"):
        sparse_basal_coefficient(1.15, cover=0.5, effective_cover=cover, height=1.0)


@settings(deadline=None)
@given(HEIGHTS, st.floats(0.0, 8.0), st.floats(10.0, 90.0))
def test_full_cover_follows_height_and_climate(height, wind, humidity):
    low, high = full_cover_coefficient(np.array([height, height + 0.2]), 2.0, rh_min=45.0)
    assert 1.0 < low <= high <= 1.2
    here = float(full_cover_coefficient(height, wind, rh_min=humidity))
    assert float(full_cover_coefficient(height, wind + 1.0, rh_min=humidity)) >= here
    assert float(full_cover_coefficient(height, wind, rh_min=humidity + 5.0)) <= here


@settings(deadline=None)
@given(st.floats(20.0, 1000.0), st.floats(0.0, 8.0), st.floats(0.0, 45.0), st.floats(0.0, 3000.0))
def test_closed_stomata_lower_use(resistance, wind, temperature, elevation):
    factors = stomatal_factor(
        np.array([resistance, resistance + 50.0]), wind, temperature=temperature, elevation=elevation
    )
    assert np.all((factors > 0.0) & (factors <= 1.0))
    assert factors[1] <= factors[0]


def test_full_cover_by_hand():
    """Eq. 101: 1.0 + 0.1 x 0.5 = 1.05 and 1.0 + 0.1 x 1.5 = 1.15; from 2 m on 1.20."""
    by_height = full_cover_coefficient(np.array([0.5, 1.5, 2.0, 4.0]), 2.0, rh_min=45.0)
    assert by_height == pytest.approx([1.05, 1.15, 1.20, 1.20])


def test_usual_stomata_leave_use_alone():
    factors = stomatal_factor(np.array([50.0, 100.0, 101.0]), 2.0, temperature=20.0, elevation=0.0)
    assert factors[0] == factors[1] == 1.0 > factors[2]


@settings(deadline=None)
@given(HEIGHTS, st.floats(0.2, 20.0), st.floats(0.1, 1.0))
def test_row_alone_lies_between_a_field_and_the_limit(height, width, factor):
    kc = isolated_row_coefficient(height, np.array([width, 2.0 * width]), stomatal_factor=factor)
    assert np.all((kc > 1.2) & (kc <= GREATEST_ISOLATED_KC))
    assert kc[1] <= kc[0]
    assert float(isolated_row_coefficient(height + 1.0, width, stomatal_factor=factor)) >= kc[0]


@pytest.mark.parametrize("width", [0.0, -1.0, float("nan")])
def test_row_without_width_is_refused(width):
    with pytest.raises(RillbookError, match="width of a row"):
        isolated_row_coefficient(1.0, width)


def test_scalars_agree_with_arrays():
    cover, height = np.array([0.1, 0.4, 0.9]), np.array([0.3, 1.0, 2.5])
    days, places = np.array([1, 180, 300]), np.array([-35.0, 10.0, 52.0])
    assert_slices_agree(cover_reduction, {"cover": cover, "dense_cover": np.array([0.8, 0.9, 0.85])})
    assert_slices_agree(reduced_for_cover, {"kc": height, "cover": cover}, dense_cover=0.9)
    assert_slices_agree(
        effective_cover, {"cover": cover, "latitude": places, "day_of_year": days}, height_width_ratio=0.8
    )
    assert_slices_agree(effective_cover_of_crowns, {"cover": cover, "latitude": places, "day_of_year": days})
    assert_slices_agree(
        sparse_basal_coefficient, {"cover": cover, "height": height}, kcb_full=1.1, effective_cover=0.6
    )
    assert_slices_agree(leaf_area_index, {"kcb": cover}, kcb_full=1.1)
    assert_slices_agree(leaf_area_coefficient, {"leaf_area": height}, kcb_full=1.1)
    assert_slices_agree(full_cover_coefficient, {"height": height, "wind_2m": height}, rh_min=40.0)
    assert_slices_agree(isolated_row_coefficient, {"height": height, "width": cover})
    assert_slices_agree(
        stomatal_factor,
        {"leaf_resistance": 100.0 * height, "wind_2m": height},
        temperature=20.0,
        elevation=100.0,
    )
