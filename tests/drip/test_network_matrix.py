"""The two ways to solve the matrix of a layout: by elimination in plain Python, and by a sparse library."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.drip import network_matrix
from scheduler.drip.network import make_regulators
from scheduler.drip.network_matrix import breadth_first, make_pattern, solve_matrix
from scheduler.drip.network_solve import solve_network
from tests.benchmarks.bench_network import garden, large_layout


def both_ways(monkeypatch, work):
    """Return what `work` gives by elimination, then by the sparse library."""
    answers = []
    for most in (10**6, -1):
        monkeypatch.setattr(network_matrix, "MOST_BY_HAND", most)
        answers.append(work())
    return answers


def test_three_rows_by_hand():
    """2x - y = 1, -x + 3y - z = 0, -y + 2z = 3: x = 1, y = 1, z = 2."""
    rows, columns = np.array([0, 0, 1, 1, 1, 2, 2, -1]), np.array([0, 1, 0, 1, 2, 1, 2, 0])
    values = np.array([2.0, -1.0, -1.0, 3.0, -1.0, -1.0, 2.0, 99.0])
    found = solve_matrix(make_pattern(rows, columns, size=3), values, np.array([1.0, 0.0, 3.0]))
    assert found == pytest.approx([1.0, 1.0, 2.0], abs=1e-15)


def test_values_at_one_place_are_added():
    pattern = make_pattern(np.zeros(3, dtype=int), np.zeros(3, dtype=int), size=1)
    assert solve_matrix(pattern, np.array([1.0, 2.0, 1.0]), np.array([8.0])).tolist() == [2.0]


def test_no_pivot_gives_no_number():
    pattern = make_pattern(np.array([0, 1, 0, 1]), np.array([0, 1, 1, 0]), size=2)
    found = solve_matrix(pattern, np.array([1.0, 1.0, -1.0, -1.0]), np.array([1.0, 1.0]))
    assert not np.isfinite(found).any()


@given(st.integers(1, 12), st.integers(0, 2**32 - 1))
def test_elimination_solves_what_it_is_given(size, seed):
    rng = np.random.default_rng(seed)
    full = np.where(rng.random((size, size)) < 0.4, -rng.random((size, size)), 0.0)
    # Each row outweighs the rest of it, as every node with an emitter or a way to the tap does.
    np.fill_diagonal(full, 0.0)
    np.fill_diagonal(full, np.abs(full).sum(axis=1) + 0.1)
    wanted = rng.standard_normal(size)
    rows, columns = np.nonzero(full)
    found = solve_matrix(make_pattern(rows, columns, size=size), full[rows, columns], wanted)
    assert full @ found == pytest.approx(wanted, rel=1e-9, abs=1e-9)


def test_walk_goes_ring_by_ring_and_leaves_out_what_is_cut_off(monkeypatch):
    starts, ends = np.array([0, 0, 1, 2, 3, 5]), np.array([1, 2, 3, 3, 4, 4])
    for order in both_ways(monkeypatch, lambda: breadth_first(starts, ends, root=0, size=6)):
        assert order.tolist() == [0, 1, 2, 3, 4]


@pytest.mark.parametrize(
    "network", [garden(), large_layout(150), large_layout(700)], ids=["garden", "150", "700"]
)
def test_both_ways_give_the_same_flows(monkeypatch, network):
    by_hand, sparse = both_ways(monkeypatch, lambda: solve_network(network))
    assert by_hand.emitter_flow == pytest.approx(sparse.emitter_flow, rel=1e-12)
    assert by_hand.pressure == pytest.approx(sparse.pressure, rel=1e-12, abs=1e-12)
    assert by_hand.steps == sparse.steps


def test_both_ways_give_the_same_flows_behind_a_regulator(monkeypatch):
    """A regulator that holds makes the matrix unsymmetric."""
    network = large_layout(150)
    elevation = np.append(network.elevation, 0.0)
    tap = replace(network.source, node=elevation.size - 1)
    held = make_regulators([tap.node], [0], set_pressure=100.0, loss=5.0, at_flow=1000.0)
    network = replace(network, elevation=elevation, source=tap, regulators=held)
    by_hand, sparse = both_ways(monkeypatch, lambda: solve_network(network))
    assert by_hand.emitter_flow == pytest.approx(sparse.emitter_flow, rel=1e-12)
    assert by_hand.pressure[0] == pytest.approx(100.0)
