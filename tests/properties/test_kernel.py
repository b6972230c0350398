"""What holds for every bed and every day: conservation, bounds, directions, one bed as a slice of many."""

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
from scheduler.water.rootzone import DayBalance, depletion_fraction, step, water_stress_coefficient

CONSERVED = 1e-9  # mm a day

depths = st.floats(0.0, 200.0)
demands = st.floats(0.0, 15.0)
shares = st.floats(0.0, 1.0)
coefficients = st.floats(0.1, 1.3)
lengths = st.integers(0, 80)
days = st.integers(1, 400)
INPUTS = ("depletion", "et_crop", "rain", "applied", "taw", "raw", "storage")


@st.composite
def bed_days(draw, *, gentle=False):
    """The inputs of one bed on one day; a gentle day asks for no more than roots hold beyond RAW."""
    taw = draw(st.floats(2.0, 300.0))
    raw = draw(st.floats(0.1, 0.8)) * taw
    storage = draw(st.floats(1.0, 4.0)) * taw
    demand = draw(st.floats(0.0, min(15.0, taw - raw)) if gentle else demands)
    return {
        "depletion": draw(shares) * storage,
        "et_crop": demand,
        "rain": draw(depths),
        "applied": draw(depths),
        "taw": taw,
        "raw": raw,
        "storage": storage,
    }


gardens = st.lists(bed_days(), min_size=1, max_size=6).map(
    lambda beds: {name: np.array([bed[name] for bed in beds]) for name in INPUTS}
)


@given(gardens)
def test_water_is_conserved_every_day(garden):
    result = step(**garden)
    change = result.depletion - garden["depletion"]
    out = result.et_actual + result.deep_percolation
    assert np.all(np.abs(change - (out - garden["rain"] - garden["applied"])) <= CONSERVED)


@given(gardens)
def test_day_keeps_its_bounds(garden):
    result = step(**garden)
    assert np.all((result.stress_coefficient >= 0.0) & (result.stress_coefficient <= 1.0))
    assert np.all((result.et_actual >= 0.0) & (result.et_actual <= garden["et_crop"]))
    assert np.all(result.deep_percolation >= 0.0)
    assert np.all((result.depletion >= 0.0) & (result.depletion <= garden["storage"] * (1 + 1e-12)))


@given(bed_days())
def test_water_drains_only_from_a_full_soil(bed):
    result = step(**bed)
    if result.deep_percolation > 0.0:
        # Full after wetting, so that nothing holds the crop back but the soil's own store.
        assert result.stress_coefficient == 1.0
        assert result.depletion == result.et_actual == min(bed["et_crop"], bed["storage"])
    else:
        assert bed["rain"] + bed["applied"] <= bed["depletion"]


@given(bed_days(), st.lists(st.tuples(demands, depths, depths), min_size=1, max_size=40))
def test_water_is_conserved_over_many_days(bed, weather):
    limits = {name: bed[name] for name in ("taw", "raw", "storage")}
    depletion, balance = bed["depletion"], 0.0
    for et_crop, rain, applied in weather:
        result = step(depletion, et_crop=et_crop, rain=rain, applied=applied, **limits)
        depletion = result.depletion
        balance += result.et_actual + result.deep_percolation - rain - applied
    assert abs(depletion - bed["depletion"] - balance) <= CONSERVED * len(weather)


@given(gardens, st.data())
def test_one_bed_is_its_slice_of_many(garden, data):
    number = data.draw(st.integers(0, garden["taw"].shape[0] - 1))
    alone = step(**{name: float(values[number]) for name, values in garden.items()})
    for field, one, many in zip(DayBalance._fields, alone, step(**garden), strict=True):
        assert np.ndim(one) == 0, field
        assert one == many[number], field


@given(gardens, st.integers(1, 5))
def test_days_down_and_beds_across_broadcast(garden, n_days):
    demand = np.linspace(1.0, 8.0, n_days)[:, None]
    many = step(**(garden | {"et_crop": demand}))
    assert many.depletion.shape == many.et_actual.shape == (n_days, garden["taw"].shape[0])
    for day in range(n_days):
        one = step(**(garden | {"et_crop": float(demand[day, 0])}))
        assert np.array_equal(many.depletion[day], one.depletion)
        assert np.array_equal(many.et_actual[day], one.et_actual)


@given(gardens)
def test_inputs_are_never_written_to(garden):
    before = {name: values.copy() for name, values in garden.items()}
    for values in garden.values():
        values.flags.writeable = False
    result = step(**garden)
    assert all(np.array_equal(before[name], garden[name]) for name in garden)
    assert not any(np.shares_memory(part, values) for part in result for values in garden.values())


@given(bed_days(gentle=True), depths)
def test_more_water_never_leaves_the_soil_drier(bed, more):
    """Holds where a day's demand is at most TAW - RAW: above, a drier crop saves more than it lacked."""
    wetter = step(**(bed | {"rain": bed["rain"] + more}))
    assert wetter.depletion <= step(**bed).depletion + CONSERVED


def test_beyond_that_bound_a_drier_start_can_end_wetter():
    limits = {"et_crop": 6.0, "rain": 0.0, "applied": 0.0, "taw": 10.0, "raw": 8.0, "storage": 30.0}
    assert step(8.0, **limits).depletion > step(9.0, **limits).depletion


@given(bed_days(), depths)
def test_more_water_never_drains_less_or_feeds_the_crop_less(bed, more):
    less, plenty = step(**bed), step(**(bed | {"applied": bed["applied"] + more}))
    assert plenty.deep_percolation >= less.deep_percolation
    assert plenty.et_actual >= less.et_actual
    assert plenty.stress_coefficient >= less.stress_coefficient


@given(bed_days(), demands)
def test_more_demand_never_draws_less(bed, more):
    thirsty = step(**(bed | {"et_crop": bed["et_crop"] + more}))
    usual = step(**bed)
    assert thirsty.et_actual >= usual.et_actual
    assert thirsty.depletion >= usual.depletion
    assert thirsty.deep_percolation == usual.deep_percolation


@given(bed_days(), shares, shares)
def test_stress_falls_with_depletion_from_raw_to_taw(bed, one, other):
    taw, raw = bed["taw"], bed["raw"]
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
