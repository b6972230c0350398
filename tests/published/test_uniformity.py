"""Emitter flow, uniformity and leaching against printed and hand-worked results, see uniformity.toml."""

import tomllib
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest

from scheduler.drip.cup_evaluation import evaluate_cups
from scheduler.drip.emitters import emission_uniformity, emitter_flow, low_quarter_uniformity
from scheduler.drip.uniformity import christiansen_uniformity, statistical_uniformity, variation_of
from scheduler.garden.units import parse_quantity, to_display
from scheduler.water.need import gross_irrigation_need, leaching_requirement
from tests.published.printed import half_digit

DATA = tomllib.loads(Path(__file__).with_name("uniformity.toml").read_text(encoding="utf-8"))
WANTED, RELATIVE, LEACHING = DATA["wanted_flow"], DATA["relative_flow"], DATA["leaching_table"]


def close(printed, tolerance=None):
    return pytest.approx(float(printed), abs=half_digit(printed, tolerance))


def flow_at(head):
    return float(
        emitter_flow(
            WANTED["nominal_flow"],
            head,
            nominal_pressure=WANTED["nominal_head"],
            exponent=WANTED["exponent"],
        )
    )


def test_head_for_a_wanted_flow():
    wanted = float(WANTED["flow"])
    assert flow_at(float(WANTED["printed_head"])) == close(WANTED["flow"])
    for head in (WANTED["printed_head"], WANTED["exact_head"]):
        slack = half_digit(head)
        assert flow_at(float(head) - slack) < wanted < flow_at(float(head) + slack)


@pytest.mark.parametrize(("exponent", "flows", "ten_percent_less"), RELATIVE["rows"])
def test_flow_relative_to_nominal_pressure(exponent, flows, ten_percent_less):
    nominal = parse_quantity(RELATIVE["nominal_pressure"], "pressure")
    for pressure, printed in zip(RELATIVE["pressures"], flows, strict=True):
        relative = emitter_flow(
            1.0, parse_quantity(pressure, "pressure"), nominal_pressure=nominal, exponent=exponent
        )
        assert float(relative) == close(printed), pressure
    below, above = (
        emitter_flow(1.0, float(ten_percent_less) + slack, nominal_pressure=1.0, exponent=exponent)
        for slack in (-half_digit(ten_percent_less), half_digit(ten_percent_less))
    )
    assert below < 0.9 < above


@pytest.mark.parametrize("case", DATA["emission"], ids=lambda case: case["source"])
def test_emission_uniformity(case):
    uniformity = emission_uniformity(
        case["variation"],
        emitters_per_plant=case["emitters_per_plant"],
        least_flow_share=case["least_flow_share"],
    )
    assert 100.0 * uniformity == close(case["percent"])


@pytest.mark.parametrize("case", DATA["cups"], ids=lambda case: f"{len(case['volumes'])} cups")
def test_low_quarter_uniformity(case):
    percent = 100.0 * low_quarter_uniformity(case["volumes"])
    assert percent == close(case["percent"])
    for other in case["other_rules"]:
        assert percent != close(other)


@pytest.mark.parametrize("case", DATA["cups"], ids=lambda case: f"{len(case['volumes'])} cups")
def test_christiansen_uniformity(case):
    assert 100.0 * christiansen_uniformity(case["volumes"]) == close(case["christiansen"])


def test_statistical_uniformity_divides_by_one_less_than_the_cups():
    case = DATA["cups"][0]
    percent = 100.0 * statistical_uniformity(case["volumes"])
    assert percent == close(case["statistical"])
    assert percent != close(case["other_divisor"])


def test_a_cup_test_weighed():
    case = DATA["evaluation"]
    found = evaluate_cups([volume / 1000.0 for volume in case["volumes"]], case["minutes"])
    assert found.flow.value == close(case["flow"])
    for half in (found.flow.high - found.flow.value, found.flow.value - found.flow.low):
        assert to_display(half, "flow", "us") == close(case["flow_half_width"])
    assert found.variation.value == close(case["variation"])
    assert 100.0 * found.statistical.low == close(case["statistical_low"])
    assert 100.0 * found.statistical.high == close(case["statistical_high"])


@pytest.mark.parametrize(("cups", "least", "most"), DATA["variation_limits"]["rows"])
def test_limits_of_a_variation_by_chi_square(cups, least, most):
    volumes = [0.9, 1.1] * (cups // 2)
    found = evaluate_cups(volumes, 1.0).variation
    assert found.low / found.value == close(least)
    assert found.high / found.value == close(most)


def normal_flows(variation):
    population = NormalDist(1.0, variation)
    return [population.inv_cdf((i + 0.5) / 20_000) for i in range(20_000)]


@pytest.mark.parametrize(
    ("name", "uniformity"),
    [
        ("low_quarter", low_quarter_uniformity),
        ("christiansen", christiansen_uniformity),
        ("statistical", statistical_uniformity),
    ],
)
def test_what_variation_takes_from_uniformity(name, uniformity):
    lost = 100.0 * (1.0 - uniformity(normal_flows(0.1))) / 0.1
    assert lost == close(DATA["normal_population"][name])


@pytest.mark.parametrize(("variation", "printed", "follows"), DATA["product_tests"]["rows"])
def test_uniformity_of_new_emitters_beside_their_variation(variation, printed, follows):
    flows = np.array(normal_flows(variation))
    assert variation_of(flows) == pytest.approx(variation, rel=1e-3)
    reckoned = 100.0 * christiansen_uniformity(flows)
    assert (reckoned == close(printed, DATA["product_tests"]["tolerance"])) is follows


@pytest.mark.parametrize("crop", LEACHING["rows"])
def test_leaching_requirement_of_crops(crop):
    threshold, slope, shares = LEACHING["rows"][crop]
    for water, printed in zip(LEACHING["water"], shares, strict=True):
        share = leaching_requirement(water, zero_yield_salinity=threshold + 100.0 / slope)
        assert float(share) == close(printed), f"water of {water} dS/m"


def test_gross_need_with_leaching():
    case = DATA["gross_with_leaching"]
    leaching = leaching_requirement(case["water"], zero_yield_salinity=case["zero_yield_salinity"])
    assert float(leaching) == close(case["leaching"])
    net = parse_quantity(case["net"], "water_depth")
    gross = gross_irrigation_need(net, case["efficiency"], leaching=leaching)
    assert to_display(float(gross), "water_depth", "us") == close(case["gross_inches"])


def test_water_for_wheat_with_leaching():
    case = DATA["wheat"]
    water = gross_irrigation_need(case["crop_use_cm"], 1.0, leaching=float(case["leaching"]))
    assert float(water) == close(case["printed_water_cm"])


def test_water_for_wheat_with_leaching_and_losses():
    """The printed figure holds in cm; the sum printed beside it does not lead to it."""
    case = DATA["wheat"]
    water = float(
        gross_irrigation_need(case["crop_use_cm"], case["efficiency"], leaching=case["exact_leaching"])
    )
    assert water == close(case["printed_b_cm"])
    assert water != close(case["printed_b_sum_cm"])
