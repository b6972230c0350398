"""Filters, speeds, wetted widths and clogging: limiting cases, refusals, units that do not matter."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduler.drip.clogging import CLOGGING_LIMITS, clogging_hazards
from scheduler.drip.filters import FILTER_MESHES, check_filter
from scheduler.drip.speed import HALF_INCH_MAIN, flow_at_speed, flow_speed
from scheduler.drip.wetting import TEXTURE_GROUPS, WETTED_DIAMETERS, line_wetted_width, wetted_width
from scheduler.errors import RillbookError
from scheduler.garden.tables import soil_names
from scheduler.garden.units import parse_quantity


@pytest.mark.parametrize(
    ("opening", "passage", "fine_enough", "careful", "wanted"),
    [
        (100e-6, 1000e-6, True, True, 120),
        (130e-6, 1000e-6, True, False, 120),
        (200e-6, 1000e-6, False, False, 120),
        (100e-6, 700e-6, True, False, 150),
        (100e-6, 2000e-6, True, True, 80),
        (75e-6, 300e-6, False, False, None),
    ],
)
def test_filter_before_an_emitter(opening, passage, fine_enough, careful, wanted):
    found = check_filter(opening, passage=passage)
    assert (found.fine_enough, found.careful) == (fine_enough, careful)
    assert found.ratio == pytest.approx(passage / opening)
    assert (None if found.wanted is None else found.wanted.mesh) == wanted
    assert "memory" in found.source


def test_meshes_go_from_coarse_to_fine():
    assert [one.mesh for one in FILTER_MESHES] == sorted(one.mesh for one in FILTER_MESHES)
    assert [one.opening for one in FILTER_MESHES] == sorted(
        (one.opening for one in FILTER_MESHES), reverse=True
    )


@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_widths_that_cannot_be_are_refused(value):
    for refused in (
        lambda: check_filter(value, passage=1e-3),
        lambda: check_filter(1e-4, passage=value),
        lambda: flow_speed(1.0, bore=value),
        lambda: flow_at_speed(1.0, bore=value),
    ):
        with pytest.raises(RillbookError, match="write"):
            refused()


@given(flow=st.floats(0.1, 5000.0), bore=st.floats(0.002, 0.05))
def test_speed_and_flow_are_each_other_s_inverse(flow, bore):
    assert float(flow_at_speed(flow_speed(flow, bore=bore), bore=bore)) == pytest.approx(flow)
    assert float(flow_speed(flow, bore=2 * bore)) == pytest.approx(float(flow_speed(flow, bore=bore)) / 4)


def test_speeds_of_many_lines_at_once():
    bores = np.array([0.004, 0.013, 0.016])
    assert flow_speed(100.0, bore=bores).shape == (3,)
    for refused in (lambda: flow_speed(math.nan, bore=bores), lambda: flow_at_speed(math.inf, bore=bores)):
        with pytest.raises(RillbookError, match="no number"):
            refused()


def test_the_rule_of_half_inch_mains_is_readable_and_says_that_it_has_no_source():
    assert parse_quantity(HALF_INCH_MAIN.longest, "length") == pytest.approx(60.96)
    assert parse_quantity(HALF_INCH_MAIN.most, "flow") == pytest.approx(757.0824, rel=1e-6)
    assert "without a source" in HALF_INCH_MAIN.source


def test_width_of_close_touching_and_far_emitters():
    assert float(wetted_width(0.6, 1e-4)) == pytest.approx(0.6, rel=1e-6)
    assert float(wetted_width(0.6, 0.6)) == pytest.approx(math.pi * 0.6 / 4.0)
    assert float(wetted_width(0.6, 1.2)) == pytest.approx(math.pi * 0.6**2 / 4.0 / 1.2)


@given(diameter=st.floats(0.1, 2.0), spacing=st.floats(0.05, 3.0))
def test_wetted_width_is_the_area_of_circles_in_a_row(diameter, spacing):
    """Counted on a fine grid along one spacing: the line is wet as far as the nearest circle reaches."""
    along = (np.arange(20_000) + 0.5) / 20_000 * spacing - spacing / 2.0
    reach = np.sqrt(np.clip((diameter / 2.0) ** 2 - along**2, 0.0, None))
    assert float(wetted_width(diameter, spacing)) == pytest.approx(2.0 * reach.mean(), rel=2e-3)


def test_wider_soils_and_closer_emitters_wet_more():
    widths = [line_wetted_width(texture, 0.3)[0] for texture in ("sand", "loam", "clay")]
    assert widths == sorted(widths)
    spaced = [line_wetted_width("loam", spacing)[0] for spacing in (0.15, 0.3, 0.6, 1.0)]
    assert spaced == sorted(spaced, reverse=True)


def test_the_source_tells_memory_and_gaps():
    _, close = line_wetted_width("sand", 0.15)
    _, apart = line_wetted_width("sand", 0.6)
    assert "from memory" in close
    assert "gaps" not in close
    assert apart.endswith("with dry gaps between the emitters")
    assert WETTED_DIAMETERS["coarse"].least < 0.6


def test_every_texture_of_the_soil_table_has_a_group():
    assert set(soil_names()) <= set(TEXTURE_GROUPS)


def test_unknown_soils_and_widths_are_refused():
    with pytest.raises(RillbookError, match='"peat" is not known; known are sand'):
        line_wetted_width("peat", 0.3)
    for diameter, spacing in ((0.0, 0.3), (0.6, 0.0), (math.nan, 0.3)):
        with pytest.raises(RillbookError, match="not above 0"):
            wetted_width(diameter, spacing)


def test_clogging_is_told_in_one_order_with_limit_source_and_advice():
    tested = {"iron": 0.3, "ph": 7.7, "suspended_solids": 10.0}
    hazards = clogging_hazards(tested)
    assert [hazard.item for hazard in hazards] == ["suspended_solids", "ph", "iron"]
    assert [hazard.grade for hazard in hazards] == ["slight", "moderate", "moderate"]
    assert "severe by University of Florida" in hazards[1].elsewhere
    for hazard in hazards:
        assert hazard.limit.source
        assert hazard.limit.advice
    assert clogging_hazards({}) == ()


@pytest.mark.parametrize("value", [-0.1, float("nan"), float("inf")])
def test_water_tests_that_cannot_be_are_refused(value):
    for limit in CLOGGING_LIMITS:
        with pytest.raises(RillbookError, match=limit.item):
            clogging_hazards({limit.item: value})
    with pytest.raises(RillbookError, match="arsenic has no published limit"):
        clogging_hazards({"arsenic": 1.0})
