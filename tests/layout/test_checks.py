"""Each check of a layout with a number by hand, fine on one side of its limit and told on the other."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.drip.clogging import clogging_hazards
from scheduler.garden.layout_plan import HeadPart
from scheduler.layout.bed_flows import BedFlow
from scheduler.layout.checks import check_layout
from scheduler.layout.checks_care import clogging_findings, filter_findings
from scheduler.layout.checks_pressure import (
    busy_findings,
    emitter_findings,
    measured_findings,
    uniformity_findings,
)
from scheduler.layout.checks_supply import capacity_findings, fitting_groups, low_head_finding
from scheduler.layout.findings import levelled
from scheduler.layout.longest_run import MOST_EMITTERS, flow_spread, longest_run
from scheduler.layout.segments import layout_of
from tests.layout.plans import INCH, garden_of, plan_with

PSI = 6.894757293168361
GALLON = 3.785411784
FOOT = 0.3048
STATIC = ('flow = "5 gal/min"', 'flow = "5 gal/min"\nstatic_pressure = "20 psi"')
RANGED = ("exponent = 0.5", 'exponent = 0\nlowest_pressure = "10 psi"\nhighest_pressure = "50 psi"')


def garden(*pairs, **rest):
    return garden_of(plan_with(*pairs, **rest))


def checked(*pairs, minutes=None, **rest):
    plan = garden(*pairs, **rest)
    return check_layout(layout_of(plan), plan, minutes=minutes)


def of_check(found, check):
    return [one for one in found if one.check == check]


def head(*parts):
    """Return the change that puts parts of the head assembly into the small plan."""
    text = "".join(f"\n[[head]]\n{part}\n" for part in parts)
    return ("\n[main_line]", text + "\n[main_line]")


def flow_of(lowest=20 * PSI, **changed):
    """Return the flow of the small plan's bed, made up."""
    bed = BedFlow(
        bed="tall bed",
        zone="north",
        emitters=38,
        lowest=lowest,
        mean=lowest,
        highest=lowest,
        flow=86.0,
        printed=86.3,
        least_share=0.99,
        variation=0.05,
        variation_stated=True,
        uniformity=0.9,
        low_quarter=0.99,
    )
    return replace(bed, **changed)


class TestSupply:
    def test_groups_fill_the_largest_first(self) -> None:
        flows = [("a", 50.0), ("b", 40.0), ("c", 30.0), ("d", 20.0), ("e", 120.0)]
        assert fitting_groups(flows, 70.0) == (("e",), ("a", "d"), ("b", "c"))

    @given(st.lists(st.floats(0.1, 50.0), max_size=12), st.floats(50.0, 100.0))
    def test_groups_hold_every_bed_once_and_fit(self, flows: list[float], limit: float) -> None:
        named = [(str(number), flow) for number, flow in enumerate(flows)]
        groups = fitting_groups(named, limit)
        assert sorted(name for group in groups for name in group) == sorted(name for name, _ in named)
        assert all(sum(dict(named)[name] for name in group) <= limit for group in groups)

    @pytest.mark.parametrize(("printed", "level"), [(225.0, "fine"), (226.0, "wrong")])
    def test_capacity_is_the_trusted_share_of_the_bucket(self, printed: float, level: str) -> None:
        # 5 gal/min x 60 x 75 % = 225 gal/h.
        (found,) = capacity_findings(garden(), {"tall bed": (printed - 1e-9) * GALLON})
        assert found.limit == pytest.approx(225 * GALLON)
        assert (found.level, found.where) == (level, "north")

    def test_busy_house_asks_for_a_look_and_tells_groups(self) -> None:
        two = 'flow = "5 gal/min"\nflow_house_busy = "1 gal/min"'
        quiet, busy = capacity_findings(garden(('flow = "5 gal/min"', two)), {"tall bed": 46 * GALLON})
        assert (quiet.level, busy.level) == ("fine", "look")
        assert busy.limit == pytest.approx(45 * GALLON)
        assert "while the house draws nothing" in busy.advice

    @pytest.mark.parametrize(("static", "level"), [("5 psi", "fine"), ("3 psi", "look")])
    def test_low_head(self, static: str, level: str) -> None:
        found = low_head_finding(garden((STATIC[0], STATIC[1].replace("20 psi", static))))
        assert (found.level, found.limit) == (level, pytest.approx(5 * PSI))
        assert ("barrel" in found.advice) == (level == "look")


def test_all_zones_at_once_matter_only_if_they_may_run_together() -> None:
    plan = garden()
    plan = replace(plan, zones=(*plan.zones, replace(plan.zones[0], name="south", outlet=2)))
    for alone, level in ((True, "fine"), (False, "wrong")):
        timed = replace(plan, timer=replace(plan.timer, one_zone_at_a_time=alone))
        *_, every = capacity_findings(timed, {"tall bed": 300 * GALLON})
        assert (every.where, every.level) == ("all zones at once", level)
        assert ("one zone at a time" in every.advice) == alone


def test_demand_is_the_greater_of_printed_and_computed_flow() -> None:
    plan = garden((STATIC[0], STATIC[1].replace("20 psi", "60 psi")))
    found = check_layout(layout_of(plan), plan)
    (quiet,) = of_check(found.findings, "tap, house quiet")
    assert quiet.value == pytest.approx(found.flows[0].flow)
    assert quiet.value > plan.beds[0].emitters * 0.6 * GALLON


class TestPressure:
    @pytest.mark.parametrize(("psi", "level"), [(16.01, "fine"), (15.9, "look")])
    def test_least_is_80_percent_of_the_rating(self, psi: float, level: str) -> None:
        (found,) = emitter_findings(garden(), [flow_of(psi * PSI)])
        assert found.limit == pytest.approx(16 * PSI)
        assert found.level == level
        assert "judgement" in found.source

    @pytest.mark.parametrize(("psi", "levels"), [(9.0, ["wrong", "fine"]), (51.0, ["fine", "wrong"])])
    def test_compensating_emitters_have_a_range(self, psi: float, levels: list[str]) -> None:
        found = list(emitter_findings(garden(RANGED), [flow_of(psi * PSI)]))
        assert [one.level for one in found] == levels
        assert [one.limit for one in found] == pytest.approx([10 * PSI, 50 * PSI])

    def test_busy_house_asks_for_a_look_at_most(self) -> None:
        (found,) = busy_findings(garden(RANGED), [flow_of(9 * PSI)])
        assert (found.check, found.level) == ("lowest emitter pressure, house busy", "look")
        assert found.advice.startswith("water while the house draws nothing; else ")
        (fine,) = busy_findings(garden(RANGED), [flow_of(20 * PSI)])
        assert (fine.level, fine.advice) == ("fine", "")
        assert list(busy_findings(garden(), [])) == []

    def test_dry_emitters_are_wrong(self) -> None:
        (found,) = emitter_findings(garden(), [flow_of(-1.0, least_share=0.0, uniformity=None)])
        assert (found.level, found.value) == ("wrong", -1.0)
        assert found.advice.startswith("some emitters get no water")

    @pytest.mark.parametrize(("value", "level"), [(0.80, "fine"), (0.79, "look"), (None, "wrong")])
    def test_uniformity_against_a_good_design(self, value: float | None, level: str) -> None:
        (found,) = uniformity_findings([flow_of(uniformity=value)])
        assert (found.level, found.limit) == (level, 0.80)
        assert "EP405" in found.source

    def test_measured_flow_below_nine_tenths_of_the_computed(self) -> None:
        cups = (
            '\n[[cup_test]]\nbed = "tall bed"\non = 2026-05-30\nminutes = "6 min"\n'
            'volumes = ["200 mL", "200 mL", "200 mL", "200 mL"]\n\n[main_line]'
        )
        plan = garden(("\n[main_line]", cups))
        # 0.2 L in 6 min are 2 L/h an emitter.
        flow = 2.0 * plan.beds[0].emitters
        (fine,) = measured_findings(plan, [flow_of(flow=flow / 0.9)])
        (look,) = measured_findings(plan, [flow_of(flow=flow / 0.89)])
        assert (fine.value, fine.level, look.level) == (pytest.approx(flow), "fine", "look")

    def test_pressure_before_a_regulator_that_drops_out(self) -> None:
        flat = ("exponent = 0.5", 'exponent = 0\nlowest_pressure = "5 psi"\nhighest_pressure = "50 psi"')
        count = garden().beds[0].emitters
        at_flow = f"{count * 0.6!r} gal/h"
        timer = f'part = "timer"\nloss = "3 psi"\nat_flow = "{at_flow}"'
        regulator = 'part = "regulator"\nset_pressure = "18 psi"\nhighest_flow = "20 gal/h"'
        found = checked(STATIC, flat, head(timer, regulator)).findings
        (before,) = of_check(found, "pressure before the regulator")
        # The tap keeps 20 psi x (1 - (Q / 300)^2), and the timer takes 3 psi.
        assert before.value == pytest.approx((20 * (1 - (count * 0.6 / 300) ** 2) - 3) * PSI)
        assert (before.limit, before.level) == (pytest.approx(18 * PSI), "look")
        (most,) = of_check(found, "greatest flow of the regulator")
        assert (most.value, most.level) == (pytest.approx(count * 0.6 * GALLON), "wrong")


class TestTubes:
    def test_speed_length_and_flow_of_a_main(self) -> None:
        found = checked(STATIC, RANGED).findings
        count = garden().beds[0].emitters
        flow = count * 0.6 * GALLON
        (speed,) = of_check(found, "speed in the main")
        # 5 ft/s at most; the mean speed is the flow over the bore.
        assert speed.value == pytest.approx(flow / 3.6e6 / (math.pi / 4 * (0.6 * INCH) ** 2))
        assert (speed.limit, speed.level) == (pytest.approx(5 * FOOT), "fine")
        (length,) = of_check(found, "length of the half-inch main")
        # 3 ft along, 4 ft up to the middle of the left side.
        assert length.value == pytest.approx(7 * FOOT)
        (rule,) = of_check(found, "flow of the half-inch main")
        assert (rule.value, rule.limit) == (pytest.approx(flow), pytest.approx(200 * GALLON))
        (loss,) = of_check(found, "loss along the main")
        assert loss.limit is None
        assert loss.value > 0.0

    def test_wide_main_is_no_half_inch_main(self) -> None:
        found = checked(
            STATIC, RANGED, ('inside_diameter = "0.60 in"', 'inside_diameter = "0.80 in"')
        ).findings
        assert of_check(found, "flow of the half-inch main") == []
        assert of_check(found, "speed in the main")

    def test_longest_run_is_the_last_within_the_spread(self) -> None:
        drip = garden().beds[0].drip
        longest = longest_run(drip, pressure=20 * PSI, spread=0.10, temperature=20.0)
        count = round(longest / drip.emitter_spacing)
        within, beyond = (
            flow_spread(drip, n, pressure=20 * PSI, temperature=20.0) for n in (count, count + 1)
        )
        assert within <= 0.10 < beyond

    def test_compensating_line_is_not_limited_by_its_flows(self) -> None:
        drip = replace(garden(RANGED).beds[0].drip, inside_diameter=0.016)
        longest = longest_run(drip, pressure=40 * PSI, spread=0.10, temperature=20.0)
        assert longest == pytest.approx(MOST_EMITTERS * drip.emitter_spacing)

    def test_run_without_water_differs_wholly(self) -> None:
        assert flow_spread(garden().beds[0].drip, 3, pressure=0.0, temperature=20.0) == 1.0


class TestCare:
    def test_minutes_are_two_for_each_end(self) -> None:
        found = checked(STATIC).findings
        (minutes,) = of_check(found, "minutes of flushing")
        assert minutes.value == 4.0
        (speed,) = of_check(found, "flushing speed")
        assert (speed.limit, speed.level) == (pytest.approx(FOOT), "fine")

    def test_thin_line_behind_a_low_barrel_does_not_flush(self) -> None:
        low = (STATIC[0], STATIC[1].replace("20 psi", "1 psi"))
        thin = ('inside_diameter = "0.17 in"', 'inside_diameter = "0.08 in"')
        (speed,) = of_check(checked(low, thin).findings, "flushing speed")
        assert speed.level == "look"
        assert speed.value < FOOT

    @pytest.mark.parametrize(
        ("passage", "level", "word"),
        [("0.7 mm", "fine", ""), ("0.6 mm", "look", "200 mesh"), ("0.3 mm", "look", "wider passages")],
    )
    def test_filter_of_150_mesh_lets_pass_a_tenth_of_a_millimetre(self, passage, level, word) -> None:
        plan = garden(("exponent = 0.5", f'exponent = 0.5\npassage = "{passage}"'))
        (found,) = filter_findings(plan, [HeadPart("filter", mesh=150)])
        assert (found.level, found.limit) == (level, 7.0)
        assert found.value == pytest.approx(float(passage.split()[0]) / 0.1)
        assert word in found.advice

    def test_unknown_mesh_counts_as_the_next_coarser(self) -> None:
        plan = garden(("exponent = 0.5", 'exponent = 0.5\npassage = "1.3 mm"'))
        (found,) = filter_findings(plan, [HeadPart("filter", mesh=140)])
        assert found.value == pytest.approx(1.3 / 0.13)
        (unknown,) = filter_findings(plan, [HeadPart("filter", mesh=40)])
        assert (unknown.value, unknown.level) == (None, "look")

    def test_no_filter_and_no_passage_are_told(self) -> None:
        (none,) = filter_findings(garden(), [])
        assert "no filter" in none.advice
        (unchecked,) = filter_findings(garden(), [HeadPart("filter", mesh=150)])
        assert "passage of the drip line" in unchecked.advice

    def test_water_test(self) -> None:
        iron, ph = sorted(
            clogging_findings(clogging_hazards({"iron": 0.05, "ph": 7.6})), key=lambda one: one.check
        )
        assert (iron.level, iron.limit, iron.dimension) == ("fine", 0.1, "concentration")
        assert (ph.level, ph.dimension) == ("look", None)
        assert "severe by" in ph.advice


BREAKER = 'part = "backflow preventer"\nkind = "vacuum breaker"'
TIMER = 'part = "timer"'


class TestBackflow:
    def test_none_named_is_a_question(self) -> None:
        (found,) = of_check(checked().findings, "backflow preventer")
        assert found.level == "look"
        assert "licensed plumber" in found.advice

    def test_breaker_before_the_timer(self) -> None:
        found = checked(head(BREAKER, TIMER)).findings
        (valves,) = of_check(found, "valves behind a vacuum breaker")
        assert valves.value == 2.0  # one bed and the timer
        (hours,) = of_check(found, "hours a day under pressure")
        assert (hours.value, hours.limit) == (24.0, 12.0)
        (rim,) = of_check(found, "bed above the backflow preventer")
        assert rim.value == pytest.approx(12 * INCH)

    def test_breaker_behind_the_timer_is_under_pressure_by_the_table(self) -> None:
        parts = head(TIMER, BREAKER + '\nheight = "18 in"')
        (unknown,) = of_check(checked(parts).findings, "hours a day under pressure")
        assert unknown.value is None
        found = checked(parts, minutes={"north": 90.0}).findings
        (hours,) = of_check(found, "hours a day under pressure")
        assert hours.value == 1.5
        assert of_check(found, "bed above the backflow preventer") == []
        (valves,) = of_check(found, "valves behind a vacuum breaker")
        assert valves.value == 1.0

    def test_other_kinds_are_not_asked_for_valves(self) -> None:
        found = checked(head(BREAKER.replace("vacuum breaker", "pressure vacuum breaker"), TIMER)).findings
        assert of_check(found, "valves behind a vacuum breaker") == []
        assert of_check(found, "bed above the backflow preventer")

    def test_never_reads_as_an_approval(self) -> None:
        for parts in ([BREAKER, TIMER], [TIMER, BREAKER], []):
            found = checked(*([head(*parts)] if parts else []), minutes={"north": 1.0}).findings
            about = [one for one in found if "local code" in one.source]
            assert {one.level for one in about} == {"look"}


@pytest.mark.parametrize("bound", ["at least", "at most"])
def test_no_number_is_never_fine(bound) -> None:
    found = levelled(
        "check", "bed", value=math.nan, limit=1.0, bound=bound, dimension=None, source="s", advice="a"
    )
    assert found.level == "look"
