"""Records in place of assumptions: arrays from notes, and what they do to the balance."""

from datetime import date, timedelta

import numpy as np
import pytest

from scheduler.season.field import DigNote, FieldNotes, GaugeNote, RunNote, field_arrays
from scheduler.season.run import run_season, run_week
from tests.builders import make_bed, make_daily, make_garden

DAILY = make_daily()
GARDEN = make_garden([make_bed("a"), make_bed("b"), make_bed("c", zone="two")])
MON = date(2025, 7, 7)
DATES = np.datetime64(MON) + np.arange(5)


def day(n):
    return MON + timedelta(days=n)


def test_runs_of_garden_zone_and_bed_and_the_later_note_wins():
    notes = FieldNotes(
        runs=(
            RunNote(day(0), True),
            RunNote(day(1), True, zone="one", minutes=20.0),
            RunNote(day(1), False, bed="b"),
            RunNote(day(2), False),
            RunNote(day(2), True, zone="two", minutes=7.0),
            RunNote(day(9), False),
        )
    )
    arrays = field_arrays(notes, GARDEN, DATES)
    assert arrays.known.tolist() == [[True] * 3, [True, True, False], [True] * 3, [False] * 3, [False] * 3]
    assert np.isnan(arrays.minutes[0]).all()
    assert arrays.minutes[1].tolist()[:2] == [20.0, 0.0]
    assert np.isnan(arrays.minutes[1, 2])
    assert arrays.minutes[2].tolist() == [0.0, 0.0, 7.0]
    assert np.isnan(arrays.minutes[3:]).all()


def test_a_dig_of_one_evening_bounds_the_next_morning():
    notes = FieldNotes(digs=(DigNote(day(1), "b", "wet"), DigNote(day(2), "c", "dry")))
    arrays = field_arrays(notes, GARDEN, DATES)
    assert (arrays.least[2, 1], arrays.most[2, 1]) == (0.0, 0.25)
    assert (arrays.least[3, 2], arrays.most[3, 2]) == (1.0, np.inf)
    untouched = np.ones((5, 3), dtype=bool)
    untouched[2, 1] = untouched[3, 2] = False
    assert np.all(arrays.least[untouched] == 0.0)
    assert np.all(np.isinf(arrays.most[untouched]))


def test_recorded_minutes_and_gauge_rain_are_what_the_bed_got():
    notes = FieldNotes(
        runs=(RunNote(day(0), True, bed="a", minutes=33.0), RunNote(day(1), False)),
        gauges=(GaugeNote(day(1), 12.0),),
    )
    result = run_season(GARDEN, DAILY, notes=notes)
    place = int((np.datetime64(MON) - result.dates[0]).astype(int))
    assert result.minutes[place, 0] == 33.0
    assert result.minutes[place + 1].tolist() == [0.0, 0.0, 0.0]
    assert result.rain[place + 1].tolist() == [12.0] * 3
    assert result.gauged.sum() == 1
    missing = result.depletion + result.below
    before = np.vstack([np.zeros(3), missing[:-1]])
    change = result.et_actual + result.deep_percolation - result.rain - result.applied
    assert np.abs(missing - (before + result.correction + change)).max() <= 1e-9


def test_nothing_recorded_changes_nothing():
    plain, noted = run_season(GARDEN, DAILY), run_season(GARDEN, DAILY, notes=FieldNotes())
    assert np.array_equal(plain.depletion, noted.depletion)
    assert not noted.known.any()


@pytest.mark.parametrize(
    ("finding", "least", "most"), [("wet", 0.0, 0.25), ("right", 0.0, 0.75), ("dry", 1.0, 9.0)]
)
def test_a_dig_the_day_before_the_table_is_where_the_table_starts(finding, least, most):
    notes = FieldNotes(digs=(DigNote(day(-1), "a", finding),))
    result, plain = run_week(GARDEN, DAILY, on=MON, notes=notes), run_week(GARDEN, DAILY, on=MON)
    share = result.outlook.depletion[0] / result.outlook.conditions.raw[0, 0]
    assert least - 1e-9 <= share <= most + 1e-9
    # It moves no further than it must, and no other bed.
    reckoned = plain.outlook.depletion[0] / plain.outlook.conditions.raw[0, 0]
    assert share == pytest.approx(min(max(reckoned, least), most))
    assert result.outlook.depletion[1:] == pytest.approx(plain.outlook.depletion[1:])
