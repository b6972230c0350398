"""One garden written in two unit systems has one season and one table."""

from datetime import date
from decimal import Decimal

import numpy as np
import pytest

from scheduler.garden.planfile import parse_plan
from scheduler.season.run import run_season, run_week
from tests.builders import make_daily

#: Of each US unit its metric neighbour and the exact factor.
EXACT = {
    "in": ("cm", Decimal("2.54")),
    "ft": ("m", Decimal("0.3048")),
    "gal/h": ("L/h", Decimal("3.785411784")),
    "gal/min": ("L/min", Decimal("3.785411784")),
}

#: Quantities in braces are written in either system; days, shares, hours and degree-days know but one.
PLAN = """\
format = 1
name = "Two ways to write it"

[site]
latitude = "44.6 N"
elevation = {230 ft}
timezone = "Etc/GMT+1"

[weather]
file = "weather.csv"
wind_height = {10 ft}

[planning]
crop_coefficient = "COEFFICIENT"

[soil.mix]
field_capacity = "32 %"
wilting_point = "13 %"
readily_evaporable_water = {0.3 in}
total_evaporable_water = {0.8 in}

[soil.loam]
texture = "loam"

[water_source]
flow = {5 gal/min}

[drip.line]
emitter_flow = {0.6 gal/h}
at_pressure = "20 psi"
exponent = 0.5
emitter_spacing = {6 in}

[[zone]]
name = "north"
outlet = 1
rule = "driest bed"

[[zone]]
name = "south"
outlet = 2
rule = "area mean"

[[bed]]
name = "tall bed"
zone = "north"
soil = "mix"
shape = "rectangle"
length = {10 ft}
width = {4 ft}
soil_depth = {14 in}
drip = "line"
runs = 2
settled = [{{ on = 2026-07-01, soil_depth = {12 in} }}]
wetted_width = {10 in}
direct_sun_lost = "3 h"
sun_lost_when = "morning"
rain_reaching = "60 %"
mixing = "height"
  [[bed.layer]]
  soil = "mix"
  depth = {8 in}
  [[bed.layer]]
  soil = "loam"
  depth = {6 in}
  [[bed.layer]]
  fill = "wood"
  depth = {10 in}
  available_water = "4 %"
  [bed.mulch]
  kind = "organic"
  cover = "60 %"
  from = 2026-06-10
  [[bed.planting]]
  crop = "tomato"
  planted = 2026-05-12
  removed = 2026-09-20
  share = "60 %"
  [[bed.planting]]
  crop = "lettuce"
  planted = 2026-04-20
  removed = 2026-06-29
  share = "40 %"

[[bed]]
name = "low bed"
zone = "south"
soil = "loam"
shape = "circle"
diameter = {5 ft}
soil_depth = {10 in}
drip = "line"
rings = [{44 in}, {22 in}]
wall_heat = "10 %"
isolated_stand_width = {4 ft}
  [bed.mulch]
  kind = "plastic"
  cover = "80 %"
  holes = "5 %"
  [[bed.planting]]
  crop = "sweet pepper"
  planted = 2026-05-20
  removed = 2026-09-25
  ground_cover = "55 %"

[[soil_state]]
on = 2026-04-01
depletion = {0.4 in}
below_roots = "30 %"

[timer]
outlets = 2
starts_per_day = 3
step = "1 min"
longest_run = "120 min"

[[watering_window]]
from = 05:00:00
to = 09:00:00
"""


def written(coefficient, *, metric):
    """Return the plan in one unit system, as the garden it makes."""
    text = PLAN.replace("{{", "<").replace("}}", ">").replace("COEFFICIENT", coefficient)
    head, *parts = text.split("{")
    for part in parts:
        quantity, rest = part.split("}", 1)
        amount, unit = quantity.split(" ")
        if metric:
            unit, factor = EXACT[unit]
            amount = str(Decimal(amount) * factor)
        head += f'"{amount} {unit}"{rest}'
    garden, faults = parse_plan(head.replace("<", "{").replace(">", "}"), source="garden.toml")
    assert faults == []
    assert garden is not None
    return garden


@pytest.mark.parametrize("coefficient", ["dual", "single"])
def test_us_and_metric_plans_of_one_garden_have_one_season_and_one_table(coefficient):
    us, metric = (written(coefficient, metric=metric) for metric in (False, True))
    daily = make_daily(date(2023, 1, 1), 1461)
    one, other = run_season(us, daily), run_season(metric, daily)
    for name in ("depletion", "below", "evaporation", "transpiration", "deep_percolation", "correction"):
        assert getattr(one, name) == pytest.approx(getattr(other, name), abs=1e-9), name
    assert np.array_equal(one.minutes, other.minutes)
    assert one.litres == pytest.approx(other.litres, rel=1e-12)
    for plan, twin in zip(one.plans, other.plans, strict=True):
        assert [setting.mask for setting in plan.settings] == [setting.mask for setting in twin.settings]
    on = date(2026, 7, 13)
    table, same = run_week(us, daily, on=on), run_week(metric, daily, on=on)
    assert np.array_equal(table.plan.bed_minutes, same.plan.bed_minutes)
    assert table.plan.depletion == pytest.approx(same.plan.depletion, abs=1e-9)
    assert [setting.begins for setting in table.plan.settings] == [
        setting.begins for setting in same.plan.settings
    ]


def test_the_plan_holds_what_is_new_and_the_season_feels_it():
    """That the same answer comes twice says nothing of a key that is never read."""
    garden = written("dual", metric=True)
    tall, low = garden.beds
    assert [layer.depth for layer in tall.layers] == pytest.approx([0.2032, 0.1524, 0.254])
    assert (tall.settled[0].soil_depth, low.isolated_width) == pytest.approx((0.3048, 1.2192))
    result = run_season(garden, make_daily(date(2023, 1, 1), 1461))
    storage = result.growth.storage
    # 0.19 of 0.2032 m, loam's 0.13 of 0.1524 m, 4 % of 0.254 m; then twelve fourteenths of the soil.
    assert storage[0, 0] == pytest.approx(38.608 + 19.812 + 10.16, abs=0.05)
    assert storage[-1, 0] == pytest.approx(58.42 * 12.0 / 14.0 + 10.16, abs=0.05)
    assert result.growth.tew[0, 0] == pytest.approx(20.32)
    assert result.growth.kept[-1, 0] == pytest.approx(0.7)
    assert result.growth.open_share[0, 1] == pytest.approx(0.2 + 3 * 0.04)
    assert result.below[0, 0] > 1.0
