"""Hours of daylight."""

import tomllib
from pathlib import Path

import pytest

from scheduler.garden.daylight import daylight_hours, longest_daylight
from tests.published import printed

DATA = tomllib.loads(Path(printed.__file__).with_name("daylight.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", DATA["daylight"], ids=lambda case: case["source"])
def test_printed_daylight(case):
    hours = daylight_hours(case["latitude"], case["day_of_year"])
    assert hours == pytest.approx(float(case["printed"]), abs=printed.half_digit(case["printed"]))


@pytest.mark.parametrize("latitude", [0.0, 20.0, 44.6, 66.0])
def test_longest_day_is_the_same_in_both_hemispheres(latitude):
    assert longest_daylight(latitude) == pytest.approx(longest_daylight(-latitude), abs=0.01)
    assert 12 <= longest_daylight(latitude) < 24


def test_longest_day_grows_towards_the_pole_and_ends_at_a_whole_day():
    hours = [longest_daylight(latitude) for latitude in range(0, 91, 5)]
    assert hours == sorted(hours)
    assert hours[0] == pytest.approx(12.0)
    assert hours[-4:] == [24.0] * 4
    assert daylight_hours(85.0, 355) == 0.0
