"""Which beds to lay otherwise: the search against trying everything, ties, and refusals."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.errors import RillbookError
from scheduler.layout.advice import BedOptions, least_waste

#: Litres by which sums of rounded terms may differ: half a millilitre for each of five beds, twice.
ROUNDING = 0.005


def one_bed(need: float, *ways: tuple[float, float, float]) -> BedOptions:
    """Return a bed of (flow, stored share, tube) for each way."""
    flow, stored, tube = zip(*ways, strict=True)
    return BedOptions(need, flow, stored, tube)


def waste_of(beds: list[BedOptions], chosen: tuple[int, ...]) -> float:
    """Return the waste of one way to lay all beds, worked in depths of need."""
    times = [60 * bed.need / (bed.flow[c] * bed.stored[c]) for bed, c in zip(beds, chosen, strict=True)]
    longest = max(times)
    flows = [bed.flow[c] for bed, c in zip(beds, chosen, strict=True)]
    return sum(flow * (longest - time) / 60 for flow, time in zip(flows, times, strict=True))


def by_trying_everything(beds: list[BedOptions], changes: int) -> float:
    """Return the least waste of all ways with at most so many changes."""
    ways = product(*(range(len(bed.flow)) for bed in beds))
    return min(waste_of(beds, way) for way in ways if sum(c != 0 for c in way) <= changes)


WAYS = st.tuples(st.floats(1.0, 200.0), st.floats(0.5, 1.0), st.sampled_from([0.0, 3.0, 6.0, 12.0]))
BEDS = st.lists(
    st.builds(
        lambda need, ways: one_bed(need, *ways), st.floats(1.0, 300.0), st.lists(WAYS, min_size=1, max_size=4)
    ),
    min_size=1,
    max_size=5,
)
#: Few distinct figures, so that ties are common.
COARSE_WAYS = st.tuples(st.sampled_from([10.0, 20.0, 30.0]), st.just(0.9), st.sampled_from([3.0, 6.0]))
COARSE = st.lists(
    st.builds(
        lambda need, ways: one_bed(need, *ways),
        st.sampled_from([18.0, 27.0, 36.0]),
        st.lists(COARSE_WAYS, min_size=1, max_size=4),
    ),
    min_size=1,
    max_size=4,
)


@settings(max_examples=300, deadline=None)
@given(beds=BEDS, changes=st.integers(0, 5))
def test_nothing_wastes_less_than_what_is_found(beds: list[BedOptions], changes: int) -> None:
    found = least_waste(beds, changes=changes)
    assert found.changes <= changes
    assert found.waste == pytest.approx(waste_of(beds, found.chosen), abs=1e-9, rel=1e-9)
    assert found.waste == pytest.approx(by_trying_everything(beds, changes), abs=ROUNDING)


@settings(max_examples=300, deadline=None)
@given(beds=COARSE, changes=st.integers(0, 4))
def test_of_equal_ways_fewer_changes_then_less_tube(beds: list[BedOptions], changes: int) -> None:
    def cost(chosen: tuple[int, ...]) -> tuple[float, int, float]:
        tube = sum(bed.tube[c] for bed, c in zip(beds, chosen, strict=True))
        return round(waste_of(beds, chosen), 3), sum(c != 0 for c in chosen), tube

    ways = product(*(range(len(bed.flow)) for bed in beds))
    best = min(cost(way) for way in ways if sum(c != 0 for c in way) <= changes)
    assert cost(least_waste(beds, changes=changes).chosen) == pytest.approx(best)


@settings(max_examples=100, deadline=None)
@given(beds=BEDS)
def test_more_changes_never_waste_more(beds: list[BedOptions]) -> None:
    wastes = [least_waste(beds, changes=changes).waste for changes in range(len(beds) + 1)]
    assert all(after <= before + ROUNDING for before, after in zip(wastes, wastes[1:], strict=False))


def test_two_beds_by_hand() -> None:
    # 60 L at 60 L/h and 0.5 kept: 2 h. 30 L at 60 L/h and 0.5 kept: 1 h, so 60 L too much in 2 h.
    thirsty = one_bed(60.0, (60.0, 0.5, 10.0), (120.0, 0.5, 20.0))
    modest = one_bed(30.0, (60.0, 0.5, 10.0))
    as_is = least_waste([thirsty, modest], changes=0)
    assert (as_is.chosen, as_is.minutes, as_is.waste, as_is.volume) == ((0, 0), 120.0, 60.0, 240.0)
    after = least_waste([thirsty, modest], changes=1)
    assert (after.chosen, after.minutes, after.waste, after.volume) == ((1, 0), 60.0, 0.0, 180.0)
    assert after.changes == 1


def test_one_change_cannot_do_what_two_can() -> None:
    slow = one_bed(20.0, (20.0, 1.0, 5.0), (40.0, 1.0, 5.0))
    fast = one_bed(20.0, (40.0, 1.0, 5.0))
    beds = [slow, slow, fast]
    assert [least_waste(beds, changes=k).waste for k in (0, 1, 2, 3)] == pytest.approx([20.0, 20.0, 0.0, 0.0])
    # One change alone gains nothing, so none is advised.
    assert least_waste(beds, changes=1).changes == 0
    assert least_waste(beds, changes=3).changes == 2


def test_of_two_changes_that_save_as_much_the_one_with_less_tube() -> None:
    slow = one_bed(40.0, (20.0, 1.0, 5.0))
    much, little = (one_bed(10.0, (20.0, 1.0, 5.0), (10.0, 1.0, tube)) for tube in (20.0, 4.0))
    assert least_waste([slow, much, little], changes=1).chosen == (0, 0, 1)
    assert least_waste([slow, little, much], changes=1).chosen == (0, 1, 0)


def test_a_dozen_beds_with_a_dozen_ways() -> None:
    beds = [
        one_bed(
            50.0 + 7 * b, *((20.0 + 5 * ((3 * b + 5 * w) % 13), 0.8 + 0.01 * w, 3.0 + w) for w in range(12))
        )
        for b in range(12)
    ]
    wastes = [least_waste(beds, changes=changes).waste for changes in (0, 1, 2, 12)]
    assert wastes == sorted(wastes, reverse=True)
    assert wastes[1] == pytest.approx(by_trying_one_change(beds), abs=ROUNDING)


def by_trying_one_change(beds: list[BedOptions]) -> float:
    """Return the least waste of all ways that change one bed or none."""
    as_is = (0,) * len(beds)
    ways = [(*as_is[:b], w, *as_is[b + 1 :]) for b, bed in enumerate(beds) for w in range(len(bed.flow))]
    return min(waste_of(beds, way) for way in ways)


@pytest.mark.parametrize(
    ("beds", "changes", "words"),
    [
        ([], 1, "without a bed"),
        ([one_bed(1.0, (1.0, 1.0, 1.0))], -1, "changes"),
        ([one_bed(0.0, (1.0, 1.0, 1.0))], 1, "above 0"),
        ([one_bed(float("nan"), (1.0, 1.0, 1.0))], 1, "above 0"),
        ([one_bed(1.0, (0.0, 1.0, 1.0))], 1, "above 0"),
        ([one_bed(1.0, (1.0, 1.2, 1.0))], 1, "stored share"),
        ([one_bed(1.0, (1.0, 1.0, -1.0))], 1, "tube"),
        ([BedOptions(1.0, (1.0, 2.0), (1.0,), (1.0,))], 1, "each option"),
        ([BedOptions(1.0, (), (), ())], 1, "each option"),
    ],
)
def test_figures_that_make_no_sense_are_refused(beds: list[BedOptions], changes: int, words: str) -> None:
    with pytest.raises(RillbookError, match=words):
        least_waste(beds, changes=changes)
