"""Trips to a hand valve against a person who walks through the week."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.timetable.trips import (
    MOST_BLOCKS,
    NEVER,
    TRIPS_PER_BLOCK,
    day_bits,
    days_of_bits,
    least_runs,
    shut_blocks,
    visits,
)

DAYS = days_of_bits()
weeks = st.lists(st.booleans(), min_size=7, max_size=7)


def trips_by_walking(reach, open_on):
    """Return the trips of a person who turns a valve only when the next run asks for it.

    The valve is open on Monday and must be open again when the week is over.
    """
    trips, is_open = 0, True
    for runs, wanted in zip(reach, open_on, strict=True):
        if runs and wanted != is_open:
            trips, is_open = trips + 1, wanted
    return trips if is_open else trips + 1


def test_days_are_numbers_whose_highest_bit_is_the_first_day():
    assert day_bits((True, *(False,) * 6)) == 64
    assert day_bits((False,) * 6 + (True,)) == 1
    assert DAYS.shape == (128, 7)
    assert [day_bits(days) for days in DAYS] == list(range(128))


def test_of_as_many_runs_the_greater_number_is_the_earlier():
    two = [number for number in range(128) if DAYS[number].sum() == 2]
    by_days = sorted(two, key=lambda number: np.flatnonzero(DAYS[number]).tolist())
    assert by_days == sorted(two, reverse=True)


def test_every_pair_of_subsets_takes_the_trips_that_a_person_walks():
    blocks = shut_blocks()
    for runs in range(128):
        for is_open in range(128):
            walked = trips_by_walking(DAYS[runs].tolist(), DAYS[is_open].tolist())
            assert TRIPS_PER_BLOCK * blocks[runs, is_open] == walked
    assert blocks.max() == MOST_BLOCKS


@pytest.mark.parametrize(
    ("open_on", "made"),
    [
        ("MTWTFSS", []),
        (".......", [(0, "shut"), (7, "open")]),
        ("M..TFSS", [(1, "shut"), (3, "open")]),
        ("..WTF..", [(0, "shut"), (2, "open"), (5, "shut"), (7, "open")]),
        (".T.T.S.", [(0, "shut"), (1, "open"), (2, "shut"), (3, "open"), (4, "shut"), (5, "open"),
                     (6, "shut"), (7, "open")]),
    ],
)  # fmt: skip
def test_visits_to_a_valve_with_a_run_every_day(open_on, made):
    assert list(visits((True,) * 7, [letter != "." for letter in open_on])) == made


def test_days_without_a_run_leave_the_valve_as_it_is():
    runs = (True, False, True, False, True, False, False)
    assert list(visits(runs, (True, False, False, False, True, False, False))) == [(2, "shut"), (4, "open")]
    # Two runs in a row of them are one block, whatever lies between.
    assert list(visits(runs, (False, True, False, True, True, True, True))) == [(0, "shut"), (4, "open")]


@given(weeks, weeks)
def test_visits_are_as_many_as_the_blocks_tell_and_take_turns(reach, open_on):
    made = visits(reach, open_on)
    assert len(made) == TRIPS_PER_BLOCK * shut_blocks()[day_bits(reach), day_bits(open_on)]
    assert [visit.turn for visit in made] == ["shut", "open"] * (len(made) // 2)
    assert [visit.day for visit in made] == sorted({visit.day for visit in made})
    assert all(visit.day == 7 or reach[visit.day] for visit in made)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0.0, 1.0))
def test_least_runs_are_those_of_the_best_subset(seed, share):
    enough = np.random.default_rng(seed).random((128, 2, 2)) < share
    fewest, blocks = least_runs(enough), shut_blocks()
    assert fewest.shape == (128, MOST_BLOCKS + 1, 2, 2)
    for runs in range(0, 128, 5):
        best = np.full((MOST_BLOCKS + 1, 2, 2), NEVER)
        for is_open in range(128):
            if (DAYS[is_open] <= DAYS[runs]).all():
                count = int(DAYS[is_open].sum())
                spot = best[blocks[runs, is_open]]
                spot[enough[is_open] & (spot > count)] = count
        assert (fewest[runs] == best).all()
