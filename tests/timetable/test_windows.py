"""When water may run."""

from datetime import date, datetime, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.timetable.windows import ClockChange, allowed_spans, watering_hours, weekday
from tests.timetable.cases import DAY, FIRST, restriction, window
from tests.timetable.simulator import may_run

NIGHT = window(time(22, 0), time(5, 0))


def test_weekday_names_a_date():
    assert [weekday(FIRST + timedelta(days=n)) for n in range(7)] == [
        "Mon",
        "Tue",
        "Wed",
        "Thu",
        "Fri",
        "Sat",
        "Sun",
    ]


def test_a_window_is_minutes_after_midnight_on_its_own_days():
    morning = window(time(5, 30), time(7, 0), days=("Mon", "Thu"))
    assert allowed_spans(FIRST, [morning], []) == [(330, 420)]
    assert allowed_spans(FIRST + timedelta(days=1), [morning], []) == []


def test_a_window_past_midnight_gives_an_evening_and_the_small_hours_of_the_next_day():
    night = [window(time(22, 0), time(5, 0), days=("Mon",))]
    spans = [allowed_spans(FIRST + timedelta(days=n), night, []) for n in (-1, 0, 1, 2)]
    assert spans == [[], [(1320, 1440)], [(0, 300)], []]


def hours(windows, rules=(), *, shortest=1, n_days=7):
    return watering_hours(FIRST, n_days, shortest=shortest, windows=windows, restrictions=rules)


def test_morning_hours_on_any_day_make_water_come_before_the_days_use():
    assert hours([NIGHT]).spans == (((0, 300), (1320, 1440)),) * 7
    assert hours([NIGHT]).evening is False
    both = hours([window(time(5, 0), time(7, 0), days=("Mon",)), window(time(18, 0), time(21, 0))])
    assert both.spans == (((300, 420), (1080, 1260)), *(((1080, 1260),),) * 6)
    assert both.evening is False


def test_evening_runs_where_no_morning_is_allowed():
    evening = hours([window(time(18, 0), time(21, 0))])
    assert evening.spans == (((1080, 1260),),) * 7
    assert evening.evening is True


def test_a_span_too_short_for_a_run_is_none():
    windows = [window(time(12, 0), time(0, 1)), window(time(5, 0), time(5, 4))]
    assert hours(windows, shortest=5).evening is True
    assert hours(windows, shortest=4).evening is False


def test_windows_that_meet_or_overlap_are_one():
    windows = [window(time(6, 0), time(8, 0)), window(time(3, 0), time(5, 0)), window(time(4, 0), time(6, 0))]
    assert allowed_spans(FIRST, windows, []) == [(180, 480)]


@pytest.mark.parametrize(("exempt", "expected"), [("yes", [(180, 420)]), ("no", []), ("unknown", [])])
def test_only_an_entered_exemption_lifts_a_restriction(exempt, expected):
    rule = restriction(days=("Tue",), exempt=exempt)
    assert allowed_spans(FIRST, [window()], [rule]) == expected


def test_a_restriction_without_days_forbids_all_watering_while_it_holds():
    rule = restriction(begins=FIRST, ends=FIRST + timedelta(days=1), days=())
    spans = [bool(allowed_spans(FIRST + timedelta(days=n), [window()], [rule])) for n in (-1, 0, 1, 2)]
    assert spans == [True, False, False, True]


def test_hours_of_a_restriction_cut_a_window():
    rule = restriction(begin=time(4, 0), until=time(6, 30))
    assert allowed_spans(FIRST, [window()], [rule]) == [(240, 390)]


def test_hours_over_midnight_allow_morning_and_evening():
    rule = restriction(begin=time(18, 0), until=time(10, 0))
    windows = [window(time(8, 0), time(20, 0))]
    assert allowed_spans(FIRST, windows, [rule]) == [(480, 600), (1080, 1200)]


def test_two_restrictions_leave_what_both_allow():
    rules = [
        restriction(begin=time(3, 30), until=time(6, 0)),
        restriction(begin=time(5, 0), until=time(9, 0)),
    ]
    assert allowed_spans(FIRST, [window()], rules) == [(300, 360)]


def two_nights(rule):
    return [allowed_spans(FIRST + timedelta(days=n), [NIGHT], [rule]) for n in (0, 1)]


def test_small_hours_follow_the_rules_of_their_own_day():
    assert two_nights(restriction(days=("Mon",))) == [[(0, 300), (1320, 1440)], []]


def test_a_restriction_that_begins_tomorrow_rules_the_small_hours_of_tonight():
    tomorrow = FIRST + timedelta(days=1)
    rule = restriction(begins=tomorrow, begin=time(3, 0), until=time(10, 0))
    assert two_nights(rule) == [[(0, 300), (1320, 1440)], [(180, 300)]]
    assert two_nights(restriction(begins=tomorrow, days=())) == [[(0, 300), (1320, 1440)], []]


def test_a_restriction_that_ends_at_midnight_frees_the_small_hours():
    rule = restriction(ends=FIRST, begin=time(20, 0), until=time(23, 0))
    assert two_nights(rule) == [[(1320, 1380)], [(0, 300), (1320, 1440)]]


clock_times = st.integers(0, DAY // 10 - 1).map(lambda n: time(n * 10 // 60, n * 10 % 60))
some_days = st.sets(st.sampled_from(["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"])).map(tuple)


@st.composite
def window_lists(draw):
    pairs = draw(st.lists(st.tuples(clock_times, clock_times, some_days), min_size=1, max_size=3))
    return [window(begin, until, days) for begin, until, days in pairs]


@st.composite
def restriction_lists(draw):
    rules = []
    for _ in range(draw(st.integers(0, 2))):
        begins = FIRST + timedelta(days=draw(st.integers(-3, 6)))
        hours = draw(st.one_of(st.none(), st.tuples(clock_times, clock_times).filter(lambda p: p[0] != p[1])))
        begin, until = hours if hours is not None else (None, None)
        rules.append(
            restriction(
                begins=begins,
                ends=begins + timedelta(days=draw(st.integers(0, 6))),
                days=draw(some_days),
                begin=begin,
                until=until,
                exempt=draw(st.sampled_from(["yes", "no", "unknown"])),
            )
        )
    return rules


@settings(max_examples=120, deadline=None)
@given(window_lists(), restriction_lists(), st.integers(0, 6))
def test_spans_are_just_the_minutes_that_the_calendar_allows(windows, rules, number):
    day: date = FIRST + timedelta(days=number)
    spans = allowed_spans(day, windows, rules)
    inside = {minute for begin, end in spans for minute in range(begin, end)}
    midnight = datetime.combine(day, time())
    # Every limit above falls on a tenth minute, so one minute in ten tells of all.
    for minute in range(5, DAY, 10):
        allowed = may_run(midnight + timedelta(minutes=minute), windows, rules)
        assert (minute in inside) == allowed, (minute, spans)
    assert all(a < b for a, b in spans)
    assert all(first[1] < second[0] for first, second in zip(spans, spans[1:], strict=False))


# --- changes of clocks

SECOND_DAY = FIRST + timedelta(days=1)
SKIPPED = ClockChange(SECOND_DAY, 120, 180, True)
REPEATED = ClockChange(SECOND_DAY, 60, 120, False)


def changed(windows, *changes, shortest=1):
    return watering_hours(
        FIRST, 3, shortest=shortest, windows=windows, restrictions=(), clock_changes=changes
    ).spans


def test_a_repeated_hour_is_cut_from_its_own_day_alone():
    assert changed([NIGHT], REPEATED) == (
        ((0, 300), (1320, 1440)),
        ((0, 60), (120, 300), (1320, 1440)),
        ((0, 300), (1320, 1440)),
    )


def test_a_skipped_hour_takes_an_hour_of_rest_with_it_where_runs_may_come_before():
    assert changed([NIGHT], SKIPPED)[1] == ((0, 120), (240, 300), (1320, 1440))
    late = [window(time(2, 30), time(5, 0))]
    assert changed(late, SKIPPED) == (((150, 300),), ((180, 300),), ((150, 300),))


def test_a_day_whose_hours_all_go_has_no_run_and_others_keep_theirs():
    assert changed([window(time(2, 0), time(3, 0))], SKIPPED) == (((120, 180),), (), ((120, 180),))
    # What is left must hold a run.
    assert changed([window(time(1, 57), time(3, 3))], SKIPPED, shortest=5)[1] == ()


def test_hours_at_either_end_of_a_day():
    first_hour, last_hour = ClockChange(SECOND_DAY, 0, 60, True), ClockChange(SECOND_DAY, 1380, 1440, False)
    assert changed([NIGHT], first_hour)[1] == ((60, 300), (1320, 1440))
    assert changed([NIGHT], last_hour)[1] == ((0, 300), (1320, 1380))
    whole = ClockChange(SECOND_DAY, 0, DAY, True)
    assert changed([NIGHT], whole)[1] == ()


@given(st.sampled_from([0, 2, 13]), st.integers(0, 23))
def test_a_change_on_another_day_changes_nothing(days, hour):
    other = ClockChange(FIRST + timedelta(days=3 + days), hour * 60, hour * 60 + 60, True)
    assert changed([NIGHT], other) == changed([NIGHT])
