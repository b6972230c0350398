"""The benchmark of few settings runs and writes its table; what it measures is for people to read."""

import pytest

from tests.benchmarks import bench_settings

FEW = {"n_years": 2, "up_to": 2, "n_weeks": 6, "repeats": 1}


def test_every_part_is_timed(capsys):
    bench_settings.main(["--years", "2", "--up-to", "2", "--weeks", "6", "--repeats", "1"])
    head, *rows = capsys.readouterr().out.splitlines()
    assert head.split() == ["part", "[s]", "ratio", "to", "plain", "target", "[s]"]
    names = [row[:22].strip() for row in rows]
    assert names[0] == "reading the weather"
    assert names[-1] == "all but reading"
    cells = [row[22:].split() for row in rows]
    assert all(float(seconds) > 0.0 and float(ratio) > 0.0 for seconds, ratio, _ in cells)
    assert [target for _, _, target in cells] == ["-"] * (len(rows) - 1) + ["5.0"]


def test_settings_that_disagree_are_not_timed(monkeypatch):
    monkeypatch.setattr(bench_settings, "plain_overs", lambda *_: [-1.0, -1.0])
    with pytest.raises(RuntimeError, match="by the plain version"):
        bench_settings.measure(**FEW)
