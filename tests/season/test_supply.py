"""What a bed's drip line puts down: measured before stated before printed."""

from dataclasses import replace
from datetime import date

import pytest

from scheduler.garden.plan import CupTest
from scheduler.season.supply import bed_supply, supply_arrays
from tests.builders import LINE, make_bed, make_garden

CUPS = CupTest("bed", date(2025, 5, 1), 6.0, (0.16, 0.18, 0.2, 0.2, 0.2, 0.22, 0.22, 0.22))


def test_printed_flow_at_its_own_pressure():
    supply = bed_supply(make_bed())
    assert supply.emitter_flow == pytest.approx(2.0)
    assert supply.flow == pytest.approx(32.0)
    assert supply.rate == pytest.approx(32.0 / 2.88)
    assert not supply.measured
    assert "not measured" in supply.emitter_flow_source


def test_printed_flow_at_another_pressure_follows_the_exponent():
    assert bed_supply(make_bed(pressure=49.0)).emitter_flow == pytest.approx(2.0 * 0.7)
    compensating = replace(LINE, exponent=0.0)
    assert bed_supply(make_bed(pressure=49.0, drip=compensating)).emitter_flow == pytest.approx(2.0)


def test_a_cup_test_gives_flow_and_efficiency_before_all_else():
    supply = bed_supply(make_bed(cup_test=CUPS, pressure=49.0))
    # 1.6 L in 8 cups and 6 minutes: 2.0 L/h each, whatever the pressure; the lowest two over the mean.
    assert supply.emitter_flow == pytest.approx(2.0)
    assert supply.flow == pytest.approx(32.0)
    assert supply.efficiency == pytest.approx(0.17 / 0.2)
    assert supply.measured
    assert "2025-05-01" in supply.emitter_flow_source
    assert "2025-05-01" in supply.efficiency_source


@pytest.mark.parametrize(
    ("changes", "efficiency", "source"),
    [
        ({"efficiency": 0.8, "manufacturing_variation": 0.05}, 0.8, "stated"),
        # EU = 1 - 1.27 * 0.05, Keller and Karmeli.
        ({"efficiency": None, "manufacturing_variation": 0.05}, 0.9365, "manufacturing variation"),
        # Colorado State University Extension fact sheet 5.623: about 90 %.
        ({"efficiency": None, "manufacturing_variation": None}, 0.9, "assumed"),
    ],
)
def test_without_a_cup_test_what_is_stated_goes_before_what_is_reckoned(changes, efficiency, source):
    supply = bed_supply(make_bed(drip=replace(LINE, **changes)))
    assert supply.efficiency == pytest.approx(efficiency)
    assert source in supply.efficiency_source


def test_arrays_hold_every_bed_in_the_order_of_the_plan():
    beds = [make_bed("a", area=2.0, emitters=10), make_bed("b", area=4.0, emitters=30, cup_test=CUPS)]
    area, flow, rate, efficiency = supply_arrays(make_garden(beds))
    assert area.tolist() == [2.0, 4.0]
    assert flow == pytest.approx([20.0, 60.0])
    assert rate == pytest.approx([10.0, 15.0])
    assert efficiency == pytest.approx([0.9, 0.85])
