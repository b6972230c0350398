"""What digs and measurements do: they set the soil right, and repeated they bring a bounded factor."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.season.feedback import after_day, after_finding, no_feedback
from scheduler.season.field import DigNote, FieldNotes, MoistureNote, field_arrays
from scheduler.season.run import run_season, run_week
from scheduler.show.known import known_notes
from tests.builders import make_bed, make_daily, make_garden

DAILY = make_daily()
GARDEN = make_garden([make_bed("a"), make_bed("b")])
DUAL = replace(GARDEN, planning=replace(GARDEN.planning, coefficient="dual"))
MON = date(2025, 7, 7)
NONE = np.zeros(2, dtype=bool)
BOTH = np.ones(2, dtype=bool)


def day(n):
    return MON + timedelta(days=n)


def found(feedback, moved, use=20.0):
    feedback = after_day(feedback, np.full(2, use))
    return after_finding(feedback, np.array(moved, dtype=float), found=BOTH, stated=NONE)


# --- the factor


def test_three_findings_the_same_way_bring_half_their_mean_error():
    feedback = no_feedback(2)
    for moved in ([4.0, -2.0], [2.0, -2.0], [6.0, -2.0]):
        assert feedback.factor.tolist() == [1.0, 1.0]
        feedback = found(feedback, moved)
    # Errors 0.2, 0.1, 0.3 of the use: half of 0.2; and half of -0.1.
    assert feedback.factor == pytest.approx([1.10, 0.95])


def test_a_finding_that_agrees_or_the_other_way_begins_anew():
    feedback = no_feedback(2)
    for moved in ([4.0, 4.0], [4.0, 4.0], [0.0, -1.0], [4.0, 4.0], [4.0, 4.0]):
        feedback = found(feedback, moved)
    assert feedback.factor.tolist() == [1.0, 1.0]
    assert found(feedback, [4.0, 4.0]).factor == pytest.approx([1.1, 1.1])


def test_a_change_uses_up_its_findings():
    feedback = no_feedback(2)
    for _ in range(5):
        feedback = found(feedback, [4.0, 4.0])
    assert feedback.factor == pytest.approx([1.1, 1.1])
    assert found(feedback, [4.0, 4.0]).factor == pytest.approx([1.21, 1.21])


def test_little_use_says_little_and_a_stated_soil_is_no_finding():
    feedback = no_feedback(2)
    for _ in range(6):
        feedback = found(feedback, [3.0, 3.0], use=4.0)
    assert feedback.factor.tolist() == [1.0, 1.0]
    feedback = after_day(no_feedback(2), np.full(2, 30.0))
    stated = after_finding(feedback, np.full(2, 9.0), found=NONE, stated=BOTH)
    assert stated.used.tolist() == [0.0, 0.0]
    assert np.isnan(stated.errors).all()


@given(st.lists(st.floats(-60.0, 60.0), max_size=40))
def test_the_factor_keeps_its_bounds(moves):
    feedback = no_feedback(2)
    for moved in moves:
        feedback = found(feedback, [moved, -moved])
        assert np.all((feedback.factor >= 0.75) & (feedback.factor <= 1.25))


# --- measurements


def test_what_a_measurement_says_of_the_next_morning():
    # Field capacity 30 %, wilting point 12 %: 21 % lies halfway.
    notes = FieldNotes(
        moistures=(
            MoistureNote(day(0), "a", content=0.21),
            MoistureNote(day(1), "b", tension=8.0),
            MoistureNote(day(2), "b", tension=20.0),
            MoistureNote(day(3), "b", tension=60.0),
            MoistureNote(day(3), "no such bed", tension=60.0),
        )
    )
    arrays = field_arrays(notes, GARDEN, np.datetime64(MON) + np.arange(6))
    assert arrays.missing[1].tolist()[0] == pytest.approx(0.5)
    assert np.isnan(arrays.missing).sum() == arrays.missing.size - 1
    assert [arrays.most[n, 1] for n in (2, 3, 4)] == [0.25, 0.75, np.inf]
    assert arrays.least[4, 1] == 1.0
    assert arrays.found.tolist() == [[False, False], [True, False], *[[False, True]] * 3, [False, False]]


@pytest.mark.parametrize("garden", [GARDEN, DUAL])
@pytest.mark.parametrize("content", [0.14, 0.21, 0.29, 0.50])
def test_a_measured_content_moves_the_soil_to_within_a_tenth_of_its_store(garden, content):
    notes = FieldNotes(moistures=(MoistureNote(day(-1), "a", content=content),))
    result, plain = run_week(garden, DAILY, on=MON, notes=notes), run_week(garden, DAILY, on=MON)
    taw = float(result.outlook.conditions.taw[0, 0])
    measured = min(max(1.0 - (content - 0.12) / 0.18, 0.0), 1.0) * taw
    low, high = max(measured - 0.1 * taw, 0.0), min(measured + 0.1 * taw, taw)
    reckoned = float(plain.outlook.depletion[0])
    assert result.outlook.depletion[0] == pytest.approx(min(max(reckoned, low), high))
    assert result.outlook.depletion[1] == pytest.approx(plain.outlook.depletion[1])


# --- through a season


@pytest.mark.parametrize("garden", [GARDEN, DUAL])
def test_repeated_dry_digs_raise_the_use_and_the_table_says_so(garden):
    notes = FieldNotes(digs=tuple(DigNote(day(3 * n), "a", "dry") for n in range(-10, 0)))
    result, plain = run_week(garden, DAILY, on=MON, notes=notes), run_week(garden, DAILY, on=MON)
    assert 1.0 < result.use_factor[0] <= 1.25
    assert result.use_factor[1] == 1.0
    assert result.before is not None
    begins = int(np.flatnonzero(result.before.use_factor[:, 0] > 1.0)[0])
    third = (day(-23) - result.before.dates[0].item()).days  # The morning after the third dig.
    assert begins >= third
    factor = float(result.use_factor[0])
    ahead, before = result.outlook.conditions.basal, plain.outlook.conditions.basal
    assert ahead[:, 0] == pytest.approx(factor * before[:, 0])
    assert ahead[:, 1] == pytest.approx(before[:, 1])
    (told,) = [note for note in known_notes(garden, result, system="metric") if "in a row" in note]
    assert told.startswith("a is reckoned to use")
    last = int(np.flatnonzero(np.diff(result.before.use_factor[:, 0]))[-1]) + 1
    assert f"more since {result.before.dates[last].item():%a}" in told


def test_one_dig_changes_no_factor():
    notes = FieldNotes(digs=(DigNote(day(-3), "a", "dry"),))
    result = run_season(GARDEN, DAILY, notes=notes)
    assert np.all(result.use_factor == 1.0)
    assert np.abs(result.correction[:, 0]).max() > 1.0
