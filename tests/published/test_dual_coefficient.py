"""The dual coefficient against the worked examples of FAO-56, which stand in dual_coefficient.toml.

The engine wets first, then drains, then evaporates and transpires, since that is what a bed watered before
dawn sees and what alone gives example 38; test_root_zone.py shows the other order.
"""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from scheduler.water.balance import Conditions, SoilState, step
from scheduler.water.crop import adjust_for_climate, crop_coefficient, stage_progress
from scheduler.water.evaporation import (
    SurfaceDay,
    canopy_cover,
    evaporation_reduction,
    exposed_fractions,
    greatest_crop_coefficient,
)
from scheduler.water.rootzone import total_available_water
from tests.published.printed import half_digit

DATA = tomllib.loads(Path(__file__).with_name("dual_coefficient.toml").read_text(encoding="utf-8"))
TEN, COTTON, DRYING, SCHEDULING = (DATA[name] for name in ("ten_days", "cotton", "drying", "scheduling"))


def close(printed, tolerance=None):
    return pytest.approx(float(printed), abs=half_digit(printed, tolerance))


@pytest.mark.parametrize("case", DATA["climate"], ids=lambda case: case["source"])
def test_example_29_basal_coefficient_for_climate(case):
    adjusted = adjust_for_climate(case["kcb"], case["wind_2m"], rh_min=case["rh_min"], height=case["height"])
    # The initial value is not adjusted; the end value is below 0.45.
    assert [case["kcb"][0], *adjusted[1:]] == [close(printed) for printed in case["printed"]]


def test_example_30_basal_coefficient_on_a_day():
    case = DATA["curve"]
    initial, development, mid, late = case["stages"]
    ini, peak, end = case["kcb"]
    for day, printed in case["days"]:
        progress = stage_progress(day, initial, development=development, mid=mid, late=late)
        kcb = crop_coefficient(*progress, kc_ini=ini, kc_mid=peak, kc_end=end)
        assert float(kcb) == close(printed, case["tolerance"]), day


def test_example_31_bare_loam_dries():
    case = DRYING
    basal, most = case["kcb"] * case["reference_et"], case["kc_max"] * case["reference_et"]
    surface = SurfaceDay(most, 1.0, 0.0, 1.0, case["tew"], case["rew"], 1.0, 0.0)
    day = Conditions(basal, 0.0, 200.0, 100.0, 200.0, surface)
    state = SoilState(0.0, 0.0, 0.0, 0.0, 200.0)
    for kr, ke, evaporated, end, use in case["rows"]:
        reduction = evaporation_reduction(state.strip, case["tew"], rew=case["rew"])
        result = step(state, day, applied=0.0)
        state = result.state
        assert float(reduction) == close(kr, case["coefficient_tolerance"])
        assert float(result.evaporation) / case["reference_et"] == close(ke, case["coefficient_tolerance"])
        assert float(result.evaporation) == close(evaporated, case["depth_tolerance"])
        assert float(state.strip) == close(end, case["depth_tolerance"])
        assert float(result.evaporation + result.transpiration) == close(use, case["use_tolerance"])


@pytest.mark.parametrize("method", ["sprinkler", "furrow", "drip"])
def test_examples_32_to_34_a_surface_just_wetted(method):
    case, own = COTTON, COTTON[method]
    kc_max = greatest_crop_coefficient(
        case["kcb"], case["wind_2m"], rh_min=case["rh_min"], height=case["height"]
    )
    cover = canopy_cover(case["kcb"], kc_max, height=case["height"], least=case["kc_min"])
    assert float(kc_max) == close(case["printed_kc_max"])
    assert float(cover) == close(case["printed_cover"])
    exposed = exposed_fractions(cover, own["wetted"], below_leaves=own["below_leaves"])
    allowed = own.get("tolerance")
    assert float(exposed.strip) == close(own["few"], allowed)
    # A day of 1 mm reference ET: depths are then the coefficients themselves. What no water reached is dry.
    surface = SurfaceDay(kc_max, exposed.strip, exposed.rest, own["wetted"], 20.0, 9.0, 1.0, 0.0)
    day = Conditions(case["kcb"], 0.0, 100.0, 50.0, 100.0, surface)
    result = step(SoilState(0.0, 0.0, 0.0, 20.0, 100.0), day, applied=0.0)
    assert float(result.evaporation) == close(own["ke"], allowed)
    assert float(result.evaporation + result.transpiration) == close(own["kc"], allowed)


def ten_days(*, irrigation_on_day_10=False):
    """Return Kc max and ten days of example 35, or of 38 with its second irrigation."""
    kcb, open_ground = np.linspace(*TEN["kcb"], 10), np.linspace(*TEN["open"], 10)
    greatest = float(
        greatest_crop_coefficient(0.4, TEN["wind_2m"], rh_min=TEN["rh_min"], height=TEN["height"])
    )
    root = np.linspace(*SCHEDULING["root_depth"], 10)
    capacity, wilting = SCHEDULING["field_capacity"], SCHEDULING["wilting_point"]
    taw = total_available_water(capacity, wilting, root_depth=root)
    raw = SCHEDULING["depletion_fraction"] * taw
    state = SoilState(raw[0], 0.0, TEN["tew"], TEN["tew"], taw[0])
    days = []
    for day, reference_et in enumerate(TEN["reference_et"]):
        again = irrigation_on_day_10 and day == 9
        # The irrigation of day 10 wets the whole surface: its Ke is Kc max - Kcb in the book.
        wetted = TEN["wetted"][day]
        applied = TEN["irrigation_day_1"] if day == 0 else float(state.depletion) if again else 0.0
        exposed = exposed_fractions(1.0 - open_ground[day], wetted, below_leaves=False)
        conditions = Conditions(
            basal=kcb[day] * reference_et,
            rain=TEN["rain_day_6"] if day == 5 else 0.0,
            taw=taw[day],
            raw=raw[day],
            storage=taw[-1],
            surface=SurfaceDay(
                greatest * reference_et, exposed.strip, exposed.rest, wetted, TEN["tew"], TEN["rew"], 1.0, 0.0
            ),
        )
        wet = state.strip - conditions.rain - applied / wetted
        start, percolated = max(float(wet), 0.0), max(-float(wet), 0.0)
        if irrigation_on_day_10 and 0 < day < 9:
            assert not state.depletion >= raw[day - 1]
        result = step(state, conditions, applied=applied)
        state = result.state
        days.append((start, percolated, kcb[day], float(exposed.strip), reference_et, applied, result))
    return greatest, days


def test_example_35_exact_rows():
    greatest, days = ten_days()
    assert greatest == close(TEN["printed_kc_max"])
    for number, (row, told) in enumerate(zip(TEN["exact_rows"], days, strict=True), 1):
        start, percolated, kcb, few, reference_et, _, result = told
        evaporated, use = float(result.evaporation), float(result.evaporation + result.transpiration)
        reduction = float(evaporation_reduction(start, TEN["tew"], rew=TEN["rew"]))
        found = [
            few,
            kcb,
            start,
            reduction,
            evaporated / reference_et,
            evaporated / few,
            percolated,
            float(result.state.strip),
            evaporated,
            use / reference_et,
            use,
        ]
        assert found == pytest.approx(row, abs=TEN["exact_tolerance"]), f"day {number}"


def test_example_35_printed_days_before_the_misprint():
    _, days = ten_days()
    for (evaporated, use), (*_, result) in zip(TEN["printed_days"], days, strict=False):
        assert float(result.evaporation) == close(evaporated)
        assert float(result.evaporation + result.transpiration) == close(use, TEN["printed_use_tolerance"])


def test_example_38_whole_from_basal_coefficient_to_schedule():
    _, days = ten_days(irrigation_on_day_10=True)
    allowed = SCHEDULING["tolerance"]
    depletion = [float(result.state.depletion) for *_, result in days]
    assert depletion == pytest.approx(SCHEDULING["exact_depletion"], abs=allowed)
    assert float(days[0][-1].deep_percolation) == pytest.approx(
        SCHEDULING["exact_drained_day_1"], abs=allowed
    )
    assert days[9][-2] == pytest.approx(SCHEDULING["exact_irrigation_day_10"], abs=allowed)
    last = days[9][-1]
    assert float(last.evaporation + last.transpiration) == pytest.approx(
        SCHEDULING["exact_use_day_10"], abs=allowed
    )
