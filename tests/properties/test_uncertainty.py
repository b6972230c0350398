"""Plausible ranges over random gardens, weathers and days: what holds whatever the garden."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.garden.plan import CupTest, Uncertainty
from scheduler.season.run import run_season, run_week
from scheduler.season.season_range import season_range
from scheduler.season.varied import INPUTS
from scheduler.season.week_range import run_days, week_range
from tests.properties.test_slice import alone
from tests.season.gardens import BEGINS, gardens, weathers

shares = st.floats(0.0, 0.6)
uncertainties = st.builds(Uncertainty, *([shares] * len(INPUTS)))
days_in = st.integers(0, 45)


def week_of(garden, daily, days):
    return run_week(garden, daily, on=BEGINS + timedelta(days=days))


@settings(max_examples=30, deadline=None)
@given(gardens(n_beds=2), weathers(), days_in, uncertainties)
def test_the_range_holds_what_was_reckoned_and_nothing_below_zero(garden, daily, days, uncertainty):
    garden = replace(garden, uncertainty=uncertainty)
    result = week_of(garden, daily, days)
    found = week_range(garden, result)
    planned = run_days(garden, result).sum(axis=0) * result.plan.bed_minutes
    assert np.array_equal(found.reckoned[planned > 0.0], planned[planned > 0.0])
    assert (found.reckoned[planned == 0.0] <= 0.0).all()
    assert (found.low >= 0.0).all()
    assert (found.low <= planned).all()
    assert (found.high >= planned).all()
    assert np.isfinite(found.high).all()
    sums = found.shares.sum(axis=0)
    assert np.allclose(sums, found.standard > 0.0)


@settings(max_examples=30, deadline=None)
@given(gardens(n_beds=2), weathers(), days_in)
def test_certain_inputs_give_no_width(garden, daily, days):
    garden = replace(garden, uncertainty=Uncertainty(*([0.0] * len(INPUTS))))
    found = week_range(garden, week_of(garden, daily, days))
    assert np.array_equal(found.low, found.high)
    assert np.array_equal(found.low, np.maximum(found.reckoned, 0.0))


@settings(max_examples=30, deadline=None)
@given(gardens(n_beds=2), weathers(), days_in, uncertainties, st.sampled_from(INPUTS), shares)
def test_more_uncertainty_never_narrows(garden, daily, days, uncertainty, name, more):
    result = week_of(garden, daily, days)
    raised = replace(uncertainty, **{name: getattr(uncertainty, name) + more})
    less, greater = (
        week_range(replace(garden, uncertainty=stated), result) for stated in (uncertainty, raised)
    )
    assert (greater.low <= less.low).all()
    assert (greater.high >= less.high).all()


@settings(max_examples=15, deadline=None)
@given(gardens(n_beds=2), weathers(), uncertainties, st.sampled_from(INPUTS), shares)
def test_more_uncertainty_never_narrows_a_season(garden, daily, uncertainty, name, more):
    result = run_season(garden, daily)
    raised = replace(uncertainty, **{name: getattr(uncertainty, name) + more})
    less, greater = (
        season_range(replace(garden, uncertainty=stated), result) for stated in (uncertainty, raised)
    )
    assert 0.0 <= greater.low <= less.low <= 1.0 <= less.high <= greater.high


@settings(max_examples=20, deadline=None)
@given(gardens(n_beds=3), weathers(), days_in)
def test_the_range_of_one_bed_is_its_slice_of_many(garden, daily, days):
    whole = week_range(garden, week_of(garden, daily, days))
    for number in range(3):
        single = alone(garden, number)
        part = week_range(single, week_of(single, daily, days))
        assert part.reckoned[0] == whole.reckoned[number]
        assert np.array_equal(part.parts[:, 0], whole.parts[:, number])


@settings(max_examples=15, deadline=None)
@given(gardens(n_beds=2), weathers(), days_in)
def test_cups_that_agree_never_widen(garden, daily, days):
    """At the plan's own flow and efficiency, so that nothing but the uncertainty differs."""
    uncertainty = Uncertainty(flow=0.05, efficiency=0.05)
    garden = replace(garden, uncertainty=uncertainty)
    result = week_of(garden, daily, days)
    cups = CupTest(garden.beds[0].name, BEGINS, 6.0, (0.2,) * 8)
    measured = replace(garden, beds=(replace(garden.beds[0], cup_test=cups), garden.beds[1]))
    by_print, by_cups = week_range(garden, result), week_range(measured, result)
    assert by_cups.standard[0] <= by_print.standard[0]
    assert by_cups.standard[1] == by_print.standard[1]
