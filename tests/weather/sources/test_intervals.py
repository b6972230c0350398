"""Durations, local days and amounts cut at local midnight."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.weather.sources.intervals import (
    Interval,
    LocalDays,
    day_of,
    read_duration,
    read_interval,
    read_moment,
    zone_named,
)

ZONES = (
    "America/Chicago",
    "Europe/Berlin",
    "America/Santiago",
    "Australia/Lord_Howe",
    "Asia/Kathmandu",
    "UTC",
)
HOUR = 3600.0


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("PT1H", 1),
        ("PT13H", 13),
        ("P1D", 24),
        ("P1DT6H", 30),
        ("P7DT21H", 189),
        ("P2W", 336),
        ("PT90M", 1.5),
        ("PT30S", 1 / 120),
    ],
)
def test_duration(text, hours):
    assert read_duration(text) == timedelta(hours=hours)


@pytest.mark.parametrize(
    "text", ["", "P", "PT", "1H", "PT1", "P1H", "P1Y", "P1M", "-PT1H", "PT1.5H", "pt1h", "PT٣H", "P1DT"]
)
def test_no_duration(text):
    with pytest.raises(ValueError, match="not a duration"):
        read_duration(text)


def test_interval():
    begins, ends = read_interval("2019-07-04T18:00:00+00:00/PT3H")
    assert (ends - begins) == 3 * HOUR
    assert begins == read_moment("2019-07-04T13:00:00-05:00") == read_moment("2019-07-04T18:00Z")


@pytest.mark.parametrize("name", ["", "Nowhere/Town", "../UTC", "/etc/passwd", "America", "a\x00b"])
def test_no_zone(name):
    with pytest.raises(ValueError, match="no time zone"):
        zone_named(name)


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        ("America/Chicago", date(2024, 3, 10), 23),
        ("America/Chicago", date(2024, 11, 3), 25),
        ("America/Chicago", date(2024, 6, 1), 24),
        ("Europe/Berlin", date(2024, 3, 31), 23),
        ("Europe/Berlin", date(2024, 10, 27), 25),
        # Here the clock skips midnight itself, and half an hour.
        ("America/Santiago", date(2024, 9, 8), 23),
        ("Australia/Lord_Howe", date(2024, 10, 6), 23.5),
    ],
)
def test_length_of_a_day(zone, day, hours):
    days = LocalDays(day, day, zone=zone_named(zone))
    assert days.lengths.tolist() == [hours * HOUR]
    assert day_of(days.edges[0], zone_named(zone)) == day
    assert day_of(days.edges[1] - 1, zone_named(zone)) == day
    assert day_of(days.edges[1], zone_named(zone)) == day + timedelta(days=1)


@given(
    zone=st.sampled_from(ZONES),
    first=st.dates(date(2023, 1, 1), date(2025, 12, 1)),
    steps=st.lists(st.tuples(st.integers(1, 40), st.floats(0, 100)), min_size=1, max_size=12),
)
def test_nothing_is_lost_at_midnight(zone, first, steps):
    days = LocalDays(first, first + timedelta(days=22), zone=zone_named(zone))
    begin = float(days.edges[0])
    intervals = []
    for hours, amount in steps:
        intervals.append(Interval(begin, begin + hours * HOUR, amount))
        begin += hours * HOUR
    assert days.split_amounts(intervals).sum() == pytest.approx(sum(amount for _, amount in steps))
    assert days.covered(intervals).sum() == pytest.approx(sum(hours for hours, _ in steps) * HOUR)
    least, greatest = days.extremes(intervals)
    means = days.means(intervals)
    known = np.isfinite(means)
    assert (known == (days.covered(intervals) > 0)).all()
    assert (least[known] <= means[known] + 1e-9).all()
    assert (means[known] <= greatest[known] + 1e-9).all()
