"""Viscosity, friction, fittings and runs with outlets against printed and hand-worked figures, friction.toml.

Left out: the printed Hazen-Williams table of inch pipe and the runs worked with a hard change to Blasius at
Re 2000. Both follow other laws than the one used here, by up to 25 % and by half.
"""

import tomllib
from pathlib import Path

import numpy as np
import pytest

from scheduler.drip.friction import (
    GRAVITY,
    kinematic_viscosity,
    pressure_of,
    reynolds_number,
    tube_law,
    tube_loss,
    velocity,
)
from scheduler.drip.network import Network, Source, make_emitters, make_pipes
from scheduler.drip.network_solve import solve_network
from scheduler.garden.units import parse_quantity, to_display
from tests.published.printed import half_digit

DATA = tomllib.loads(Path(__file__).with_name("friction.toml").read_text(encoding="utf-8"))


def close(printed, tolerance=None):
    return pytest.approx(float(printed), abs=half_digit(printed, tolerance))


def millimetres(text):
    return 1000.0 * parse_quantity(text, "length")


def lost(flow, case, temperature, **more):
    """Return the head [m] that a flow loses in the tube of a case."""
    law = tube_law(
        parse_quantity(case["length"], "length"),
        millimetres(case["bore"]),
        viscosity=kinematic_viscosity(temperature),
        **more,
    )
    loss, _ = tube_loss([parse_quantity(flow, "flow")], law)
    return float(loss[0])


def feet(metres):
    return metres / parse_quantity("1 ft", "length")


@pytest.mark.parametrize(("temperature", "printed"), DATA["viscosity"]["rows"])
def test_viscosity_of_water(temperature, printed):
    assert kinematic_viscosity(temperature) == close(printed)


@pytest.mark.parametrize(("temperature", "printed", "tolerance"), DATA["reynolds"]["rows"])
def test_reynolds_number_of_one_gallon_a_minute_in_an_inch(temperature, printed, tolerance):
    flow, bore = parse_quantity("1 gal/min", "flow"), millimetres("1 in")
    number = reynolds_number(flow, bore, viscosity=kinematic_viscosity(temperature))
    assert float(number) == close(printed, tolerance)


@pytest.mark.parametrize(("flow", "warm", "cold"), DATA["laminar"]["rows"])
def test_laminar_loss(flow, warm, cold):
    assert feet(lost(flow, DATA["laminar"], 20.0)) == close(warm, DATA["laminar"]["tolerance"])
    assert feet(lost(flow, DATA["laminar"], 10.0)) == close(cold, DATA["laminar"]["tolerance"])


@pytest.mark.parametrize(("flow", "warm", "cold"), DATA["turbulent_short"]["rows"])
def test_turbulent_loss_is_near_that_of_blasius(flow, warm, cold):
    case = DATA["turbulent_short"]
    assert feet(lost(flow, case, 20.0)) == pytest.approx(float(warm), rel=case["share"])
    assert feet(lost(flow, case, 10.0)) == pytest.approx(float(cold), rel=case["share"])


def test_loss_in_the_range_between():
    case = DATA["between"]
    greatest = case["blasius"] * (1.0 + case["share"])
    assert case["laminar"] < feet(lost(case["flow"], case, 20.0)) < greatest


@pytest.mark.parametrize(("flow", "printed"), DATA["swamee_jain"]["rows"])
def test_loss_by_swamee_and_jain(flow, printed):
    pressure = float(pressure_of(lost(flow, DATA["swamee_jain"], 20.0)))
    assert to_display(pressure, "pressure", "us") == close(printed)


def test_loss_of_a_valve():
    case = DATA["minor"]
    flow = case["velocity"] / float(velocity(1.0, 20.0))
    with_valve, without = (
        tube_loss([flow], tube_law(1.0, 20.0, minor_loss=k, viscosity=1e-6))[0][0] for k in (case["k"], 0.0)
    )
    assert with_valve - without == close(case["printed"])
    assert with_valve - without == close(case["exact"], 0.001)


@pytest.mark.parametrize(("bore", "printed", "unit"), DATA["velocity_limit"]["rows"])
def test_flow_at_the_velocity_limit(bore, printed, unit):
    limit = parse_quantity(DATA["velocity_limit"]["limit"], "speed")
    flow = limit / float(velocity(1.0, millimetres(bore)))
    assert flow / parse_quantity(f"1 {unit}", "flow") == close(printed)


def run_of(emitters, flow, *, first, spacing, bore):
    """Return the network of a run whose emitters give the same flow at any pressure."""
    length = np.full(emitters, spacing)
    length[0] = first
    return Network(
        np.zeros(emitters + 1),
        Source(0, 200.0),
        make_pipes(range(emitters), range(1, emitters + 1), length=length, inside_diameter=bore),
        make_emitters(range(1, emitters + 1), flow, nominal_pressure=100.0, exponent=0.0),
        kinematic_viscosity(20.0),
    )


def test_quarter_inch_run_step_by_step():
    case = DATA["lateral"]
    network = run_of(
        case["emitters"],
        parse_quantity(case["flow"], "flow"),
        first=parse_quantity(case["first"], "length"),
        spacing=parse_quantity(case["spacing"], "length"),
        bore=millimetres(case["bore"]),
    )
    pressure = solve_network(network).pressure
    assert to_display(pressure[0] - pressure[-1], "pressure", "us") == close(case["lost"])


@pytest.mark.parametrize(("outlets", "full", "half"), DATA["outlets"]["rows"])
def test_factor_of_many_outlets_is_that_of_the_solved_run(outlets, full, half):
    for first, printed in ((0.3, full), (0.15, half)):
        network = run_of(outlets, 0.5, first=first, spacing=0.3, bore=4.3)
        pressure = solve_network(network).pressure
        length = first + (outlets - 1) * 0.3
        plain, _ = tube_loss([0.5 * outlets], tube_law(length, 4.3, viscosity=network.viscosity))
        assert (pressure[0] - pressure[-1]) / GRAVITY / plain[0] == close(printed)
