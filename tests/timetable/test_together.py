"""Outlets on one clock: what is told fits, minute by minute, and nothing cheaper would."""

from dataclasses import replace
from datetime import time
from functools import partial
from itertools import compress, permutations, product
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.timetable.lasting import LastingRoom, hours_in_common, lasting_patterns, weekdays_used
from scheduler.timetable.outlet_need import least_short
from scheduler.timetable.placing import WeekClock
from scheduler.timetable.stretch import OFF, outlet_ladder, outlet_options, patterns_of
from scheduler.timetable.together import Outlets, arrange_outlets
from scheduler.timetable.week import ZoneSetting
from scheduler.timetable.windows import watering_hours
from tests.timetable.cases import FIRST, make_limits, window
from tests.timetable.simulator import NAMES, play
from tests.timetable.stretches import outlet, outlets

TIMER = {"starts_per_day": 2, "step": 2, "longest_run": 12, "day_choices": ("weekdays",)}


def told(mask):
    """Return the days of a mask as a timer with weekdays is told them."""
    if all(mask):
        return "every day"
    return " ".join(compress(NAMES, mask)) or "no run this week"


class Played(NamedTuple):
    """What the minute-by-minute timer of the tests is given."""

    first: object
    settings: tuple


class Clock:
    """Some outlets in one week with few hours."""

    def __init__(self, needs, *, minutes, share=0.1, flows=None, usable_flow=1000.0, **timer):
        until = time(5 + minutes // 60, minutes % 60)
        self.limits = make_limits(
            windows=[window(time(5, 0), until)], usable_flow=usable_flow, **{**TIMER, **timer}
        )
        self.needs, self.share = needs, share
        self.patterns = lasting_patterns(self.limits.timer)
        hours = watering_hours(
            FIRST, 7, shortest=1, windows=self.limits.windows, restrictions=self.limits.restrictions
        )
        self.outlets = Outlets(
            used=weekdays_used(self.patterns, 1),
            spans=hours_in_common(hours),
            flow=flows or [60.0] * len(needs),
            limits=self.limits,
        )
        self.longest = LastingRoom(self.limits.timer).longest(self.outlets.used, self.outlets.spans)

    def options(self, ways=outlet_options):
        return [
            ways(
                need,
                0,
                need.asked.shape[0],
                patterns=patterns_of(self.patterns),
                longest=self.longest,
                timer=self.limits.timer,
                share=self.share,
            )
            for need in self.needs
        ]

    def arranged(self):
        def ladders():
            return [self.options(outlet_ladder), self.options(partial(outlet_ladder, keep_pulse=False))]

        return arrange_outlets(self.options(), self.outlets, ladders=ladders)

    def settings(self, found):
        """Return an arrangement as settings of a week."""
        settings = []
        for number, (options, at, begins) in enumerate(
            zip(found.options, found.number, found.begins, strict=True), 1
        ):
            pattern = int(options.pattern[at])
            mask = (False,) * 7 if pattern == OFF else tuple(self.outlets.used[pattern].tolist())
            settings.append(
                ZoneSetting(
                    zone=f"zone {number}",
                    outlet=number,
                    mask=mask,
                    days=told(mask),
                    begins=begins,
                    minutes=int(options.minutes[at]),
                    flow=self.outlets.flow[number - 1],
                    shortage=0.0,
                )
            )
        return tuple(settings)

    def breaches(self, found):
        return play(Played(FIRST, self.settings(found)), self.limits)


def fits(clock, options, number):
    """Return True if the clock takes some options in any order of the outlets."""
    for order in permutations(range(len(options))):
        free = WeekClock(
            clock.outlets.spans,
            capacity=clock.limits.usable_flow,
            one_at_a_time=clock.limits.timer.one_zone_at_a_time,
        )
        for outlet_number in order:
            option, at = options[outlet_number], number[outlet_number]
            if int(option.pattern[at]) == OFF:
                continue
            mask, flow = clock.outlets.used[option.pattern[at]].tolist(), clock.outlets.flow[outlet_number]
            minutes = int(option.minutes[at])
            begins = free.place(mask, starts=int(option.starts[at]), minutes=minutes, flow=flow)
            if begins is None:
                break
            free.take(mask, begins, minutes=minutes, flow=flow)
        else:
            return True
    return False


@given(st.integers(1, 3), st.integers(4, 40), st.booleans(), st.data())
def test_what_is_arranged_can_be_played(n_outlets, minutes, alone, data):
    needs = [data.draw(outlets(n_weeks=1, most_minutes=120.0)) for _ in range(n_outlets)]
    clock = Clock(needs, minutes=minutes, one_zone_at_a_time=alone, usable_flow=100.0)
    found = clock.arranged()
    assert clock.breaches(found) == []
    cost = sum(float(o.cost[at]) for o, at in zip(found.options, found.number, strict=True))
    assert found.cost == pytest.approx(cost)


@given(st.integers(8, 30), st.data())
def test_nothing_cheaper_fits(minutes, data):
    needs = [data.draw(outlets(n_weeks=1, most_minutes=60.0)) for _ in range(2)]
    clock = Clock(needs, minutes=minutes, day_choices=("every n days",), longest_interval=3, starts_per_day=1)
    found, options = clock.arranged(), clock.options()
    cheaper = [
        number
        for number in product(*(range(option.cost.shape[0]) for option in options))
        if sum(float(o.cost[at]) for o, at in zip(options, number, strict=True))
        < found.cost * (1 - 1e-9) - 1e-6
    ]
    # Where none fits as wanted the hours are shared out: then none of the wanted ones may fit at all.
    assert not any(fits(clock, options, number) for number in cheaper)


def test_two_outlets_that_find_room_lie_one_after_the_other():
    # 63 and 49 min a week on seven days are 9 and 7: with two-minute steps 10 and 8 of 20 min.
    clock = Clock([outlet([63.0], gap=1), outlet([49.0], gap=1)], minutes=20, share=0.0)
    found = clock.arranged()
    assert [setting.minutes_per_day for setting in clock.settings(found)] == [10, 8]
    assert [setting.begins for setting in clock.settings(found)] == [(300,), (310,)]
    assert found.cost == pytest.approx(7 * 10 - 63 + 7 * 8 - 49)


def test_outlets_that_find_no_room_share_the_hours():
    # Each wants 10 min a day; of the 12 there are, each gets 6.
    clock = Clock([outlet([70.0], gap=1), outlet([70.0], gap=1)], minutes=12, share=0.0)
    found = clock.arranged()
    assert [setting.minutes_per_day for setting in clock.settings(found)] == [6, 6]
    assert clock.breaches(found) == []
    short = sum(float(o.short[at]) for o, at in zip(found.options, found.number, strict=True))
    assert short == pytest.approx(2 * (28 / 70) ** 2)


@given(st.integers(1, 4), st.integers(6, 40), st.data())
def test_hours_are_shared_as_well_as_the_steps_of_the_timer_allow(n_outlets, minutes, data):
    needs = [
        outlet([float(data.draw(st.integers(60, 300)))], gap=1, flow=float(data.draw(st.integers(1, 5))))
        for _ in range(n_outlets)
    ]
    clock = Clock(needs, minutes=minutes, share=0.0, starts_per_day=1, step=1, longest_run=60)
    found = clock.arranged()
    assert clock.breaches(found) == []
    a_day = [setting.minutes_per_day for setting in clock.settings(found)]
    told = sum(float(o.short[at]) for o, at in zip(found.options, found.number, strict=True))
    assert told >= least_short(needs, 0, 1, share=0.0, most=minutes) - 1e-9
    if told > 0.0:
        # Nobody could hand a minute to another and leave less short.
        assert sum(a_day) == minutes
        for giver, taker in permutations(range(n_outlets), 2):
            if a_day[giver] > 0:
                other = [m - (n == giver) + (n == taker) for n, m in enumerate(a_day)]
                short = sum(
                    float(need.short(np.array([float(m)]), 0, 1, share=0.0)[0])
                    for need, m in zip(needs, other, strict=True)
                )
                assert short >= told - 1e-9


def test_runs_keep_to_what_soil_takes_where_the_hours_allow_it():
    # 18 min a day are two runs of 10, with 20 min between them; 40 min of hours hold them.
    need = outlet([126.0], gap=1, longest_pulse=10.0, soak=20.0)
    found = Clock([need], minutes=40, share=0.0, longest_run=60).arranged()
    assert (int(found.options[0].minutes[found.number[0]]), found.begins) == (10, ((300, 330),))
    # In 34 min they find room with shorter pauses.
    found = Clock([need], minutes=34, share=0.0, longest_run=60).arranged()
    assert (int(found.options[0].minutes[found.number[0]]), found.begins) == (10, ((300, 320),))
    # In 20 min there is room for one run only: rather too fast than not at all.
    found = Clock([need], minutes=20, share=0.0, longest_run=60).arranged()
    assert (int(found.options[0].minutes[found.number[0]]), found.begins) == (18, ((300,),))
    assert float(found.options[0].short[found.number[0]]) == 0.0


def test_a_neighbour_runs_in_the_pauses():
    needs = [outlet([126.0], gap=1, longest_pulse=10.0, soak=20.0), outlet([140.0], gap=1)]
    clock = Clock(needs, minutes=40, share=0.0, longest_run=60)
    found = clock.arranged()
    assert clock.breaches(found) == []
    assert found.begins == ((300, 330), (310,))


def test_nobody_is_left_shorter_for_the_sake_of_short_runs():
    # Each has room for its splits by itself, but both together for one run each at the most.
    needs = [outlet([126.0], gap=1, longest_pulse=10.0, soak=20.0) for _ in range(2)]
    clock = Clock(needs, minutes=36, share=0.0, longest_run=60)
    found = clock.arranged()
    assert clock.breaches(found) == []
    assert [setting.minutes_per_day for setting in clock.settings(found)] == [18, 18]


@given(st.integers(1, 3), st.integers(4, 60), st.booleans(), st.data())
def test_short_runs_never_cost_a_bed_water(n_outlets, minutes, alone, data):
    needs = [data.draw(outlets(n_weeks=1, most_minutes=120.0)) for _ in range(n_outlets)]
    kept, heedless = (
        Clock(some, minutes=minutes, one_zone_at_a_time=alone, usable_flow=100.0).arranged()
        for some in (needs, [replace(need, longest_pulse=np.inf, soak=0.0) for need in needs])
    )
    short = [
        sum(float(o.short[at] + o.dry[at]) for o, at in zip(f.options, f.number, strict=True))
        for f in (kept, heedless)
    ]
    # A litre that comes too fast weighs a billionth of a shortage.
    assert short[0] <= short[1] + 1e-4


def test_a_larger_tap_lets_outlets_run_together():
    needs = [outlet([70.0], gap=1), outlet([70.0], gap=1)]
    together = Clock(needs, minutes=12, share=0.0, one_zone_at_a_time=False, usable_flow=120.0)
    found = together.arranged()
    assert [setting.begins for setting in together.settings(found)] == [(300,), (300,)]
    narrow = Clock(needs, minutes=12, share=0.0, one_zone_at_a_time=False, usable_flow=119.0)
    assert [setting.minutes_per_day for setting in narrow.settings(narrow.arranged())] == [6, 6]


def test_ladders_that_do_not_begin_with_off_are_refused():
    clock = Clock([outlet([70.0], gap=1)] * 2, minutes=2, share=0.0)
    with pytest.raises(ValueError, match="off"):
        arrange_outlets(clock.options(), clock.outlets, ladders=lambda: [clock.options()])


def test_an_outlet_that_is_off_takes_no_minutes():
    clock = Clock([outlet([0.0]), outlet([30.0])], minutes=20)
    off, on = clock.options()
    assert off.load(clock.outlets.used).tolist() == [[0] * 7]
    assert (on.load(clock.outlets.used).sum(axis=1) > 0).all()
    assert np.isfinite(clock.arranged().cost)
