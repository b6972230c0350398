"""Random weeks through the placing and the whole planner, each played in real time by the simulator."""

from dataclasses import replace
from datetime import date, time, timedelta
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.season.clock_changes import clock_changes
from scheduler.timetable.limits import days_ahead, hours_ahead
from scheduler.timetable.patterns import day_patterns
from scheduler.timetable.placing import WeekClock
from scheduler.timetable.runtime import run_lengths
from scheduler.timetable.week import ZoneSetting, weekly_timetable
from tests.timetable.cases import make_limits, make_outlook, make_zones, restriction, window
from tests.timetable.simulator import play
from tests.timetable.wall_clock import changed_days, wall_minutes

#: With half-hour changes, changes at midnight and none at all.
ZONES = (
    *("America/Los_Angeles", "Europe/Berlin", "Australia/Lord_Howe", "America/Santiago"),
    *("America/Havana", "Atlantic/Azores", "Pacific/Auckland", "Asia/Kathmandu"),
)
YEAR = 2024
WINDOWS = (
    (window(time(3, 0), time(7, 0)),),
    (window(time(1, 0), time(3, 0)),),
    (window(time(1, 40), time(2, 40)), window(time(4, 0), time(4, 30))),
    (window(time(22, 30), time(3, 30)),),
    (window(time(23, 30), time(0, 40)), window(time(19, 0), time(19, 20))),
    (window(time(0, 0), time(0, 0)),),
    (
        window(time(22, 0), time(2, 30), days=("Sat", "Sun", "Tue")),
        window(time(2, 0), time(6, 0), days=("Mon", "Sun")),
    ),
)
ORDER = {"begins": date(YEAR, 1, 1), "ends": date(YEAR + 1, 12, 31)}
ORDERS = (
    (),
    (restriction(days=("Sun", "Wed", "Sat"), **ORDER),),
    (restriction(begin=time(18, 0), until=time(2, 45), **ORDER),),
    (restriction(begin=time(1, 30), until=time(9, 0), days=("Mon", "Thu", "Sun"), **ORDER),),
)


def changing_weeks():
    """Return (time zone, first day): weeks with a change on any of their days, at the new year, others."""
    weeks = []
    for timezone in ZONES:
        changes = changed_days(YEAR, timezone)
        assert len(changes) == (0 if timezone == "Asia/Kathmandu" else 2)
        weeks += [(timezone, change - timedelta(days=n)) for change in changes for n in range(7)]
        weeks += [(timezone, date(YEAR, 12, day)) for day in (26, 29, 31)]
        weeks.append((timezone, date(YEAR, 7, 1)))
    return weeks


WEEKS = changing_weeks()


def random_limits(rng, timezone, first):
    step = int(rng.choice([1, 1, 2, 5]))
    return replace(
        make_limits(
            windows=WINDOWS[rng.integers(len(WINDOWS))],
            restrictions=ORDERS[rng.integers(len(ORDERS))] if rng.random() < 0.5 else (),
            usable_flow=float(rng.choice([70.0, 125.0, 400.0])),
            starts_per_day=int(rng.integers(1, 5)),
            step=step,
            shortest_run=int(rng.choice([1, 3, 5])),
            longest_run=int(rng.choice([10, 30, 90])),
            day_choices=[("weekdays",), ("every n days",), ("weekdays", "every n days")][rng.integers(3)],
            longest_interval=int(rng.integers(1, 8)),
            one_zone_at_a_time=bool(rng.random() < 0.5),
        ),
        clock_changes=clock_changes(first, first + timedelta(days=20), timezone),
    )


def placed_at_random(rng, first, limits):
    """Return a week of random settings, each placed on the clock if it finds room."""
    spans = hours_ahead(first, limits).spans[:7]
    clock = WeekClock(spans, capacity=limits.usable_flow, one_at_a_time=limits.timer.one_zone_at_a_time)
    patterns = day_patterns(first, [bool(day) for day in spans], limits.timer)
    lengths = run_lengths(limits.timer)
    placed = []
    for number in range(int(rng.integers(1, 5))):
        mask, told = patterns[rng.integers(len(patterns))]
        starts = int(rng.integers(1, limits.timer.starts_per_day + 1))
        minutes, flow = lengths[rng.integers(len(lengths))], float(rng.choice([40.0, 60.0]))
        begins = clock.place(mask, starts=starts, minutes=minutes, flow=flow)
        if not begins:
            continue
        clock.take(mask, begins, minutes=minutes, flow=flow)
        placed.append(ZoneSetting(f"zone {number}", number + 1, mask, told, begins, minutes, flow, 0.0))
    return SimpleNamespace(first=first, settings=placed)


def random_weeks(seed, count):
    rng = np.random.default_rng(seed)
    for _ in range(count):
        timezone, first = WEEKS[rng.integers(len(WEEKS))]
        yield rng, timezone, first, random_limits(rng, timezone, first)


def changes_within(first, limits):
    return [c for c in limits.clock_changes if first <= c.on < first + timedelta(days=7)]


@pytest.mark.parametrize("seed", range(4))
def test_settings_placed_at_random_are_sound_in_real_time(seed):
    runs_on_changed_days = 0
    for rng, timezone, first, limits in random_weeks(seed, 500):
        plan = placed_at_random(rng, first, limits)
        assert play(plan, limits, timezone) == []
        for change in changes_within(first, limits):
            day = (change.on - first).days
            runs_on_changed_days += sum(len(s.begins) for s in plan.settings if s.mask[day])
    # The weeks are such that a change could have been met.
    assert runs_on_changed_days > 100


def test_without_the_changes_the_same_settings_are_not_sound():
    kinds = ("never comes", "comes 2 times", "clocks change during", "no rest", "on at")
    found = []
    for rng, timezone, first, limits in random_weeks(0, 500):
        careless = replace(limits, clock_changes=())
        found += play(placed_at_random(rng, first, careless), careless, timezone)
    for kind in kinds:
        assert sum(kind in text for text in found) >= 3, kind


def test_weeks_without_a_change_are_placed_as_if_there_were_none():
    same = 0
    for _, _, first, limits in random_weeks(9, 300):
        plain = hours_ahead(first, replace(limits, clock_changes=()))
        if not changes_within(first, limits):
            assert hours_ahead(first, limits).spans[:7] == plain.spans[:7]
            same += 1
        else:
            assert hours_ahead(first, limits).spans != plain.spans or not _hit(first, limits, plain)
    assert 50 < same < 250


def _hit(first, limits, plain):
    """Return True if some watering hour of the week lies on minutes that a change touches."""
    return any(
        begin < change.until and end > change.begin
        for change in changes_within(first, limits)
        for begin, end in plain.spans[(change.on - first).days]
    )


# --- the whole planner


def random_garden(rng, first, limits):
    n_beds, n_days = int(rng.integers(1, 4)), days_ahead(first, limits)
    outlook = make_outlook(
        n_beds,
        n_days,
        et=rng.uniform(0.0, 9.0, (n_days, n_beds)),
        rain=np.where(rng.random((n_days, 1)) < 0.2, rng.uniform(0.0, 10.0, (n_days, 1)), 0.0),
        taw=rng.uniform(20.0, 60.0, n_beds),
        raw=rng.uniform(6.0, 18.0, n_beds),
        depletion=rng.uniform(0.0, 14.0, n_beds),
        net_rate=rng.uniform(0.1, 1.0, n_beds),
    )
    groups = [[bed] for bed in range(n_beds)]
    return outlook, make_zones(groups, flow=float(rng.choice([40.0, 60.0])))


@pytest.mark.parametrize("seed", range(4))
def test_every_planned_week_is_sound_in_real_time(seed):
    watered, careless = 0, 0
    for rng, timezone, first, limits in random_weeks(100 + seed, 150):
        outlook, zones = random_garden(rng, first, limits)
        plan = weekly_timetable(first, outlook, zones=zones, limits=limits)
        assert play(plan, limits, timezone) == []
        watered += any(setting.begins for setting in plan.settings)
        plain = replace(limits, clock_changes=())
        if changes_within(first, limits):
            careless += (
                play(weekly_timetable(first, outlook, zones=zones, limits=plain), plain, timezone) != []
            )
        else:
            assert weekly_timetable(first, outlook, zones=zones, limits=plain).settings == plan.settings
    assert watered > 100
    # Some of these weeks would go wrong if nobody looked at the clocks.
    assert careless >= 5


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 2**32 - 1), st.sampled_from(WEEKS))
def test_a_planned_week_is_sound_in_any_zone(seed, week):
    timezone, first = week
    rng = np.random.default_rng(seed)
    limits = random_limits(rng, timezone, first)
    outlook, zones = random_garden(rng, first, limits)
    plan = weekly_timetable(first, outlook, zones=zones, limits=limits)
    assert play(plan, limits, timezone) == []


def test_the_walk_has_the_real_minutes_of_a_week():
    plain = wall_minutes(date(YEAR, 7, 1), "America/Los_Angeles")
    assert len(plain) == 8 * 1440
    assert len(wall_minutes(date(YEAR, 3, 4), "America/Los_Angeles")) == 8 * 1440 - 60
    assert len(wall_minutes(date(YEAR, 10, 28), "America/Los_Angeles")) == 8 * 1440 + 60
