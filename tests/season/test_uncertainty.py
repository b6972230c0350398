"""First-order propagation, and the uncertainty of a bed's inputs."""

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from scheduler.garden.plan import CupTest, Uncertainty
from scheduler.season.uncertainty import STEPS, PlausibleRange, first_order, input_uncertainty
from scheduler.season.varied import INPUTS
from tests.builders import make_bed, make_garden

STATED = Uncertainty(0.05, 0.10, 0.15, 0.04, 0.06, 0.20)
EVEN, UNEVEN = (0.20,) * 12, (0.15, 0.17, 0.18, 0.19, 0.20, 0.20, 0.20, 0.20, 0.21, 0.22, 0.23, 0.25)


def cups(volumes):
    return CupTest("bed", date(2025, 5, 1), 6.0, tuple(volumes))


def spread_of(bed, name):
    return input_uncertainty(make_garden([bed], uncertainty=STATED))[0, INPUTS.index(name)]


def test_the_steps_are_the_usual_uncertainties_in_the_order_of_the_inputs():
    assert INPUTS == ("reference_et", "crop_coefficient", "available_water", "efficiency", "flow", "rain")
    assert STEPS == (0.07, 0.10, 0.20, 0.05, 0.07, 0.15)


def test_a_sum_takes_its_parts_in_quadrature():
    weights = np.array([10.0, -20.0, 0.0, 5.0, 0.0, 4.0])
    uncertainty = np.array([[0.05, 0.10, 0.20, 0.04, 0.06, 0.25], [0.0] * 6])

    def answer(cases):
        return np.repeat(cases @ weights, 2, axis=1)

    found = first_order(answer, uncertainty)
    # 10 x 0.05, 20 x 0.10, 5 x 0.04, 4 x 0.25: root of 0.25 + 4 + 0.04 + 1; the 90th percentile is 1.2816.
    assert found.reckoned == pytest.approx([-1.0, -1.0])
    assert found.parts[:, 0] == pytest.approx([0.5, -2.0, 0.0, 0.2, 0.0, 1.0])
    assert found.standard == pytest.approx([math.sqrt(5.29), 0.0])
    assert found.shares[:, 0] == pytest.approx(np.array([0.25, 4.0, 0.0, 0.04, 0.0, 1.0]) / 5.29)
    assert found.shares[:, 1].tolist() == [0.0] * 6
    assert found.foremost(0) == ("crop_coefficient", pytest.approx(4.0 / 5.29))
    assert found.foremost(1)[1] == 0.0
    assert found.high == pytest.approx([-1.0 + 1.2816 * 2.3, 0.0], abs=1e-3)
    assert found.low.tolist() == [0.0, 0.0]


def test_a_quotient_keeps_its_relative_uncertainty():
    def answer(cases):
        return 30.0 * cases[..., 0] / cases[..., 4]

    found = first_order(answer, np.array([[0.07, 0.0, 0.0, 0.0, 0.07, 0.0]]))
    # Central differences of 1 / x over 7 % lie off by the square of 7 %.
    assert found.standard[0] == pytest.approx(30.0 * math.hypot(0.07, 0.07), rel=0.07**2)


def test_the_range_of_an_answer_is_wider_on_neither_side():
    found = PlausibleRange(np.array([50.0]), np.array([[3.0], [4.0]]))
    assert found.low[0] + found.high[0] == pytest.approx(100.0)
    assert found.high[0] - found.low[0] == pytest.approx(2 * 1.28155 * 5.0, rel=1e-5)


def test_a_bed_without_a_cup_test_takes_what_the_plan_states():
    rows = input_uncertainty(make_garden([make_bed("a"), make_bed("b")], uncertainty=STATED))
    assert rows.tolist() == [[0.05, 0.10, 0.15, 0.04, 0.06, 0.20]] * 2


def test_a_cup_test_speaks_for_flow_and_efficiency_alone():
    rows = input_uncertainty(
        make_garden([make_bed("a", cup_test=cups(UNEVEN)), make_bed("b")], uncertainty=STATED)
    )
    assert rows[0, [0, 1, 2, 5]].tolist() == rows[1, [0, 1, 2, 5]].tolist()
    assert rows[1].tolist() == [0.05, 0.10, 0.15, 0.04, 0.06, 0.20]
    # Scatter s of 12 of 16: s / sqrt(12) sqrt(1 - 12/16), 2 % of reading and 2 % from day to day;
    # 1.27 s / sqrt(22) / DU and 2 %.
    scatter = np.std(UNEVEN, ddof=1) / 0.20
    assert rows[0, 4] == pytest.approx(math.hypot(scatter / math.sqrt(12.0) * 0.5, 0.02, 0.02))
    off = 1.27 * scatter / math.sqrt(22.0) / (1.0 - 1.27 * scatter)
    assert rows[0, 3] == pytest.approx(math.hypot(off, 0.02))


@pytest.mark.parametrize("name", ["flow", "efficiency"])
def test_more_cups_and_less_scatter_narrow(name):
    many = make_bed(emitters=200)
    few, more = cups(UNEVEN), cups(UNEVEN * 3)
    even = cups(EVEN)
    by_few, by_more = (spread_of(replace(many, cup_test=test), name) for test in (few, more))
    assert by_more < by_few
    least = {"flow": math.hypot(0.02, 0.02), "efficiency": 0.02}[name]
    assert spread_of(replace(many, cup_test=even), name) == pytest.approx(least)
    assert spread_of(replace(many, cup_test=even), name) < by_more


def test_a_cup_under_every_emitter_leaves_reading_and_day_alone():
    least = math.hypot(0.02, 0.02)
    assert spread_of(make_bed(emitters=12, cup_test=cups(UNEVEN)), "flow") == pytest.approx(least)
    # More cups than emitters: some were measured twice.
    assert spread_of(make_bed(emitters=8, cup_test=cups(UNEVEN)), "flow") == pytest.approx(least)


def test_a_hopeless_cup_test_widens_and_stays_a_number():
    clogged = cups((0.0, 0.0, 0.0, 0.4))
    for name in ("flow", "efficiency"):
        assert 0.2 < spread_of(make_bed(cup_test=clogged), name) < np.inf
