"""The fewest minutes that keep beds within their limits, against every total tried in turn."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.timetable.choices import rank_patterns
from scheduler.timetable.least import (
    area_mean_shortage,
    bed_shortage,
    least_minutes_by_bed,
    least_minutes_by_mean,
)
from scheduler.timetable.outlook import depletion_under
from tests.timetable.cases import make_outlook, make_zones, outlooks, plain_depletion, plain_shortage

MASKS = np.array(
    [(0,) * 7, (1,) * 7, (1, 0, 0, 1, 0, 0, 1), (0, 0, 1, 0, 0, 0, 0), (0, 1, 0, 1, 0, 1, 0)], float
)
#: A shortage within this of another is no better [mm d].
SAME = 1e-6

totals_lists = st.sets(st.integers(1, 120), min_size=1, max_size=12).map(lambda s: [0, *sorted(s)])


def test_depletion_under_a_setting_by_hand():
    outlook = make_outlook(et=4.0, rain=[[0.0], [6.0], *[[0.0]] * 5], depletion=10.0, net_rate=0.5, n_days=7)
    course = depletion_under(outlook, np.array([[1.0, 0, 0, 0, 0, 0, 0]]), np.array([[10]]))
    # 10 - 5 + 4 = 9; 9 - 6 + 4 = 7; then 4 mm a day.
    assert course[:, 0, 0].tolist() == [9.0, 7.0, 11.0, 15.0, 19.0, *course[5:, 0, 0]]
    # Beyond RAW the crop slows: 19 lies 3 above 16 of a span of 24 down to TAW.
    assert course[5, 0, 0] == pytest.approx(19.0 + 4.0 * (40.0 - 19.0) / 24.0)


@settings(max_examples=60, deadline=None)
@given(outlooks(n_beds=2, n_days=9), st.lists(st.integers(0, 90), min_size=5, max_size=5))
def test_depletion_under_many_settings_is_that_of_each(outlook, minutes):
    every = np.repeat(np.array(minutes)[:, None], 2, axis=1)
    course = depletion_under(outlook, MASKS, every)
    assert course.shape == (9, 5, 2)
    for setting, bed in product(range(5), range(2)):
        plain = plain_depletion(outlook, MASKS[setting], minutes[setting], bed)
        assert course[:, setting, bed] == pytest.approx(plain, abs=1e-9)


def test_bed_shortage_sums_the_days_beyond_the_limit():
    outlook = make_outlook(2, 3, raw=10.0, reserve=0.2, in_use=[[True, False]] * 3)
    depletion = np.array([[[7.0, 30.0]], [[9.0, 30.0]], [[11.5, 30.0]]])
    assert bed_shortage(outlook, depletion).tolist() == [[pytest.approx(4.5), 0.0]]


def test_area_mean_shortage_weighs_the_beds_in_use():
    outlook = make_outlook(2, 2, raw=10.0, reserve=0.0, in_use=[[True, True], [True, False]])
    depletion = np.array([[[14.0, 10.0]], [[11.0, 99.0]]])
    # Day 1: (3 * 14 + 1 * 10) / 4 = 13, 3 over; day 2: the first bed alone, 1 over.
    assert area_mean_shortage(outlook, depletion, np.array([3.0, 1.0])).tolist() == [pytest.approx(4.0)]


@settings(max_examples=60, deadline=None)
@given(outlooks(n_beds=2, n_days=8), totals_lists)
def test_least_minutes_by_bed_are_those_of_a_full_search(outlook, totals):
    rows = np.tile(totals, (len(MASKS), 1))
    found = least_minutes_by_bed(outlook, MASKS, rows)
    for pattern, bed in product(range(len(MASKS)), range(2)):
        (beds,) = make_zones([[bed]])
        shortage = [plain_shortage(outlook, beds, MASKS[pattern], minutes) for minutes in totals]
        least = next(m for m, short in zip(totals, shortage, strict=True) if short <= min(shortage) + SAME)
        assert found[pattern, bed] == least


@settings(max_examples=60, deadline=None)
@given(outlooks(n_beds=3, n_days=7), totals_lists, st.lists(st.floats(0.5, 6.0), min_size=3, max_size=3))
def test_least_minutes_by_mean_are_those_of_a_full_search(outlook, totals, area):
    rows = np.tile(totals, (len(MASKS), 1))
    found = least_minutes_by_mean(outlook, MASKS, rows, area=np.array(area))
    (beds,) = make_zones([[0, 1, 2]], area=area, rule="area mean")
    for pattern in range(len(MASKS)):
        shortage = [plain_shortage(outlook, beds, MASKS[pattern], minutes) for minutes in totals]
        least = next(m for m, short in zip(totals, shortage, strict=True) if short <= min(shortage) + SAME)
        assert found[pattern] == least


def test_each_pattern_chooses_from_its_own_totals():
    outlook = make_outlook(et=6.0, depletion=12.0, net_rate=0.2)
    totals = np.array([[0, 10, 20, 40, 80], [0, 15, 15, 15, 15]])
    masks = np.array([(1.0,) * 7, (1.0,) * 7])
    # 6 mm a day take 30 min at 0.2 mm/min; the second pattern cannot hold more than 15.
    assert least_minutes_by_bed(outlook, masks, totals).tolist() == [[40], [15]]


def test_minutes_that_only_drain_are_never_chosen():
    # One run on Monday cannot last to Sunday: what fills the soil is enough, 120 min would drain.
    outlook = make_outlook(et=4.0, depletion=10.0, net_rate=0.2)
    totals = np.arange(121)[None, :]
    assert least_minutes_by_bed(outlook, np.array([(1.0, 0, 0, 0, 0, 0, 0)]), totals).item() == 50


def test_a_bed_without_plants_asks_for_nothing():
    outlook = make_outlook(et=5.0, depletion=30.0, in_use=False)
    assert least_minutes_by_bed(outlook, MASKS, np.tile([0, 30, 60], (5, 1))).max() == 0


@settings(max_examples=60, deadline=None)
@given(outlooks(n_beds=3, n_days=7), st.sampled_from(["driest bed", "area mean"]))
def test_patterns_rank_by_shortage_then_water_then_fewer_runs(outlook, rule):
    (beds,) = make_zones([[0, 2]], flow=[40.0, 90.0], area=[1.0, 4.0], rule=rule)
    totals = np.tile([0, 10, 20, 35, 60, 100], (5, 1))
    by_bed = least_minutes_by_bed(outlook, MASKS, totals)
    (ranked,) = rank_patterns([beds], outlook, MASKS, by_bed, totals)
    if rule == "driest bed":
        assert ranked.minutes.tolist() == by_bed[:, beds.index].max(axis=1).tolist()
    keys = []
    for pattern in ranked.order:
        minutes = int(ranked.minutes[pattern])
        short = plain_shortage(outlook, beds, MASKS[pattern], minutes)
        litres = sum(
            minutes / 60.0 * (40.0 * outlook.in_use[day, 0] + 90.0 * outlook.in_use[day, 2])
            for day in range(7)
            if MASKS[pattern][day]
        )
        assert ranked.shortage[pattern] == pytest.approx(short, abs=1e-9)
        assert ranked.water[pattern] == pytest.approx(litres, abs=1e-9)
        keys.append((round(float(ranked.shortage[pattern]), 3), round(litres, 6), MASKS[pattern].sum()))
    assert keys == sorted(keys)
