"""What holds of any restriction: it never saves a bed from dryness. And of water that comes late."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scheduler.timetable.outlook import course_under
from scheduler.timetable.week import weekly_timetable
from tests.builders import EVERY_DAY
from tests.season.orders import case_of, garden_of, steady, tried, tried_otherwise
from tests.timetable.cases import FIRST, make_limits, make_zones, outlooks, restriction

#: Shortages are told to a thousandth, and minutes are searched to a millionth of a millimetre.
ROUNDING = 2e-3

day_sets = st.sets(st.sampled_from(EVERY_DAY))


def shortage(outlook, days, **timer):
    limits = make_limits(restrictions=(restriction(days=tuple(sorted(days, key=EVERY_DAY.index))),), **timer)
    plan = weekly_timetable(FIRST, outlook, zones=make_zones([[0, 1]]), limits=limits)
    return plan.settings[0].shortage


@settings(deadline=None)
@given(
    outlooks(n_beds=2, n_days=14),
    day_sets,
    day_sets,
    st.sampled_from([("weekdays",), ("every n days",), ("weekdays", "every n days")]),
)
def test_more_allowed_days_never_leave_beds_shorter(outlook, some, others, choices):
    fewer, more = some & others, some | others
    assert shortage(outlook, more, day_choices=choices) <= (
        shortage(outlook, fewer, day_choices=choices) + ROUNDING
    )


@settings(deadline=None)
@given(outlooks(n_beds=2, n_days=14), day_sets)
def test_an_order_never_leaves_beds_shorter_than_none(outlook, days):
    assert shortage(outlook, EVERY_DAY) <= shortage(outlook, days) + ROUNDING


@given(
    outlooks(n_beds=2, n_days=9),
    st.lists(st.booleans(), min_size=7, max_size=7),
    st.floats(0.0, 200.0),
    st.floats(0.0, 1.0),
)
def test_the_later_a_first_days_water_the_drier_it_ends(outlook, runs, minutes, late):
    mask, by_bed = np.array([runs], dtype=float), np.full((1, 2), minutes)
    early, split, evening = (
        course_under(replace(outlook, evening=share), mask, by_bed).depletion[0] for share in (0.0, late, 1.0)
    )
    assert np.all(early <= split + 1e-9)
    assert np.all(split <= evening + 1e-9)


@settings(deadline=None, max_examples=6)
@given(
    st.floats(0.10, 0.40),
    st.sets(st.sampled_from(EVERY_DAY), min_size=1, max_size=5),
    st.floats(3.0, 7.0),
    st.sampled_from([60, 120, 240]),
)
def test_what_is_told_as_a_cure_cures_when_tried_otherwise(depth, days, et, longest):
    garden = garden_of(depth, days=tuple(sorted(days, key=EVERY_DAY.index)))
    garden = replace(garden, timer=replace(garden.timer, longest_run=longest))
    case = case_of(garden, steady(et))
    assume(case.beds)
    trials = tried(case)
    single = [trial for trial in trials.values() if trial.verdict == "cures" and " and " not in trial.remedy]
    assert tried_otherwise(case, garden, single) <= case.goal[0] + 1e-9
    for trial in trials.values():
        if trial.left is not None:
            assert (trial.left <= case.goal[0]) == (trial.verdict == "cures")
