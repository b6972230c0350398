"""What the tables say of runs that are kept short, and of those that cannot be."""

from dataclasses import replace
from datetime import date

import pytest

from scheduler.season.run import run_week
from scheduler.show.bed_view import bed_report
from scheduler.show.pulse_view import pulse_line, pulse_lines, refill_lines
from scheduler.show.week_view import week_report
from tests.builders import MIX, make_bed, make_daily, make_garden, make_timer

ON = date(2025, 7, 7)
#: 32 L/h on 2.88 m2, on a quarter of it 44.4 mm/h; 30 mm/h are taken in: 20.8 min, and 10 min of pause.
PONDS = make_bed("a", soil=replace(MIX, intake_rate=30.0), wetted_share=0.25)
THROUGH = make_bed("b", runs_through_after=10.0)
PLAIN = make_bed("c")
GARDEN = make_garden([PONDS, THROUGH, PLAIN], timer=make_timer(starts_per_day=3))
DAILY = make_daily(rain_scale=0.0)
RESULT = run_week(GARDEN, DAILY, on=ON)


def with_setting(minutes, *begins):
    (setting,) = RESULT.plan.settings
    plan = replace(RESULT.plan, settings=(replace(setting, minutes=minutes, begins=begins),))
    return replace(RESULT, plan=plan)


def line(number, minutes, *begins, system="metric"):
    return pulse_line(GARDEN, with_setting(minutes, *begins), number, system=system)


def test_a_split_with_its_reason():
    assert line(1, 10, 180, 210, 240) == (
        "b: gives its 30 min as 3 starts of 10 min with 20 min pauses, since water was seen to come out at "
        "the bottom after 10 min."
    )
    assert line(0, 15, 180, 210) == (
        "a: gives its 30 min as 2 starts of 15 min with 15 min pauses, since the strip that drip wets gets "
        "44.4 mm/h and takes in 30.0 mm/h: after 20 min water would stand 5.0 mm deep (a judgement)."
    )


def test_the_shortest_pause_is_told_and_one_that_is_too_short_is_named():
    assert "with 15 min pauses" in line(1, 10, 180, 205, 240)
    assert line(1, 10, 180, 205, 240).endswith("; pauses of 20 min would be better and found no place.")
    # Shorter runs need shorter pauses.
    assert "would be better" not in line(1, 6, 180, 198)


def test_minutes_that_one_run_may_give_need_no_word():
    assert line(0, 20, 180) == line(1, 10, 180) == line(2, 120, 180) == ""
    # Two starts for another reason: one run of their sum would do no harm.
    assert line(1, 5, 180, 300) == ""


@pytest.mark.parametrize(
    ("number", "minutes", "harm"), [(0, 21, "may run off"), (1, 11, "may run through and be lost")]
)
def test_too_few_starts_are_told_and_the_bed_is_watered_all_the_same(number, minutes, harm):
    told = line(number, minutes, 180, 300, 420)
    assert harm in told
    assert f"3 starts of {minutes} min" in told
    assert "3 starts a day are all that the timer has" in told
    assert told.endswith("dig after a run.")


def test_a_long_run_where_the_timer_could_do_shorter_ones():
    told = line(1, 30, 180)
    assert "it gets one run of 30 min, and no run should be longer than 10 min" in told
    assert "shorter runs with pauses found no place in this week's setting" in told


def test_us_units():
    assert "gets 1.75 in/h and takes in 1.18 in/h" in line(0, 15, 180, 210, system="us")


def test_the_week_tells_every_bed_that_has_something_to_tell():
    result = with_setting(10, 180, 210, 240)
    lines = pulse_lines(GARDEN, result, "metric")
    assert [text[0] for text in lines] == ["a", "b"]
    report = week_report(GARDEN, DAILY, result=result, system="metric")
    assert set(lines) <= set(report.lines)
    bare = make_garden([PLAIN])
    assert pulse_lines(bare, run_week(bare, DAILY, on=ON), "metric") == []


def test_an_empty_bed_is_not_told_of():
    empty = make_garden([THROUGH, replace(PLAIN, plantings=()), replace(THROUGH, name="d", plantings=())])
    result = run_week(empty, DAILY, on=ON)
    (setting,) = result.plan.settings
    plan = replace(result.plan, settings=(replace(setting, minutes=10, begins=(180, 210, 240)),))
    assert [text[0] for text in pulse_lines(empty, replace(result, plan=plan), "metric")] == ["b"]


def test_the_working_of_a_bed_shows_the_longest_run_and_its_pause():
    def steps(name):
        report = bed_report(GARDEN, DAILY, result=RESULT, name=name, system="metric")
        return {row["quantity"]: row for row in report.parts[0].rows}

    ponds = steps("a")
    assert ponds["rate on the strip that drip wets"]["value"] == pytest.approx(44.44, abs=0.01)
    assert ponds["longest run at once"]["value"] == pytest.approx(20.77, abs=0.01)
    assert ponds["pause that such a run needs"]["value"] == pytest.approx(10.0)
    assert "60 x 5 mm" in ponds["longest run at once"]["working"]
    through = steps("b")
    assert through["longest run at once"]["value"] == 10.0
    assert through["longest run at once"]["source"] == "plan"
    assert "rate on the strip that drip wets" not in through
    assert "longest run at once" not in steps("c")


def test_refilling_by_hand_keeps_to_it_too():
    (text,) = refill_lines(GARDEN, 1, minutes=35.0)
    assert "no more than 10 min at once, with pauses of 20 min" in text
    assert "only drain away" in text
    assert refill_lines(GARDEN, 1, minutes=10.0) == refill_lines(GARDEN, 2, minutes=500.0) == []
    # Pauses are never shorter than the runs.
    (text,) = refill_lines(GARDEN, 0, minutes=35.0)
    assert "no more than 20 min at once, with pauses of 21 min" in text
