"""Depths into minutes, and the totals that a timer can hold."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.timetable.runtime import (
    Way,
    applied_depth,
    day_totals,
    run_lengths,
    run_time,
    splits,
    ways_to_hold,
)
from tests.builders import make_timer

timers = st.builds(
    make_timer,
    starts_per_day=st.integers(1, 4),
    step=st.integers(1, 7),
    shortest_run=st.integers(1, 30),
    longest_run=st.integers(1, 60),
)


@given(st.floats(0.0, 500.0), st.floats(0.1, 100.0))
def test_minutes_times_rate_is_depth(depth, rate):
    assert float(applied_depth(run_time(depth, rate), rate)) == pytest.approx(depth, rel=1e-12, abs=1e-12)
    assert float(run_time(depth, rate)) * rate / 60.0 == pytest.approx(depth, rel=1e-12, abs=1e-12)


def test_run_time_by_hand():
    assert run_time([12.0, 6.0], 24.0).tolist() == [30.0, 15.0]
    assert applied_depth(90, [10.0, 20.0]).tolist() == [15.0, 30.0]


def test_run_lengths_start_at_a_whole_step():
    assert list(run_lengths(make_timer(step=5, shortest_run=7, longest_run=22))) == [10, 15, 20]


@given(timers)
def test_run_lengths_are_every_whole_step_within_the_limits(timer):
    wanted = [m for m in range(timer.shortest_run, timer.longest_run + 1) if m % timer.step == 0]
    assert list(run_lengths(timer)) == wanted


@given(timers, st.data())
def test_totals_are_starts_times_a_length_that_has_room(timer, data):
    longest = data.draw(
        st.lists(st.integers(0, 60), min_size=timer.starts_per_day, max_size=timer.starts_per_day)
    )
    wanted = {0}
    for starts in range(1, timer.starts_per_day + 1):
        for run in run_lengths(timer):
            if run <= longest[starts - 1]:
                wanted.add(starts * run)
    totals = day_totals(timer, longest)
    assert totals.tolist() == sorted(wanted)
    assert np.issubdtype(totals.dtype, np.integer)


@given(timers, st.integers(1, 250))
def test_splits_are_every_way_to_hold_a_total(timer, total):
    wanted = [
        (starts, run)
        for starts in range(1, timer.starts_per_day + 1)
        for run in run_lengths(timer)
        if starts * run == total
    ]
    assert list(splits(total, timer)) == wanted


def test_fewest_starts_come_first():
    timer = make_timer(starts_per_day=4, longest_run=60)
    assert splits(90, timer) == ((2, 45), (3, 30))
    assert splits(121, timer) == ()


# --- runs within what the soil takes at once

pulses = st.one_of(st.integers(1, 70).map(float), st.floats(0.3, 70.0))


def test_short_runs_come_first_then_the_most_starts():
    timer = make_timer(starts_per_day=4, longest_run=60)
    assert splits(30, timer, 10.0) == ((3, 10), (2, 15), (1, 30))
    assert splits(60, timer, 30.0) == ((2, 30), (3, 20), (4, 15), (1, 60))
    assert splits(60, timer, 14.9) == ((4, 15), (3, 20), (2, 30), (1, 60))
    assert splits(60, timer, math.inf) == splits(60, timer)


def test_the_whole_pause_comes_first_and_a_short_run_before_a_long_one():
    timer = make_timer(starts_per_day=3, longest_run=60)
    assert ways_to_hold(30, timer) == (Way(1, 30, 30), Way(2, 15, 15), Way(3, 10, 10))
    assert ways_to_hold(30, timer, longest_pulse=10.0, soak=20.0) == (
        Way(3, 10, 20),
        Way(3, 10, 10),
        # A run half as long again soaks half as long again.
        *(Way(2, 15, 30), Way(2, 15, 15)),
        Way(1, 30, 30),
    )
    assert ways_to_hold(8, timer, longest_pulse=10.0, soak=20.0) == (
        *(Way(1, 8, 8), Way(2, 4, 20)),
        Way(2, 4, 4),
    )
    assert ways_to_hold(121, timer, longest_pulse=10.0, soak=20.0) == ()


@given(timers, st.integers(1, 250), pulses, st.floats(0.0, 90.0))
def test_every_way_holds_the_total_within_the_timer(timer, total, pulse, soak):
    ways = ways_to_hold(total, timer, longest_pulse=pulse, soak=soak)
    assert {(way.starts, way.minutes) for way in ways} == set(splits(total, timer))
    assert len(set(ways)) == len(ways)
    for way in ways:
        assert way.starts * way.minutes == total
        assert 1 <= way.starts <= timer.starts_per_day
        assert way.pause >= way.minutes
    short = [way.minutes <= pulse for way in ways]
    assert short == sorted(short, reverse=True)
    if any(short) and ways[0].starts > 1:
        assert ways[0].pause >= soak


@given(timers, pulses, st.data())
def test_totals_keep_to_short_runs_as_far_as_the_starts_go(timer, pulse, data):
    longest = data.draw(
        st.lists(st.integers(0, 60), min_size=timer.starts_per_day, max_size=timer.starts_per_day)
    )
    plain, kept = day_totals(timer, longest), day_totals(timer, longest, longest_pulse=pulse)
    assert set(kept) <= set(plain)
    # Whatever a bed may need finds a total.
    assert kept[-1] == plain[-1]
    assert np.all(np.diff(kept) > 0)
    short = [
        starts * run
        for starts, most in enumerate(longest, 1)
        for run in run_lengths(timer)
        if run <= min(most, pulse)
    ]
    assert set(short) <= set(kept)
    for total in kept[1:]:
        if total <= max(short, default=0):
            assert splits(int(total), timer, pulse)[0][1] <= pulse


def test_totals_by_hand():
    timer = make_timer(starts_per_day=2, longest_run=7)
    # Runs of 1 to 3 min; beyond 6 min two longer runs, and one of 7 min has room where two of 5 have none.
    assert day_totals(timer, (7, 4), longest_pulse=3.0).tolist() == [0, 1, 2, 3, 4, 6, 8]
    assert day_totals(timer, (7, 3), longest_pulse=3.0).tolist() == [0, 1, 2, 3, 4, 6, 7]
    assert day_totals(timer, (7, 4), longest_pulse=0.5).tolist() == [0, 2, 4, 6, 8]
