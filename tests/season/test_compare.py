"""The weekly table beside timetables that stay: a season reckoned by hand, depths a week, sums."""

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import numpy as np
import pytest

from scheduler.errors import RillbookError
from scheduler.garden.plan import SoilState
from scheduler.season.compare import WEEKLY, compare_season, mean_tally
from scheduler.season.depth_rule import DepthRule, depth_minutes, depth_settings, run_days
from scheduler.season.field import DigNote, FieldNotes, GaugeNote, RunNote
from scheduler.season.fixed_run import open_season, run_fixed
from scheduler.season.run import run_season
from scheduler.season.sums import stress_days
from scheduler.season.timetable_text import FixedTimetable
from scheduler.timetable.fixed import FixedSetting
from tests.builders import make_bed, make_daily, make_garden, make_planting, make_timer

MONDAY = date(2025, 6, 2)
DRY = replace(make_daily(date(2024, 1, 1), 731, rain_scale=0.0), reference_et=np.full(731, 5.0))


def garden_of(n_days, *beds, begins=MONDAY, **changes):
    crop = make_planting(
        planted=begins,
        removed=begins + timedelta(days=n_days),
        kc_ini=1.0,
        kc_mid=1.0,
        kc_end=1.0,
        root_depth=0.15,
    )
    beds = beds or (make_bed(),)
    return make_garden(
        [replace(bed, plantings=(crop,)) for bed in beds],
        soil_states=(SoilState(begins, "full", None),),
        **changes,
    )


def fixed(text, garden, days, starts, minutes):
    begins = min(state.on for state in garden.soil_states)
    return FixedTimetable(
        text, tuple(FixedSetting(z.name, begins, days, starts, minutes) for z in garden.zones)
    )


def test_a_season_of_eight_days_reckoned_by_hand():
    # Reference ET 5 mm and Kc 1: the crop uses 5 mm a day. Roots of 15 cm in a mix that holds
    # 0.30 - 0.12 = 0.18 have TAW = 0.18 x 150 = 27 mm; p = 0.4 at 5 mm a day, so RAW = 0.4 x 27 = 10.8 mm.
    # 16 emitters of 2 L/h give 32 L in an hour on 2.88 m2: 11.11 mm, of which 0.9 is stored: 10 mm.
    # One hour every third day, on days 1, 4 and 7:
    #   day 1: full, so all 10 mm drain; use 5                                          Dr  5.0
    #   day 2: use 5                                                                    Dr 10.0
    #   day 3: Dr 10 <= RAW, use 5                                                      Dr 15.0
    #   day 4: 15 - 10 = 5, use 5                                                       Dr 10.0
    #   day 5: Dr 10 <= RAW, use 5                                                      Dr 15.0
    #   day 6: Ks = (27 - 15) / (27 - 10.8) = 12 / 16.2, use 5 x 12 / 16.2 = 3.7037     Dr 18.7037
    #   day 7: 18.7037 - 10 = 8.7037 <= RAW, use 5                                      Dr 13.7037
    #   day 8: Ks = (27 - 13.7037) / 16.2 = 0.8208, use 4.1038                          Dr 17.8075
    garden = garden_of(8)
    timetable = fixed("every 3 days 60 min", garden, 3, 1, 60)
    result = run_fixed(garden, DRY, settings=timetable.settings)
    third = 15.0 + 5.0 * 12.0 / 16.2
    last = third - 5.0 + 5.0 * (27.0 - (third - 5.0)) / 16.2
    assert result.depletion[:, 0] == pytest.approx([5, 10, 15, 10, 15, third, third - 5.0, last], abs=1e-9)
    assert result.litres[:, 0] == pytest.approx([32, 0, 0, 32, 0, 0, 32, 0])
    # 3 x 32 L given; 10 mm x 2.88 m2 = 28.8 L drained; short of water on days 6 and 8.
    _, other = compare_season(garden, DRY, timetables=[timetable]).outcomes
    assert other.tally.litres == pytest.approx(96.0)
    assert other.tally.drained == pytest.approx(28.8)
    assert (other.tally.short_days, other.tally.used_days) == (2, 8)
    # 3 x 10 mm less the 10 that drained went in, and 17.8075 mm came out of the soil.
    assert other.tally.transpired == pytest.approx((20.0 + last) * 2.88)
    assert other.beds[0].least_stress == pytest.approx(12.0 / 16.2)
    assert (other.hardest.bed, other.hardest.short_days) == ("bed", 2)
    assert other.tally.cost is None
    assert other.against == ()


def test_the_weekly_table_is_the_season_that_season_shows():
    garden = garden_of(60, make_bed("a"), make_bed("b", zone="two", soil_depth=0.15))
    daily = make_daily(date(2024, 1, 1), 731)
    ours = run_season(garden, daily)
    comparison = compare_season(garden, daily, timetables=[fixed("x", garden, 1, 1, 20)])
    first = comparison.outcomes[0].tally
    assert first.label == WEEKLY
    assert first.litres == ours.litres.sum()
    assert first.short_days == stress_days(ours)[0].sum()
    assert (comparison.year, comparison.later_states, comparison.left_out) == (2025, False, False)
    assert [bed.litres for bed in comparison.outcomes[1].beds] == pytest.approx([60 * 20 / 60 * 32.0] * 2)


def test_of_what_is_recorded_the_gauge_alone_is_used():
    garden = garden_of(20)
    gauges = FieldNotes(gauges=(GaugeNote(date(2025, 6, 10), 30.0),))
    everything = replace(
        gauges,
        runs=(RunNote(date(2025, 6, 12), ran=True, minutes=500.0),),
        digs=(DigNote(date(2025, 6, 13), "bed", "dry"),),
    )
    timetables = [fixed("x", garden, 2, 1, 20)]
    plain = compare_season(garden, DRY, timetables=timetables)
    rained = compare_season(garden, DRY, timetables=timetables, notes=gauges)
    told = compare_season(garden, DRY, timetables=timetables, notes=everything)
    assert told.outcomes == rained.outcomes != plain.outcomes
    assert (rained.left_out, told.left_out) == (False, True)


def test_an_interval_is_counted_from_the_first_day_of_the_replayed_season():
    # Ten days from the first: days 1, 4, 7 and 10. Counted from 2020 it would be days 2, 5 and 8.
    garden = garden_of(10)
    written_earlier = FixedTimetable("every 3 days", (FixedSetting("one", date(2020, 1, 1), 3, 1, 60),))
    (_, other) = compare_season(garden, DRY, timetables=[written_earlier]).outcomes
    assert other.tally.litres == pytest.approx(4 * 32.0)


def test_a_timetable_that_the_timer_cannot_hold_is_replayed_and_told():
    garden = garden_of(10, timer=make_timer(longest_run=30))
    timetables = [fixed("long", garden, 1, 1, 60), DepthRule("deep", 70.0, 1, False)]
    _, long, deep = compare_season(garden, DRY, timetables=timetables).outcomes
    assert long.tally.litres == pytest.approx(10 * 32.0)
    assert long.against == ("runs of 60 min, and the timer's longest is 30 min",)
    # 70 mm on 2.88 m2 are 201.6 L: 6.3 h at 32 L/h.
    assert deep.against == (
        "13 runs a day, and the timer has 3 starts",
        "its runs find no room in the watering hours in 2 weeks, the first from 2025-06-02",
    )


def test_means_of_seasons():
    garden = garden_of(10)
    (tally,) = (one.tally for one in compare_season(garden, DRY, timetables=[]).outcomes)
    one = replace(tally, litres=100.0, short_days=1.0, cost=Decimal("2.00"))
    two = replace(tally, litres=300.0, short_days=4.0, cost=Decimal("3.00"))
    mean = mean_tally([one, two])
    assert (mean.litres, mean.short_days, mean.cost) == (200.0, 2.5, Decimal("2.5"))
    assert mean_tally([one, replace(two, cost=None)]).cost is None


# --- a depth a week


def test_runs_are_spread_over_the_week():
    assert [run_days(n) for n in (1, 2, 3, 7)] == [(0,), (0, 3), (0, 2, 4), tuple(range(7))]
    for n in range(1, 8):
        assert len(set(run_days(n))) == n


def test_every_bed_gets_the_depth_whatever_its_flow():
    beds = make_bed("a"), make_bed("b", zone="two", emitters=40), make_bed("c", area=1.2)
    garden = garden_of(21, *beds)
    season = open_season(garden, DRY)
    minutes = depth_minutes(season, DepthRule("inch", 25.4, 2, False), daily=DRY, notes=FieldNotes())
    assert (minutes > 0).any(axis=1).tolist() == [True, False, False, True, False, False, False] * 3
    depth = minutes / 60.0 * season.setup.rate
    assert depth.sum(axis=0) == pytest.approx([3 * 25.4] * 3)
    # 12.7 mm at 32 L/h on 2.88 m2 (11.11 mm/h) are 68.58 min.
    assert minutes[0, 0] == pytest.approx(12.7 / (32.0 / 2.88) * 60.0)


def test_a_season_that_begins_within_a_week_takes_its_run_days_and_a_bare_bed_none():
    thursday = MONDAY + timedelta(days=3)
    garden = garden_of(6, begins=thursday)
    bare = make_bed(
        "bare",
        plantings=(
            make_planting(planted=thursday + timedelta(days=3), removed=thursday + timedelta(days=6)),
        ),
    )
    garden = replace(garden, beds=(*garden.beds, bare))
    season = open_season(garden, DRY)
    minutes = depth_minutes(season, DepthRule("x", 20.0, 2, False), daily=DRY, notes=FieldNotes())
    # Thu Fri Sat Sun Mon Tue
    assert (minutes > 0).tolist() == [[True, False], *[[False, False]] * 3, [True, True], [False, False]]


def test_the_rain_of_the_week_before_is_taken_off_on_monday():
    rain = np.zeros(731)
    place = {day: i for i, day in enumerate(DRY.dates.tolist())}
    rain[place[MONDAY - timedelta(days=8)]] = 100.0  # Too long ago.
    rain[place[MONDAY - timedelta(days=7)]] = 4.0
    rain[place[MONDAY - timedelta(days=1)]] = 6.0
    rain[place[MONDAY + timedelta(days=1)]] = 50.0
    wet = replace(DRY, rain=rain)
    season = open_season(garden_of(21), wet)
    rule = DepthRule("x", 24.0, 2, True)
    per_run = depth_minutes(season, rule, daily=wet, notes=FieldNotes()) / 60.0 * season.setup.rate
    # 24 - 10 in two runs; the rain of the second week's look is 50: none; then nothing fell.
    wanted = [7, 0, 0, 7, 0, 0, 0, *[0] * 7, 12, 0, 0, 12, 0, 0, 0]
    assert per_run[:, 0] == pytest.approx(wanted)
    # The person's own gauge goes before the record.
    notes = FieldNotes(gauges=(GaugeNote(MONDAY + timedelta(days=1), 20.0),))
    by_gauge = depth_minutes(season, rule, daily=wet, notes=notes) / 60.0 * season.setup.rate
    assert by_gauge[7:14, 0] == pytest.approx([2, 0, 0, 2, 0, 0, 0])
    assert (rain == wet.rain).all()


def test_a_depth_that_no_day_has_time_for_is_refused():
    garden = garden_of(10)
    with pytest.raises(RillbookError, match='bed "bed" would have to run 27 h a run day'):
        compare_season(garden, DRY, timetables=[DepthRule("x", 300.0, 1, False)])


def test_the_outlet_is_set_for_its_thirstiest_valve():
    garden = garden_of(14, make_bed("a"), make_bed("b", emitters=8), timer=make_timer(step=5))
    season = open_season(garden, DRY)
    rule = DepthRule("x", 25.0, 1, False)
    minutes = depth_minutes(season, rule, daily=DRY, notes=FieldNotes())
    # 25 mm on 2.88 m2 by 8 emitters, 16 L/h: 270 min, three runs of 90 at 120 min the longest.
    assert minutes.max() == pytest.approx(270.0)
    (setting,) = depth_settings(season, rule, minutes)
    assert (setting.days, setting.starts, setting.minutes) == (frozenset({"Mon"}), 3, 90)
