"""One setting for a stretch of weeks against all that the timer could hold."""

from functools import partial

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from scheduler.timetable.changes import divided, least_costs
from scheduler.timetable.lasting import lasting_patterns
from scheduler.timetable.outlet_need import ANY_GAP, least_short
from scheduler.timetable.runtime import run_lengths
from scheduler.timetable.stretch import (
    OFF,
    PENALTY,
    outlet_ladder,
    outlet_options,
    patterns_of,
)
from tests.builders import make_timer
from tests.timetable.stretches import (
    best_key,
    every_setting,
    outlet,
    outlets,
    plain_dry,
    plain_hasty,
    plain_over,
    plain_short,
)

TIMERS = [
    make_timer(starts_per_day=2, step=2, shortest_run=3, longest_run=20, longest_interval=4),
    make_timer(starts_per_day=1, longest_run=15, day_choices=("every n days",), longest_interval=3),
    make_timer(starts_per_day=3, step=5, longest_run=10, day_choices=("weekdays",)),
]
PLENTY = make_timer(starts_per_day=1, longest_run=600)


def room(timer, most):
    """Return the longest runs of all patterns with each number of starts, the same for all."""
    return np.full((len(lasting_patterns(timer)), timer.starts_per_day), most, dtype=np.int64)


def options(need, begin, end, *, timer, share=0.1, longest=None, ways=outlet_options):
    if not isinstance(longest, np.ndarray):
        longest = room(timer, run_lengths(timer)[-1] if longest is None else longest)
    return ways(
        need,
        begin,
        end,
        patterns=patterns_of(lasting_patterns(timer)),
        longest=longest,
        timer=timer,
        share=share,
    )


def a_day(found, number, timer):
    pattern = int(found.pattern[number])
    if pattern == OFF:
        return 0.0
    return lasting_patterns(timer)[pattern].rate * int(found.starts[number]) * int(found.minutes[number])


def gap_of(found, number, timer):
    pattern = int(found.pattern[number])
    return ANY_GAP if pattern == OFF else lasting_patterns(timer)[pattern].gap


@st.composite
def cases(draw):
    n_weeks = draw(st.integers(1, 4))
    timer = draw(st.sampled_from(TIMERS))
    need = draw(outlets(n_weeks=n_weeks, most_minutes=draw(st.sampled_from([20.0, 100.0, 400.0]))))
    begin = draw(st.integers(0, n_weeks - 1))
    share = draw(st.sampled_from([0.0, 0.1, 0.3]))
    longest = draw(st.sampled_from([run_lengths(timer)[-1], run_lengths(timer)[1], 0]))
    return need, begin, n_weeks, timer, share, longest


@given(cases())
def test_the_best_of_all_settings_comes_first(case):
    need, begin, end, timer, share, longest = case
    longest = room(timer, longest)
    found = options(need, begin, end, timer=timer, share=share, longest=longest)
    first = a_day(found, 0, timer)
    told = (found.short[0], found.over[0])
    assert told == pytest.approx(
        (plain_short(need, first, begin, end, share), plain_over(need, first, begin, end)), abs=1e-6
    )
    lacking = (found.short[0] + found.dry[0], found.hasty[0], found.over[0])
    assert lacking == pytest.approx(
        best_key(need, begin, end, timer=timer, longest=longest, share=share), rel=1e-6, abs=1e-5
    )


@given(cases())
def test_options_are_what_they_say_and_come_in_order(case):
    need, begin, end, timer, share, longest = case
    found = options(need, begin, end, timer=timer, share=share, longest=longest)
    keys = [
        (round(float(short), 12), round(float(hasty), 6), round(float(over), 6))
        for short, hasty, over in zip(found.short + found.dry, found.hasty, found.over, strict=True)
    ]
    assert keys == sorted(keys)
    assert (np.diff(found.cost) >= -1e-3).all()
    for number in range(0, len(keys), 17):
        rate = a_day(found, number, timer)
        assert plain_over(need, rate, begin, end) == pytest.approx(found.over[number], abs=1e-6)
        assert plain_short(need, rate, begin, end, share) == pytest.approx(found.short[number], abs=1e-6)
        gap, minutes = gap_of(found, number, timer), int(found.minutes[number])
        runs = rate / minutes if minutes else 0.0
        assert plain_dry(need, gap, begin, end) == pytest.approx(found.dry[number], abs=1e-9)
        assert plain_hasty(need, runs, minutes, begin, end) == pytest.approx(found.hasty[number], abs=1e-6)


@given(cases())
def test_of_equal_settings_fewest_runs_then_fewest_starts(case):
    need, begin, end, timer, share, longest = case
    longest = room(timer, longest)
    found = options(need, begin, end, timer=timer, share=share, longest=longest)
    if int(found.pattern[0]) == OFF:
        return
    best = tuple(float(part[0]) for part in (found.short, found.hasty, found.over))
    rate = lasting_patterns(timer)[int(found.pattern[0])].rate
    wanted = (1.0 - share) * need.minutes_a_day(begin, end)
    for minutes, runs, starts, each, _ in every_setting(need, begin, end, timer=timer, longest=longest):
        # Settings that give less than is asked are left out, and so is what only fills up unused days.
        if runs == 0.0 or minutes < wanted * (1.0 - 1e-9):
            continue
        key = (
            plain_short(need, minutes, begin, end, share),
            plain_hasty(need, runs * starts, each, begin, end),
            plain_over(need, minutes, begin, end),
        )
        if key == pytest.approx(best, abs=1e-7):
            assert (round(rate, 9), int(found.starts[0])) <= (round(runs, 9), starts)


@given(cases())
def test_no_week_is_shorter_than_the_share_unless_it_is_told(case):
    need, begin, end, timer, share, longest = case
    found = options(need, begin, end, timer=timer, share=share, longest=longest)
    if found.short[0] > 0.0:
        return
    given_litres = a_day(found, 0, timer) * need.each[begin:end]
    least = (1.0 - share) * need.asked[begin:end]
    assert (given_litres >= least * (1.0 - 1e-8)).all()


@given(st.integers(1, 3), st.data())
def test_the_bound_of_shared_hours_is_that_of_a_linear_programme(n_outlets, data):
    needs = [data.draw(outlets(n_weeks=3, most_minutes=100.0)) for _ in range(n_outlets)]
    share, most = data.draw(st.sampled_from([0.0, 0.2])), data.draw(st.floats(0.0, 40.0))
    parts = [(need.each[need.asked > 0.0] / need.asked[need.asked > 0.0]).ravel() for need in needs]
    n_parts = sum(part.size for part in parts)
    if n_parts == 0:
        assert least_short(needs, 0, 3, share=share, most=most) == 0.0
        return
    # Minutes a day of each outlet, then what parts lack: 1 - share - given <= lacking; minutes share hours.
    rows, at = np.zeros((n_parts + 1, n_outlets + n_parts)), 0
    for number, part in enumerate(parts):
        rows[at : at + part.size, number] = -part
        at += part.size
    rows[np.arange(n_parts), n_outlets + np.arange(n_parts)] = -1.0
    rows[-1, :n_outlets] = 1.0
    costs = np.r_[np.zeros(n_outlets), np.ones(n_parts)]
    solved = linprog(costs, A_ub=rows, b_ub=np.r_[np.full(n_parts, share - 1.0), most])
    told = least_short(needs, 0, 3, share=share, most=most)
    assert told == pytest.approx(solved.fun**2 / n_parts, rel=1e-5, abs=1e-6)
    # And no way to share the hours is less short.
    for _ in range(5):
        weights = np.array([data.draw(st.floats(0.01, 1.0)) for _ in needs])
        shared = most * weights / weights.sum()
        short = sum(
            float(n.short(np.array([x]), 0, 3, share=share)[0]) for n, x in zip(needs, shared, strict=True)
        )
        assert short >= told - 1e-9


@given(cases())
def test_a_ladder_rises_from_off_to_what_is_asked(case):
    need, begin, end, timer, share, longest = case
    longest = room(timer, longest)
    ladder = options(need, begin, end, timer=timer, share=share, longest=longest, ways=outlet_ladder)
    assert (int(ladder.pattern[0]), int(ladder.minutes[0])) == (OFF, 0)
    assert (np.diff(ladder.starts * ladder.minutes) > 0).all()
    assert (np.diff(ladder.short) <= 0.0).all()
    best = options(need, begin, end, timer=timer, share=share, longest=longest)
    # The last step meets all that is asked, or it is the most water that the timer can give.
    assert ladder.short[-1] <= best.short[0] + 1e-9
    for number in range(0, ladder.short.shape[0], 7):
        rate = a_day(ladder, number, timer)
        assert ladder.short[number] == pytest.approx(plain_short(need, rate, begin, end, share), abs=1e-9)
        assert ladder.over[number] == pytest.approx(plain_over(need, rate, begin, end), abs=1e-6)


def test_a_ladder_has_every_total_that_a_timer_can_hold():
    timer = make_timer(starts_per_day=2, step=3, longest_run=9)
    ladder = options(outlet([700.0], gap=1), 0, 1, timer=timer, share=0.0, ways=outlet_ladder)
    assert (ladder.starts * ladder.minutes).tolist() == [0, 3, 6, 9, 12, 18]
    assert ladder.starts.tolist() == [0, 1, 1, 1, 2, 2]


def test_a_gap_that_beds_do_not_last_is_not_allowed():
    timer = make_timer(starts_per_day=1)
    found = options(outlet([70.0, 70.0], gap=[5, 2]), 0, 2, timer=timer)
    patterns = lasting_patterns(timer)
    assert max(patterns[number].gap for number in found.pattern) == 2
    # The first week alone may wait five days.
    found = options(outlet([70.0, 70.0], gap=[5, 2]), 0, 1, timer=timer)
    assert max(patterns[number].gap for number in found.pattern) == 5


def test_where_not_even_a_day_is_lasted_daily_runs_are_taken():
    found = options(outlet([70.0], gap=0), 0, 1, timer=PLENTY, share=0.0)
    assert [lasting_patterns(PLENTY)[number].rate for number in found.pattern] == [1.0]
    assert found.minutes.tolist() == [10]


SPLIT = make_timer(starts_per_day=3, step=1, longest_run=120)


def split_of(found, number=0):
    """Return the starts, minutes of each run and pause of an option."""
    return tuple(int(part[number]) for part in (found.starts, found.minutes, found.pause))


def test_a_day_is_held_in_runs_that_the_soil_takes_at_once():
    # 35 min a day are three runs of 12 at the most of 12 that it takes; one of 35 would be the least water.
    found = options(outlet([245.0], gap=1, longest_pulse=12.0, soak=24.0), 0, 1, timer=SPLIT, share=0.0)
    assert split_of(found) == (3, 12, 24)
    assert (found.hasty[0], found.over[0]) == pytest.approx((0.0, 7.0))
    plain = options(outlet([245.0], gap=1), 0, 1, timer=SPLIT, share=0.0)
    assert split_of(plain) == (1, 35, 0)
    assert plain.over[0] == pytest.approx(0.0)


def test_of_runs_within_the_pulse_the_fewest_starts_of_the_least_water():
    # 12.5 is what it takes: 12 min in one run, 20 min in two of 10.
    need = {"gap": 1, "longest_pulse": 12.5, "soak": 25.0}
    assert split_of(options(outlet([84.0], **need), 0, 1, timer=SPLIT, share=0.0)) == (1, 12, 0)
    assert split_of(options(outlet([140.0], **need), 0, 1, timer=SPLIT, share=0.0)) == (2, 10, 25)


def test_more_than_the_starts_can_hold_comes_in_the_most_starts():
    # 60 min a day in three starts of 20 with longer pauses; no bed is short by it.
    found = options(outlet([420.0], gap=1, longest_pulse=10.0, soak=20.0), 0, 1, timer=SPLIT, share=0.0)
    assert split_of(found) == (3, 20, 40)
    assert found.short[0] == 0.0
    assert found.hasty[0] == pytest.approx(3 * 10 * 7.0)


def test_rarer_runs_give_way_to_daily_ones_that_the_soil_takes():
    # Twice the minutes every other day would be as much water; daily they keep within the 12 min.
    found = options(outlet([84.0], gap=5, longest_pulse=12.0, soak=24.0), 0, 1, timer=PLENTY, share=0.0)
    assert lasting_patterns(PLENTY)[int(found.pattern[0])].gap == 1
    assert (int(found.minutes[0]), float(found.hasty[0])) == (12, 0.0)


def test_hours_without_room_for_splits_leave_long_runs_rather_than_a_short_bed():
    # A run of 40 min has room, and two of 5; the soil takes 10.
    longest = np.broadcast_to([40, 5, 0], (len(lasting_patterns(SPLIT)), 3))
    found = options(
        outlet([210.0], gap=1, longest_pulse=10.0), 0, 1, timer=SPLIT, share=0.0, longest=np.array(longest)
    )
    assert split_of(found) == (1, 30, 0)
    assert (found.short[0], found.hasty[0]) == pytest.approx((0.0, 20 * 7.0))


def test_a_ladder_keeps_to_the_pulse_as_far_as_it_reaches():
    timer = make_timer(starts_per_day=2, step=3, longest_run=12)
    need = outlet([700.0], gap=1, longest_pulse=7.0)
    ladder = options(need, 0, 1, timer=timer, share=0.0, ways=outlet_ladder)
    assert (ladder.starts * ladder.minutes).tolist() == [0, 3, 6, 12, 18, 24]
    assert ladder.starts.tolist() == [0, 1, 1, 2, 2, 2]
    assert ladder.hasty.tolist() == pytest.approx([0, 0, 0, 0, 2 * 2 * 7, 2 * 5 * 7])
    heedless = options(need, 0, 1, timer=timer, share=0.0, ways=partial(outlet_ladder, keep_pulse=False))
    assert heedless.starts.tolist() == [0, 1, 1, 1, 1, 2, 2]
    assert (heedless.hasty > 0.0).tolist() == [False, False, False, True, True, True, True]


def test_a_gap_that_is_the_closest_allowed_weighs_as_a_shortage():
    # Tue and Sat only: four days apart, of which the bed lasts one in the first week and all in the second.
    timer = make_timer(day_choices=("weekdays",))
    patterns = lasting_patterns(timer)
    rare = [n for n, p in enumerate(patterns) if p.weekdays == (0, 1, 0, 0, 0, 1, 0)]
    longest = room(timer, 0)
    longest[rare] = 60
    found = options(outlet([70.0, 70.0], gap=[1, 5]), 0, 2, timer=timer, longest=longest)
    assert found.dry[0] == pytest.approx((3 / 4) ** 2)
    assert found.cost[0] == pytest.approx(PENALTY * 9 / 16, rel=1e-6)
    # A week that asks for nothing lasts, and beds that last no day are as well watered daily.
    assert options(outlet([0.0, 70.0], gap=[1, 5]), 0, 2, timer=timer, longest=longest).dry[0] == 0.0
    assert options(outlet([70.0], gap=0), 0, 1, timer=timer).dry[0] == 0.0


def test_an_outlet_without_a_need_is_off():
    found = options(outlet([0.0, 0.0]), 0, 2, timer=PLENTY)
    assert (found.pattern.tolist(), found.minutes.tolist(), found.cost.tolist()) == ([OFF], [0], [0.0])


def test_hours_that_allow_nothing_leave_an_outlet_off_and_short():
    found = options(outlet([50.0, 30.0]), 0, 2, timer=PLENTY, longest=0)
    assert found.pattern.tolist() == [OFF]
    assert found.short.tolist() == pytest.approx([2 * 0.9**2])


class TestFourteenWeeks:
    """A bed that needs these minutes a week; the timer runs once a week for whole minutes; no week short.

    A stretch then takes the greatest need of its weeks; what it gives beyond is the sum of the differences.
    """

    NEED = (22, 26, 30, 38, 46, 52, 58, 60, 60, 54, 44, 36, 28, 20)  # 574 in all

    def over(self, most):
        timer = make_timer(starts_per_day=1, longest_run=60)
        weekly = room(timer, 0)
        once = [number for number, p in enumerate(lasting_patterns(timer)) if p.weekdays and p.gap == 7]
        weekly[once] = 60
        need, cost = outlet(self.NEED), np.full((14, 15), np.inf)
        for begin in range(14):
            for end in range(begin + 1, 15):
                found = options(need, begin, end, timer=timer, share=0.0, longest=weekly)
                cost[begin, end] = found.cost[0]
        least, begins = least_costs(cost, most)
        return least[most, 14], divided(least, begins, most)

    def test_one_setting(self):
        # 14 weeks of 60 min are 840: 266 min over, 46 % of 574.
        assert self.over(1)[0] == pytest.approx(840 - 574)

    def test_three_settings(self):
        # 3 x 30 + 8 x 60 + 3 x 36 = 678: 104 min over, 18 %.
        least, division = self.over(3)
        assert division == ((0, 3), (3, 11), (11, 14))
        assert least == pytest.approx(678 - 574)

    def test_a_setting_for_every_week(self):
        # Two weeks of 60 stand side by side, so that thirteen settings do.
        least, division = self.over(14)
        assert least == pytest.approx(0.0)
        assert len(division) == 13
