"""The root-zone balance against the worked examples of FAO-56, which stand in root_zone.toml."""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from scheduler.water.balance import step
from scheduler.water.crop import crop_coefficient, rooting_depth, stage_progress
from scheduler.water.rootzone import (
    readily_available_water,
    total_available_water,
    total_evaporable_water,
    water_stress_coefficient,
)
from tests.published.printed import half_digit
from tests.water.beds import conditions, soil

DATA = tomllib.loads(Path(__file__).with_name("root_zone.toml").read_text(encoding="utf-8"))
AVAILABLE, DRYING, SCHEDULING = DATA["available"], DATA["drying"], DATA["scheduling"]


def close(printed, tolerance=None):
    return pytest.approx(float(printed), abs=half_digit(printed, tolerance))


@pytest.mark.parametrize("crop", AVAILABLE["crops"])
def test_example_36_available_water(crop):
    root_depth, fraction = AVAILABLE["crops"][crop]
    for (capacity, wilting), (printed_taw, printed_raw) in zip(
        AVAILABLE["soils"].values(), AVAILABLE["printed"][crop], strict=True
    ):
        taw = total_available_water(capacity, wilting, root_depth=root_depth)
        assert float(taw) == close(printed_taw)
        assert float(readily_available_water(fraction, taw)) == close(printed_raw)


def test_example_35_evaporable_water():
    case = DATA["evaporable"]
    assert float(total_evaporable_water(case["field_capacity"], case["wilting_point"])) == close(
        case["printed"]
    )


@pytest.mark.parametrize(("depletion", "printed"), DATA["stress"]["printed"])
def test_example_39_stress_without_salt(depletion, printed):
    case = DATA["stress"]
    assert float(water_stress_coefficient(depletion, case["taw"], raw=case["raw"])) == close(printed)


def test_example_37_ten_days_of_drying():
    taw = total_available_water(
        DRYING["field_capacity"], DRYING["wilting_point"], root_depth=DRYING["root_depth"]
    )
    raw = readily_available_water(DRYING["depletion_fraction"], taw)
    assert float(taw) == close(DRYING["printed_taw"])
    assert float(raw) == close(DRYING["printed_raw"])
    state = soil(DRYING["depletion"], reach=taw)
    for day, (ks, et_actual, end) in enumerate(DRYING["rows"], 1):
        result = step(state, conditions(basal=DRYING["et_crop"], taw=taw, raw=raw), applied=0.0)
        state = result.state
        assert float(result.stress_coefficient) == close(ks), f"day {day}"
        assert float(result.transpiration) == close(et_actual, DRYING["tolerance"]), f"day {day}"
        assert float(state.depletion) == close(end, DRYING["tolerance"]), f"day {day}"


def scheduled_days():
    """Return RAW and the balance of ten days; day 10 refills what day 9 left beyond its own limit."""
    root_depth = np.linspace(*SCHEDULING["root_depth"], 10)
    taw = total_available_water(
        SCHEDULING["field_capacity"], SCHEDULING["wilting_point"], root_depth=root_depth
    )
    raw = readily_available_water(SCHEDULING["depletion_fraction"], taw)
    # New depth is at field capacity: nothing is missing below the roots.
    state = soil(SCHEDULING["depletion"], reach=taw[0])
    days, irrigation = [], [SCHEDULING["irrigation_day_1"]]
    for day in range(10):
        rain = SCHEDULING["rain_day_6"] if day == 5 else 0.0
        today = conditions(
            basal=SCHEDULING["et_crop"][day], rain=rain, taw=taw[day], raw=raw[day], storage=taw[-1]
        )
        result = step(state, today, applied=irrigation[day])
        state, depletion = result.state, float(result.state.depletion)
        irrigation.append(depletion if depletion >= raw[day] else 0.0)
        days.append(result)
    return raw, days, irrigation


def test_example_38_exact_rows():
    _, days, irrigation = scheduled_days()
    allowed = SCHEDULING["exact_tolerance"]
    assert [float(day.state.depletion) for day in days] == pytest.approx(
        SCHEDULING["exact_depletion"], abs=allowed
    )
    assert float(days[0].deep_percolation) == pytest.approx(SCHEDULING["exact_drained_day_1"], abs=allowed)
    assert irrigation[1:9] == [0.0] * 8
    assert irrigation[9] == pytest.approx(SCHEDULING["exact_irrigation_day_10"], abs=allowed)
    assert all(float(day.deep_percolation) == 0.0 for day in days[1:])
    assert all(float(day.stress_coefficient) == 1.0 for day in days)


def test_example_38_printed_rows_loosely():
    raw, days, irrigation = scheduled_days()
    assert [float(day.state.depletion) for day in days] == pytest.approx(
        SCHEDULING["printed_depletion"], abs=SCHEDULING["loose_depletion"]
    )
    assert [float(day.transpiration) for day in days] == pytest.approx(
        SCHEDULING["printed_et_crop"], abs=SCHEDULING["loose_et_crop"]
    )
    # Half a digit; day 8 is 26.52 and printed as 26, so the last hundredths are allowed.
    assert raw == pytest.approx(SCHEDULING["printed_raw"], abs=0.53)
    assert float(days[0].deep_percolation) == pytest.approx(SCHEDULING["printed_drained_day_1"], abs=0.5)
    assert irrigation[9] == pytest.approx(SCHEDULING["printed_irrigation_day_10"], abs=0.5)


def test_example_38_comes_out_only_if_the_surplus_drains_before_the_crop_draws():
    """Eq. 88 as printed, crop use before drainage, stores water that the printed table drains."""
    taw = total_available_water(
        SCHEDULING["field_capacity"], SCHEDULING["wilting_point"], root_depth=SCHEDULING["root_depth"][0]
    )
    limits = {"taw": taw, "raw": SCHEDULING["depletion"]}
    start = soil(SCHEDULING["depletion"], reach=taw)
    drawn = step(start, conditions(basal=SCHEDULING["et_crop"][0], **limits), applied=0.0)
    other = step(drawn.state, conditions(**limits), applied=SCHEDULING["irrigation_day_1"])
    assert float(other.deep_percolation) == pytest.approx(SCHEDULING["other_order_drained"], abs=0.5)
    assert float(other.state.depletion) == SCHEDULING["other_order_depletion"]
    # Neither figure is the printed one, 17 drained and 5 left to refill.
    assert abs(float(other.deep_percolation) - SCHEDULING["printed_drained_day_1"]) > 5.0
    assert abs(float(other.state.depletion) - SCHEDULING["printed_depletion"][0]) > 4.0


def test_annex_8_roots_grow_with_the_coefficient():
    case = DATA["rooting"]
    initial, development, mid, late = case["stages"]
    kc_ini, kc_mid, kc_end = case["kc"]
    days = np.arange(1, 101)
    canopy, ageing = stage_progress(days, initial, development=development, mid=mid, late=late)
    kc = crop_coefficient(canopy, ageing, kc_ini=kc_ini, kc_mid=kc_mid, kc_end=kc_end)
    depth = rooting_depth(canopy, case["greatest"])
    least = depth[0]
    assert case["least"][0] <= least <= case["least"][1]
    before_mid = days <= initial + development
    by_equation = least + (case["greatest"] - least) * (kc - kc_ini) / (kc_mid - kc_ini)
    assert depth[before_mid] == pytest.approx(by_equation[before_mid], abs=1e-12)
    assert np.all(depth[~before_mid] == case["greatest"])
