"""A small right plan that the tests change one line at a time."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from scheduler.errors import Fault
from scheduler.garden.plan import Garden
from scheduler.garden.planfile import parse_plan

PLAN = """\
format = 1
name = "Test garden"

[site]
latitude = "44.6 N"
elevation = "230 ft"
timezone = "Etc/GMT+1"

[weather]
file = "weather.csv"
wind_height = "10 ft"

[soil.mix]
field_capacity = "32 %"
wilting_point = "13 %"

[water_source]
flow = "5 gal/min"

[drip.line]
emitter_flow = "0.6 gal/h"
at_pressure = "20 psi"
exponent = 0.5
emitter_spacing = "6 in"

[[zone]]
name = "north"
outlet = 1
rule = "driest bed"

[[bed]]
name = "tall bed"
zone = "north"
soil = "mix"
shape = "rectangle"
length = "10 ft"
width = "4 ft"
soil_depth = "14 in"
drip = "line"
runs = 2

[[bed.planting]]
crop = "tomato"
planted = 2026-05-12
removed = 2026-10-02
share = "60 %"

[[bed.planting]]
crop = "lettuce"
planted = 2026-04-20
removed = 2026-06-29
share = "40 %"

[[soil_state]]
on = 2026-04-01
depletion = "full"

[timer]
outlets = 2
starts_per_day = 3
step = "1 min"
longest_run = "120 min"

[[watering_window]]
from = 05:00:00
to = 09:00:00

[tariff]
currency = "USD"
unit = "CCF"
whole_units = true
period = "1 month"
first_reading = 2026-01-15
fixed_charge = "9.40"

[[tariff.block]]
up_to = "7 CCF"
price = "2.10 per CCF"

[[tariff.block]]
price = "3.64 per CCF"

[household]
use_per_day = "180 gal"
"""

Change = Callable[..., str]


@pytest.fixture
def changed() -> Change:
    """Return the plan with pieces of its text replaced, each of which must be there."""

    def change(*pairs: tuple[str, str]) -> str:
        text = PLAN
        for old, new in pairs:
            assert old in text
            text = text.replace(old, new, 1)
        return text

    return change


@pytest.fixture
def garden_of() -> Callable[[str], Garden]:
    """Return a reader of plans that must be right."""

    def read(text: str) -> Garden:
        garden, faults = parse_plan(text, source="garden.toml")
        assert faults == []
        assert garden is not None
        return garden

    return read


@pytest.fixture
def faults_of() -> Callable[[str], list[Fault]]:
    """Return a reader of plans that must be wrong."""

    def read(text: str) -> list[Fault]:
        garden, faults = parse_plan(text, source="garden.toml")
        assert garden is None
        assert faults
        return faults

    return read
