"""Simulated seasons: false alarms against the stated rate, and every injected fault found."""

import math

import numpy as np
import pytest
from scipy.stats import binom

from tests.reconcile.season_trial import (
    FAULTS,
    WEEKS,
    Garden,
    drift_plan,
    play_season,
    table,
    trial,
)

SOUND = FAULTS[0]
SHARE, SEASONS = 0.05, 800
#: A right rate fails a check as rarely as this.
SURPRISING = 1e-3


@pytest.mark.parametrize("noise", ["normal", "register"])
def test_sound_rounds_are_accused_within_the_binomial_of_the_stated_share(noise):
    """One round a garden, since rounds of one season share their baselines."""
    garden = Garden(noise=noise, round_alarms=SHARE * WEEKS)
    plan = drift_plan(garden)
    rng = np.random.default_rng(41)
    accused = sum(play_season(rng, SOUND, garden, plan=plan, weeks=1).false_rounds for _ in range(SEASONS))
    low, high = binom.interval(1.0 - SURPRISING, SEASONS, SHARE)
    assert low <= accused <= high


@pytest.mark.parametrize("noise", ["normal", "register"])
def test_false_alarms_of_a_season_are_as_stated(noise):
    """Calls of one season hang together, so the spread is that of whole seasons.

    A register errs within its digits and has no tails: with it, rounds at 1 in 52 are accused less often.
    """
    garden = Garden(noise=noise)
    seasons = trial(np.random.default_rng(42), SOUND, seasons=150, garden=garden)
    for stated, counts in (
        (garden.round_alarms, [s.false_rounds for s in seasons]),
        (garden.drift_alarms, [s.false_drifts for s in seasons]),
    ):
        spread = np.std(counts) / math.sqrt(len(counts))
        assert np.mean(counts) < stated + 3.3 * spread
        assert np.mean(counts) > 0.5 * stated


@pytest.mark.parametrize(
    ("name", "weeks", "named"),
    [
        ("2 of 20 emitters blocked", 15, 0.5),
        ("5 of 20 emitters blocked", 1, 0.8),
        ("one more emitter blocked each week", 5, 0.7),
        ("leak of 40 % in one bed", 0, 0.8),
        ("valve stuck half open", 0, 0.8),
        ("filter: all beds lose 15 %", 1, 0.8),
        ("two digits of one reading swapped", 0, 0.8),
    ],
)
def test_injected_faults_are_found_and_named(name, weeks, named):
    """Half of the seasons or more within so many weeks, and rightly named in so many of the found ones."""
    (fault,) = (fault for fault in FAULTS if fault.name == name)
    outcomes = trial(np.random.default_rng(43), fault, seasons=24)
    assert np.median([outcome.round_delay for outcome in outcomes]) <= weeks
    found = [outcome for outcome in outcomes if math.isfinite(outcome.round_delay)]
    assert np.mean([outcome.named_right for outcome in found]) >= named
    if fault.typo:
        assert 0 < sum(outcome.refused for outcome in outcomes) < len(outcomes)
    else:
        assert np.mean([math.isfinite(outcome.drift_delay) for outcome in outcomes]) >= 0.8


def test_table_has_a_line_for_every_fault():
    lines = list(table(np.random.default_rng(44), seasons=1))
    assert [line[:36].rstrip() for line in lines[1:]] == [fault.name for fault in FAULTS]
    assert len({len(line) for line in lines}) == 1
