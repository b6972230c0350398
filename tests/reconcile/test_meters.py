"""Volumes between readings: rollover, slips of the pen, time zones, resolution and the slow end."""

import math
from dataclasses import replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.garden.units import parse_quantity
from scheduler.reconcile.meters import (
    LARGEST_FLOW,
    LOW_FLOW_LIMIT,
    Reading,
    reading_uncertainty,
    volumes_between,
)
from scheduler.reconcile.refused import ReadingError
from tests.reconcile.cases import make_meter, reading


def test_volume_minutes_and_flow():
    first, second = volumes_between([reading(0, 100.0), reading(30, 150.0), reading(90, 250.0)], make_meter())
    assert (first.volume, first.minutes, first.flow) == (50.0, 30.0, 100.0)
    assert (second.volume, second.minutes, second.flow) == (100.0, 60.0, 100.0)
    assert not first.rolled_over


def test_rollover_at_the_stated_capacity():
    (volume,) = volumes_between([reading(0, 9_990.0), reading(30, 15.0)], make_meter(capacity=10_000.0))
    assert volume.volume == 25.0
    assert volume.rolled_over
    assert not volume.another_turn_fits


def test_a_long_gap_may_hide_another_turn():
    day = 24 * 60
    (volume,) = volumes_between([reading(0, 500.0), reading(day, 700.0)], make_meter(capacity=10_000.0))
    assert volume.another_turn_fits


@pytest.mark.parametrize(
    ("readings", "pair", "found"),
    [
        ([(0, 100.0), (30, 150.0), (60, 120.0)], "readings 2 and 3", "goes back from 150 L to 120 L"),
        ([(0, 100.0), (30, 150.0), (60, 9150.0)], "readings 2 and 3", "from 150 L to 9150 L"),
        ([(0, 100.0), (60, 150.0), (30, 180.0)], "readings 2 and 3", "earlier than the first"),
        ([(0, 100.0), (0, 100.0)], "readings 1 and 2", "same time"),
    ],
)
def test_readings_that_cannot_follow_each_other_are_refused(readings, pair, found):
    with pytest.raises(ReadingError) as error:
        volumes_between([reading(*r) for r in readings], make_meter())
    (fault,) = error.value.faults
    assert fault.where.startswith(pair)
    assert "2027-06-01" in fault.where
    assert found in fault.found


def test_every_fault_is_told_at_once():
    readings = [
        reading(0, math.nan),
        reading(10, -1.0),
        reading(20, 2e7),
        replace(reading(30, 5.0), at=datetime(2027, 6, 1, 7)),  # noqa: DTZ001 - the missing zone is the point
    ]
    with pytest.raises(ReadingError, match="5 faults") as error:
        volumes_between(readings, make_meter(smallest_digit=0.0))
    assert [fault.where for fault in error.value.faults] == [
        "meter > smallest digit",
        "reading 1",
        "reading 2",
        "reading 3",
        "reading 4",
    ]


@pytest.mark.parametrize("readings", [[], [reading(0, 1.0)]])
def test_single_readings_are_refused(readings):
    with pytest.raises(ReadingError, match="two are needed"):
        volumes_between(readings, make_meter())


@pytest.mark.parametrize(("day", "hours"), [(28, 23.0), (27, 24.0)])
def test_a_day_with_a_clock_change_has_23_hours(day, hours):
    zone = ZoneInfo("Europe/Paris")
    begins = datetime(2027, 3, day, tzinfo=zone)
    ends = datetime(2027, 3, day + 1, tzinfo=zone)
    (volume,) = volumes_between([Reading(begins, 0.0), Reading(ends, 230.0)], make_meter())
    assert volume.minutes == hours * 60.0


def test_slow_flow_is_flagged():
    slow, fast = volumes_between([reading(0, 0.0), reading(60, 56.0), reading(120, 113.0)], make_meter())
    assert slow.may_under_read
    assert not fast.may_under_read


def test_limits_of_flow_are_those_of_the_small_meter():
    """0.25 and 20 gal/min, from memory."""
    assert parse_quantity("0.25 gal/min", "flow") == pytest.approx(LOW_FLOW_LIMIT, abs=0.05)
    assert parse_quantity("20 gal/min", "flow") == pytest.approx(LARGEST_FLOW, abs=0.6)


def test_resolution_is_that_of_a_rectangle_of_one_digit():
    """JCGM 100:2008, F.2.2.1: 0.29 of the digit (from memory); a register cuts, and the cut cancels."""
    meter = make_meter(smallest_digit=10.0)
    assert reading_uncertainty(meter) / 10.0 == pytest.approx(0.29, abs=0.005)
    rng = np.random.default_rng(1)
    true = rng.uniform(0.0, 1000.0, size=(40_000, 2))
    errors = np.diff(np.floor(true / 10.0) * 10.0) - np.diff(true)
    (volume,) = volumes_between([reading(0, 0.0), reading(60, 100.0)], meter)
    assert volume.uncertainty == pytest.approx(errors.std(), rel=0.02)
    assert abs(errors.mean()) < 0.1


@given(
    st.floats(0.0, 900.0),
    st.floats(0.0, 90.0),
    st.floats(1.0, 600.0),
    st.floats(0.01, 1000.0),
)
def test_volumes_scale_with_the_unit(begins, volume, minutes, unit):
    """Readings in another unit, with a meter told in that unit, give the same water in it."""
    meter = make_meter(capacity=1000.0, largest_flow=1e4)
    scaled = make_meter(
        capacity=1000.0 * unit,
        smallest_digit=unit,
        largest_flow=1e4 * unit,
        low_flow_limit=meter.low_flow_limit * unit,
    )
    plain = [reading(0, begins), reading(minutes, begins + volume)]
    other = [Reading(r.at, r.volume * unit) for r in plain]
    (one,), (two,) = volumes_between(plain, meter), volumes_between(other, scaled)
    assert two.volume == pytest.approx(one.volume * unit, abs=1e-9 * unit)
    assert two.uncertainty == pytest.approx(one.uncertainty * unit)
    assert two.flow == pytest.approx(one.flow * unit, abs=1e-6 * unit)


@given(st.lists(st.floats(0.0, 50.0), min_size=1, max_size=8), st.floats(0.0, 999.0))
def test_volumes_add_up_over_a_rollover(steps, begins):
    total = np.concatenate(([0.0], np.cumsum(steps)))
    readings = [reading(60 * n, (begins + v) % 1000.0) for n, v in enumerate(total)]
    # A step of rounding size may fall back by a hair, which a person never writes.
    readings = [replace(r, volume=round(r.volume, 6) % 1000.0) for r in readings]
    volumes = volumes_between(readings, make_meter(capacity=1000.0, largest_flow=2000.0))
    assert sum(v.volume for v in volumes) % 1000.0 == pytest.approx(
        (readings[-1].volume - readings[0].volume) % 1000.0, abs=1e-6
    )
    assert sum(v.volume for v in volumes) == pytest.approx(total[-1], abs=1e-4)
    assert volumes[-1].ends - volumes[0].begins == timedelta(hours=len(steps))
