"""Divisions of a season against every division there is."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.timetable.changes import divided, least_costs, least_settled


def every_division(n_weeks, most):
    """Return all divisions of some weeks into at most so many stretches."""
    return [
        tuple(zip((0, *cuts), (*cuts, n_weeks), strict=True))
        for n_cuts in range(min(most, n_weeks))
        for cuts in combinations(range(1, n_weeks), n_cuts)
    ]


def cost_of(cost, division):
    return sum(cost[stretch] for stretch in division)


@st.composite
def costs(draw, most_weeks=8):
    n_weeks = draw(st.integers(1, most_weeks))
    whole = draw(st.booleans())
    values = st.integers(0, 6).map(float) if whole else st.floats(0.0, 100.0)
    cost = np.full((n_weeks, n_weeks + 1), np.inf)
    for begin in range(n_weeks):
        for end in range(begin + 1, n_weeks + 1):
            cost[begin, end] = draw(values)
    return cost


def assert_whole(division, n_weeks):
    ends = [end for _, end in division]
    assert [begin for begin, _ in division] == [0, *ends[:-1]]
    assert ends[-1] == n_weeks
    assert all(begin < end for begin, end in division)


@given(costs(), st.integers(1, 9))
def test_least_of_all_divisions_is_found(cost, most):
    n_weeks = cost.shape[0]
    least, begins = least_costs(cost, most)
    division = divided(least, begins, most)
    assert_whole(division, n_weeks)
    assert len(division) <= most
    best = min(cost_of(cost, other) for other in every_division(n_weeks, most))
    assert cost_of(cost, division) == pytest.approx(best, rel=1e-12, abs=1e-12)
    assert least[most, n_weeks] == pytest.approx(best, rel=1e-12, abs=1e-12)


@given(costs(), st.integers(1, 9))
def test_of_equal_divisions_one_with_the_fewest_stretches_is_taken(cost, most):
    division = divided(*least_costs(cost, most), most)
    goal = cost_of(cost, division)
    for fewer in range(1, len(division)):
        others = [cost_of(cost, other) for other in every_division(cost.shape[0], fewer)]
        assert min(others) > goal


@given(costs())
def test_cost_never_rises_with_more_stretches(cost):
    least, _ = least_costs(cost, 9)
    assert (np.diff(least[1:, -1]) <= 0.0).all()


@given(costs(), st.data())
def test_settling_what_is_used_gives_the_least_true_cost(cost, data):
    n_weeks = cost.shape[0]
    low = np.array([[data.draw(st.floats(0.0, 1.0)) for _ in range(n_weeks + 1)] for _ in range(n_weeks)])
    bound = np.where(np.isfinite(cost), low * np.where(np.isfinite(cost), cost, 0.0), np.inf)
    asked = []

    def settle(begin, end):
        asked.append((begin, end))
        return float(cost[begin, end])

    counts = [1, 2, 3, n_weeks]
    divisions = least_settled(bound, counts, settle)
    assert len(asked) == len(set(asked))
    for most, division in zip(counts, divisions, strict=True):
        assert_whole(division, n_weeks)
        assert set(division) <= set(asked)
        best = min(cost_of(cost, other) for other in every_division(n_weeks, most))
        assert cost_of(cost, division) == pytest.approx(best, rel=1e-9, abs=1e-9)


def test_bounds_that_are_exact_settle_only_what_is_used():
    cost = np.array([[np.inf, 1.0, 9.0, 9.0], [np.inf, np.inf, 1.0, 2.5], [np.inf, np.inf, np.inf, 1.0]])
    asked = []
    divisions = least_settled(cost, [2], lambda i, j: asked.append((i, j)) or float(cost[i, j]))
    assert divisions == [((0, 1), (1, 3))]  # 1 + 2.5, against 9 + 1 and 9.
    assert asked == [(0, 1), (1, 3)]
