"""What holds for every bed and every day: conservation, bounds, directions, one bed as a slice of many."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.water.balance import Conditions, SoilState, step
from scheduler.water.evaporation import SurfaceDay
from tests.water.beds import conditions, soil

CONSERVED = 1e-9  # mm a day

shares = st.floats(0.0, 1.0)
depths = st.floats(0.0, 200.0)
demands = st.floats(0.0, 15.0)


@st.composite
def surfaces(draw, basal, *, gentle=False):
    """A surface under a day's energy; a gentle one has its strip alone exposed, as FAO-56 has it."""
    tew = draw(st.floats(5.0, 40.0))
    rew = draw(st.floats(0.1, 0.8)) * tew
    cover, wetted = draw(st.floats(0.0, 0.99)), draw(st.floats(0.05, 1.0))
    strip = min(1.0 - cover, wetted * draw(st.floats(0.3, 1.0)))
    spare = draw(st.floats(0.0, 12.0))
    return SurfaceDay(
        most=basal + spare,
        strip=strip,
        rest=0.0 if gentle else draw(shares) * (1.0 - cover - strip),
        wetted=wetted,
        tew=tew,
        rew=rew,
        kept=draw(st.floats(0.3, 1.0)),
        roots=0.0 if gentle else draw(shares),
    )


@st.composite
def bed_days(draw, *, gentle=False, dual=None):
    """State and conditions of one bed; gentle ones keep to one surface part and to roots that stay."""
    taw = draw(st.floats(2.0, 300.0))
    raw = draw(st.floats(0.1, 0.8)) * taw
    storage = draw(st.floats(1.0, 4.0)) * taw
    basal = draw(demands)
    dual = draw(st.booleans()) if dual is None else dual
    surface = draw(surfaces(basal, gentle=gentle)) if dual else None
    layer = surface.tew if surface else 10.0
    reach = taw if gentle else draw(st.floats(0.3, 1.0)) * storage
    state = SoilState(
        depletion=draw(shares) * reach,
        below=draw(shares) * (storage - reach),
        strip=draw(shares) * layer,
        rest=draw(shares) * layer,
        reach=reach,
    )
    return state, conditions(
        basal=basal, rain=draw(depths), taw=taw, raw=raw, storage=storage, surface=surface
    )


def many(beds):
    """Return beds side by side; all with a surface or all without."""

    def stacked(parts):
        return [np.array(values, dtype=float) for values in zip(*parts, strict=True)]

    states = SoilState(*stacked([state for state, _ in beds]))
    plain = stacked([tuple(day)[:-1] for _, day in beds])
    with_surface = beds[0][1].surface is not None
    surface = SurfaceDay(*stacked([day.surface for _, day in beds])) if with_surface else None
    return states, Conditions(*plain, surface)


gardens = st.booleans().flatmap(lambda dual: st.lists(bed_days(dual=dual), min_size=1, max_size=6).map(many))


def missing(state):
    return np.add(state.depletion, state.below)


@given(gardens, depths, depths)
def test_water_is_conserved_every_day(garden, applied, late):
    state, day = garden
    result = step(state, day, applied=applied, applied_late=late)
    out = result.evaporation + result.transpiration + result.deep_percolation
    change = missing(result.state) - missing(state)
    assert np.all(np.abs(change - (out - day.rain - applied - late)) <= CONSERVED)


@given(st.lists(bed_days(dual=True), min_size=1, max_size=6).map(many), depths)
def test_the_surface_layer_is_conserved_but_for_what_percolates_and_roots_draw(garden, applied):
    state, day = garden
    surface = day.surface._replace(roots=np.zeros_like(day.surface.roots))
    result = step(state, day._replace(surface=surface), applied=applied)
    strip_wet = np.maximum(state.strip - day.rain - applied / surface.wetted, 0.0)
    rest_wet = np.maximum(state.rest - day.rain, 0.0)
    from_strip = (result.state.strip - strip_wet) * surface.strip
    from_rest = (result.state.rest - rest_wet) * surface.rest
    assert np.all(np.abs(from_strip + from_rest - result.evaporation) <= CONSERVED)
    # Roots take more from the layer, never less, and no more than they transpire.
    rooted = step(state, day, applied=applied)
    for part in ("strip", "rest"):
        drawn = getattr(rooted.state, part) - getattr(result.state, part)
        assert np.all((drawn >= -CONSERVED) & (drawn <= rooted.transpiration + CONSERVED))


@given(gardens, depths)
def test_day_keeps_its_bounds(garden, applied):
    state, day = garden
    result = step(state, day, applied=applied)
    assert np.all((result.stress_coefficient >= 0.0) & (result.stress_coefficient <= 1.0))
    assert np.all((result.transpiration >= 0.0) & (result.transpiration <= day.basal))
    assert np.all(result.evaporation >= 0.0)
    assert np.all(result.deep_percolation >= 0.0)
    reach = day.taw
    if day.surface is not None:
        assert np.all(result.evaporation <= np.maximum(day.surface.most - day.basal, 0.0) + CONSERVED)
        assert np.all(result.state.strip <= day.surface.tew + CONSERVED)
        assert np.all(result.state.rest <= day.surface.tew + CONSERVED)
        reach = np.maximum(reach, day.surface.tew)
    # Roots that just went shallower may leave more behind than the shallow soil holds, never make it so.
    before = np.maximum(state.depletion + state.below, reach)
    assert np.all((result.state.depletion >= 0.0) & (result.state.depletion <= before + CONSERVED))
    assert np.all((result.state.below >= -CONSERVED) & (result.state.below <= missing(state) + CONSERVED))


@given(bed_days(), depths)
def test_water_leaves_the_bed_only_when_roots_and_soil_below_are_full(bed, applied):
    state, day = bed
    result = step(state, day, applied=applied)
    if result.deep_percolation > 1e-6:
        assert result.stress_coefficient == 1.0
        assert result.state.below == pytest.approx(0.0, abs=1e-9)
        assert day.rain + applied >= missing(state)


@given(bed_days(dual=True), st.lists(st.tuples(depths, depths), min_size=1, max_size=40))
def test_water_is_conserved_over_many_days(bed, weather):
    state, day = bed
    balance, begin = 0.0, missing(state)
    for rain, applied in weather:
        result = step(state, day._replace(rain=rain), applied=applied)
        state = result.state
        balance += result.evaporation + result.transpiration + result.deep_percolation - rain - applied
    assert abs(missing(state) - begin - balance) <= CONSERVED * len(weather)


def test_thirty_years_of_random_weather_close_to_a_billionth_of_a_millimetre():
    """Root zone, soil below and surface layer, 200 invented beds whose roots come and go."""
    rng = np.random.default_rng(20260713)
    n_beds, n_days = 200, 30 * 365
    storage = rng.uniform(30.0, 90.0, n_beds)
    tew = rng.uniform(12.0, 26.0, n_beds)
    wetted = rng.uniform(0.2, 0.9, n_beds)
    state = SoilState(*(np.zeros(n_beds) for _ in range(4)), storage * 0.3)
    worst, total = 0.0, np.zeros(n_beds)
    for number in range(n_days):
        year = number % 365
        taw = storage * (0.3 + 0.7 * np.clip((year - 100) / 60, 0, 1) * (year < 280))
        cover = 0.9 * np.clip((year - 110) / 60, 0, 1) * (year < 280) * np.ones(n_beds)
        strip = np.minimum(1 - cover, wetted * (1 - cover * 2 / 3))
        basal = rng.uniform(0, 8, n_beds) * (0.15 + cover)
        surface = SurfaceDay(
            basal + rng.uniform(0, 6, n_beds),
            strip,
            np.maximum(1 - cover - strip, 0),
            wetted,
            tew,
            0.45 * tew,
            np.full(n_beds, 0.8),
            np.full(n_beds, 0.4),
        )
        rain = np.where(rng.random(n_beds) < 0.2, rng.gamma(0.8, 8.0, n_beds), 0.0)
        applied = np.where(rng.random(n_beds) < 0.3, rng.uniform(0, 15, n_beds), 0.0)
        result = step(state, Conditions(basal, rain, taw, 0.4 * taw, storage, surface), applied=applied)
        gain = result.evaporation + result.transpiration + result.deep_percolation - rain - applied
        worst = max(worst, float(np.abs(missing(result.state) - missing(state) - gain).max()))
        total += gain
        state = result.state
        assert np.all((state.strip >= 0) & (state.strip <= tew + CONSERVED))
    assert worst <= CONSERVED
    assert np.abs(missing(state) - total).max() <= CONSERVED * n_days


@given(gardens, st.data())
def test_one_bed_is_its_slice_of_many(garden, data):
    state, day = garden
    number = data.draw(st.integers(0, day.taw.shape[0] - 1))
    lone_day = Conditions(
        *(float(values[number]) for values in day[:-1]),
        None if day.surface is None else SurfaceDay(*(float(v[number]) for v in day.surface)),
    )
    alone = step(SoilState(*(float(part[number]) for part in state)), lone_day, applied=3.0)
    together = step(state, day, applied=3.0)
    for field in ("evaporation", "transpiration", "deep_percolation", "stress_coefficient", "driest"):
        one = getattr(alone, field)
        assert np.ndim(one) == 0, field
        assert one == getattr(together, field)[number], field
    for one, all_of_them in zip(alone.state, together.state, strict=True):
        assert one == np.broadcast_to(all_of_them, day.taw.shape)[number]


@given(gardens)
def test_inputs_are_never_written_to(garden):
    state, day = garden
    parts = [*state, *day[:-1], *(day.surface or ())]
    before = [values.copy() for values in parts]
    for values in parts:
        values.flags.writeable = False
    step(state, day, applied=2.0, applied_late=1.0)
    assert all(np.array_equal(was, now) for was, now in zip(before, parts, strict=True))


@given(bed_days(gentle=True), shares, shares)
def test_more_water_that_the_soil_can_hold_never_leaves_it_drier(bed, one, other):
    """Beyond that, rain on a full soil can drain and yet wet a surface that then evaporates.

    With two surface parts energy shifts between them, so that only one is exposed here.
    """
    state, day = bed
    day = day._replace(rain=0.0)
    little, much = (share * state.depletion for share in sorted((one, other)))
    less, plenty = (step(state, day, applied=water) for water in (little, much))
    assert plenty.state.depletion <= less.state.depletion + CONSERVED
    less, plenty = (step(state, day._replace(rain=water), applied=0.0) for water in (little, much))
    assert plenty.state.depletion <= less.state.depletion + CONSERVED


def test_a_drier_start_never_ends_wetter_however_great_the_demand():
    # TAW - RAW = 2 mm, demand 6 mm: both come to the end of what roots reach.
    day = conditions(basal=6.0, taw=10.0, raw=8.0, storage=30.0)
    wet, dry = (step(soil(depletion, reach=10.0), day, applied=0.0) for depletion in (8.0, 9.0))
    assert (wet.state.depletion, dry.state.depletion) == (10.0, 10.0)


@given(bed_days(gentle=True), depths, depths)
def test_more_water_never_drains_less_or_feeds_air_and_crop_less(bed, applied, more):
    state, day = bed
    less, plenty = (step(state, day, applied=water) for water in (applied, applied + more))
    assert plenty.deep_percolation >= less.deep_percolation - CONSERVED
    assert plenty.evaporation >= less.evaporation - CONSERVED
    assert plenty.stress_coefficient >= less.stress_coefficient
    assert plenty.evaporation + plenty.transpiration >= less.evaporation + less.transpiration - CONSERVED


@given(bed_days(dual=False), demands)
def test_more_demand_never_draws_less(bed, more):
    state, day = bed
    usual, thirsty = (
        step(state, day._replace(basal=day.basal + extra), applied=0.0) for extra in (0.0, more)
    )
    assert thirsty.transpiration >= usual.transpiration
    assert thirsty.state.depletion >= usual.state.depletion
    assert thirsty.deep_percolation == usual.deep_percolation


@given(bed_days(dual=True), st.floats(0.1, 1.0))
def test_mulch_never_adds_evaporation(bed, part):
    state, day = bed
    mulched = day._replace(surface=day.surface._replace(kept=part * day.surface.kept))
    assert (
        step(state, mulched, applied=1.0).evaporation <= step(state, day, applied=1.0).evaporation + CONSERVED
    )


@settings(max_examples=50)
@given(bed_days(dual=True))
def test_single_and_dual_agree_when_the_surface_is_dry(bed):
    """With a dry surface layer Kcb is all of Kc: FAO-56 (1998), eq. 69. Stated bound: no difference."""
    state, day = bed
    day = day._replace(rain=0.0)
    dry = state._replace(strip=day.surface.tew, rest=day.surface.tew)
    dual = step(dry, day, applied=0.0)
    single = step(dry, day._replace(surface=None), applied=0.0)
    assert dual.evaporation == 0.0
    assert dual.transpiration == pytest.approx(
        min(float(single.stress_coefficient) * day.basal, float(dual.transpiration)), abs=CONSERVED
    )
    if day.taw >= day.surface.tew:
        assert dual.state.depletion == pytest.approx(single.state.depletion, abs=CONSERVED)
