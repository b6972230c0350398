"""Depths into minutes, and the totals that a timer can hold."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.timetable.runtime import applied_depth, day_totals, run_lengths, run_time, splits
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
