"""Every week's plan, of hundreds of random gardens, played minute by minute on a timer."""

from dataclasses import replace
from datetime import time, timedelta

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.garden.plan import Zone
from scheduler.timetable.limits import days_ahead
from scheduler.timetable.week import weekly_timetable
from tests.builders import EVERY_DAY
from tests.timetable.cases import FIRST, make_limits, make_zones, outlooks, restriction, window
from tests.timetable.simulator import play

weekdays = st.sets(st.sampled_from(EVERY_DAY), min_size=1).map(tuple)
hours = st.tuples(st.integers(0, 23), st.integers(0, 59)).map(lambda pair: time(*pair))
spans = st.tuples(hours, hours).filter(lambda pair: pair[0] != pair[1])


@st.composite
def windows(draw):
    (begin, until), days = draw(spans), draw(st.one_of(st.just(EVERY_DAY), weekdays))
    return window(begin, until, days=days)


@st.composite
def restrictions(draw):
    begins = FIRST + timedelta(days=draw(st.integers(-20, 7)))
    begin, until = draw(st.one_of(st.just((None, None)), spans))
    return restriction(
        begins=begins,
        ends=begins + timedelta(days=draw(st.integers(0, 30))),
        days=draw(st.one_of(st.just(()), st.just(EVERY_DAY), weekdays)),
        begin=begin,
        until=until,
        exempt=draw(st.sampled_from(["yes", "no", "unknown"])),
    )


@st.composite
def limits(draw):
    step = draw(st.sampled_from([1, 1, 2, 5, 15]))
    shortest = step * draw(st.integers(1, 3))
    choices = [("weekdays",), ("every n days",), ("weekdays", "every n days")]
    return make_limits(
        windows=draw(st.lists(windows(), min_size=1, max_size=3)),
        restrictions=draw(st.lists(restrictions(), max_size=2)),
        usable_flow=draw(st.floats(40.0, 400.0)),
        starts_per_day=draw(st.integers(1, 4)),
        step=step,
        shortest_run=shortest,
        longest_run=shortest + step * draw(st.integers(0, 20)),
        day_choices=draw(st.sampled_from(choices)),
        longest_interval=draw(st.integers(1, 10)),
        one_zone_at_a_time=draw(st.booleans()),
    )


@st.composite
def gardens(draw):
    """Return (outlook, zones, limits) of one to four zones with one or two beds each."""
    rules = draw(limits())
    sizes = draw(st.lists(st.integers(1, 2), min_size=1, max_size=4))
    n_beds = sum(sizes)
    outlook = draw(outlooks(n_beds=n_beds, n_days=days_ahead(FIRST, rules)))
    zones = []
    for number, size in enumerate(sizes):
        index = list(range(sum(sizes[:number]), sum(sizes[: number + 1])))
        flow = draw(st.lists(st.floats(15.0, 160.0), min_size=size, max_size=size))
        rule = draw(st.sampled_from(["driest bed", "area mean"]))
        (zone,) = make_zones([index], flow=flow, area=1.0 + np.arange(size), rule=rule)
        zones.append(replace(zone, zone=Zone(f"zone {number}", number + 1, rule)))
    return outlook, zones, rules


@settings(max_examples=300, deadline=None)
@given(gardens())
def test_every_plan_keeps_the_rules_of_timer_hours_and_tap(garden):
    outlook, zones, rules = garden
    plan = weekly_timetable(FIRST, outlook, zones=zones, limits=rules)
    assert play(plan, rules) == []
    assert [setting.zone for setting in plan.settings] == [zone.zone.name for zone in zones]
    for setting, zone in zip(plan.settings, zones, strict=True):
        open_flow = outlook.in_use[:7][:, zone.index] @ zone.flow
        assert setting.flow == open_flow.max()
        assert setting.minutes_per_day == setting.minutes * len(setting.begins)


@settings(max_examples=60, deadline=None)
@given(gardens())
def test_a_plan_depends_on_nothing_but_its_inputs(garden):
    outlook, zones, rules = garden
    first, second = (weekly_timetable(FIRST, outlook, zones=zones, limits=rules) for _ in range(2))
    assert first.settings == second.settings
    assert first.conflicts == second.conflicts
    assert np.array_equal(first.depletion, second.depletion)
