"""Few settings over whole seasons: against every division and every setting, and what they promise."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.garden.plan import SoilState, Zone
from scheduler.season.few_settings import SeasonWeeks
from scheduler.season.field import FieldNotes
from scheduler.season.outlet_settings import fixed_settings
from scheduler.season.setup import set_up
from scheduler.season.side_by_side import seasons_of, usual_season
from scheduler.season.week_needs import week_needs
from scheduler.show.settings_view import days_text
from scheduler.timetable.fixed import runs_on
from scheduler.timetable.lasting import LastingRoom, hours_in_common, lasting_patterns, weekdays_used
from scheduler.timetable.stretch import HASTE, PENALTY
from scheduler.timetable.week import ZoneSetting
from scheduler.timetable.windows import watering_hours
from tests.builders import make_bed, make_daily, make_garden, make_planting, make_timer
from tests.timetable.cases import restriction, window
from tests.timetable.simulator import play
from tests.timetable.stretches import best_key, plain_over, plain_short

BEGINS = date(2025, 4, 30)
DAILY = make_daily(date(2023, 1, 1), 1096, seed=11)
YEARS = (2023, 2024, 2025)
TIMERS = [
    make_timer(starts_per_day=1, step=3, longest_run=30, day_choices=("weekdays",)),
    make_timer(starts_per_day=2, step=2, longest_run=24, day_choices=("every n days",), longest_interval=4),
    make_timer(starts_per_day=2, step=4, longest_run=40, longest_interval=5),
]
ORDER = restriction(
    begins=BEGINS + timedelta(days=10),
    ends=BEGINS + timedelta(days=30),
    days=("Mon", "Tue", "Thu", "Fri", "Sat"),
)


def weeks_of(garden, *, share=0.1, years="p80"):
    setup = set_up(garden, DAILY, FieldNotes())
    needs = week_needs(usual_season(setup), seasons_of(setup, YEARS))
    return SeasonWeeks(setup, needs, share=share, years=years)


@st.composite
def few_gardens(draw, n_zones=(1, 2)):
    """Return a garden of a few weeks with a bed or two at each outlet."""
    beds, zones = [], []
    for number in range(draw(st.integers(*n_zones))):
        zones.append(Zone(f"zone {number}", number + 1, draw(st.sampled_from(["driest bed", "area mean"]))))
        for place in range(draw(st.integers(1, 2))):
            planted = BEGINS + timedelta(days=draw(st.integers(0, 20)))
            planting = make_planting(
                planted=planted,
                removed=planted + timedelta(days=draw(st.integers(2, 22))),
                kc_ini=draw(st.sampled_from([0.4, 0.9])),
            )
            beds.append(
                make_bed(
                    f"bed {number} {place}",
                    zone=f"zone {number}",
                    plantings=(planting,),
                    soil_depth=draw(st.sampled_from([0.12, 0.3, 0.6])),
                    area=draw(st.sampled_from([1.5, 3.0, 6.0])),
                    runs_through_after=draw(st.sampled_from([None, None, 4.0, 11.5])),
                )
            )
    return make_garden(
        beds,
        zones=tuple(zones),
        timer=draw(st.sampled_from(TIMERS)),
        restrictions=draw(st.sampled_from([(), (ORDER,)])),
        soil_states=(SoilState(BEGINS, "full", None),),
    )


#: Whole instances take a while each, and say much.
WHOLE = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def every_division(n_weeks, most):
    return [
        list(zip((0, *cuts), (*cuts, n_weeks), strict=True))
        for n_cuts in range(min(most, n_weeks))
        for cuts in combinations(range(1, n_weeks), n_cuts)
    ]


def brute_cost(garden, weeks, begins, begin, end, share):
    """Return the least cost of a stretch over every setting of every outlet, each by itself."""
    limits = set_up(garden, DAILY, FieldNotes()).limits
    hours = watering_hours(
        begins + timedelta(days=7 * begin),
        7 * (end - begin),
        shortest=limits.timer.shortest_run,
        windows=limits.windows,
        restrictions=limits.restrictions,
    )
    used = weekdays_used(lasting_patterns(limits.timer), end - begin)
    longest = LastingRoom(limits.timer).longest(used, hours_in_common(hours))
    keys = [
        best_key(outlet, begin, end, timer=limits.timer, longest=longest, share=share)
        for outlet in weeks.outlets
    ]
    return sum(over + PENALTY * lacking + HASTE * hasty for lacking, hasty, over in keys)


def cost_of(few):
    """Return what settings weigh, as the search has it."""
    settings_of = [setting for stretch in few.stretches for setting in stretch.settings]
    return sum(s.over + PENALTY * (s.short + s.dry) + HASTE * s.hasty for s in settings_of)


@WHOLE
@given(few_gardens(), st.sampled_from([0.0, 0.1, 0.25]), st.sampled_from(["normals", "p80", "worst"]))
def test_no_division_and_no_setting_is_better(garden, share, years):
    weeks = weeks_of(garden, share=share, years=years)
    counts = [1, 2, 3, weeks.n_weeks]
    found = weeks.divide(counts)
    begins = found[0].stretches[0].begins
    cost = {
        (begin, end): brute_cost(garden, weeks, begins, begin, end, share)
        for begin in range(weeks.n_weeks)
        for end in range(begin + 1, weeks.n_weeks + 1)
    }
    for most, few in zip(counts, found, strict=True):
        best = min(sum(cost[s] for s in division) for division in every_division(weeks.n_weeks, most))
        told = cost_of(few)
        # Four hours are room for two outlets of these timers, so that each has the clock to itself.
        assert told == pytest.approx(best, rel=1e-6, abs=1e-3)


@WHOLE
@given(few_gardens(n_zones=(1, 3)), st.sampled_from([0.0, 0.1]))
def test_more_settings_never_cost_more(garden, share):
    weeks = weeks_of(garden, share=share)
    costs = [cost_of(few) for few in weeks.divide(range(1, weeks.n_weeks + 1))]
    assert all(after <= before + 1e-6 for before, after in zip(costs, costs[1:], strict=False))


@WHOLE
@given(few_gardens(n_zones=(1, 3)), st.sampled_from([0.0, 0.2]))
def test_the_share_is_kept_or_told(garden, share):
    weeks = weeks_of(garden, share=share)
    for few in weeks.divide([1, 2]):
        short = {(week.zone, week.begins): week for week in weeks.short_weeks(few)}
        for stretch in few.stretches:
            for outlet, setting in zip(weeks.outlets, stretch.settings, strict=True):
                assert_kept(outlet, setting, stretch, share, short)


def assert_kept(outlet, setting, stretch, share, short):
    """Assert that an outlet's weeks get what is asked of them, or are told."""
    given_litres = setting.minutes_a_day * outlet.each
    for week in range(stretch.first, stretch.after):
        monday = stretch.begins + timedelta(days=7 * (week - stretch.first))
        kept = (given_litres[week] >= (1.0 - share) * outlet.asked[week] * (1.0 - 1e-8)).all()
        assert kept != ((setting.zone, monday) in short)
    over = plain_over(outlet, setting.minutes_a_day, stretch.first, stretch.after)
    lacking = plain_short(outlet, setting.minutes_a_day, stretch.first, stretch.after, share)
    assert (setting.over, setting.short) == pytest.approx((over, lacking), abs=1e-6)


class Week(NamedTuple):
    """A week of settings for the minute-by-minute timer of the tests."""

    first: date
    settings: tuple


def told_days(setting, stretch):
    """Return the days of a setting as a person reads them from a card."""
    return "no run this week" if setting.pattern is None else days_text(setting, stretch)


def weeks_to_play(few, garden):
    """Return every week of some settings, on the days that a replay would run them."""
    flows = {zone.zone.name: float(zone.flow.sum()) for zone in set_up(garden, DAILY, FieldNotes()).zones}
    fixed = fixed_settings(few)
    for stretch in few.stretches:
        for number in range(stretch.after - stretch.first):
            first = stretch.begins + timedelta(days=7 * number)
            made = []
            for setting in stretch.settings:
                held = [f for f in fixed if f.zone == setting.zone and f.begins < first + timedelta(days=7)]
                latest = max(held, key=lambda one: one.begins)
                mask = tuple(runs_on(latest, first + timedelta(days=day)) for day in range(7))
                begins = setting.begins if any(mask) else ()
                minutes = setting.minutes if begins else 0
                made.append(
                    ZoneSetting(
                        setting.zone,
                        setting.outlet,
                        mask,
                        told_days(setting, stretch),
                        begins,
                        minutes,
                        flows[setting.zone],
                        0.0,
                    )
                )
            yield Week(first, tuple(made))


@WHOLE
@given(few_gardens(n_zones=(1, 3)), st.sampled_from([10, 25, 60]))
def test_every_week_can_be_played(garden, minutes):
    hours = (window(until=(window().begin.replace(minute=minutes % 60, hour=3 + minutes // 60))),)
    garden = replace(garden, windows=hours)
    weeks = weeks_of(garden)
    limits = set_up(garden, DAILY, FieldNotes()).limits
    for few in weeks.divide([1, 2]):
        for week in weeks_to_play(few, garden):
            assert play(week, limits) == []


def test_outlets_are_set_on_the_same_mondays():
    garden = make_garden(
        [make_bed("a"), make_bed("b", zone="two", plantings=(make_planting(planted=date(2025, 7, 3)),))]
    )
    for few in weeks_of(garden).divide([1, 3, 5]):
        assert all(stretch.begins.weekday() == 0 for stretch in few.stretches)
        assert all([s.zone for s in stretch.settings] == ["one", "two"] for stretch in few.stretches)
        assert few.stretches[0].begins == date(2025, 5, 5)  # The Monday before 10 May.
        ends = [stretch.after for stretch in few.stretches]
        assert [stretch.first for stretch in few.stretches] == [0, *ends[:-1]]


def test_an_outlet_without_crops_is_off():
    garden = make_garden(
        [make_bed("a"), make_bed("b", zone="two", plantings=(make_planting(planted=date(2025, 7, 3)),))]
    )
    (few,) = weeks_of(garden).divide([8])
    assert any(stretch.settings[1].pattern is None for stretch in few.stretches)
    for stretch in few.stretches:
        if stretch.begins + timedelta(days=7 * (stretch.after - stretch.first)) <= date(2025, 7, 3):
            assert (stretch.settings[1].begins, stretch.settings[1].minutes) == ((), 0)


def test_a_forbidden_week_is_told_whatever_the_timer_is_set_to():
    stop = restriction(begins=date(2025, 7, 14), ends=date(2025, 7, 20), days=())
    weeks = weeks_of(make_garden(restrictions=(stop,)))
    (few,) = weeks.divide([weeks.n_weeks])
    (told,) = weeks.short_weeks(few)
    assert (told.begins, told.zone, told.outlet) == (date(2025, 7, 14), "one", 1)
    assert (told.share, told.least) == (1.0, 1.0)


def test_what_more_settings_would_mend_is_not_forced():
    # Intervals alone, and an order of a few weeks that leaves Mondays: only once a week lies within it.
    order = restriction(begins=date(2025, 6, 30), ends=date(2025, 7, 27), days=("Mon",))
    timer = make_timer(day_choices=("every n days",), starts_per_day=1, longest_run=60)
    weeks = weeks_of(make_garden(restrictions=(order,), timer=timer))
    one, several = weeks.divide([1, 6])
    assert len(weeks.short_weeks(one)) > len(weeks.short_weeks(several))
    assert all(week.share >= week.least for week in weeks.short_weeks(one))


def test_an_interval_that_starts_later_is_off_until_then():
    order = restriction(begins=date(2025, 5, 1), ends=date(2025, 10, 30), days=("Wed",))
    timer = make_timer(day_choices=("every n days",), starts_per_day=3)
    (few,) = weeks_of(make_garden(restrictions=(order,), timer=timer)).divide([1])
    (stretch,) = few.stretches
    assert (stretch.settings[0].pattern.interval, stretch.settings[0].pattern.offset) == (7, 2)
    off, weekly = fixed_settings(few)
    assert (off.begins, off.days) == (date(2025, 5, 5), None)
    assert (weekly.begins, weekly.days, weekly.begins.weekday()) == (date(2025, 5, 7), 7, 2)


def test_beds_that_last_no_day_are_watered_daily():
    weeks = weeks_of(make_garden([make_bed(soil_depth=0.04)]), share=0.0)
    (few,) = weeks.divide([2])
    assert any(stretch.settings[0].lasts == 0 for stretch in few.stretches)
    for stretch in few.stretches:
        pattern = stretch.settings[0].pattern
        assert pattern.gap <= max(1, stretch.settings[0].lasts)


def test_the_gap_holds_what_beds_use_between_two_runs():
    garden = make_garden([make_bed(soil_depth=0.2)])
    setup = set_up(garden, DAILY, FieldNotes())
    needs = week_needs(usual_season(setup), seasons_of(setup, YEARS))
    weeks = SeasonWeeks(setup, needs, share=0.1, years="worst")
    for few in weeks.divide([1, 4]):
        for stretch in few.stretches:
            part = slice(stretch.first, stretch.after)
            use = needs.use[:, part, 0].max(axis=0)
            gap = stretch.settings[0].pattern.gap
            grown = needs.days[part, 0] > 0
            assert (gap * use[grown] <= needs.raw[part, 0][grown] + 1e-9).all() or gap == 1


def assert_days_in_runs(setting, minutes):
    """Assert that a day comes in several runs of so many minutes at the most."""
    assert 0 < setting.minutes <= minutes
    assert len(setting.begins) > 1
    rests = np.diff(setting.begins) - setting.minutes
    assert (rests >= 2 * minutes).all()  # The soak after a run of that length.


def test_runs_are_kept_as_short_as_the_soil_asks():
    timer = make_timer(starts_per_day=4)
    plain, kept = (
        weeks_of(make_garden([make_bed(runs_through_after=after)], timer=timer)).divide([2])[0]
        for after in (None, 12.0)
    )
    assert max(s.settings[0].minutes for s in plain.stretches) > 12
    for stretch in kept.stretches:
        assert_days_in_runs(stretch.settings[0], 12)
        assert (stretch.settings[0].hasty, stretch.settings[0].too_long_for) == (0.0, ())
        assert stretch.settings[0].short == 0.0


def test_a_run_that_starts_cannot_split_is_told_with_its_bed():
    beds = [make_bed("a"), make_bed("b", runs_through_after=6.0)]
    weeks = weeks_of(make_garden(beds, timer=make_timer(starts_per_day=1)))
    (few,) = weeks.divide([1])
    (stretch,) = few.stretches
    assert stretch.settings[0].too_long_for == (1,)
    assert stretch.settings[0].hasty > 0.0
    assert stretch.settings[0].short == 0.0


def test_a_bed_without_a_crop_asks_for_no_short_runs():
    late = make_planting(planted=date(2025, 7, 21))
    beds = [make_bed("a"), make_bed("b", runs_through_after=1.5, plantings=(late,))]
    weeks = weeks_of(make_garden(beds, timer=make_timer(starts_per_day=1)))
    (few,) = weeks.divide([weeks.n_weeks])
    told = {stretch.begins: stretch.settings[0].too_long_for for stretch in few.stretches}
    assert all((1 in beds) == (begins >= date(2025, 7, 21)) for begins, beds in told.items())


SOME_DAYS = restriction(begins=date(2025, 5, 1), ends=date(2025, 10, 30), days=("Tue", "Sat"))


def test_gaps_that_an_order_leaves_are_told_with_what_beds_last():
    weeks = weeks_of(make_garden([make_bed(soil_depth=0.2)], restrictions=(SOME_DAYS,)))
    (few,) = weeks.divide([1])
    (told,) = weeks.long_gaps(few)
    outlet = weeks.outlets[0]
    assert (told.zone, told.outlet, told.gap) == ("one", 1, 4)
    assert 1 <= told.lasts == outlet.gap.min() < 4
    dry = outlet.thirsty(0, weeks.n_weeks)[outlet.gap[outlet.thirsty(0, weeks.n_weeks)] < 4]
    assert len(told.weeks) == told.forced == dry.size
    assert few.stretches[0].settings[0].dry == pytest.approx(
        sum((1 - max(int(outlet.gap[week]), 1) / 4) ** 2 for week in dry)
    )


def test_gaps_are_no_fault_where_even_daily_runs_do_not_last():
    weeks = weeks_of(make_garden([make_bed(soil_depth=0.04)]))
    (few,) = weeks.divide([1])
    assert few.stretches[0].settings[0].lasts == 0
    assert weeks.long_gaps(few) == ()


def test_more_settings_shorten_the_gaps_that_a_short_order_forces():
    order = restriction(begins=date(2025, 7, 7), ends=date(2025, 7, 20), days=("Tue", "Sat"))
    weeks = weeks_of(make_garden([make_bed(soil_depth=0.2)], restrictions=(order,)))
    once, thrice = weeks.divide([1, 3])
    (one,) = weeks.long_gaps(once)
    assert len(one.weeks) > one.forced
    # With three settings the order has one to itself: what it does to the other weeks is no longer there.
    assert {week for gap in weeks.long_gaps(thrice) for week in gap.weeks} <= {
        date(2025, 7, 7),
        date(2025, 7, 14),
    }


def test_the_mean_of_beds_may_leave_one_short_where_the_driest_may_not():
    beds = [make_bed("a"), make_bed("b", area=5.76)]  # The same line on twice the area.
    driest, mean = (
        weeks_of(make_garden(beds, zones=(Zone("one", 1, rule),)), share=0.0).divide([3])[0]
        for rule in ("driest bed", "area mean")
    )
    minutes = [[s.settings[0].minutes_a_day for s in few.stretches] for few in (driest, mean)]
    assert max(minutes[0]) > max(minutes[1])
    assert driest.over > mean.over
    for few in (driest, mean):
        assert sum(stretch.settings[0].short for stretch in few.stretches) == pytest.approx(0.0)
