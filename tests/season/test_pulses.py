"""How long a run a bed's soil takes: worked by hand, and what must hold for any garden."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.season.pulses import PONDING_DEPTH, SOAK_PER_MINUTE, longest_until_ponding, pulse_limits
from scheduler.season.supply import supply_arrays
from tests.builders import MIX, make_bed, make_garden


def taking_in(rate, **changes):
    return make_bed(soil=replace(MIX, intake_rate=rate), **changes)


def limits_of(*beds):
    return pulse_limits(make_garden([replace(bed, name=f"bed {n}") for n, bed in enumerate(beds)]))


def test_a_bed_of_which_nothing_is_told_has_no_limit():
    limits = limits_of(make_bed(), taking_in(1000.0))
    assert limits.longest.tolist() == [math.inf, math.inf]
    assert limits.soak.tolist() == [0.0, 0.0]
    assert limits.reasons == ("", "")
    assert limits.of_beds([0, 1]) == (math.inf, 0.0)


def test_ponding_by_hand():
    # 16 emitters of 2 L/h on 2.88 m2 are 11.11 mm/h; on a quarter of the bed 44.44 mm/h. At 30 mm/h of intake
    # 14.44 mm/h are left over: 5 mm after 20.77 min, and at 30 mm/h they are gone 10 min later.
    limits = limits_of(taking_in(30.0, wetted_share=0.25))
    assert limits.strip_rate[0] == pytest.approx(32.0 / 2.88 / 0.25)
    assert limits.longest[0] == pytest.approx(300.0 / (32.0 / 0.72 - 30.0))
    assert limits.longest[0] == pytest.approx(20.77, abs=0.005)
    assert limits.soak[0] == pytest.approx(10.0)
    assert limits.reasons == ("ponds",)


def test_a_run_that_was_seen_to_go_through():
    limits = limits_of(make_bed(runs_through_after=10.0))
    assert (limits.longest[0], limits.soak[0], limits.reasons[0]) == (10.0, 20.0, "runs through")


def test_of_two_limits_the_shorter_run_and_the_longer_pause():
    # Ponds after 20.77 min; seen through after 12: after 12 min 2.89 mm stand, gone in 5.78 min.
    both = taking_in(30.0, wetted_share=0.25, runs_through_after=12.0)
    limits = limits_of(both, replace(both, runs_through_after=40.0))
    assert limits.longest == pytest.approx([12.0, 300.0 / (32.0 / 0.72 - 30.0)])
    assert limits.soak == pytest.approx([24.0, 2 * 300.0 / (32.0 / 0.72 - 30.0)])
    assert limits.reasons == ("runs through", "ponds")


def test_beds_that_run_together_take_the_shortest_run_and_the_longest_pause():
    limits = limits_of(
        taking_in(30.0, wetted_share=0.25), make_bed(runs_through_after=30.0), make_bed(), taking_in(500.0)
    )
    assert limits.of_beds([0, 1, 2]) == (pytest.approx(20.77, abs=0.005), 60.0)
    assert limits.of_beds([0, 2]) == (pytest.approx(20.77, abs=0.005), pytest.approx(10.0))
    assert limits.of_beds([2, 3]) == (math.inf, 0.0)
    assert limits.of_beds([]) == (math.inf, 0.0)


def test_arrays_in_and_out():
    assert longest_until_ponding([40.0, 30.0, 20.0], 30.0) == pytest.approx([30.0, math.inf, math.inf])
    assert float(longest_until_ponding(60.0, 30.0)) == pytest.approx(10.0)
    assert PONDING_DEPTH == 5.0
    assert SOAK_PER_MINUTE == 2.0


@given(
    st.floats(1.0, 200.0),
    st.floats(0.05, 1.0),
    st.one_of(st.none(), st.floats(1.0, 240.0)),
)
def test_what_stands_after_the_longest_run_is_gone_after_its_pause(intake, share, through):
    bed = taking_in(intake, wetted_share=share, runs_through_after=through)
    garden = make_garden([bed])
    limits = pulse_limits(garden)
    rate = float(supply_arrays(garden)[2][0]) / share
    longest, soak = float(limits.longest[0]), float(limits.soak[0])
    if limits.reasons[0] == "":
        assert rate <= intake
        assert through is None
        return
    standing = max(rate - intake, 0.0) * longest / 60.0
    assert standing <= PONDING_DEPTH * (1 + 1e-9)
    assert standing <= intake * soak / 60.0 * (1 + 1e-9) + 1e-9
    if through is not None:
        assert longest <= through
        assert soak >= SOAK_PER_MINUTE * longest * (1 - 1e-12)


@given(st.floats(5.0, 60.0), st.floats(0.0, 50.0), st.floats(0.1, 1.0))
def test_slower_intake_and_a_narrower_strip_never_allow_a_longer_run(intake, less, share):
    longest = limits_of(
        taking_in(intake, wetted_share=share),
        taking_in(max(intake - less, 1.0), wetted_share=share),
        taking_in(intake, wetted_share=share / 2),
    ).longest
    assert np.all(longest[1:] <= longest[0] * (1 + 1e-12))
