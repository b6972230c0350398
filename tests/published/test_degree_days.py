"""Growing degree days against worked examples, which stand in degree_days.toml."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from scheduler.water.heat import degree_days, heat_sum
from tests.published.printed import half_digit

DATA = tomllib.loads(Path(__file__).with_name("degree_days.toml").read_text(encoding="utf-8"))


def close(printed):
    return pytest.approx(float(printed), abs=half_digit(printed))


@pytest.mark.parametrize("case", DATA["day"], ids=lambda case: case["source"])
def test_a_day(case):
    value = degree_days(case["tmax"], case["tmin"], base=case["base"], upper=case["upper"])
    assert float(value) == close(case["printed"])


def test_three_days_and_their_sum():
    case = DATA["season"]
    tmax, tmin = (np.array([day[place] for day in case["days"]]) for place in (0, 1))
    daily = degree_days(tmax, tmin, base=case["base"], upper=case["upper"])
    for value, (_, _, printed) in zip(daily, case["days"], strict=True):
        assert value == close(printed)
    assert heat_sum(daily)[-1] == close(case["printed"])
