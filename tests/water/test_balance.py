"""The daily balance on days that can be reckoned by hand."""

import numpy as np
import pytest

from scheduler.water.balance import follow_roots, step
from tests.water.beds import bare, conditions, soil


def day(depletion, *, applied=0.0, applied_late=None, below=0.0, **changes):
    return step(
        soil(depletion, below=below, reach=changes.get("taw", 40.0)),
        conditions(**changes),
        applied=applied,
        applied_late=applied_late,
    )


def told(result):
    """Return depletion, use, drainage, stress and driest of a day without evaporation."""
    assert np.all(result.evaporation == 0.0)
    return (
        result.state.depletion,
        result.transpiration,
        result.deep_percolation,
        result.stress_coefficient,
        result.driest,
    )


def test_quiet_day_changes_nothing():
    assert told(day(12.0)) == pytest.approx((12.0, 0.0, 0.0, 1.0, 12.0))


def test_full_soil_drains_what_it_cannot_hold_then_feeds_the_crop():
    assert told(day(10.0, rain=8.0, applied=7.0, basal=6.0)) == pytest.approx((6.0, 6.0, 5.0, 1.0, 6.0))


def test_water_of_the_day_relieves_the_stress_of_the_day():
    assert told(day(28.0, basal=6.0)) == pytest.approx((31.0, 3.0, 0.0, 0.5, 31.0))
    assert told(day(28.0, basal=6.0, applied=12.0)) == pytest.approx((22.0, 6.0, 0.0, 1.0, 22.0))


def test_evening_water_comes_after_the_day_it_cannot_relieve():
    late = day(28.0, basal=6.0, applied_late=12.0)
    assert told(late) == pytest.approx((19.0, 3.0, 0.0, 0.5, 31.0))
    assert told(day(2.0, basal=3.0, applied_late=8.0)) == pytest.approx((0.0, 3.0, 3.0, 1.0, 5.0))


def test_soil_never_gives_more_than_roots_reach():
    shallow = day(38.0, raw=39.0, basal=9.0)
    assert shallow.transpiration == pytest.approx(2.0)
    assert shallow.state.depletion == 40.0


def test_soil_below_its_store_gives_nothing_more():
    """A plan may state a depletion beyond the store; it is then kept, and water refills it first."""
    assert told(day(65.0, basal=5.0)) == pytest.approx((65.0, 0.0, 0.0, 0.0, 65.0))
    assert told(day(65.0, applied=70.0)) == pytest.approx((0.0, 0.0, 5.0, 1.0, 0.0))


def test_missing_demand_is_not_taken_for_none():
    result = day(12.0, basal=float("nan"))
    assert np.isnan(result.state.depletion)
    assert np.isnan(result.transpiration)


def test_one_missing_day_leaves_the_other_beds_alone():
    result = day(np.array([12.0, 12.0]), rain=np.array([np.nan, 2.0]))
    assert np.isnan(result.state.depletion).tolist() == [True, False]


# --- the soil below the roots


def test_what_drains_fills_the_soil_below_before_it_leaves_the_bed():
    result = day(4.0, below=3.0, rain=12.0, storage=60.0)
    assert result.state.depletion == 0.0
    assert result.state.below == 0.0
    assert result.deep_percolation == pytest.approx(12.0 - 4.0 - 3.0)
    part = day(4.0, below=30.0, rain=12.0, storage=80.0)
    assert part.state.below == pytest.approx(22.0)
    assert part.deep_percolation == 0.0


def test_roots_that_grow_take_over_their_share_of_what_is_missing_below():
    # From 20 to 30 mm of a bed that holds 60: a quarter of the 40 mm outside, hence of the 16 missing.
    deeper, left = follow_roots(soil(5.0, below=16.0, reach=20.0), 30.0, storage=60.0)
    assert (deeper, left) == pytest.approx((9.0, 12.0))
    # New depth at field capacity, as in FAO-56 example 38, changes nothing.
    assert follow_roots(soil(5.0, reach=20.0), 30.0, storage=60.0) == pytest.approx((5.0, 0.0))


def test_roots_that_go_leave_their_share_behind():
    shallow, left = follow_roots(soil(20.0, below=3.0, reach=40.0), 10.0, storage=60.0)
    assert (shallow, left) == pytest.approx((5.0, 18.0))


def test_roots_from_nothing_and_in_soil_without_more_move_nothing():
    # No reach yet: all of the bed is outside. Nothing outside: what is said to lack there stays.
    assert follow_roots(soil(0.0, below=12.0, reach=0.0), 15.0, storage=60.0) == pytest.approx((3.0, 9.0))
    assert follow_roots(soil(5.0, below=2.0, reach=40.0), 45.0, storage=40.0) == (5.0, 2.0)


# --- the surface


def test_a_surface_drier_than_it_can_be_gives_nothing_back():
    state = soil(10.0, strip=25.0, rest=25.0)
    result = step(state, conditions(surface=bare(most=5.0, strip=0.5, rest=0.5)), applied=0.0)
    assert result.evaporation == 0.0
    assert (result.state.strip, result.state.rest, result.state.depletion) == (25.0, 25.0, 10.0)


def test_a_covered_surface_evaporates_nothing():
    result = step(soil(), conditions(surface=bare(most=5.0, strip=0.0)), applied=0.0)
    assert (result.evaporation, result.state.strip, result.state.rest) == (0.0, 0.0, 0.0)


def test_a_bare_wet_surface_gives_what_the_air_takes():
    result = step(soil(), conditions(surface=bare(most=5.0)), applied=0.0)
    assert result.evaporation == pytest.approx(5.0)
    assert result.state.strip == result.state.depletion == pytest.approx(5.0)


def test_a_drying_surface_slows():
    # Kr = (20 - 14.5) / (20 - 9) = 0.5.
    result = step(soil(14.5, strip=14.5), conditions(surface=bare(most=5.0)), applied=0.0)
    assert result.evaporation == pytest.approx(2.5)


def test_drip_wets_its_strip_and_rain_wets_all():
    surface = bare(most=0.0, strip=0.25, rest=0.5, wetted=0.5)
    start = soil(12.0, strip=12.0, rest=12.0)
    dripped = step(start, conditions(surface=surface), applied=3.0)
    assert (dripped.state.strip, dripped.state.rest) == pytest.approx((6.0, 12.0))
    rained = step(start, conditions(surface=surface, rain=3.0), applied=0.0)
    assert (rained.state.strip, rained.state.rest) == pytest.approx((9.0, 9.0))
    late = step(start, conditions(surface=surface), applied=0.0, applied_late=3.0)
    assert (late.state.strip, late.state.rest) == pytest.approx((6.0, 12.0))


def test_a_strip_alone_gives_no_more_than_its_part_of_the_energy():
    # A quarter of the bed is wet: a quarter of 6 mm, though Kr is 1.
    surface = bare(most=6.0, strip=0.25, rest=0.75, wetted=0.25)
    result = step(soil(strip=0.0, rest=20.0), conditions(surface=surface), applied=0.0)
    assert result.evaporation == pytest.approx(1.5)
    assert result.state.strip == pytest.approx(6.0)


def test_two_parts_alike_evaporate_as_one_surface():
    parts = bare(most=6.0, strip=0.3, rest=0.7, wetted=0.3)
    one = bare(most=6.0)
    dry = soil(10.0, strip=12.0, rest=12.0)
    apart, whole = (step(dry, conditions(surface=s), applied=0.0) for s in (parts, one))
    assert apart.evaporation == pytest.approx(whole.evaporation)
    assert apart.state.strip == pytest.approx(apart.state.rest) == pytest.approx(whole.state.strip)


def test_mulch_keeps_back_its_part():
    open_bed, mulched = (
        step(soil(), conditions(surface=bare(most=4.0, kept=kept)), applied=0.0) for kept in (1.0, 0.6)
    )
    assert mulched.evaporation == pytest.approx(0.6 * open_bed.evaporation)


def test_roots_draw_on_the_surface_layer_too():
    surface = bare(most=3.0, strip=0.0, rest=0.0, roots=0.5)
    result = step(soil(20.0, strip=10.0, rest=20.0), conditions(basal=3.0, surface=surface), applied=0.0)
    # Half the roots, a layer half full in a root zone half full: half of the transpiration.
    assert result.transpiration == pytest.approx(2.5)  # Ks = (40 - 20) / (40 - 16)
    assert result.state.strip == pytest.approx(10.0 + 0.5 * 2.5)
    assert result.state.rest == 20.0  # Nothing left in it.


def test_the_root_zone_limits_evaporation():
    surface = bare(most=6.0)
    result = step(soil(39.0, strip=0.0), conditions(surface=surface), applied=0.0)
    assert result.evaporation == pytest.approx(1.0)
    assert result.state.strip == pytest.approx(1.0)
    assert result.state.depletion == pytest.approx(40.0)


def test_a_bed_watered_daily_uses_more_than_one_watered_every_third_day():
    def used(every):
        state, total = soil(reach=20.0, strip=18.0, rest=18.0), 0.0
        surface = bare(most=6.0, strip=0.8, rest=0.15, wetted=0.8, tew=18.0, rew=8.0)
        for number in range(12):
            water = 5.0 * every if number % every == 0 else 0.0
            result = step(state, conditions(basal=0.9, taw=20.0, raw=8.0, surface=surface), applied=water)
            state, total = result.state, total + float(result.evaporation + result.transpiration)
        return total

    assert used(1) > 1.08 * used(3)
