"""What the layout gives each bed while its zone runs. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scheduler.errors import UnsettledError
from scheduler.garden.plan import Garden
from scheduler.layout.network_of import NetworkArrays, network_of
from scheduler.layout.segments import layout_of
from scheduler.layout.solved import Solved, solve_layout

__all__ = ["GivenFlow", "LayoutFlows", "layout_flows"]


@dataclass(frozen=True, slots=True)
class GivenFlow:
    """What one bed gets.

    Attributes
    ----------
    flow : float
        Of the whole bed [L/h].
    lowest_pressure, highest_pressure : float
        At its emitters [kPa].
    least_share : float
        Least emitter flow as a share of the mean, 0..1: what pressure takes from evenness.
    dry : int
        Emitters that get no water.
    """

    flow: float
    lowest_pressure: float
    highest_pressure: float
    least_share: float
    dry: int


@dataclass(frozen=True, slots=True)
class LayoutFlows:
    """Flows of all beds in plan order; none of them, and the reason in words, if they cannot be computed."""

    beds: tuple[GivenFlow, ...] = ()
    reason: str = ""


def layout_flows(garden: Garden) -> LayoutFlows:
    """Return what each bed gets with all valves of its zone open and the house quiet.

    The other zones are shut if the timer opens one at a time, else all are open together.

    Raises
    ------
    NoLayoutError
        If the plan gives no layout.
    NetworkError
        If the layout cannot be solved.
    """
    if garden.water_source.static_pressure is None:
        return LayoutFlows(reason="the plan gives no static pressure of the tap")
    layout = layout_of(garden)
    arrays = network_of(layout, garden)
    beds: dict[str, GivenFlow] = {}
    try:
        for together in _open_together(garden):
            run = solve_layout(arrays, layout, open_beds=together)
            beds |= {bed: _given(arrays, run, bed) for bed in together}
    except UnsettledError:
        return LayoutFlows(reason="the pressures of the layout did not settle")
    return LayoutFlows(tuple(beds[bed.name] for bed in garden.beds))


def _open_together(garden: Garden) -> list[list[str]]:
    """Return the names of the beds whose valves are open at one time."""
    if not garden.timer.one_zone_at_a_time:
        return [[bed.name for bed in garden.beds]]
    return [[bed.name for bed in garden.beds_of(zone.name)] for zone in garden.zones]


def _given(arrays: NetworkArrays, run: Solved, bed: str) -> GivenFlow:
    """Return what one bed gets in a settled layout."""
    pressures, flows = run.of_bed(arrays, bed)
    mean = float(flows.mean())
    return GivenFlow(
        flow=float(flows.sum()),
        lowest_pressure=float(pressures.min()),
        highest_pressure=float(pressures.max()),
        least_share=min(1.0, float(flows.min()) / mean) if mean > 0.0 else 0.0,
        dry=int(np.count_nonzero(flows <= 0.0)),
    )
