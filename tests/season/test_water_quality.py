"""The plan's water test as lines for people."""

from dataclasses import replace

from scheduler.garden.plan import WaterTest
from scheduler.season.water_quality import clogging_notes, water_hazards
from tests.builders import make_garden


def garden_with(**tested):
    garden = make_garden()
    return replace(garden, water_source=replace(garden.water_source, test=WaterTest(**tested)))


def test_water_that_was_not_tested_brings_no_line():
    assert clogging_notes(make_garden()) == ()


def test_a_hazard_is_told_with_limit_source_and_what_to_do():
    iron, caution = map(str, clogging_notes(garden_with(iron=0.3)))
    assert iron.startswith("water_source > iron: 0.30 mg/L is a moderate clogging hazard")
    assert "moderate from 0.10 mg/L to 1.50 mg/L: FAO-29" in iron
    assert "settle before the filter" in iron
    assert "laboratory" in caution


def test_clean_water_needs_nothing_done():
    bacteria, _ = map(str, clogging_notes(garden_with(bacteria=5.0)))
    assert "5 per mL is a slight clogging hazard" in bacteria
    assert ";" not in bacteria


def test_a_stricter_source_is_named_with_what_to_do():
    ph, _ = map(str, clogging_notes(garden_with(ph=7.7)))
    assert "pH 7.7 is a moderate clogging hazard, severe by University of Florida" in ph
    assert "flush often" in ph


def test_every_item_of_a_water_test_has_a_class():
    whole = garden_with(**dict.fromkeys(WaterTest.__dataclass_fields__, 1.0))
    assert len(water_hazards(whole)) == len(WaterTest.__dataclass_fields__)
