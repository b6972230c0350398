"""The network benchmark runs and writes its table; what it measures is for people to read."""

import pytest

from tests.benchmarks import bench_network


def test_network_is_timed_against_every_way_of_calling_the_other_solver(capsys):
    bench_network.main(["--emitters", "120", "--repeats", "1"])
    head, *rows = capsys.readouterr().out.splitlines()
    assert head.split()[0] == "layout"
    ways = list(bench_network.TARGETS)
    assert [way for row, way in zip(rows, ways * 2, strict=True) if way not in row] == []
    assert [row.split()[-1] for row in rows] == list(bench_network.TARGETS.values()) * 2
    assert all(float(row.split()[-2]) > 0.0 for row in rows)


def test_network_that_disagrees_is_not_timed(monkeypatch):
    network = bench_network.large_layout(8)
    monkeypatch.setattr(bench_network, "AGREEMENT", -1.0)
    with pytest.raises(RuntimeError, match="the solvers differ by"):
        bench_network.measure(network, repeats=1)


def test_the_large_layout_has_as_many_emitters_as_asked():
    network = bench_network.large_layout(130)
    assert network.emitters.node.size == 130
    assert network.pipes.start.size == 130 + 2 * 2
