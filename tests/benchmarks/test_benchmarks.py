"""The benchmarks run and write their tables; what they measure is for people to read."""

import numpy as np
import pytest

from tests.benchmarks import bench_balance, bench_commands


def test_commands_are_timed_and_told_with_their_targets(capsys):
    bench_commands.main(["--runs", "1", "--commands", "help,check"])
    head, *rows = capsys.readouterr().out.splitlines()
    assert head.split() == ["process", "median", "[ms]", "ratio", "target"]
    assert [row.split()[-1] for row in rows] == ["-", "0.3", "1.0"]
    assert rows[0].startswith(bench_commands.REFERENCE)
    assert rows[0].split()[-2] == "1.00"
    assert all(float(row.split()[-2]) > 0.0 for row in rows)


def test_every_command_has_a_target():
    assert bench_commands.COMMANDS.keys() == bench_commands.TARGETS.keys()


def test_a_command_that_fails_is_not_timed(monkeypatch):
    monkeypatch.setitem(bench_commands.COMMANDS, "help", ("no-such-command",))
    with pytest.raises(RuntimeError, match="no-such-command failed"):
        bench_commands.measure(["help"], runs=1)


def test_balance_is_timed_for_every_number_of_beds(capsys):
    bench_balance.main(["--days", "9", "--beds", "1,3,120", "--repeats", "1"])
    head, *rows = capsys.readouterr().out.splitlines()
    assert head.split()[0] == "beds"
    assert [int(row.split()[0]) for row in rows] == [1, 3, 120]
    assert all(float(number) > 0.0 for row in rows for number in row.split())


def test_balance_that_disagrees_is_not_timed(monkeypatch):
    monkeypatch.setattr(bench_balance, "plain_loop", lambda case, n_beds: np.full(n_beds, -1.0))
    with pytest.raises(RuntimeError, match="differ by"):
        bench_balance.measure(5, 2, repeats=1)


def test_the_invented_days_dry_wet_and_drain():
    case = bench_balance.make_case(60, 4)
    last = bench_balance.stepped(case)
    assert last.shape == (4,)
    assert np.all(case.rain.sum() > 0.0)
    assert np.all((last >= 0.0) & (last <= case.storage))
