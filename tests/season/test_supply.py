"""What a bed's drip line puts down: measured before stated before printed."""

import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from scheduler.drip.cup_evaluation import low_quarter_uncertainty, mean_flow_uncertainty
from scheduler.errors import PlanError
from scheduler.garden.plan import BedFlowTest, CupTest, Uncertainty
from scheduler.garden.planfile import load_plan
from scheduler.layout.flows import GivenFlow, layout_flows
from scheduler.season import supply as season_supply
from scheduler.season.supply import bed_supply, garden_supply, pressure_span, supply_arrays
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


#: 24 L/h at 80 to 90 kPa, the least emitter at 95 % of the mean.
COMPUTED = GivenFlow(24.0, 80.0, 90.0, 0.95, 0)


def test_computed_goes_before_printed():
    supply = bed_supply(make_bed(), computed=COMPUTED)
    assert supply.flow == pytest.approx(24.0)
    assert supply.emitter_flow == pytest.approx(24.0 / 16)
    assert supply.rate == pytest.approx(24.0 / 2.88)
    assert not supply.measured
    assert supply.pressures == (80.0, 90.0)
    assert (
        supply.emitter_flow_source
        == "computed from the layout, not measured: 80 to 90 kPa (12 to 13 psi) at the emitters"
    )
    assert supply.flow_uncertainty == 0.07
    assert supply.flow_uncertainty_source.startswith("computed: 7% of the printed curve")


@pytest.mark.parametrize("test", [{"cup_test": CUPS}, {"flow_test": BUCKET}, {"flow_test": METER}])
def test_measured_goes_before_computed(test):
    bed = make_bed(**test)
    supply = bed_supply(bed, computed=COMPUTED)
    assert supply.flow == bed_supply(bed).flow == bed.measured_flow
    assert supply.emitter_flow_source == bed_supply(bed).emitter_flow_source
    assert supply.pressures is None


@pytest.mark.parametrize(
    ("changes", "share", "efficiency", "source"),
    [
        ({"efficiency": 0.8, "manufacturing_variation": 0.05}, 0.95, 0.8, "stated"),
        # (1 - 1.27 x 0.05) x 0.95, Keller and Karmeli.
        ({"efficiency": None, "manufacturing_variation": 0.05}, 0.95, 0.889675, "computed from the layout"),
        ({"efficiency": None, "manufacturing_variation": None}, 0.95, 0.9, "assumed"),
        ({"efficiency": None, "manufacturing_variation": None}, 0.7, 0.7, "taken for alike"),
    ],
)
def test_evenness_by_the_layout(changes, share, efficiency, source):
    drip = replace(LINE, **changes)
    supply = bed_supply(make_bed(drip=drip), computed=replace(COMPUTED, least_share=share))
    assert supply.efficiency == pytest.approx(efficiency)
    assert source in supply.efficiency_source
    by_bucket = bed_supply(
        make_bed(drip=drip, flow_test=BUCKET), computed=replace(COMPUTED, least_share=share)
    )
    assert by_bucket.efficiency == supply.efficiency
    by_cups = bed_supply(make_bed(drip=drip, cup_test=CUPS), computed=COMPUTED)
    assert by_cups.efficiency == pytest.approx(0.17 / 0.2)


def test_dry_emitters_of_a_bed_that_was_measured_say_nothing_of_its_evenness():
    drip = replace(LINE, efficiency=None, manufacturing_variation=0.05)
    dry = GivenFlow(0.0, -5.0, -4.0, 0.0, 16)
    supply = bed_supply(make_bed(drip=drip, flow_test=BUCKET), computed=dry)
    assert supply.efficiency == pytest.approx(0.9365)


@pytest.mark.parametrize(
    ("ends", "system", "text"),
    [
        ((168.3, 169.6), "metric", "168 to 170 kPa"),
        ((168.3, 168.4), "metric", "168 kPa"),
        ((-5.0, 20.0), "metric", "-5 to 20 kPa"),
        ((137.9, 172.4), "us", "20 to 25 psi"),
    ],
)
def test_pressures_in_words(ends, system, text):
    assert pressure_span(ends, system) == text


def demo():
    return load_plan(Path(__file__).parents[2] / "config" / "demo_four_outlets.toml")


def test_a_plan_with_a_layout_goes_by_it_where_nothing_was_measured():
    garden = demo()
    supplies, flows = garden_supply(garden), layout_flows(garden).beds
    for bed, supply, flow in zip(garden.beds, supplies, flows, strict=True):
        assert supply.measured == (bed.name == "tall bed")
        assert supply.flow == (bed.measured_flow if supply.measured else flow.flow)
    assert supply_arrays(garden)[1].tolist() == [supply.flow for supply in supplies]


def test_a_layout_is_solved_once_for_each_plan(monkeypatch):
    solved = []
    monkeypatch.setattr(season_supply, "layout_flows", lambda plan: solved.append(plan) or layout_flows(plan))
    garden = demo()
    assert garden_supply(garden) is garden_supply(garden)
    supply_arrays(garden)
    assert len(solved) == 1
    garden_supply(replace(garden, name="another"))
    assert len(solved) == 2


def test_without_a_layout_or_its_source_pressure_the_print_stands():
    garden = demo()
    bare = garden_supply(replace(garden, layout=None))
    assert bare == tuple(bed_supply(bed, usual=garden.uncertainty) for bed in garden.beds)
    source = replace(garden.water_source, static_pressure=None)
    unknown = garden_supply(replace(garden, water_source=source))
    assert [one.flow for one in unknown] == [one.flow for one in bare]
    assert unknown[1].emitter_flow_source.endswith(
        "not measured, not computed: the plan gives no static pressure of the tap"
    )


def test_beds_that_get_no_water_are_told_all_at_once_unless_measured():
    garden = demo()
    source = replace(garden.water_source, static_pressure=0.5)
    with pytest.raises(PlanError) as refused:
        garden_supply(replace(garden, water_source=source))
    # Of the beds with a rim above the tap one was measured; the others lie below it.
    assert [fault.where for fault in refused.value.faults] == ['bed "round bed"']
    assert "34 of its 34 emitters get no water" in refused.value.faults[0].found
