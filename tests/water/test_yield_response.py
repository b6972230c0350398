"""Yield and water: ranges, directions, the range of what is likely, and refusals."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import RillbookError
from scheduler.water.yield_response import (
    relative_yield,
    relative_yield_by_stages,
    relative_yield_range,
    stress_from_yield,
)
from tests.water.slices import assert_slices_agree

RATIOS = st.floats(0.0, 1.3)
KY = st.floats(0.3, 1.6)


@settings(deadline=None)
@given(RATIOS, RATIOS, KY)
def test_more_water_means_no_less_yield(first, second, ky):
    dry, wet = relative_yield(sorted([first, second]), ky)
    assert 0.0 <= dry <= wet <= 1.0
    assert float(relative_yield(first, ky + 0.1)) <= float(relative_yield(first, ky))


@settings(deadline=None)
@given(st.floats(0.0, 1.0), KY)
def test_yield_and_stress_turn_back(ratio, ky):
    left = float(relative_yield(ratio, ky))
    stress = float(stress_from_yield(left, ky))
    assert 0.0 <= stress <= 1.0
    # Where all yield is lost the stress may have been any that loses all of it.
    assert stress == pytest.approx(ratio, abs=1e-9) if left > 0.0 else stress >= ratio - 1e-9


@settings(deadline=None)
@given(st.lists(st.tuples(RATIOS, KY), min_size=1, max_size=4))
def test_stages_together_are_no_better_than_the_worst(stages):
    ratios, factors = np.array(stages).T
    together = float(relative_yield_by_stages(ratios, factors))
    assert 0.0 <= together <= relative_yield(ratios, factors).min()


def test_stages_by_hand():
    """(1 - 0.2 x 0.5) (1 - 1.1 x 0.2) = 0.9 x 0.78 = 0.702; a stage in full leaves it so."""
    assert float(relative_yield_by_stages([0.5, 0.8, 1.0], [0.2, 1.1, 0.7])) == pytest.approx(0.702)
    assert relative_yield_by_stages(np.ones((4, 3)), [0.2, 1.1, 0.7]).tolist() == [1.0] * 4


@settings(deadline=None)
@given(RATIOS, KY, st.floats(0.0, 0.9), st.floats(0.0, 0.5))
def test_range_holds_the_middle_and_widens(ratio, ky, ky_off, ratio_off):
    likely = relative_yield_range(ratio, ky, ky_uncertainty=ky_off, et_ratio_uncertainty=ratio_off)
    assert 0.0 <= likely.low <= likely.middle <= likely.high <= 1.0
    assert likely.middle == relative_yield(ratio, ky)
    wider = relative_yield_range(
        ratio, ky, ky_uncertainty=ky_off + 0.05, et_ratio_uncertainty=ratio_off + 0.05
    )
    assert wider.low <= likely.low
    assert wider.high >= likely.high


def test_range_by_hand():
    """1 - 1.2 x 0.25 = 0.70; 1 - 1.0 x 0.20 = 0.80; 1 - 0.8 x 0.15 = 0.88."""
    likely = relative_yield_range(0.8, 1.0, ky_uncertainty=0.2, et_ratio_uncertainty=0.05)
    assert [float(end) for end in likely] == pytest.approx([0.70, 0.80, 0.88])


@pytest.mark.parametrize("ky", [0.0, -1.0, float("nan"), [1.0, 0.0]])
def test_response_that_is_not_positive_is_refused(ky):
    for call in (
        lambda: relative_yield(0.8, ky),
        lambda: stress_from_yield(0.8, ky),
        lambda: relative_yield_range(0.8, ky, ky_uncertainty=0.1, et_ratio_uncertainty=0.1),
    ):
        with pytest.raises(RillbookError, match="yield response factor"):
            call()


@pytest.mark.parametrize("ratio", [-0.1, float("nan")])
def test_ratio_that_is_none_is_refused(ratio):
    with pytest.raises(RillbookError, match="ratio of crop use"):
        relative_yield(ratio, 1.0)


@pytest.mark.parametrize("left", [-0.1, 61.0, float("nan")])
def test_yield_that_is_no_share_is_refused(left):
    with pytest.raises(RillbookError, match="relative yield"):
        stress_from_yield(left, 1.0)


@pytest.mark.parametrize(("ky_off", "ratio_off"), [(1.0, 0.1), (-0.1, 0.1), (0.1, -0.1), (np.nan, 0.1)])
def test_uncertainty_out_of_its_range_is_refused(ky_off, ratio_off):
    with pytest.raises(RillbookError, match="uncertainty"):
        relative_yield_range(0.8, 1.0, ky_uncertainty=ky_off, et_ratio_uncertainty=ratio_off)


def test_scalars_agree_with_arrays():
    ratio, ky = np.array([0.0, 0.7, 1.0]), np.array([1.15, 0.8, 1.05])
    assert_slices_agree(relative_yield, {"et_ratio": ratio, "ky": ky})
    assert_slices_agree(stress_from_yield, {"relative": ratio, "ky": ky})
    assert_slices_agree(
        relative_yield_range, {"et_ratio": ratio, "ky": ky}, ky_uncertainty=0.2, et_ratio_uncertainty=0.1
    )
