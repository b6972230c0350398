"""Conditions and soil under inputs that lie off: what each factor touches, and what it leaves."""

import numpy as np
import pytest

from scheduler.season.varied import INPUTS, multipliers_of, varied_day, varied_soil
from scheduler.water.balance import Conditions, SoilState
from scheduler.water.evaporation import SurfaceDay

BEDS = np.array([1.0, 2.0])
SURFACE = SurfaceDay(*(BEDS * scale for scale in (6.0, 0.2, 0.1, 0.3, 20.0, 8.0, 0.9, 0.4)))
DAY = Conditions(BEDS * 4.0, BEDS * 3.0, BEDS * 40.0, BEDS * 16.0, BEDS * 60.0, SURFACE)

#: What each factor multiplies; all else stays.
TOUCHED = {
    "reference_et": {"basal", "most"},
    "crop_coefficient": {"basal"},
    "available_water": {"taw", "raw", "storage", "tew", "rew"},
    "efficiency": set(),
    "flow": set(),
    "rain": {"rain"},
}


def factors_of(name):
    cases = np.ones((2, 1, len(INPUTS)))
    cases[1, 0, INPUTS.index(name)] = 1.5
    return multipliers_of(cases)


def fields_of(day):
    return {**day._asdict(), **day.surface._asdict()}


@pytest.mark.parametrize("name", INPUTS)
def test_a_factor_touches_its_own_fields_alone(name):
    seen = fields_of(varied_day(DAY, factors_of(name)))
    for field, before in fields_of(DAY).items():
        if field == "surface":
            continue
        cases = np.broadcast_to(seen[field], (2, 2))
        assert np.array_equal(cases[0], before), field
        assert np.array_equal(cases[1], before * (1.5 if field in TOUCHED[name] else 1.0)), field


def test_without_a_surface_there_is_none():
    assert varied_day(DAY._replace(surface=None), factors_of("reference_et")).surface is None


def test_gauged_rain_is_as_measured():
    assert np.array_equal(varied_day(DAY, factors_of("rain"), gauged=True).rain, DAY.rain)


def test_flow_and_efficiency_make_the_net_rate():
    cases = np.ones((1, 1, len(INPUTS)))
    cases[0, 0, [INPUTS.index("efficiency"), INPUTS.index("flow")]] = 0.5, 3.0
    assert multipliers_of(cases).net_rate == 1.5


@pytest.mark.parametrize("name", INPUTS)
def test_a_known_soil_is_known_as_a_share_of_what_it_holds(name):
    state = SoilState(*(BEDS * scale for scale in (10.0, 2.0, 5.0, 6.0, 40.0)))
    more = 1.5 if name == "available_water" else 1.0
    for part, before in zip(varied_soil(state, factors_of(name)), state, strict=True):
        assert np.array_equal(np.broadcast_to(part, (2, 2)), np.stack([before, before * more]))
