"""Start times on the week's clock, against a scanner that looks at every minute."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.timetable.placing import WeekClock
from tests.builders import make_timer

DAY = 24 * 60
MON, TUE = (True, *(False,) * 6), (False, True, *(False,) * 5)
DAILY = (True,) * 7


def clock(spans=((180, 420),), *, capacity=100.0, one_at_a_time=True):
    return WeekClock([list(spans)] * 7, capacity=capacity, one_at_a_time=one_at_a_time)


def test_the_earliest_minutes_with_a_rest_as_long_as_a_run():
    assert clock().place(MON, starts=3, minutes=40, flow=60.0) == (180, 260, 340)
    assert clock().place(MON, starts=3, minutes=49, flow=60.0) is None


def test_a_longer_pause_moves_the_starts_apart_and_a_shorter_one_does_nothing():
    assert clock().place(MON, starts=3, minutes=10, flow=60.0, pause=20) == (180, 210, 240)
    assert clock().place(MON, starts=3, minutes=10, flow=60.0, pause=4) == (180, 200, 220)
    assert clock(((180, 250),)).place(MON, starts=3, minutes=10, flow=60.0, pause=20) == (180, 210, 240)
    assert clock(((180, 249),)).place(MON, starts=3, minutes=10, flow=60.0, pause=20) is None


def test_no_day_or_no_start_needs_no_room():
    assert clock(()).place((False,) * 7, starts=2, minutes=10, flow=1.0) == ()
    assert clock(()).place(MON, starts=0, minutes=0, flow=1.0) == ()
    assert clock(()).place(MON, starts=1, minutes=1, flow=1.0) is None


def test_one_zone_at_a_time_waits_for_the_other_only_on_common_days():
    week = clock(capacity=1000.0)
    week.take(MON, (180,), minutes=30, flow=60.0)
    assert week.place(MON, starts=1, minutes=30, flow=60.0) == (210,)
    assert week.place(TUE, starts=1, minutes=30, flow=60.0) == (180,)
    assert week.place(DAILY, starts=1, minutes=30, flow=60.0) == (210,)


def test_together_within_the_tap_and_apart_beyond_it():
    week = clock(capacity=100.0, one_at_a_time=False)
    week.take(DAILY, (180,), minutes=60, flow=60.0)
    assert week.place(DAILY, starts=1, minutes=30, flow=40.0) == (180,)
    assert week.place(DAILY, starts=1, minutes=30, flow=40.1) == (240,)
    # A zone that alone takes more than the tap may still run, but by itself.
    assert week.place(DAILY, starts=1, minutes=30, flow=150.0) == (240,)


def test_runs_begin_at_three_where_they_can_and_earlier_where_they_must():
    week = clock([(0, 300)])
    assert week.place(MON, starts=1, minutes=120, flow=1.0) == (180,)
    assert week.place(MON, starts=1, minutes=121, flow=1.0) == (0,)
    assert week.place(MON, starts=2, minutes=40, flow=1.0) == (180, 260)
    assert week.place(MON, starts=2, minutes=60, flow=1.0) == (0, 120)


def test_a_run_that_would_meet_its_own_next_morning_moves_the_first_start():
    # 00:00-01:00 and 23:30-00:40 of the night that follows: from 00:00 on the second run would end at
    # 00:30 of the next day, when the first begins again.
    week = clock([(0, 60), (1410, 1480)])
    assert week.place(DAILY, starts=2, minutes=30, flow=1.0) == (0, 1410)
    late = clock([(0, 60), (1435, 1480)])
    assert late.place(DAILY, starts=2, minutes=30, flow=1.0) == (25, 1435)
    assert late.place(DAILY, starts=2, minutes=31, flow=1.0) == (26, 1435)
    assert late.place(DAILY, starts=2, minutes=45, flow=1.0) is None


minutes_of_spans = st.sampled_from([(0, 25), (10, 40), (170, 195), (190, 230), (1425, 1440), (1380, 1400)])


@st.composite
def busy_clocks(draw):
    spans = [sorted(draw(st.sets(minutes_of_spans, min_size=1, max_size=3))) for _ in range(7)]
    together = draw(st.booleans())
    week = WeekClock(spans, capacity=100.0, one_at_a_time=not together)
    taken = []
    for _ in range(draw(st.integers(0, 3))):
        day = draw(st.integers(0, 6))
        mask = tuple(number == day for number in range(7))
        begin, length = draw(st.integers(0, 1460)), draw(st.integers(1, 20))
        flow = draw(st.sampled_from([30.0, 60.0]))
        week.take(mask, (begin,), minutes=length, flow=flow)
        taken.append((day * DAY + begin, length, flow))
    return week, spans, taken, not together


def scan(spans, taken, alone, *, mask, starts, minutes, flow, pause):
    """Return the first start times that fit, by trying all of them on every minute."""
    load = [0.0] * (7 * DAY)
    for begin, length, amount in taken:
        for minute in range(begin, begin + length):
            load[minute % (7 * DAY)] += amount

    def fits(at):
        for day in (number for number, runs in enumerate(mask) if runs):
            if not any(a <= at and at + minutes <= b for a, b in spans[day]):
                return False
            there = [load[(day * DAY + at + n) % (7 * DAY)] for n in range(minutes)]
            if any(amount > 0 and (alone or amount + flow > 100.0) for amount in there):
                return False
        return True

    good = [at for at in range(1500) if fits(at)]
    for earliest, latest in ((180, 720), (0, 720), (0, 2000)):
        for chosen in combinations([at for at in good if earliest <= at < latest], starts):
            gaps = all(
                b - a >= minutes + max(minutes, pause) for a, b in zip(chosen, chosen[1:], strict=False)
            )
            if gaps and chosen[-1] + minutes <= chosen[0] + DAY:
                return chosen
    return None


masks = st.lists(st.booleans(), min_size=7, max_size=7).filter(any).map(tuple)


@settings(max_examples=150, deadline=None)
@given(
    busy_clocks(),
    masks,
    st.integers(1, 3),
    st.integers(1, 14),
    st.sampled_from([30.0, 60.0, 120.0]),
    st.sampled_from([0, 0, 5, 30]),
)
def test_place_finds_what_a_scan_of_every_minute_finds(busy, mask, starts, minutes, flow, pause):
    week, spans, taken, alone = busy
    found = week.place(mask, starts=starts, minutes=minutes, flow=flow, pause=pause)
    wanted = scan(spans, taken, alone, mask=mask, starts=starts, minutes=minutes, flow=flow, pause=pause)
    assert found == wanted


@settings(max_examples=80, deadline=None)
@given(busy_clocks(), masks, st.integers(1, 3), st.integers(1, 3))
def test_the_longest_run_fits_and_every_longer_one_does_not(busy, mask, starts, step):
    week = busy[0]
    timer = make_timer(starts_per_day=starts, step=step, longest_run=30)
    longest = week.longest_runs(mask, timer=timer, flow=60.0)
    assert len(longest) == starts
    for count, most in enumerate(longest, 1):
        for minutes in range(step, 31, step):
            fits = week.place(mask, starts=count, minutes=minutes, flow=60.0) is not None
            assert fits == (minutes <= most)


@pytest.mark.parametrize("flow", [30.0, 60.0])
def test_what_is_taken_after_a_question_counts_in_the_next(flow):
    week = clock()
    assert week.place(MON, starts=1, minutes=10, flow=flow) == (180,)
    week.take(MON, (180,), minutes=10, flow=flow)
    assert week.place(MON, starts=1, minutes=10, flow=flow) == (190,)
