"""The benchmarks run and write their tables; what they measure is for people to read."""

import sys
from types import ModuleType

import numpy as np
import pytest

from scheduler.water.balance import SoilState, step
from tests.benchmarks import bench_balance, bench_commands, smallest


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


@pytest.fixture
def without_numba(monkeypatch):
    """Make numba impossible to import, whether or not it is installed."""
    monkeypatch.setitem(sys.modules, "numba", None)


@pytest.mark.usefixtures("without_numba")
def test_balance_is_timed_for_every_number_of_beds_and_years_both_ways(capsys):
    options = ["--days", "9", "--beds", "1,3,120", "--repeats", "1", "--years", "4", "--block", "50"]
    bench_balance.main(options)
    head, *rows, last = capsys.readouterr().out.splitlines()
    assert [word for word in head.split() if word != "[ns]"] == [
        *bench_balance.HEADS,
        "engine/numpy",
        "whole/numpy",
    ]
    cells = {row[:26].strip(): row[26:].split() for row in rows}
    assert list(cells) == ["1 bed", "3 beds", "120 beds", "4 years in a row", "4 years side by side"]
    for engine, whole, by_numpy, by_numba, plain, *ratios in cells.values():
        assert by_numba == "-"
        assert all(float(number) > 0.0 for number in (engine, whole, by_numpy, plain, *ratios))
    assert last == bench_balance.NO_NUMBA
    assert "rillbook[bench]" in last


def test_numba_column_is_there_with_numba(capsys, monkeypatch):
    # Numba's place is taken by a module that compiles nothing: the loop it would compile must agree too.
    plain = ModuleType("numba")
    plain.njit = lambda function: function
    monkeypatch.setitem(sys.modules, "numba", plain)
    bench_balance.main(["--days", "9", "--beds", "5", "--repeats", "1", "--years", "0", "--block", "2"])
    _, row = capsys.readouterr().out.splitlines()
    assert all(float(number) > 0.0 for number in row[26:].split())


def test_balance_that_disagrees_is_not_timed(monkeypatch):
    case = smallest.make_case(5, 2)
    monkeypatch.setattr(smallest, "plain_days", lambda part: np.full(part.basal.shape[1], -1.0))
    with pytest.raises(RuntimeError, match="engine and the plain version differ by"):
        bench_balance.measure(case, repeats=1)


def test_balance_that_loses_water_is_not_timed(monkeypatch):
    case = smallest.make_case(5, 2)
    leaking = bench_balance.whole(case)
    monkeypatch.setattr(bench_balance, "whole", lambda part: leaking._replace(rain=leaking.rain + np.nan))
    with pytest.raises(RuntimeError, match="makes or loses"):
        bench_balance.measure(case, repeats=1)


def test_the_invented_days_meet_every_limit():
    case = smallest.make_case(120, 40)
    days = bench_balance.whole(case)
    state = SoilState(*np.zeros((4, 40)), days.taw[0])
    drained, stressed, dry = 0.0, 1.0, 0.0
    for day in range(120):
        result = step(state, days.on(day), applied=case.applied[day])
        state = result.state
        drained += result.deep_percolation.sum()
        stressed = min(stressed, float(result.stress_coefficient.min()))
        dry = max(dry, float((state.strip / case.tew[day]).max()))
    assert drained > 0.0
    assert stressed < 1.0
    assert dry > 0.5
    assert np.any(days.taw[0] < days.taw[-1])
    assert np.any(case.taw < case.tew)
