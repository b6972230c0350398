"""Run lengths and the tabular CUSUM against printed figures, which stand in cusum.toml."""

import tomllib
from pathlib import Path

import pytest

from scheduler.reconcile.chances import chi_square_limit, chi_square_share, noncentrality, normal_quantile
from scheduler.reconcile.drift import detect
from scheduler.reconcile.run_length import average_run_length, siegmund_run_length
from tests.published.printed import half_digit

DATA = tomllib.loads(Path(__file__).with_name("cusum.toml").read_text(encoding="utf-8"))
TABULAR = DATA["tabular"]


def close(printed, tolerance=None):
    return pytest.approx(float(printed), abs=half_digit(printed, tolerance))


def rows_of(*names):
    return [(name, *row) for name in names for row in DATA[name]["rows"]]


@pytest.mark.parametrize(("name", "shift", "printed"), rows_of("lucas_crosier", "handbook"))
def test_two_sided_run_length(name, shift, printed):
    assert average_run_length(DATA[name]["k"], DATA[name]["h"], shift=shift) == close(printed)


@pytest.mark.parametrize("row", rows_of("brook_evans", "waldmann", "vance"), ids=str)
def test_one_sided_run_length(row):
    name, shift, printed, *tolerance = row
    length = average_run_length(DATA[name]["k"], DATA[name]["h"], shift=shift, sides=1)
    assert length == close(printed, *tolerance)


@pytest.mark.parametrize(("h", "printed", "tolerance"), DATA["handbook"]["one_sided"])
def test_one_sided_run_length_of_the_handbook(h, printed, tolerance):
    assert average_run_length(DATA["handbook"]["k"], h, sides=1) == close(printed, tolerance)


@pytest.mark.parametrize("row", DATA["limits_for_370"]["rows"], ids=str)
def test_limit_for_a_run_length_of_370(row):
    """The run length lies between those of the printed limit less and plus half a digit."""
    k, printed, *tolerance = row
    half = half_digit(printed, *tolerance)
    wanted = DATA["limits_for_370"]["run_length"]
    assert (
        average_run_length(k, float(printed) - half) < wanted < average_run_length(k, float(printed) + half)
    )


def test_siegmund():
    case = DATA["siegmund"]
    k, h = case["k"], case["h"]
    assert siegmund_run_length(k, h, sides=1) == close(case["one_sided"])
    assert siegmund_run_length(k, h) == close(case["two_sided"])
    assert siegmund_run_length(k, h, shift=1.0, sides=1) == close(case["shifted"])


def test_tabular_cusum():
    series = [value - TABULAR["mean"] for value in TABULAR["values"]]
    check = detect(series, TABULAR["sigma"], k=TABULAR["k"], h=TABULAR["h"])
    for period, upper, lower in TABULAR["sums"]:
        # A printed 0 is a sum at rest, not one rounded to a unit.
        assert check.upper[period - 1] == close(upper, 1e-9 if upper == "0" else None)
        assert check.lower[period - 1] == close(lower, 1e-9 if lower == "0" else None)
    assert check.alarm.at + 1 == TABULAR["alarm_period"]
    assert check.alarm.change_at == TABULAR["last_period_before"]
    assert check.alarm.direction == "higher"
    assert TABULAR["mean"] + check.alarm.shift == close(TABULAR["new_mean"])


@pytest.mark.parametrize(("share", "printed"), DATA["quantiles"]["normal"])
def test_normal_quantile(share, printed):
    assert normal_quantile(share) == close(printed)


@pytest.mark.parametrize(("freedom", "share", "printed"), DATA["quantiles"]["chi_square"])
def test_chi_square_limit(freedom, share, printed):
    assert chi_square_limit(share, freedom) == close(printed)
    assert chi_square_share(chi_square_limit(share, freedom), freedom) == pytest.approx(share)


@pytest.mark.parametrize(("freedom", "share", "found", "printed"), DATA["quantiles"]["noncentral"])
def test_noncentrality(freedom, share, found, printed):
    assert noncentrality(chi_square_limit(share, freedom), freedom, found=found) == close(printed)
