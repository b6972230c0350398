"""Watering orders and intervals reckoned by hand: no rain, one coefficient, 0.2 mm stored a minute.

A bed here has RAW 16 mm, and no reserve is kept, so that it may lack 16 mm at the end of a day.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from scheduler.timetable.choices import zone_shortage
from scheduler.timetable.limits import days_ahead
from scheduler.timetable.patterns import day_patterns
from scheduler.timetable.week import weekly_timetable
from tests.builders import make_timer
from tests.timetable.cases import FIRST, make_limits, make_outlook, make_zones, restriction

TUESDAY = date(2025, 6, 3)
TWO_DAYS = (restriction(days=("Tue", "Sat")),)


def planned(first, limits, *, et, depletion, raw=16.0, taw=40.0):
    outlook = make_outlook(
        n_days=days_ahead(first, limits), et=et, raw=raw, taw=taw, depletion=depletion, reserve=0.0
    )
    return weekly_timetable(first, outlook, zones=make_zones([[0]]), limits=limits)


def test_two_days_a_week_leave_gaps_of_four_and_three_days_and_16_mm_fit_exactly():
    # Tue to Sat is 4 days: 4 x 4 mm = 16 mm, all that the bed may lack. Sat to Tue is 3 days: 12 mm.
    plan = planned(TUESDAY, make_limits(restrictions=TWO_DAYS), et=4.0, depletion=12.0)
    (setting,) = plan.settings
    assert setting.mask == (True, False, False, False, True, False, False)
    # On Tuesday 12 mm are missing and must all come, for the gap takes all 16: 12 / 0.2 = 60 min. Saturday
    # then gets 12 of the 16 mm that it lacks, and 4 + 3 x 4 = 16 mm are missing on Monday night.
    assert (setting.minutes_per_day, setting.shortage) == (60, 0.0)
    assert plan.depletion[:, 0] == pytest.approx([4.0, 8.0, 12.0, 16.0, 8.0, 12.0, 16.0])
    assert plan.conflicts == ()


def test_at_5_mm_a_day_the_long_gap_is_4_mm_too_long():
    # Tue to Sat now takes 4 x 5 = 20 mm: 4 mm past the 16. The three days from Saturday take 15 mm.
    plan = planned(TUESDAY, make_limits(restrictions=TWO_DAYS), et=5.0, depletion=15.0)
    (setting,) = plan.settings
    # Tuesday's 15 mm take 75 min, but Saturday lacks 20 mm: of these 19 must come, that no more than
    # 1 + 15 = 16 mm are missing on Monday night. 19 / 0.2 = 95 min; 4 of Tuesday's 19 mm drain.
    assert setting.minutes_per_day == 95
    assert plan.depletion[:, 0] == pytest.approx([5.0, 10.0, 15.0, 20.0, 6.0, 11.0, 16.0])
    assert setting.shortage == pytest.approx(4.0**2)
    assert len(plan.conflicts) == 1


@pytest.mark.parametrize(
    ("depth_mm", "fits"),
    [(16.0, False), (19.8, False), (20.0, True), (24.0, True)],
)
def test_four_days_at_5_mm_take_a_store_of_20_mm(depth_mm, fits):
    plan = planned(
        TUESDAY, make_limits(restrictions=TWO_DAYS), et=5.0, depletion=15.0, raw=depth_mm, taw=2.5 * depth_mm
    )
    # Short by 20 mm less the store, on Friday alone.
    assert plan.settings[0].shortage == pytest.approx(0.0 if fits else (20.0 - depth_mm) ** 2)


def test_an_interval_of_3_2_days_is_rounded_down_to_3():
    # 16 mm at 5 mm a day last 3.2 days. Every 3 days take 15 mm; every 4 days 20 mm, 4 mm past.
    (beds,) = make_zones([[0]])
    outlook = make_outlook(n_days=12, et=5.0, depletion=0.0, reserve=0.0)
    for interval, worst in ((1, 0.0), (2, 0.0), (3, 0.0), (4, 4.0)):
        mask = np.array([[float(day % interval == 0) for day in range(12)]])
        refill = np.array([interval * 5.0 / 0.2])
        # 12 days hold 12 / interval gaps, each of which ends as far past; Ks stays 1 up to its last morning.
        # Shortage counts by squares.
        assert zone_shortage(beds, outlook, mask, refill)[0] == pytest.approx(worst**2 * 12 / interval)


def test_a_timer_of_intervals_holds_the_3_days_that_an_order_leaves():
    order = (restriction(days=("Mon", "Thu", "Sun")),)
    limits = make_limits(restrictions=order, day_choices=("every n days",))
    plan = planned(FIRST, limits, et=5.0, depletion=15.0)
    (setting,) = plan.settings
    assert setting.days == "every 3 days from Mon 2 Jun"
    # x mm a run: 30 - x on Wednesday night, 45 - 2 x on Saturday, 50 - 3 x on Sunday, none above 16.
    # x = 14.5 serves them all: 72.5 min, and the timer's step makes it 73.
    assert setting.minutes_per_day == 73
    assert setting.shortage == 0.0


def test_every_2_days_drifts_across_the_weekdays_of_an_order():
    # From a Monday on: Mon Wed Fri Sun, then Tue Thu Sat; within two weeks it meets every weekday once.
    names = [(FIRST + timedelta(days=day)).strftime("%a") for day in range(0, 14, 2)]
    assert names == ["Mon", "Wed", "Fri", "Sun", "Tue", "Thu", "Sat"]
    allowed = [name in ("Mon", "Wed", "Fri") for name in ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")]
    every_other = (True, False, True, False, True, False, True)
    three_days = (True, False, True, False, True, False, False)
    intervals = {mask for mask, _ in day_patterns(FIRST, allowed, make_timer(day_choices=("every n days",)))}
    weekdays = {mask for mask, _ in day_patterns(FIRST, allowed, make_timer(day_choices=("weekdays",)))}
    # Sunday's run would break the order, and no other interval gives these three days.
    assert every_other not in intervals | weekdays
    assert three_days in weekdays
    assert three_days not in intervals


def test_so_a_bed_that_three_weekdays_serve_fails_with_a_timer_of_intervals():
    # Mon to Wed, Wed to Fri: 2 days, 10 mm; Fri to Mon: 3 days, 15 mm. All within 16 mm.
    order = (restriction(days=("Mon", "Wed", "Fri")),)
    with_weekdays = planned(FIRST, make_limits(restrictions=order), et=5.0, depletion=15.0)
    assert with_weekdays.settings[0].shortage == 0.0
    with_intervals = planned(
        FIRST, make_limits(restrictions=order, day_choices=("every n days",)), et=5.0, depletion=15.0
    )
    # Of one Monday, one Wednesday, one Friday, or Mon and Fri (every 4 days), the last falls least short:
    # Mon to Fri 4 days, 20 mm, so that Thursday ends 4 mm past; Fri to Mon 15 mm.
    assert with_intervals.settings[0].mask == (True, False, False, False, True, False, False)
    assert with_intervals.settings[0].shortage == pytest.approx(4.0**2)
