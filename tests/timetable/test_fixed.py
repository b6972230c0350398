"""Timetables that are set once and left, over the ends of months and years."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.timetable.fixed import FixedSetting, fixed_minutes, runs_on
from scheduler.timetable.windows import WEEKDAYS

MONDAY = date(2025, 12, 29)
days = st.dates(date(2019, 1, 1), date(2033, 12, 31))
weekday_sets = st.frozensets(st.sampled_from(WEEKDAYS), min_size=1)


def one(days, begins=MONDAY, zone="a", starts=1, minutes=20):
    return FixedSetting(zone, begins, days, starts, minutes)


def minutes_of(settings, first, n_days, zones=("a",)):
    return fixed_minutes(settings, zones, first=first, n_days=n_days)


def test_weekdays_repeat_over_the_new_year():
    setting = one(frozenset({"Mon", "Thu"}), starts=2, minutes=15)
    # 29 Dec 2025 is a Monday; Thursday 1 Jan and Monday 5 Jan 2026 follow.
    assert minutes_of([setting], MONDAY, 8)[:, 0].tolist() == [30, 0, 0, 30, 0, 0, 0, 30]


def test_every_third_day_counts_on_over_the_new_year():
    # 29 Dec, 1 Jan, 4 Jan, 7 Jan.
    assert minutes_of([one(3)], MONDAY, 10)[:, 0].tolist() == [20, 0, 0, 20, 0, 0, 20, 0, 0, 20]
    assert minutes_of([one(3)], date(2026, 1, 1), 3)[:, 0].tolist() == [20, 0, 0]


def test_every_other_day_drifts_over_the_weekdays_through_leap_years():
    # From 29 Feb 2024 to 29 Feb 2028 there are 1461 days, an odd number: no run on that leap day.
    leap = date(2024, 2, 29)
    assert minutes_of([one(2, begins=leap)], date(2028, 2, 28), 3)[:, 0].tolist() == [20, 0, 20]
    run = minutes_of([one(2, begins=leap)], leap, 1462)[:, 0] > 0
    begun = leap
    expected = []
    while begun <= date(2028, 2, 29):
        expected.append((begun - leap).days)
        begun += timedelta(days=2)
    assert np.flatnonzero(run).tolist() == expected
    of_weeks = {tuple(run[week : week + 7].tolist()) for week in range(0, 1400, 7)}
    assert of_weeks == {(True, False) * 3 + (True,), (False, True) * 3 + (False,)}


def test_a_later_setting_takes_over_and_counts_from_its_own_beginning():
    begins = MONDAY + timedelta(days=4)
    settings = [one(2, begins=begins, minutes=5), one(3), one(None, begins=MONDAY + timedelta(days=7))]
    assert minutes_of(settings, MONDAY, 10)[:, 0].tolist() == [20, 0, 0, 20, 5, 0, 5, 0, 0, 0]


def test_a_zone_without_a_setting_and_days_before_the_first_have_no_water():
    settings = [one(1, begins=MONDAY + timedelta(days=1))]
    assert minutes_of(settings, MONDAY, 3, ("b", "a")).tolist() == [[0, 0], [0, 20], [0, 20]]


@given(days, days, st.one_of(st.none(), weekday_sets, st.integers(1, 30)), st.integers(1, 400))
def test_a_span_is_the_days_one_by_one_and_the_same_in_pieces(begins, first, pattern, n_days):
    setting = one(pattern, begins=begins)
    whole = minutes_of([setting], first, n_days)[:, 0]
    dates = [first + timedelta(days=n) for n in range(n_days)]
    assert whole.tolist() == [20.0 * runs_on(setting, day) for day in dates]
    for day in dates:
        since = day.toordinal() - begins.toordinal()
        if pattern is None or since < 0:
            assert not runs_on(setting, day)
        elif isinstance(pattern, int):
            assert runs_on(setting, day) == (since % pattern == 0)
        else:
            assert runs_on(setting, day) == (f"{day:%a}" in pattern)
    half = n_days // 2
    pieces = minutes_of([setting], first, half), minutes_of([setting], dates[half], n_days - half)
    assert np.concatenate(pieces)[:, 0].tolist() == whole.tolist()


def test_what_no_timer_could_mean_is_refused():
    with pytest.raises(ValueError, match="1 day or more"):
        one(0)
    with pytest.raises(ValueError, match="not negative"):
        one(1, minutes=-5)
    with pytest.raises(ValueError, match="no such zone: c"):
        minutes_of([one(1, zone="c")], MONDAY, 3)
    with pytest.raises(ValueError, match="begin on 2025-12-29"):
        minutes_of([one(1), one(2)], MONDAY, 3)
