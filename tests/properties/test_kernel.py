"""Bounds and directions of the kernel's parts, whatever goes in; the balance has a file of its own."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.drip.emitters import emission_uniformity, emitter_flow, low_quarter_uniformity
from scheduler.timetable.runtime import applied_depth, run_time
from scheduler.water.crop import (
    adjust_for_climate,
    crop_coefficient,
    rooting_depth,
    stage_of_day,
    stage_progress,
)
from scheduler.water.need import (
    effective_rainfall,
    gross_irrigation_need,
    leaching_requirement,
    stored_share,
)
from scheduler.water.rootzone import depletion_fraction, water_stress_coefficient

depths = st.floats(0.0, 200.0)
demands = st.floats(0.0, 15.0)
shares = st.floats(0.0, 1.0)
coefficients = st.floats(0.1, 1.3)
lengths = st.integers(0, 80)
days = st.integers(1, 400)


@given(st.floats(2.0, 300.0), st.floats(0.1, 0.8), shares, shares)
def test_stress_falls_with_depletion_from_raw_to_taw(taw, fraction, one, other):
    raw = fraction * taw
    moist, dry = (water_stress_coefficient(share * taw, taw, raw=raw) for share in sorted((one, other)))
    assert 0.0 <= dry <= moist <= 1.0
    assert water_stress_coefficient(raw, taw, raw=raw) == 1.0
    assert water_stress_coefficient(taw, taw, raw=raw) == 0.0


@given(shares, demands, demands)
def test_depletion_fraction_falls_with_demand_within_its_bounds(table, one, other):
    calm, hot = (depletion_fraction(table, demand) for demand in sorted((one, other)))
    assert 0.1 <= hot <= calm <= 0.8


@given(days, st.tuples(lengths, lengths, lengths, lengths))
def test_stage_agrees_with_progress(day, stages):
    initial, development, mid, late = stages
    stage = stage_of_day(day, initial, development=development, mid=mid)
    canopy, ageing = stage_progress(day, initial, development=development, mid=mid, late=late)
    assert 0.0 <= ageing <= canopy <= 1.0
    assert (stage == 0) == (canopy == 0.0)
    assert (stage == 3) == (ageing > 0.0)
    assert stage != 2 or canopy == 1.0


@given(days, st.tuples(lengths, lengths, lengths, lengths))
def test_stages_never_go_back(day, stages):
    initial, development, mid, late = stages
    now, later = np.array([day, day + 1])
    assert stage_of_day(now, initial, development=development, mid=mid) <= stage_of_day(
        later, initial, development=development, mid=mid
    )
    for before, after in zip(
        stage_progress(now, initial, development=development, mid=mid, late=late),
        stage_progress(later, initial, development=development, mid=mid, late=late),
        strict=True,
    ):
        assert before <= after


@given(days, st.tuples(lengths, lengths, lengths, lengths), st.tuples(*3 * [coefficients]))
def test_coefficient_lies_between_those_of_its_stages(day, stages, kc):
    initial, development, mid, late = stages
    canopy, ageing = stage_progress(day, initial, development=development, mid=mid, late=late)
    value = crop_coefficient(canopy, ageing, kc_ini=kc[0], kc_mid=kc[1], kc_end=kc[2])
    assert min(kc) - 1e-12 <= value <= max(kc) + 1e-12
    stage = stage_of_day(day, initial, development=development, mid=mid)
    if stage == 0:
        assert value == kc[0]
    if stage == 2:
        assert value == pytest.approx(kc[1], abs=1e-12)
    if day >= initial + development + mid + late and stage == 3:
        assert value == pytest.approx(kc[2], abs=1e-12)


@given(coefficients, st.floats(0.0, 10.0), st.floats(0.0, 100.0), st.floats(0.0, 15.0))
def test_climate_adjustment_rises_with_wind_and_falls_with_humidity(kc, wind, rh_min, height):
    usual = adjust_for_climate(kc, wind, rh_min=rh_min, height=height)
    assert adjust_for_climate(kc, wind + 1.0, rh_min=rh_min, height=height) >= usual
    assert adjust_for_climate(kc, wind, rh_min=rh_min + 5.0, height=height) <= usual
    if kc < 0.45:
        assert usual == kc


@given(coefficients, st.floats(0.1, 10.0))
def test_climate_adjustment_is_nil_in_the_standard_climate(kc, height):
    assert adjust_for_climate(kc, 2.0, rh_min=45.0, height=height) == kc


@given(shares, shares, st.floats(0.02, 2.0))
def test_roots_grow_with_the_canopy_and_stop_at_their_greatest(one, other, greatest):
    young, old = (rooting_depth(canopy, greatest) for canopy in sorted((one, other)))
    assert min(0.15, greatest) <= young <= old <= greatest + 1e-12
    assert rooting_depth(1.0, greatest) == pytest.approx(greatest, abs=1e-12)


@given(depths, st.floats(0.05, 1.0), st.floats(0.0, 0.3))
def test_gross_need_keeps_the_net_need(net, efficiency, leaching):
    gross = gross_irrigation_need(net, efficiency, leaching=leaching)
    assert gross >= net
    assert gross * stored_share(efficiency, leaching) == pytest.approx(net, rel=1e-12)
    assert gross_irrigation_need(net, 0.9 * efficiency, leaching=leaching) >= gross
    assert gross_irrigation_need(net, efficiency, leaching=leaching + 0.1) >= gross


@given(depths, st.floats(0.0, 12.0), depths)
def test_effective_rain_is_all_or_nothing_and_rises_with_rain(rain, reference_et, more):
    counted = effective_rainfall(rain, reference_et)
    assert float(counted) in {0.0, rain}
    assert effective_rainfall(rain + more, reference_et) >= counted


@given(st.floats(0.0, 10.0), st.floats(0.0, 5.0), st.floats(1.0, 30.0))
def test_leaching_rises_with_salinity_up_to_its_cap(salinity, more, zero_yield):
    share = leaching_requirement(salinity, zero_yield_salinity=zero_yield)
    assert 0.0 <= share <= leaching_requirement(salinity + more, zero_yield_salinity=zero_yield) <= 0.3


@given(st.floats(0.1, 20.0), st.floats(1.0, 400.0), st.floats(1.0, 400.0), shares)
def test_emitter_flow_follows_pressure(nominal, nominal_pressure, pressure, exponent):
    flow = emitter_flow(nominal, pressure, nominal_pressure=nominal_pressure, exponent=exponent)
    assert emitter_flow(
        nominal, nominal_pressure, nominal_pressure=nominal_pressure, exponent=exponent
    ) == pytest.approx(nominal)
    more = emitter_flow(nominal, 1.5 * pressure, nominal_pressure=nominal_pressure, exponent=exponent)
    assert more / flow == pytest.approx(1.5**exponent)


@given(st.lists(st.floats(1.0, 500.0), min_size=4, max_size=40), st.floats(0.1, 10.0), st.randoms())
def test_cup_test_knows_neither_order_nor_measure(volumes, scale, random):
    uniformity = low_quarter_uniformity(volumes)
    assert 0.0 < uniformity <= 1.0 + 1e-12
    mixed = random.sample(volumes, len(volumes))
    assert low_quarter_uniformity([scale * volume for volume in mixed]) == pytest.approx(uniformity)


@given(st.floats(0.0, 0.4), st.floats(0.01, 0.09), st.floats(1.0, 8.0), st.floats(0.1, 1.0))
def test_emission_uniformity_falls_with_variation(variation, more, emitters, least):
    uniformity = emission_uniformity(variation, emitters_per_plant=emitters, least_flow_share=least)
    assert 0.0 < uniformity <= 1.0
    assert (
        emission_uniformity(variation + more, emitters_per_plant=emitters, least_flow_share=least)
        < uniformity
    )
    assert (
        emission_uniformity(variation, emitters_per_plant=2 * emitters, least_flow_share=least) >= uniformity
    )


@given(depths, st.floats(0.5, 100.0))
def test_minutes_times_rate_is_depth(depth, rate):
    assert applied_depth(run_time(depth, rate), rate) == pytest.approx(depth, rel=1e-12)
