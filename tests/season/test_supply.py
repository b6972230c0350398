"""What a bed's drip line puts down: measured before stated before printed."""

import math
from dataclasses import replace
from datetime import date

import pytest

from scheduler.drip.cup_evaluation import low_quarter_uncertainty, mean_flow_uncertainty
from scheduler.garden.plan import BedFlowTest, CupTest, Uncertainty
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


BUCKET = BedFlowTest(("bed",), (1.0,), date(2025, 6, 1), 10.0, 6.0, "bucket")
METER = BedFlowTest(("bed", "low"), (0.25, 0.75), date(2025, 6, 1), 30.0, 60.0, "meter", smallest_digit=1.0)


def test_a_bucket_of_the_whole_bed_replaces_the_printed_flow():
    supply = bed_supply(make_bed(flow_test=BUCKET, pressure=49.0))
    assert supply.flow == pytest.approx(36.0)
    assert supply.emitter_flow == pytest.approx(36.0 / 16)
    assert supply.rate == pytest.approx(36.0 / 2.88)
    assert supply.measured
    assert supply.emitter_flow_source == "bucket test of 2025-06-01, the whole bed"
    # 6 L read to 0.12 L (a triangle), 10 min to 2 s (a rectangle), and 2 % from day to day.
    volume, watch = 0.02 / math.sqrt(6.0), 2.0 / 600.0 / math.sqrt(3.0)
    assert supply.flow_uncertainty == pytest.approx(math.sqrt(volume**2 + watch**2 + 0.02**2))
    assert supply.flow_uncertainty_source.startswith("measured by a bucket test")


def test_a_bucket_says_nothing_of_evenness():
    with_bucket, without = bed_supply(make_bed(flow_test=BUCKET)), bed_supply(make_bed())
    assert with_bucket.efficiency == without.efficiency
    assert with_bucket.efficiency_uncertainty == without.efficiency_uncertainty == 0.05


def test_the_newest_measurement_gives_the_flow_and_the_cups_the_evenness():
    both = bed_supply(make_bed(cup_test=CUPS, flow_test=BUCKET))
    assert both.flow == pytest.approx(36.0)
    assert both.efficiency == pytest.approx(0.17 / 0.2)
    newer = bed_supply(make_bed(cup_test=replace(CUPS, on=date(2025, 6, 2)), flow_test=BUCKET))
    assert newer.flow == pytest.approx(32.0)


def test_beds_metered_together_are_less_sure_of_their_own_part():
    supply = bed_supply(make_bed(flow_test=METER))
    assert supply.flow == pytest.approx(30.0)
    assert supply.emitter_flow_source == "meter test of 2025-06-01, 2 beds together, shared by printed flow"
    shared = 0.07 * math.sqrt(0.75**2 + 0.75**2)
    volume, watch = 1.0 / 60.0 / math.sqrt(6.0), 2.0 / 60.0 / 30.0 / math.sqrt(3.0)
    expected = math.sqrt(shared**2 + volume**2 + watch**2 + 0.02**2)
    assert supply.flow_uncertainty == pytest.approx(expected)
    surer = bed_supply(make_bed(flow_test=METER), usual=Uncertainty(flow=0.01))
    assert surer.flow_uncertainty < supply.flow_uncertainty


def test_uncertainties_of_cups_come_from_the_cups():
    supply = bed_supply(make_bed(cup_test=CUPS))
    scatter = mean_flow_uncertainty(CUPS.volumes, emitters=16)
    assert supply.flow_uncertainty == pytest.approx(math.hypot(scatter, 0.02))
    assert supply.efficiency_uncertainty == pytest.approx(low_quarter_uncertainty(CUPS.volumes))
    assert supply.flow_uncertainty_source.startswith("measured by 8 cups")


def test_printed_figures_have_the_uncertainty_of_the_plan():
    supply = bed_supply(make_bed())
    assert (supply.flow_uncertainty, supply.flow_uncertainty_source) == (
        0.07,
        "printed: 7% (ISO 9261, from memory)",
    )
    stated = bed_supply(make_bed(), usual=Uncertainty(flow=0.1, efficiency=0.08))
    assert (stated.flow_uncertainty, stated.efficiency_uncertainty) == (0.1, 0.08)
    assert stated.flow_uncertainty_source == "printed: 10%"
